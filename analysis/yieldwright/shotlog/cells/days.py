"""Days and moments from text; the order of day and month only where it is proven or told."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import NamedTuple

from yieldwright.formatting import listing
from yieldwright.shotlog.cells.clock import NoClock, read_clock, zone_of
from yieldwright.shotlog.cells.counted_days import counted_day
from yieldwright.shotlog.cells.numerals import MISSING_WORDS, Cell
from yieldwright.shotlog.cells.written_days import DayOrder, WrittenDay, written_day
from yieldwright.shotlog.findings import quoted

__all__ = [
    "Contradiction",
    "DayOrder",
    "Pull",
    "find_day_order",
    "order_sentence",
    "read_day",
    "read_moment",
]

_PARTIAL = re.compile(
    r"[0-9]{1,4}[\s./-]+(?:[^\W\d_]{3,12}|[0-9]{1,2})|[^\W\d_]{3,12}[\s./-]+[0-9]{1,4}"
)
_NUMBERS = re.compile(r"\s*[0-9]{1,2}\s*[^\w\s]")
_FIRST_YEAR = 2000
_SUMMER_TIME = timedelta(hours=1)
_WRITE = "write the day as year-month-day, such as 2026-03-07"
_SAY = 'say day_order = "day first" or "month first" under [reading] in bench.toml'


class Pull(NamedTuple):
    """When a shot was pulled.

    Attributes
    ----------
    day : date
        Day at the bench.
    moment : datetime or None
        Instant, in UTC; None where only the day was written.
    """

    day: date
    moment: datetime | None


class Contradiction(NamedTuple):
    """Why a column has no one order of day and month.

    Attributes
    ----------
    asked : {"day first", "month first"} or None
        What the bench says.
    reason : str
        Which dates say otherwise.
    """

    asked: DayOrder | None
    reason: str


class _Found(NamedTuple):
    """A day and what stands behind it."""

    day: date
    time: time | None = None
    flag: str = ""


def find_day_order(
    texts: Iterable[str], asked: DayOrder | None = None
) -> DayOrder | Contradiction | None:
    """Return the order of day and month in dates such as 03/04/2026.

    Parameters
    ----------
    texts : iterable of str
        All cells of one column.
    asked : {"day first", "month first"} or None
        What the bench says.

    Returns
    -------
    {"day first", "month first"}, Contradiction or None
        None where no day over 12 proves an order and the bench says none; a
        contradiction where the column proves both, or another than the bench says.

    Examples
    --------
    >>> find_day_order(["03/04/2026", "13/04/2026"])
    'day first'
    >>> find_day_order(["03/04/2026"]) is None
    True
    >>> find_day_order(["03/04/2026", "13/04/2026"], "month first").reason
    'bench.toml says month first, which “13/04/2026” in this column cannot be'
    """
    proofs = _proofs(texts)
    if len(proofs) == 2:
        both = " and ".join(quoted(text) for text in proofs.values())
        return Contradiction(asked, f"{both} in this column have no one order")
    proven = next(iter(proofs), None)
    if asked and proven and proven != asked:
        proof = quoted(proofs[proven])
        reason = f"bench.toml says {asked}, which {proof} in this column cannot be"
        return Contradiction(asked, reason)
    return proven or asked


def order_sentence(name: str, texts: Iterable[str], asked: DayOrder | None) -> str:
    """Return how the dates of a column are read that have two readings.

    Parameters
    ----------
    name : str
        The column.
    texts : iterable of str
        All its cells.
    asked : {"day first", "month first"} or None
        What the bench says.

    Returns
    -------
    str
        Empty where no date has two readings, or none of them is read.

    Examples
    --------
    >>> order_sentence("roasted_on", ["03/04/2026", "13/04/2026"], None)
    'roasted_on: dates such as “03/04/2026” are read day first, as “13/04/2026” shows.'
    """
    texts = list(texts)
    order = find_day_order(texts, asked)
    doubtful = next(filter(_has_two_readings, texts), None)
    if doubtful is None or not isinstance(order, str):
        return ""
    proof = _proofs(texts).get(order)
    source = f"“{proof.strip()}” shows" if proof else "day_order in bench.toml says"
    return f"{name}: dates such as {quoted(doubtful)} are read {order}, as {source}."


def read_day(text: str, order: DayOrder | Contradiction | None) -> Cell:
    """Return the day in a cell, as a date.

    Parameters
    ----------
    text : str
        As typed.
    order : {"day first", "month first"}, Contradiction or None
        Found for the column.

    Returns
    -------
    Cell

    Examples
    --------
    >>> read_day("7 March 2026", None).value
    datetime.date(2026, 3, 7)
    >>> read_day("03/04/2026", None).refusal
    '“03/04/2026” may be 2026-04-03 or 2026-03-04: no day over 12 in the column tells'
    """
    found = _split(text, order)
    if isinstance(found, Cell):
        return found
    if found.time in (None, time()):  # spreadsheets add midnight to a day
        return Cell(found.day, flag=found.flag)
    keep = "call the column pulled_at to keep times"
    said = "; ".join(filter(None, (found.flag, "the time of day is left out")))
    return Cell(found.day, flag=said, suggestion=keep)


def read_moment(
    text: str,
    order: DayOrder | Contradiction | None,
    offset: str,
    *,
    at_bench: bool = False,
) -> Cell:
    """Return day and instant in a cell, as a `Pull`.

    Parameters
    ----------
    text : str
        As typed.
    order : {"day first", "month first"}, Contradiction or None
        Found for the column.
    offset : str
        Offset from UTC for a time without one, such as "+01:00".
    at_bench : bool
        Whether that offset is the bench's own, so that days are those of its clock.

    Returns
    -------
    Cell

    Notes
    -----
    A clock one hour ahead of the bench's shows its summer time: the day stands as written.

    Examples
    --------
    >>> read_moment("2026-03-07T23:25Z", None, "+01:00", at_bench=True).value.day
    datetime.date(2026, 3, 8)
    >>> read_moment("2026-03-07T00:25+01:00", None, "+00:00").value.day
    datetime.date(2026, 3, 7)
    >>> read_moment("2026-03-07", None, "+00:00").value.moment is None
    True
    """
    found = _split(text, order)
    if isinstance(found, Cell):
        return found
    if found.time is None:
        return Cell(Pull(found.day, None), flag=found.flag)
    zone = found.time.tzinfo or zone_of(offset)
    try:
        moment = datetime.combine(found.day, found.time, zone).astimezone(UTC)
        day = _at_the_bench(moment, found, zone_of(offset)) if at_bench else found.day
    except OverflowError:
        return Cell(refusal=f"{quoted(text)} lies beyond all calendars", suggestion=_WRITE)
    return Cell(Pull(day, moment), flag=found.flag)


def _at_the_bench(moment: datetime, found: _Found, clock: timezone) -> date:
    """Return the day of a moment on the bench's clock, in its summer time too."""
    written = found.time.utcoffset() if found.time else None
    own = clock.utcoffset(None)
    if written is None or written - own in (timedelta(0), _SUMMER_TIME):
        return found.day
    return moment.astimezone(clock).date()


