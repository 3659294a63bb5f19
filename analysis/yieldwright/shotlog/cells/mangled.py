"""Numbers that a spreadsheet made something else of: days, times of day, error words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.formatting import clip, visible
from yieldwright.shotlog.cells.months import month_of

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity

__all__ = ["ERROR_WORDS", "Mangled", "find_day", "find_time"]

#: What spreadsheets show in place of a value they cannot compute; folded.
ERROR_WORDS = frozenset(
    {
        *("#div/0!", "#value!", "#ref!", "#n/a", "#name?", "#num!", "#null!", "#error!"),
        *("#spill!", "#calc!", "#getting_data", "#field!", "#busy!", "#connect!", "#blocked!"),
        *("err:502", "err:504", "err:508", "err:522", "#unknown!"),
    }
)


class Mangled(NamedTuple):
    """Why a cell is no number, and what it may have been before.

    Attributes
    ----------
    reason : str
        To follow the text it speaks of; empty where the cell is a number after all.
    suggestion : str
        What may have been typed.
    seconds : float
        The time the cell states, where that is beyond doubt.
    """

    reason: str
    suggestion: str
    seconds: float = 0.0


_ISO = re.compile(
    r"(?P<y>[0-9]{4})([-/.])(?P<m>[0-9]{1,2})\2(?P<d>[0-9]{1,2})(?:[ t](?P<time>[0-9].*))?"
)
_YEAR_MONTH = re.compile(r"(?P<y>(?:19|20)[0-9]{2})-(?P<m>0[1-9]|1[0-2])")
_DAY_FIRST = re.compile(
    r"(?P<d>[0-9]{1,2})[. /-]*(?P<w>[^\W\d_]{3,10})\.?(?:[., /-]+(?P<y>[0-9]{4}|[0-9]{2}))?"
)
_MONTH_FIRST = re.compile(
    r"(?P<w>[^\W\d_]{3,10})\.?[. /-]*(?P<d>[0-9]{1,2})(?:[., /-]+(?P<y>[0-9]{4}))?"
)
_FIGURES = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})?")
_PADDED = re.compile(r"0[0-9]-[0-9]{1,2}|[0-9]{1,2}-0[0-9]")
_MIDNIGHT = re.compile(r"0?0:00(?::00(?:\.0+)?)?z?")
#: Days from which spreadsheets count: a time of day alone is stored as a moment of such a day.
_EPOCH = re.compile(r"(?:1899-12-3[01]|1900-01-0[01]|1904-01-01|0 days)[ t]")
_TIME = re.compile(
    r"(?P<h>[0-9]{1,4}):(?P<m>[0-5][0-9])(?::(?P<s>[0-5][0-9](?:[.,][0-9]+)?))?\s?(?P<half>[ap]m)?"
)
_LAST_TWO_DECIMALS = 2010  # an earlier year, with day 1, stands for two decimals: 9.95


def find_day(text: str, entry: Quantity, mark: str) -> Mangled | None:
    """Return what a day in a column of numbers may have been, None where there is no day.

    Parameters
    ----------
    text : str
        Without outer blanks.
    entry : Quantity
        The column's entry in the glossary.
    mark : str
        The decimal mark of the column.

    Returns
    -------
    Mangled or None

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> find_day("18 May", quantity("dose_g"), ".").suggestion
    'made a date by a spreadsheet? 18 May → 18.5?'
    """
    plain = text.casefold()
    if _PADDED.fullmatch(plain):
        return Mangled("may be a day or a range", "write a range without zeros before its ends")
    found = _ISO.fullmatch(plain)
    if found and found["time"] and not _MIDNIGHT.fullmatch(found["time"]):
        return Mangled("is a day and a time, not a number", "are the cells of this row shifted?")
    parts = _parts_in_figures(plain) or _parts_in_words(plain)
    if parts is None:
        return None
    typed = _typed(*parts, entry, mark)
    return Mangled("is no number", f"made a date by a spreadsheet? {_shown(text)} → {typed}?")


def find_time(text: str, entry: Quantity, mark: str) -> Mangled | None:
    """Return what a time of day in a column of numbers may have been, None where there is none.

    Minutes and seconds in a column of seconds are no time of day, and neither is a ratio.

    Parameters
    ----------
    text : str
        Without outer blanks.
    entry : Quantity
        The column's entry in the glossary.
    mark : str
        The decimal mark of the column.

    Returns
    -------
    Mangled or None

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> find_time("00:36:00", quantity("time_s"), ".").suggestion
    '00:36:00 → 36?'
    >>> find_time("0:36", quantity("time_s"), ".") is None
    True
    """
    plain = text.casefold().replace(".m.", "m")
    alone = _EPOCH.sub("", plain, count=1)
    found = _TIME.fullmatch(alone)
    if found is None:
        return None
    is_clock = bool(found["s"] or found["half"]) or alone != plain
    if entry.name == "brew_ratio":
        is_clock = is_clock or found["h"].startswith("0") or found["m"].startswith("0")
        return _no_ratio(text, found) if is_clock else None
    if entry.unit == "s":
        return _seconds(text, found, entry) if is_clock else None
    hours, minutes = _hours(found), int(found["m"])
    if entry.unit == "min":
        meant = f"{_shown(text)} → {60 * hours + minutes}?"
        return Mangled("may be hours and minutes or minutes and seconds", meant)
    meant = f"made a time by a spreadsheet? {_shown(text)} → {hours}{mark}{found['m']}?"
    return Mangled("is a time of day, not a number", meant)


def _parts_in_figures(plain: str) -> tuple[int, int, int] | None:
    """Return day, month and year (0 where there is none) of a day in figures."""
    if found := _ISO.fullmatch(plain):
        day, month, year = int(found["d"]), int(found["m"]), int(found["y"])
    elif found := _YEAR_MONTH.fullmatch(plain):
        day, month, year = 1, int(found["m"]), int(found["y"]) % 100
    elif found := _FIGURES.fullmatch(plain):
        if not found[4] and found[2] != ".":
            return None
        day, month, year = int(found[1]), int(found[3]), int(found[4] or 0)
        day, month = (month, day) if month > 12 else (day, month)
    else:
        return None
    return (day, month, year) if 1 <= month <= 12 and 1 <= day <= 31 else None


def _parts_in_words(plain: str) -> tuple[int, int, int] | None:
    """Return day, month and year (0 where there is none) of a day whose month is a word."""
    first = _DAY_FIRST.fullmatch(plain)
    found = first or _MONTH_FIRST.fullmatch(plain)
    month = month_of(found["w"]) if found else None
    if found is None or month is None:
        return None
    day, year = int(found["d"]), int(found["y"] or 0)
    if first or year:
        return (day, month, year) if 1 <= day <= 31 else None
    return 1, month, day  # May-18 is how a month of 2018 is shown


def _typed(day: int, month: int, year: int, entry: Quantity, mark: str) -> str:
    """Return what a spreadsheet may have made this day of."""
    if entry.name == "brew_ratio" and 1 in (day, month):
        return f"1:{max(day, month)}"
    if day == 1 and 0 < year < _LAST_TWO_DECIMALS:
        return f"{month}{mark}{year % 100:02}"
    return f"{day}{mark}{month}"


def _hours(found: re.Match[str]) -> int:
    hours = int(found["h"])
    return hours if not found["half"] else hours % 12 + (12 if found["half"] == "pm" else 0)


def _no_ratio(text: str, found: re.Match[str]) -> Mangled:
    r = int(found["m"])
    is_one = _hours(found) == 1 and r > 0
    meant = f"{_shown(text)} → 1:{r}?" if is_one else "write it as 1:2"
    return Mangled("is a time of day, not a ratio", meant)


def _seconds(text: str, found: re.Match[str], entry: Quantity) -> Mangled:
    """Return seconds where a time of day can mean nothing else, or what it may mean."""
    hours, minutes = _hours(found), int(found["m"])
    third = float((found["s"] or "0").replace(",", "."))
    whole = 3600 * hours + 60 * minutes + third
    shifted = 60 * hours + minutes + third / 100
    if not hours and third and entry.hard.holds(whole):
        return Mangled("", "", whole)
    lone = hours if not minutes and not third else 0  # 36:00:00
    likely = [value for value in (lone, shifted, whole) if entry.hard.holds(value)] or [shifted]
    meant = " or ".join(f"{value:.10g}" for value in dict.fromkeys(likely))
    return Mangled("may be hours or minutes", f"{_shown(text)} → {meant}?")


def _shown(text: str) -> str:
    return clip(visible(text), 40)
