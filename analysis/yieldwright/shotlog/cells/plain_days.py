"""Whole columns of plainly written days and moments at once: ISO 8601 and nothing else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

__all__ = ["PlainMoments", "read_days", "read_moments"]

_Days = npt.NDArray[np.datetime64]
_Whole = npt.NDArray[np.int64]
_Letters = npt.NDArray[np.uint8]  # one row per place in the text, one column per text

_DAY = len("2026-03-07")
_MINUTES = len("2026-03-07T10:25")
_SECONDS = len("2026-03-07T10:25:30")
_OFFSET = len("+01:00")
_LENGTHS = {
    whole + zone: whole for whole in (_MINUTES, _SECONDS) for zone in (0, len("Z"), _OFFSET)
}
_FIRST_YEAR, _LAST_YEAR = 2000, 9998  # no offset leads from these out of the calendar
_SUMMER_TIME = 60  # minutes that clocks are set ahead
_FURTHEST = 14  # hours: no place on earth is further from UTC
_BLOCK = 1 << 16  # texts at a time, so that memory stays small beside the column


class PlainMoments(NamedTuple):
    """When shots were pulled, one entry per text.

    Attributes
    ----------
    days : ndarray of datetime64[s]
        Day at the bench; NaT for an empty text.
    moments : ndarray of datetime64[us]
        Instant, in UTC; NaT where no more than the day was written.
    """

    days: npt.NDArray[np.datetime64]
    moments: npt.NDArray[np.datetime64]


def read_days(texts: Sequence[str]) -> npt.NDArray[np.datetime64] | None:
    """Return the days of a column in which every cell is a plain ISO day, or empty.

    Parameters
    ----------
    texts : sequence of str
        As typed.

    Returns
    -------
    ndarray of datetime64[s] or None
        NaT for an empty text; None where any text is more or less than year-month-day:
        then they are to be read one by one.

    Examples
    --------
    >>> read_days(["2026-03-07", ""]).astype("datetime64[D]").astype(str).tolist()
    ['2026-03-07', 'NaT']
    >>> read_days(["2026-03-07", "7 March 2026"]) is None
    True
    """
    days = _unknown(len(texts), "s")
    try:
        for rows, letters in _groups(texts):
            _require(len(letters) == _DAY)
            days[rows] = _day(letters)
    except _NotPlainError:
        return None
    return days


def read_moments(
    texts: Sequence[str], offset: str, *, at_bench: bool = False
) -> PlainMoments | None:
    """Return the moments of a column in which every cell is plain ISO 8601, or empty.

    Parameters
    ----------
    texts : sequence of str
        As typed.
    offset : str
        Offset from UTC for a time without one, such as "+01:00".
    at_bench : bool
        Whether that offset is the bench's own, so that days are those of its clock.

    Returns
    -------
    PlainMoments or None
        None where any text is neither a day nor a day with hours:minutes[:seconds] and
        perhaps Z or an offset: then they are to be read one by one.

    Examples
    --------
    >>> read_moments(["2026-03-07T10:25", "2026-03-07"], "+01:00").moments.astype(str).tolist()
    ['2026-03-07T09:25:00.000000', 'NaT']
    >>> read_moments(["about noon"], "+01:00") is None
    True
    """
    found = PlainMoments(_unknown(len(texts), "s"), _unknown(len(texts), "us"))
    try:
        for rows, letters in _groups(texts):
            found.days[rows] = _day(letters)
            if len(letters) > _DAY:
                found.moments[rows] = found.days[rows] + _seconds(letters, offset)
                if at_bench:
                    found.days[rows] = _at_bench(found, rows, letters, offset)
    except _NotPlainError:
        return None
    return found


class _NotPlainError(ValueError):
    """A text is written in another way."""


def _require(*holds: bool | np.bool_) -> None:
    if not all(holds):
        raise _NotPlainError


def _unknown(rows: int, unit: str) -> _Days:
    return np.full(rows, np.datetime64("NaT"), dtype=f"datetime64[{unit}]")


def _groups(texts: Sequence[str]) -> Iterator[tuple[_Whole, _Letters]]:
    """Yield texts of one length, by their rows and letters; empty ones are left out."""
    for start in range(0, len(texts), _BLOCK):
        block = texts[start : start + _BLOCK]
        raw, starts, lengths = _split(block)
        for length in np.unique(lengths).tolist():
            _require(length in (0, _DAY) or length in _LENGTHS)
            if length:
                rows = np.flatnonzero(lengths == length)
                letters = raw[starts[rows] + np.arange(length)[:, None]]
                yield rows + start, letters


def _split(texts: Sequence[str]) -> tuple[_Letters, _Whole, _Whole]:
    """Return the letters of texts in one row, and where each starts and how long it is."""
    joined = "\n".join(texts) + "\n"
    _require(joined.isascii())
    raw = np.frombuffer(joined.encode("ascii"), dtype=np.uint8)
    ends = np.flatnonzero(raw == ord("\n"))
    _require(len(ends) == len(texts))
    starts = np.concatenate(([0], ends[:-1] + 1))
    return raw, starts, ends - starts


def _day(letters: _Letters) -> _Days:
    """Return the days written in the first ten places."""
    _require((letters[4] == ord("-")).all(), (letters[7] == ord("-")).all())
    year = _number(letters[:4], _FIRST_YEAR, _LAST_YEAR)
    month = _number(letters[5:7], 1, 12)
    day = _number(letters[8:10], 1, 31)
    months = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    days = months.astype("datetime64[D]") + (day - 1)
    _require((days.astype("datetime64[M]") == months).all())
    return days.astype("datetime64[s]")


def _at_bench(found: PlainMoments, rows: _Whole, letters: _Letters, offset: str) -> _Days:
    """Return the days on the clock of the bench, as the reading of single cells has it."""
    own = _zone(letters[:0], offset)
    ahead = _zone(letters[_LENGTHS[len(letters)] :], offset) - own
    days = (found.moments[rows] + (60 * own).astype("timedelta64[s]")).astype("datetime64[D]")
    is_elsewhere = ~np.isin(ahead, (0, _SUMMER_TIME))
    return np.where(is_elsewhere, days.astype("datetime64[s]"), found.days[rows])


def _seconds(letters: _Letters, offset: str) -> npt.NDArray[np.timedelta64]:
    """Return the time from the start of the day at the bench, as a clock in UTC tells it."""
    _require(np.isin(letters[_DAY], (ord("T"), ord(" "))).all())
    end = _LENGTHS[len(letters)]
    seconds = 60 * _clock(letters[_DAY + 1 : _MINUTES])
    if end == _SECONDS:
        _require((letters[_MINUTES] == ord(":")).all())
        seconds += _number(letters[_MINUTES + 1 : _SECONDS], 0, 59)
    return (seconds - 60 * _zone(letters[end:], offset)).astype("timedelta64[s]")


def _zone(letters: _Letters, offset: str) -> _Whole:
    """Return the minutes by which clocks are ahead of UTC."""
    if len(letters) == _OFFSET:
        _require(np.isin(letters[0], (ord("+"), ord("-"))).all())
        return np.where(letters[0] == ord("-"), -1, 1) * _clock(letters[1:], _FURTHEST)
    if len(letters):
        _require((letters[0] == ord("Z")).all())
        return np.zeros(1, dtype=np.int64)
    written = np.frombuffer(offset.encode("ascii"), dtype=np.uint8)
    return _zone(written[:, None], offset)


def _clock(letters: _Letters, latest: int = 23) -> _Whole:
    """Return the minutes of hours:minutes."""
    _require((letters[2] == ord(":")).all())
    return 60 * _number(letters[:2], 0, latest) + _number(letters[3:], 0, 59)


def _number(letters: _Letters, low: int, high: int) -> _Whole:
    """Return the whole numbers written in a few places, within bounds."""
    digits = letters - np.uint8(ord("0"))
    _require((digits <= 9).all())
    value = np.zeros(letters.shape[1], dtype=np.int64)
    for place in digits:
        value = 10 * value + place
    _require((value >= low).all(), (value <= high).all())
    return value