def _proofs(texts: Iterable[str]) -> dict[DayOrder, str]:
    """Return the first text that proves each order."""
    proofs: dict[DayOrder, str] = {}
    for text in filter(_NUMBERS.match, texts):  # spares most columns the closer look
        written = written_day(text)
        if written and written.proves:
            proofs.setdefault(written.proves, text)
    return proofs


def _has_two_readings(text: str) -> bool:
    written = written_day(text)
    return written is not None and len(written.days) > 1


def _split(text: str, order: DayOrder | Contradiction | None) -> _Found | Cell:
    """Return day and time of a cell, or the cell that says why not."""
    if not text.strip():
        return Cell()
    if text.strip().casefold() in MISSING_WORDS:
        return Cell(flag="taken as missing")
    written = written_day(text)
    if written is None:
        return _no_date(text)
    day = _chosen(text, written, order)
    if isinstance(day, Cell) or not written.time:
        return day if isinstance(day, Cell) else _Found(day, None, _year_flag(written, day))
    clock = read_clock(written.time)
    if isinstance(clock, NoClock):
        return Cell(refusal=f"{quoted(text)} {clock.reason}", suggestion=clock.suggestion)
    return _Found(day, clock, _year_flag(written, day))


def _no_date(text: str) -> Cell:
    """Refuse what has not the shape of a date."""
    lacks = "lacks the day, the month or the year" if _PARTIAL.fullmatch(text.strip()) else ""
    return Cell(
        refusal=f"{quoted(text)} {lacks or 'is no date we read'}",
        suggestion=counted_day(text.strip()) or _WRITE,
    )


def _year_flag(written: WrittenDay, day: date) -> str:
    return f"its year is taken as {day.year}" if written.is_short else ""


def _chosen(text: str, written: WrittenDay, order: DayOrder | Contradiction | None) -> date | Cell:
    """Return the one day a text names, or why there is none."""
    if written.word:
        reason = f"{quoted(text)}: {quoted(written.word)} is no month we know"
        return Cell(refusal=reason, suggestion=_WRITE)
    if not written.readings:
        return Cell(refusal=f"{quoted(text)} is a day no calendar has", suggestion=_WRITE)
    told = order.asked if isinstance(order, Contradiction) else order
    if "certain" not in written.readings:
        if told and told not in written.readings and not written.is_short:
            return _misfit(text, written, told)
        is_known = isinstance(order, str) and order in written.readings
        if not is_known and (written.is_short or len(written.days) > 1):
            return _ambiguous(text, written, order)
    day = written.readings.get(told or "", written.days[0])
    if day.year < _FIRST_YEAR:
        return Cell(refusal=f"{quoted(text)} lies before {_FIRST_YEAR}", suggestion=_WRITE)
    return day


def _misfit(text: str, written: WrittenDay, told: DayOrder) -> Cell:
    """Refuse a date that the order of its column makes impossible."""
    reason = f"{quoted(text)} cannot be {told}, as dates here are said to be"
    return Cell(refusal=reason, suggestion=f"{_either(written)}? write it so, or {_SAY}")


def _ambiguous(text: str, written: WrittenDay, order: DayOrder | Contradiction | None) -> Cell:
    """Ask which day is meant."""
    shown = _either(written)
    doubt = "its year has two digits" if written.is_short else "no day over 12 in the column tells"
    if isinstance(order, Contradiction):
        doubt = order.reason
    suggestion = f"write {shown}" if isinstance(order, str) else f"write {shown}; or {_SAY}"
    return Cell(refusal=f"{quoted(text)} may be {shown}: {doubt}", suggestion=suggestion)


def _either(written: WrittenDay) -> str:
    return listing([day.isoformat() for day in written.days], last="or")
