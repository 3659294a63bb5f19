"""Days and moments from text: ISO 8601, and slashed dates only where their order is proven."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import cache
from typing import Literal, NamedTuple

from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.numerals import MISSING_WORDS, Cell

__all__ = ["DayOrder", "Pull", "find_day_order", "read_day", "read_moment"]

DayOrder = Literal["day first", "month first"]

_ISO = re.compile(r"([0-9]{4})-?([0-9]{2})-?([0-9]{2})(?:[T ]+(.+))?")
_YEAR_FIRST = re.compile(r"([0-9]{4})[/.]([0-9]{1,2})[/.]([0-9]{1,2})(?:[T ]+(.+))?")
_YEAR_LAST = re.compile(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})(?:[T ]+(.+))?")
_SERIAL = re.compile(r"[0-9]{5}(?:[.,][0-9]+)?")
_SERIAL_ORIGIN = date(1899, 12, 30)  # day 0 of spreadsheets
_FIRST_YEAR = 2000
_WRITE = "write the day as year-month-day, such as 2026-03-07"


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


def find_day_order(texts: Iterable[str]) -> DayOrder | None:
    """Return the order of day and month in dates such as 03/04/2026.

    Parameters
    ----------
    texts : iterable of str
        All cells of one column.

    Returns
    -------
    {"day first", "month first"} or None
        None where no day over 12 proves one, or where both are proven.

    Examples
    --------
    >>> find_day_order(["03/04/2026", "13/04/2026"])
    'day first'
    >>> find_day_order(["03/04/2026"]) is None
    True
    """
    parts = [found for text in texts if (found := _YEAR_LAST.match(text.strip()))]
    day_first = any(int(found[1]) > 12 for found in parts)
    month_first = any(int(found[2]) > 12 for found in parts)
    if day_first == month_first:
        return None
    return "day first" if day_first else "month first"


def read_day(text: str, order: DayOrder | None) -> Cell:
    """Return the day in a cell, as a date.

    Parameters
    ----------
    text : str
        As typed.
    order : {"day first", "month first"} or None
        Proven for the column.

    Returns
    -------
    Cell

    Examples
    --------
    >>> read_day("2026-03-07", None).value
    datetime.date(2026, 3, 7)
    >>> read_day("03/04/2026", None).refusal
    '“03/04/2026” may be 2026-04-03 or 2026-03-04: no day over 12 in the column tells'
    """
    found = _split(text, order)
    if isinstance(found, Cell):
        return found
    return Cell(found.day, flag="the time of day is left out" if found.time else "")


def read_moment(text: str, order: DayOrder | None, offset: str) -> Cell:
    """Return day and instant in a cell, as a `Pull`.

    Parameters
    ----------
    text : str
        As typed.
    order : {"day first", "month first"} or None
        Proven for the column.
    offset : str
        Offset from UTC for a time without one, such as "+01:00".

    Returns
    -------
    Cell

    Examples
    --------
    >>> read_moment("2026-03-07T00:25+01:00", None, "+00:00").value.day
    datetime.date(2026, 3, 7)
    >>> read_moment("2026-03-07", None, "+00:00").value.moment is None
    True
    """
    found = _split(text, order)
    if isinstance(found, Cell):
        return found
    if not found.time:
        return Cell(Pull(found.day, None))
    try:
        return Cell(Pull(found.day, _instant(found, offset)))
    except (ValueError, OverflowError):
        return Cell(
            refusal=f"{quoted(text)} ends in no time of day",
            suggestion="write hours and minutes, such as 2026-03-07T10:25",
        )


class _Found(NamedTuple):
    """A day and what stands behind it."""

    day: date
    time: str


def _split(text: str, order: DayOrder | None) -> _Found | Cell:
    """Return the day of a cell and the rest of it, or the cell that says why not."""
    text = text.strip()
    if not text:
        return Cell()
    if text.casefold() in MISSING_WORDS:
        return Cell(flag="taken as missing")
    found = _ISO.fullmatch(text) or _YEAR_FIRST.fullmatch(text)
    if found:
        return _dated(text, (found[1], found[2], found[3]), found[4])
    if found := _YEAR_LAST.fullmatch(text):
        return _ordered(text, found, order)
    return Cell(refusal=f"{quoted(text)} is no date we read", suggestion=_serial_day(text))


def _ordered(text: str, found: re.Match[str], order: DayOrder | None) -> _Found | Cell:
    """Return the day of a date with the year last, where its order is proven."""
    first, second = int(found[1]), int(found[2])
    if order is None and (first > 12) == (second > 12) and first != second:
        return _ambiguous(text, first, second, found[3])
    is_day_first = order == "day first" if order else first > 12
    day, month = (first, second) if is_day_first else (second, first)
    return _dated(text, (found[3], str(month), str(day)), found[4])


def _ambiguous(text: str, first: int, second: int, year: str) -> Cell:
    either = f"{year}-{second:02}-{first:02} or {year}-{first:02}-{second:02}"
    return Cell(
        refusal=f"{quoted(text)} may be {either}: no day over 12 in the column tells",
        suggestion=f"write {either}",
    )


def _dated(text: str, parts: tuple[str, str, str], rest: str | None) -> _Found | Cell:
    try:
        day = date(*map(int, parts))
    except ValueError:
        return Cell(refusal=f"{quoted(text)} is a day no calendar has", suggestion=_WRITE)
    if day.year < _FIRST_YEAR:
        return Cell(refusal=f"{quoted(text)} lies before {_FIRST_YEAR}", suggestion=_WRITE)
    return _Found(day, (rest or "").replace(" ", ""))


def _instant(found: _Found, offset: str) -> datetime:
    clock = time.fromisoformat(found.time)
    zone = clock.tzinfo or _zone(offset)
    return datetime.combine(found.day, clock, zone).astimezone(UTC)


@cache
def _zone(offset: str) -> timezone:
    sign = -1 if offset.startswith("-") else 1
    hours, minutes = offset.strip("+-").split(":")
    return timezone(sign * timedelta(hours=int(hours), minutes=int(minutes)))


def _serial_day(text: str) -> str:
    """Return the day a spreadsheet's day number stands for, as a question."""
    if not _SERIAL.fullmatch(text):
        return _WRITE
    day = _SERIAL_ORIGIN + timedelta(days=int(text[:5]))
    return f"a spreadsheet's day number? {text} → {day.isoformat()}?"
