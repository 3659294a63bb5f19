"""Two numbers in one cell: the ends of a range, or a value give or take another."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.formatting import clip, visible
from yieldwright.shotlog.cells.number_grammar import Operand
from yieldwright.shotlog.cells.units import is_unit_word

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity

__all__ = ["Spread", "split_spread"]

ReadSide = Callable[[str], Operand | None]

_GIVE_OR_TAKE = re.compile(r"(.+?)\s*(?:±|\+/-|\+-)\s*([0-9.,].*)", re.DOTALL)
_BETWEEN = re.compile(r"\s*(?P<sign>\.{2,3}|…|[-‐-―]|[~∼〜]|\bto\b)\s*", re.IGNORECASE)
_SLIPS = re.compile(r"[-‐-―]|\.{2}")  # next to the point, or the point pressed twice
_FAR = 1.25  # ends further apart than this, written backwards or "..", may be a slip
_PERCENT = frozenset({"%", "pct", "percent"})


class Spread(NamedTuple):
    """What a cell with two numbers states.

    Attributes
    ----------
    low, high : Operand
        The ends, in the order typed.
    middle : Operand or None
        The value itself, where it is stated.
    doubt : str
        Why it may be something else; to follow the text.
    suggestion : str
        What it may be.
    """

    low: Operand
    high: Operand
    middle: Operand | None = None
    doubt: str = ""
    suggestion: str = ""


def split_spread(text: str, entry: Quantity, read_side: ReadSide) -> Spread | None:
    """Return the two numbers of a cell, None where there are no two.

    Parameters
    ----------
    text : str
        Without outer blanks.
    entry : Quantity
        The column's entry in the glossary.
    read_side : callable
        Reads one number with its unit.

    Returns
    -------
    Spread or None

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> from yieldwright.shotlog.cells.number_grammar import read_operand
    >>> read = lambda side: read_operand(side, "point")
    >>> split_spread("90 to 92 °C", quantity("temp_c"), read).low
    Operand(value=90.0, unit='°C')
    """
    if found := _GIVE_OR_TAKE.fullmatch(text):
        return _give_or_take(read_side(found[1]), read_side(found[2]), entry)
    for found in _BETWEEN.finditer(text):
        left, right = text[: found.start()], text[found.end() :]
        if found["sign"] != "to" and right.startswith(("+", "-")):
            continue
        low, high = read_side(left), read_side(right)
        if low is not None and high is not None and _is_known(low) and _is_known(high):
            ends = Spread(_in_unit_of(low, high), _in_unit_of(high, low))
            return _doubted(ends, (left, found[0], right), entry)
    return None


def _give_or_take(middle: Operand | None, half: Operand | None, entry: Quantity) -> Spread | None:
    if middle is None or half is None or not (_is_known(middle) and _is_known(half)):
        return None
    unit = middle.unit or half.unit
    width = half.value
    if half.unit in _PERCENT and middle.unit not in _PERCENT and not entry.unit.startswith("%"):
        unit, width = middle.unit, abs(middle.value) * half.value / 100
    elif middle.unit and half.unit and middle.unit != half.unit:
        return Spread(
            middle, half, None, "states its spread in another unit", "write both in one unit"
        )
    return Spread(
        Operand(middle.value - width, unit),
        Operand(middle.value + width, unit),
        Operand(middle.value, unit),
    )


def _doubted(ends: Spread, typed: tuple[str, str, str], entry: Quantity) -> Spread:
    """Return a range with the doubt whether it is one."""
    left, sign, right = typed
    if entry.name == "brew_ratio" and left == "1":
        meant = clip(visible(right), 20)
        return ends._replace(
            doubt=f"may be the ratio 1:{meant} or a range", suggestion=f"1:{meant}?"
        )
    is_bare = left.isdigit() and right.isdigit() and _SLIPS.fullmatch(sign)
    is_odd = "." in sign or ends.low.value > ends.high.value
    if is_bare and is_odd and _are_far(ends.low, ends.high):
        low, high = sorted((left, right), key=float)
        meant = f"{left}.{right}, or {low}-{high}?"
        return ends._replace(doubt="may be a range or a slip beside the point", suggestion=meant)
    return ends


def _in_unit_of(side: Operand, other: Operand) -> Operand:
    """Return a side with the unit of the other, where it has none itself."""
    return side._replace(unit=side.unit or other.unit)


def _are_far(low: Operand, high: Operand) -> bool:
    ends = sorted((abs(low.value), abs(high.value)))
    return not ends[1] <= _FAR * ends[0]


def _is_known(side: Operand) -> bool:
    return math.isfinite(side.value) and (not side.unit or is_unit_word(side.unit))
