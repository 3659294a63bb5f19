"""One text cell to a number in the glossary's unit, or the reason why not."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.bench import Refractometer
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.units import convert

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.dialect import Decimal

__all__ = ["MISSING_WORDS", "Cell", "Writing", "read_number"]


class Cell(NamedTuple):
    """What one text cell turned out to hold.

    Attributes
    ----------
    value : object
        In the glossary's unit; None where it is missing.
    flag : str
        Why the value is doubtful, though the row is kept.
    refusal : str
        Why the row must be set aside.
    suggestion : str
        What may have been meant.
    unit : str
        Unit the value was converted from; empty where it was the glossary's.
    half_width : float
        Stated or known spread, in the glossary's unit; 0 where there is none.
    """

    value: object = None
    flag: str = ""
    refusal: str = ""
    suggestion: str = ""
    unit: str = ""
    half_width: float = 0.0


@dataclass(frozen=True, slots=True)
class Writing:
    """How the numbers of one column are written.

    Attributes
    ----------
    decimal : {"point", "comma"}
        What stands before decimals.
    unit : str
        Unit stated for the whole column; empty where it is the glossary's. The unit of
        a single cell wins.
    density_g_per_ml : float or None
        Mass of a millilitre of beverage, where the bench states it. [g/mL]
    refractometer : Refractometer
        Gives the factor from the sugar scale to strength.
    """

    decimal: Decimal = "point"
    unit: str = ""
    density_g_per_ml: float | None = None
    refractometer: Refractometer = Refractometer()


#: What a person writes for "no value"; text columns keep it as it stands.
MISSING_WORDS = frozenset(
    {
        *("-", "–", "—", "--", "?", "n/a", "n.a.", "na", "nan", "none", "null", "#n/a"),
        *("inf", "+inf", "-inf", "infinity", "-infinity", "∞", "-∞"),
    }
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f\t\n", " "))
_ANY_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_DAY_MONTH = re.compile(r"([0-9]{1,2})[. -]+([a-z]{3})[a-z]*\.?")
_ISO_DAY = re.compile(r"[0-9]{4}-([0-9]{2})-([0-9]{2})(?:[ T]00:00(?::00)?)?")
_THREE_PARTS = re.compile(r"([0-9]+):([0-5]?[0-9]):([0-5]?[0-9])")


class _Grammar(NamedTuple):
    """How numbers may be written with one decimal mark."""

    plain: re.Pattern[str]
    with_unit: re.Pattern[str]
    about: re.Pattern[str]
    give_or_take: re.Pattern[str]
    between: re.Pattern[str]
    clock: re.Pattern[str]
    ratio: re.Pattern[str]
    other_mark: re.Pattern[str]


def read_number(text: str, entry: Quantity, writing: Writing | Decimal) -> Cell:
    """Return the number in a cell, in the unit of its column.

    Parameters
    ----------
    text : str
        As typed.
    entry : Quantity
        The column's entry in the glossary.
    writing : Writing
        How the numbers of the column are written.

    Returns
    -------
    Cell

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> read_number("1:02", quantity("time_s"), Writing()).value
    62.0
    >>> read_number("36 mL", quantity("beverage_g"), Writing()).refusal
    '“36 mL” is a volume, and the column wants g'
    """
    decimal = writing if isinstance(writing, str) else writing.decimal
    if _grammar(decimal).plain.fullmatch(text):
        value = _float(text)
        if math.isfinite(value):
            return _whole(Cell(value), text, entry)
    return _whole(_read_unusual(_tidy(text), entry, decimal), text, entry)


def _read_unusual(text: str, entry: Quantity, decimal: Decimal) -> Cell:
    """Return what a cell holds that is no plain number."""
    if not text:
        return Cell()
    if text.casefold() in MISSING_WORDS:
        return Cell(flag="taken as missing")
    for read in (_read_ratio, _read_clock, _read_simple, _read_spread):
        cell = read(text, entry, decimal)
        if cell is not None:
            return cell
    return _no_number(text, decimal)


def _read_simple(text: str, entry: Quantity, decimal: Decimal) -> Cell | None:
    """Return a number with or without a unit, or one said to be approximate."""
    grammar = _grammar(decimal)
    exact = grammar.with_unit.fullmatch(text)
    about = grammar.about.fullmatch(text)
    found = exact or about
    if found is None:
        return None
    value = _float(found[1])
    if not math.isfinite(value):
        return Cell(flag="too large to be a number; taken as missing")
    cell = _in_unit(text, value, found[2], entry)
    doubt = "" if exact or cell.refusal else "said to be approximate; taken as it stands"
    return cell._replace(flag=doubt)


def _read_spread(text: str, entry: Quantity, decimal: Decimal) -> Cell | None:
    """Return the middle of a range, or of a value give or take."""
    grammar = _grammar(decimal)
    if found := grammar.give_or_take.fullmatch(text):
        middle, half = _float(found[1]), abs(_float(found[2]))
    elif found := grammar.between.fullmatch(text):
        low, high = _float(found[1]), _float(found[2])
        middle, half = (low + high) / 2, abs(high - low) / 2
    else:
        return None
    cell = _in_unit(text, middle, found[3], entry)
    unit = f" {found[3].strip()}" if found[3] else ""
    return cell._replace(
        flag="" if cell.refusal else f"taken as {middle:g}{unit}, half-width {half:g}{unit}"
    )


def _read_clock(text: str, entry: Quantity, decimal: Decimal) -> Cell | None:
    """Return seconds written as minutes:seconds; three parts are refused."""
    if three := _THREE_PARTS.fullmatch(text):
        first, second, third = map(int, three.groups())
        shifted = 60 * first + second
        full = 3600 * first + 60 * second + third
        meant = f"{shifted}?" if third == 0 else f"{full}?"
        return Cell(
            refusal=f"{quoted(text)} may be hours or minutes", suggestion=f"{text} → {meant}"
        )
    found = _grammar(decimal).clock.fullmatch(text)
    if found is None or entry.unit != "s":
        return None
    return Cell(60.0 * int(found[1]) + _float(found[2]))


def _read_ratio(text: str, entry: Quantity, decimal: Decimal) -> Cell | None:
    """Return r of a ratio written 1:r, 1/r or r×; a clock time is refused."""
    if entry.name != "brew_ratio":
        return None
    if clock := re.fullmatch(r"0?1:0([0-9])(?::00)?", text):
        reason = f"{quoted(text)} is a time of day, not a ratio"
        return Cell(refusal=reason, suggestion=f"{text} → 1:{clock[1]}?")
    found = _grammar(decimal).ratio.fullmatch(text)
    return Cell(_float(next(part for part in found.groups() if part))) if found else None


def _in_unit(text: str, value: float, unit: str | None, entry: Quantity) -> Cell:
    turned = convert(value, unit or "", entry.unit)
    if turned.refusal:
        reason = f"{quoted(text)} {turned.refusal}"
        return Cell(refusal=reason, suggestion=turned.suggestion)
    return Cell(turned.value, unit=(unit or "").strip() if turned.is_changed else "")


def _whole(cell: Cell, text: str, entry: Quantity) -> Cell:
    """Return the cell, refused where a running number is not whole."""
    value = cell.value
    if entry.kind != "integer" or not isinstance(value, float) or value.is_integer():
        return cell
    return Cell(refusal=f"{quoted(text)} is no whole number", suggestion=f"{round(value)}?")


def _no_number(text: str, decimal: Decimal) -> Cell:
    if _grammar(decimal).other_mark.fullmatch(text):
        meant = text.replace(",", ".") if decimal == "point" else text.replace(".", ",")
        other = "comma" if decimal == "point" else "point"
        reason = f"{quoted(text)} has a decimal {other} in a file written with a {decimal}"
        return Cell(refusal=reason, suggestion=f"{text} → {meant}?")
    return Cell(refusal=f"{quoted(text)} is no number", suggestion=_number_within(text))


def _number_within(text: str) -> str:
    """Return the number a cell may have meant, as a question."""
    day = _DAY_MONTH.fullmatch(text.casefold())
    if day and day[2] in _MONTHS:
        return f"made a date by a spreadsheet? {text} → {day[1]}.{_MONTHS.index(day[2]) + 1}?"
    if iso := _ISO_DAY.fullmatch(text):
        return f"made a date by a spreadsheet? {text} → {int(iso[2])}.{int(iso[1])}?"
    inside = _ANY_NUMBER.findall(text[:200])
    return f"{inside[0]}?" if len(inside) == 1 else "write one number"


def _tidy(text: str) -> str:
    return text.translate(_SPACES).strip().replace("\N{MINUS SIGN}", "-")


def _float(digits: str) -> float:
    return float(digits.replace(",", "."))


@cache
def _grammar(decimal: Decimal) -> _Grammar:
    mark = r"\." if decimal == "point" else ","
    other = "," if decimal == "point" else r"\."
    digits = rf"(?:[0-9]+(?:{mark}[0-9]*)?|{mark}[0-9]+)"
    number = rf"([+-]?{digits}(?:[eE][+-]?[0-9]{{1,4}})?)"
    free = rf"({digits})"
    unit = r"\s*([^\W\d_][^0-9]*|[°%℃℉][^0-9]*)?"
    return _Grammar(
        plain=re.compile(rf"[+-]?[0-9]+(?:{mark}[0-9]+)?"),
        with_unit=re.compile(number + unit),
        about=re.compile(rf"(?:~|≈|ca\.?|circa|about|approx\.?)\s*{number}{unit}", re.IGNORECASE),
        give_or_take=re.compile(rf"{number}\s*(?:±|\+/-|\+-)\s*{number}{unit}"),
        between=re.compile(rf"{number}\s*(?:-|–|—|\.\.|…|to)\s*{number}{unit}"),
        clock=re.compile(rf"([0-9]{{1,3}}):([0-5][0-9](?:{mark}[0-9]+)?)"),
        ratio=re.compile(rf"1\s*[:/]\s*{free}|{free}\s*[x×]|[x×]\s*{free}", re.IGNORECASE),
        other_mark=re.compile(rf"[+-]?[0-9]+{other}[0-9]+"),
    )
