"""What days a text may name: by numbers, by the word of the month, in any order of the parts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Literal, NamedTuple

from yieldwright.shotlog.cells.months import month_of

__all__ = ["DayOrder", "WrittenDay", "written_day"]

DayOrder = Literal["day first", "month first"]

_TIME = r"(?:(?:\s*,\s*|\s*t\s*|\s+)(?:(?:at|um)\s+)?(?P<time>.+))?"
_ORDINAL = r"(?:st|nd|rd|th|er|\.|º|°)?"
_WORD = r"(?P<word>[^\W\d_]{3,12})\.?"
_OF = r"(?:de|del|of)\s+"  # 7 de marzo de 2026, 7th of March 2026
_YEAR = r"(?P<year>[0-9]{4}|'?[0-9]{2})"
_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\N{MINUS SIGN}", "-"))
_CENTURY = 2000


def _form(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern + _TIME, re.DOTALL)


_ISO = _form(r"(?P<year>[0-9]{4})-?(?P<month>[0-9]{2})-?(?P<day>[0-9]{2})")
_YEAR_FIRST = _form(
    r"(?P<year>[0-9]{4})\s*[/.-]\s*(?P<month>[0-9]{1,2})\s*[/.-]\s*(?P<day>[0-9]{1,2})\.?"
)
_YEAR_LAST = _form(
    rf"(?P<first>[0-9]{{1,2}})\s*[/.-]\s*(?P<second>[0-9]{{1,2}})\s*[/.-]\s*{_YEAR}"
)
_NAMED = (
    _form(rf"(?P<day>[0-9]{{1,2}}){_ORDINAL}[\s/-]*(?:{_OF})?{_WORD},?[\s/-]*(?:{_OF})?{_YEAR}"),
    _form(rf"{_WORD}[\s/-]*(?P<day>[0-9]{{1,2}}){_ORDINAL}(?:\s*,\s*|[\s/-]+){_YEAR}"),
    _form(rf"(?P<year>[0-9]{{4}})[\s/-]*{_WORD}[\s/-]*(?P<day>[0-9]{{1,2}}){_ORDINAL}"),
)


class WrittenDay(NamedTuple):
    """The days one text may name.

    Attributes
    ----------
    readings : mapping of str to date
        By the order of the parts: "day first", "month first", "year first"; "certain"
        where the text leaves no choice. Days no calendar has are left out.
    time : str
        What follows the day.
    is_short : bool
        Whether the year has two digits.
    word : str
        The word that stands where a month should, and names none.
    """

    readings: Mapping[str, date]
    time: str = ""
    is_short: bool = False
    word: str = ""

    @property
    def days(self) -> list[date]:
        """The different days it may name."""
        return list(dict.fromkeys(self.readings.values()))

    @property
    def proves(self) -> DayOrder | None:
        """The order of day and month that it proves for its column."""
        orders: list[DayOrder] = [
            order for order in ("day first", "month first") if order in self.readings
        ]
        return orders[0] if len(orders) == 1 and not self.is_short else None


def written_day(text: str) -> WrittenDay | None:
    """Return the days a text may name, None where it has the shape of no date.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    WrittenDay or None

    Examples
    --------
    >>> list(written_day("03/04/2026").readings), written_day("13/04/2026").proves
    (['day first', 'month first'], 'day first')
    >>> written_day("March 7th, 2026").days
    [datetime.date(2026, 3, 7)]
    >>> written_day("about noon") is None
    True
    """
    plain = text.strip().translate(_DASHES).casefold()
    if found := _ISO.fullmatch(plain) or _YEAR_FIRST.fullmatch(plain):
        return _written(found, {"certain": (found["year"], found["month"], found["day"])})
    if found := _YEAR_LAST.fullmatch(plain):
        return _written(found, _numbers(found["first"], found["second"], found["year"]))
    named = next(filter(None, (form.fullmatch(plain) for form in _NAMED)), None)
    return _named(named) if named else None


_Parts = Mapping[str, tuple[str, str, str]]


def _numbers(first: str, second: str, year: str) -> _Parts:
    """Return year, month and day of a date in numbers whose year stands last, or seems to."""
    parts = {"day first": (year, second, first), "month first": (year, first, second)}
    return parts | {"year first": (first, second, year)} if len(year) == 2 else parts


def _named(found: re.Match[str]) -> WrittenDay:
    """Return the days of a date whose month is a word."""
    month = month_of(found["word"])
    if month is None:
        return WrittenDay({}, word=found["word"])
    year, day = found["year"], found["day"]
    if len(year) == 2 and found.start("day") < found.start("word"):
        both = {"day first": (year, str(month), day), "year first": (day, str(month), year)}
        return _written(found, both)
    return _written(found, {"certain": (year, str(month), day)})


def _written(found: re.Match[str], parts: _Parts) -> WrittenDay:
    days = {order: _day(*each) for order, each in parts.items()}
    readings = {order: day for order, day in days.items() if day}
    return WrittenDay(readings, found["time"] or "", len(found["year"]) < 4)


def _day(year: str, month: str, day: str) -> date | None:
    """Return a day, None where no calendar has it; two digits are a year of this century."""
    whole = int(year) if len(year) == 4 else _CENTURY + int(year.lstrip("'"))
    try:
        return date(whole, int(month), int(day))
    except ValueError:
        return None
