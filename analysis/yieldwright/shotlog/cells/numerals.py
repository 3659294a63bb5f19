"""One text cell to a number in the glossary's unit, or the reason why not."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.bench import Refractometer
from yieldwright.formatting import clip, visible
from yieldwright.shotlog.cells.mangled import ERROR_WORDS, find_day, find_time
from yieldwright.shotlog.cells.number_grammar import (
    Operand,
    is_plain_number,
    read_clock,
    read_operand,
    read_ratio,
    swap_marks,
    tidy,
)
from yieldwright.shotlog.cells.spreads import Spread, split_spread
from yieldwright.shotlog.cells.units import convert, names_no_unit
from yieldwright.shotlog.findings import quoted

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.formats.source import Decimal

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


#: What a person writes for "no value", and what a spreadsheet shows for one; text columns
#: keep it as it stands.
MISSING_WORDS = ERROR_WORDS | {
    *("-", "–", "—", "--", "?", "n/a", "n.a.", "na", "nan", "none", "null"),
    *("inf", "+inf", "-inf", "infinity", "-infinity", "∞", "-∞"),
}
_NO_ROOM = re.compile("#{2,}")
_THREE_DECIMALS = re.compile(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}")
_SIDES = re.compile(r"([1-9][0-9]{0,2}):([1-9][0-9]{0,2})")
_MIXED = re.compile(r"([0-9]{1,3})\s?([¼-¾⅐-⅞])")
_ANY_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_ABOUT = re.compile(
    r"(?:~|≈|∼|≃|(?:ca|circa|c|about|around|roughly|approx|approximately)\b\.?)\s*(?P<first>.+)"
    r"|(?P<last>.+?)\s*(?:\?|\(\?\)|-?ish|\(?approx\.?\)?|or so)",
    re.IGNORECASE | re.DOTALL,
)
_LONGEST = 200  # characters that may be more than a plain number


def read_number(text: str, entry: Quantity, writing: Writing) -> Cell:
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

    Notes
    -----
    A number that stands there in any usual way is read exactly; whatever may mean two
    things is refused, with what it may mean as the suggestion.

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> read_number("1:02", quantity("time_s"), Writing()).value
    62.0
    >>> read_number("36 mL", quantity("beverage_g"), Writing()).refusal
    '“36 mL” is a volume, and the column wants g'
    >>> read_number("90-92", quantity("temp_c"), Writing()).half_width
    1.0
    """
    if is_plain_number(text, writing.decimal):
        value = float(text.replace(",", "."))
        if not writing.unit and math.isfinite(value):
            return _whole(Cell(value), text, entry)
        return _whole(_converted(text, Operand(value), entry, writing), text, entry)
    return _whole(_read_unusual(text.strip(), entry, writing), text, entry)


def _read_unusual(text: str, entry: Quantity, writing: Writing) -> Cell:
    """Return what a cell holds that is no plain number."""
    if not text:
        return Cell()
    operand = read_operand(text, writing.decimal)
    if operand is not None:
        cell = _converted(text, operand, entry, writing)
        if not cell.refusal:
            return cell
    if len(text) > _LONGEST:
        return Cell(refusal=f"{quoted(text)} is no number", suggestion="write one number")
    neat = tidy(text, writing.decimal)
    return (
        _no_value(neat)
        or _read_mangled(neat, entry, writing)
        or _read_neat(neat, entry, writing)
        or _read_about(neat, entry, writing)
        or _refused(text, neat, entry, writing)
    )


def _no_value(text: str) -> Cell | None:
    """Return a missing value that is said to be one."""
    if not text:
        return Cell(flag="taken as missing")
    if text.startswith("="):
        return Cell(
            flag="a formula without a stored value; taken as missing",
            suggestion="let the spreadsheet recalculate, save, and read it again",
        )
    if text.casefold() in ERROR_WORDS:
        return Cell(flag="an error of a spreadsheet; taken as missing")
    if _NO_ROOM.fullmatch(text):
        return Cell(
            flag="a spreadsheet's sign for a column too narrow; taken as missing",
            suggestion="widen the column and save again",
        )
    return Cell(flag="taken as missing") if text.casefold() in MISSING_WORDS else None


def _read_mangled(text: str, entry: Quantity, writing: Writing) -> Cell | None:
    """Return what a spreadsheet made of a number, refused unless beyond doubt."""
    mark = "." if writing.decimal == "point" else ","
    found = find_time(text, entry, mark) or find_day(text, entry, mark)
    if found is None:
        return None
    if found.reason:
        return Cell(refusal=f"{quoted(text)} {found.reason}", suggestion=found.suggestion)
    return Cell(found.seconds, flag="read as hours:minutes:seconds")


def _read_neat(text: str, entry: Quantity, writing: Writing) -> Cell | None:
    """Return one number, or the middle of two."""
    operand = _read_side(text, entry, writing)
    if operand is not None:
        cell = _converted(text, operand, entry, writing)
        if not cell.refusal:
            return cell
    spread = split_spread(text, entry, lambda side: _read_side(side, entry, writing))
    return _in_between(text, spread, entry, writing) if spread else None


