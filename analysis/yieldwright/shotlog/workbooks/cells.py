"""From what a workbook stores in a cell to the text a person sees there.

A workbook keeps a number and, apart from it, how it is shown: as a percentage, a day, a
time. Both together are what was written.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache, partial
from math import isfinite

from yieldwright.shotlog.cells.units import is_unit_word
from yieldwright.shotlog.formats.texts import Figure

__all__ = ["BUILT_IN", "Show", "iso_text", "plain_number", "show_as", "unescape"]

#: Turns the number a cell stores into the text it shows.
Show = Callable[[str], str]

#: Number formats that workbooks name by number only (ECMA-376 part 1, 18.8.30); those of
#: East Asia, 27 to 36 and 50 to 58, all show days.
BUILT_IN = {
    9: "0%",
    10: "0.00%",
    **dict.fromkeys((14, 15, 16, 17, *range(27, 37), *range(50, 59)), "yyyy-mm-dd"),
    **dict.fromkeys((18, 19, 20, 21), "h:mm:ss"),
    22: "yyyy-mm-dd h:mm",
    45: "mm:ss",
    46: "[h]:mm:ss",
    47: "mm:ss.0",
}

_DAY_MS = 86_400_000
_HOUR_MS = 3_600_000
#: Day numbers from here on are days for certain: before, a time of day has grown over 24 h.
_FIRST_DAY = 366
_LAST_DAY = 2_957_003  # 9999-12-31 counted from 1904
#: The calendar of spreadsheets holds a 29 February 1900, day 60, that never was.
_NEVER_WAS = 60
_MOST_PLACES = 20
_LONGEST_FORMAT = 255

_FIRST_SECTION = re.compile(r'(?:"[^"]*"|\\.|[^;"\\])*')
_ASIDE = re.compile(r"_.|\*.|\[(?!h+\]|m+\]|s+\])[^\]]*\]", re.IGNORECASE)
_LITERAL = re.compile(r'"([^"]*)"|\\(.)')
_WITH_UNIT = re.compile(r'[#0?,.]*[#0?]((?:"[^"]*"|\\.|\s)+)')
_MARKS = re.compile(r"\[h+\]|\[m+\]|\[s+\]|y+|m+|d+|h+|s+", re.IGNORECASE)
_ESCAPED = re.compile(r"(?:_x[0-9A-Fa-f]{4}_)+")
_ISO = re.compile(r"(\d{4}-\d\d-\d\d)?T?(?:(\d\d:\d\d)(?::(\d\d(?:\.\d+)?))?)?Z?")


def plain_number(stored: str) -> str:
    """Return a stored number as shortly as it can be written without loss.

    Parameters
    ----------
    stored : str
        As the workbook writes it.

    Returns
    -------
    str
        A `Figure`; what is no number stays as it is.

    Examples
    --------
    >>> plain_number("18.100000000000001"), plain_number("18.0"), plain_number("1E-3")
    ('18.1', '18', '0.001')
    """
    if not stored.isascii() or "_" in stored:
        return stored
    if stored.isdigit():
        return Figure(stored.lstrip("0") or "0")
    try:
        number = float(stored)
    except ValueError:
        return stored
    if not isfinite(number):
        return stored
    text = repr(number).removesuffix(".0")
    return Figure(_without_exponent(text) if "e" in text else text)


@lru_cache(maxsize=1024)
def show_as(code: str, *, from_1904: bool) -> Show:
    """Return what turns a stored number into the text that a number format shows.

    Parameters
    ----------
    code : str
        The number format.
    from_1904 : bool
        Whether the workbook counts its days from 1904.

    Returns
    -------
    callable

    Notes
    -----
    Rounding for display is not followed: 18.26 shown as 18.3 is 18.26.

    Examples
    --------
    >>> show_as("0.0%", from_1904=False)("0.091")
    '9.1%'
    >>> show_as("yyyy-mm-dd", from_1904=False)("46088")
    '2026-03-07'
    >>> show_as('0.00" oz"', from_1904=False)("0.63")
    '0.63 oz'
    """
    section = _FIRST_SECTION.match(code[:_LONGEST_FORMAT])
    shown = _ASIDE.sub("", section[0] if section else "").strip()
    bare = _LITERAL.sub("", shown)
    if bare.casefold() in ("", "@", "general", "standard", "text"):
        return plain_number
    if "%" in bare:
        return _percent
    marks = _time_marks(bare)
    if marks:
        return partial(_time_text, marks=marks, from_1904=from_1904)
    if re.fullmatch("0{2,}", shown):
        return partial(_padded, width=len(shown))
    unit = _unit(shown)
    return partial(_with_unit, unit=unit) if unit else plain_number


def iso_text(stored: str) -> str:
    """Return a day or time that a workbook stores as text, in our own way of writing it.

    Parameters
    ----------
    stored : str
        ISO 8601, as the strict variant of the standard has it.

    Returns
    -------
    str
        What is something else stays as it is.

    Examples
    --------
    >>> iso_text("2026-03-07T00:00:00"), iso_text("2026-03-07T10:25:00Z"), iso_text("00:36:00")
    ('2026-03-07', '2026-03-07T10:25', '00:36:00')
    """
    found = _ISO.fullmatch(stored)
    if not found:
        return stored
    day, clock, seconds = found[1], found[2], found[3] or "00"
    if day is None:
        return f"{clock}:{seconds}" if clock else stored
    if clock is None or (clock == "00:00" and not float(seconds)):
        return day
    return f"{day}T{clock}:{seconds}" if float(seconds) else f"{day}T{clock}"


def unescape(text: str) -> str:
    r"""Return a text with the characters that XML cannot hold, written as in _x000D_.

    Parameters
    ----------
    text : str
        As stored.

    Returns
    -------
    str

    Examples
    --------
    >>> unescape("one_x000D_\ntwo"), unescape("_x005F_x0041_")
    ('one\r\ntwo', '_x0041_')
    """
    return _ESCAPED.sub(_characters, text) if "_x" in text else text


def _characters(found: re.Match[str]) -> str:
    units = b"".join(int(code, 16).to_bytes(2, "big") for code in found[0][2:-1].split("__x"))
    try:
        return units.decode("utf-16-be")
    except UnicodeDecodeError:
        return found[0]


def _without_exponent(text: str) -> str:
    number = Decimal(text)
    return f"{number:f}" if -_MOST_PLACES < number.adjusted() < _MOST_PLACES else text


def _percent(stored: str) -> str:
    text = plain_number(stored)
    if not isinstance(text, Figure):
        return text
    hundredfold = f"{Decimal(text).scaleb(2):f}"
    if "." in hundredfold:
        hundredfold = hundredfold.rstrip("0").rstrip(".")
    return Figure(f"{hundredfold}%")


def _padded(stored: str, *, width: int) -> str:
    text = plain_number(stored)
    return Figure(text.zfill(width)) if text.isdigit() else text


def _unit(shown: str) -> str:
    """Return the unit that a number format writes behind its number, empty where it has none."""
    found = _WITH_UNIT.fullmatch(shown)
    literal = (
        _LITERAL.sub(lambda part: part[1] or part[2] or "", found[1]).strip() if found else ""
    )
    return literal if is_unit_word(literal) else ""


def _with_unit(stored: str, *, unit: str) -> str:
    text = plain_number(stored)
    return Figure(f"{text} {unit}") if isinstance(text, Figure) else text


def _time_marks(bare: str) -> frozenset[str]:
    """Return which of day, h, m, s and "elapsed" a number format shows; none for a number."""
    found = _MARKS.findall(re.sub("am/pm|a/p", "", bare.casefold()))
    marks: set[str] = set()
    for at, mark in enumerate(found):
        letter = mark.strip("[]")[0]
        after = found[at + 1].strip("[]")[0] if at + 1 < len(found) else ""
        if mark.startswith("["):
            marks |= {letter, "elapsed"}
        elif letter == "m" and after != "s" and not marks & {"h", "s"}:
            marks.add("day")
        else:
            marks.add("day" if letter in "yd" else letter)
    return frozenset(marks)


def _time_text(stored: str, *, marks: frozenset[str], from_1904: bool) -> str:
    """Return a day number as the day, the moment or the time that its format shows."""
    number = plain_number(stored)
    if not isinstance(number, Figure) or not 0 <= float(number) < _LAST_DAY + 1:
        return number
    milliseconds = round(float(number) * _DAY_MS)
    days, clock = divmod(milliseconds, _DAY_MS)
    if "elapsed" in marks or (days < _FIRST_DAY and "day" not in marks) or days < 1:
        return _duration(milliseconds, marks)
    day = _day(days, from_1904=from_1904)
    return f"{day}T{_clock(clock)}" if clock or marks & {"h", "m", "s"} else day


def _day(days: int, *, from_1904: bool) -> str:
    if from_1904:
        return (date(1904, 1, 1) + timedelta(days=days)).isoformat()
    if days == _NEVER_WAS:
        return "1900-02-29"
    origin = date(1899, 12, 30) if days > _NEVER_WAS else date(1899, 12, 31)
    return (origin + timedelta(days=days)).isoformat()


def _clock(milliseconds: int) -> str:
    """Return a time of day, its seconds only where there are any."""
    text = _duration(milliseconds, frozenset("h"))
    return text.removesuffix(":00") if text.count(":") == 2 else text


def _duration(milliseconds: int, marks: frozenset[str]) -> str:
    """Return hours, minutes and seconds; only those shown where that hides nothing."""
    whole, rest = divmod(milliseconds, 1000)
    fraction = f".{rest:03}".rstrip("0") if rest else ""
    minutes, seconds = divmod(whole, 60)
    hides_hours = milliseconds >= _HOUR_MS and "elapsed" not in marks
    if "h" in marks or not marks & {"m", "s"} or hides_hours:
        return f"{minutes // 60:02}:{minutes % 60:02}:{seconds:02}{fraction}"
    if "m" in marks:
        return f"{minutes:02}:{seconds:02}{fraction}"
    return f"{whole}{fraction} s"