def _read_side(text: str, entry: Quantity, writing: Writing) -> Operand | None:
    """Return a number as this column may write it: clocks for times, 1:r for ratios."""
    if entry.name == "brew_ratio" and (ratio := read_ratio(text, writing.decimal)):
        return ratio
    is_time = entry.unit == "s" or (entry.unit == "min" and ":" not in text)
    if is_time and (clock := read_clock(text, writing.decimal)):
        return clock
    return read_operand(text, writing.decimal)


def _read_about(text: str, entry: Quantity, writing: Writing) -> Cell | None:
    """Return a number said to be approximate."""
    found = _ABOUT.fullmatch(text)
    inner = (found["first"] or found["last"]).strip() if found else ""
    cell = _read_neat(inner, entry, writing) if inner else None
    if cell is None or cell.refusal:
        return cell
    doubt = "said to be approximate"
    return cell._replace(
        flag=f"{cell.flag}; {doubt}" if cell.flag else f"{doubt}; taken as it stands"
    )


def _in_between(text: str, spread: Spread, entry: Quantity, writing: Writing) -> Cell:
    """Return the middle of two numbers, with the half-width they state."""
    if spread.doubt:
        return Cell(refusal=f"{quoted(text)} {spread.doubt}", suggestion=spread.suggestion)
    first, last = (_converted(text, end, entry, writing) for end in (spread.low, spread.high))
    if not isinstance(first.value, float) or not isinstance(last.value, float):
        return first if first.value is None else last
    stated = _converted(text, spread.middle, entry, writing) if spread.middle else Cell()
    middle = stated.value or _rounded(first.value / 2 + last.value / 2, 15)
    of_unit = first.half_width / 2 + last.half_width / 2
    half_width = math.hypot(_rounded(last.value / 2 - first.value / 2, 12), of_unit)
    told = _told(spread, writing.unit)
    return Cell(middle, told, unit=first.unit or last.unit, half_width=half_width)


def _rounded(value: float, digits: int) -> float:
    """Return a mean or a difference of decimals without what binary fractions leave in it."""
    return float(f"{value:.{digits}g}")


def _told(spread: Spread, unit: str) -> str:
    """Return the middle and the half-width as they were typed."""
    low, high = spread.low, spread.high
    middle = spread.middle.value if spread.middle else (low.value + high.value) / 2
    half = abs(high.value - low.value) / 2
    unit = f" {low.unit or unit}" if low.unit or unit else ""
    if not half:
        return f"taken as {middle:g}{unit}; its spread is none"
    return f"taken as {middle:g}{unit}, half-width {half:g}{unit}"


def _converted(text: str, operand: Operand, entry: Quantity, writing: Writing) -> Cell:
    """Return a number in the glossary's unit; the unit of the cell wins over the column's."""
    unit = writing.unit if names_no_unit(operand.unit) else operand.unit
    turned = convert(
        operand.value,
        unit,
        entry.unit,
        density_g_per_ml=writing.density_g_per_ml if entry.name.startswith("beverage") else None,
        refractometer=writing.refractometer if entry.name.startswith("tds") else None,
    )
    if turned.refusal:
        return Cell(refusal=f"{quoted(text)} {turned.refusal}", suggestion=turned.suggestion)
    if not math.isfinite(turned.value):
        size = "small" if math.isnan(turned.value) else "large"
        return Cell(flag=f"too {size} to be a number; taken as missing")
    known = unit.strip() if turned.is_changed else ""
    return Cell(turned.value, unit=known, half_width=turned.half_width)


def _whole(cell: Cell, text: str, entry: Quantity) -> Cell:
    """Return the cell, refused where a running number is not whole."""
    value = cell.value
    if entry.kind != "integer" or not isinstance(value, float) or value.is_integer():
        return cell
    return Cell(refusal=f"{quoted(text)} is no whole number", suggestion=f"{round(value)}?")


def _refused(text: str, neat: str, entry: Quantity, writing: Writing) -> Cell:
    """Return why a cell gives no number, and which one may be meant."""
    operand = _read_side(neat, entry, writing)
    if operand is not None:
        return _converted(text, operand, entry, writing)
    other = "comma" if writing.decimal == "point" else "point"
    swapped = swap_marks(neat)
    if swapped != neat and _read_neat(swapped, entry, writing):
        reason = f"{quoted(text)} has a decimal {other} in a file written with a {writing.decimal}"
        together = re.sub("[.,]", "", neat)
        meant = (
            f"{swapped} or {together}" if _THREE_DECIMALS.fullmatch(neat) else swapped.rstrip(".,")
        )
        return Cell(refusal=reason, suggestion=f"{clip(visible(text), 40)} → {meant}?")
    return Cell(refusal=f"{quoted(text)} is no number", suggestion=_number_within(neat, entry))


def _number_within(text: str, entry: Quantity) -> str:
    """Return the number a cell may have meant, as a question."""
    sides = _SIDES.fullmatch(text)
    if sides and entry.name == "brew_ratio":
        low, high = sorted(map(int, sides.groups()))
        return f"{text} → 1:{high / low:.4g}?"
    if mixed := _MIXED.fullmatch(text):
        return f"{int(mixed[1]) + unicodedata.numeric(mixed[2]):g}?"
    inside = _ANY_NUMBER.findall(text)
    return f"{inside[0]}?" if len(inside) == 1 else "write one number"
