"""Numbers written in another unit than the rest of their column: ounces among grams."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.formatting import count
from yieldwright.shotlog.cells.units import convert
from yieldwright.shotlog.checks.keystrokes import core_number
from yieldwright.shotlog.checks.spread import groups_of_rows, spread_column
from yieldwright.shotlog.findings import NO_ROW, Finding, shown
from yieldwright.shotlog.headers.entries import entry_of

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.checks.spread import SpreadColumn
    from yieldwright.shotlog.findings import Texts

__all__ = ["meant_by_unit", "unit_jumps"]

#: Spreads from the middle of its column that a converted number may lie.
_NEAR = 4.0
#: Cells of one column that together make a slip of the key unlikely.
_TOGETHER = 2
#: Share of cells that must agree on a unit where the column has no middle of its own.
_NEARLY_ALL = 0.75


class _OtherUnit(NamedTuple):
    """A unit in use beside the glossary's, far enough from it to be told by size."""

    written: str
    spoken: str


#: Units left out lie too near: °Bx is 1 / 0.85 of a strength, and strengths differ by more
#: from cup to cup; an atmosphere is 1.3 % of a bar off; weeks are days of a fresher bag.
_OTHERS: dict[str, tuple[_OtherUnit, ...]] = {
    "g": (_OtherUnit("oz", "ounces"), _OtherUnit("kg", "kilograms")),
    "s": (_OtherUnit("min", "minutes"),),
    "min": (_OtherUnit("s", "seconds"), _OtherUnit("h", "hours")),
    "bar": (_OtherUnit("psi", "psi"), _OtherUnit("kPa", "kPa"), _OtherUnit("MPa", "MPa")),
    "°C": (_OtherUnit("°F", "°F"), _OtherUnit("K", "kelvin")),
    "% by mass": (_OtherUnit("", "a fraction"),),
    "%": (_OtherUnit("", "a fraction"),),
}


def meant_by_unit(
    text: str, value: float, entry: Quantity, *, middle: float = math.nan, scale: float = math.nan
) -> str:
    """Return what a cell would be were it written in another unit, as a question.

    Parameters
    ----------
    text : str
        As typed.
    value : float
        The number it was read as.
    entry : Quantity
        The column's entry.
    middle, scale : float
        Middle and spread of the column itself; missing where it is short.

    Returns
    -------
    str
        Empty where no unit brings it to where the column, or columns of its kind, lie.

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> meant_by_unit("0.63", 0.63, quantity("dose_g"))
    '0.63 → 17.9 g if ounces?'
    """
    if core_number(text) != value:
        return ""
    for unit in _OTHERS.get(entry.unit, ()):
        turned = _turned(value, unit, entry.unit)
        is_near = entry.soft.holds(turned)
        if math.isfinite(middle):
            is_near = is_near and abs(turned - middle) <= _NEAR * scale
        if is_near:
            name = "%" if entry.unit == "% by mass" else entry.unit
            meant = f"{shown(text)} → {turned:.3g}"
            if not unit.written:
                return f"{meant}? a fraction in place of {name}"
            return f"{meant} {name} if {unit.spoken}?"
    return ""


def unit_jumps(frame: pd.DataFrame, texts: Texts, bench: Bench) -> list[Finding]:
    """Return the columns in which several cells look like another unit's.

    Parameters
    ----------
    frame : DataFrame
        One row per data row, those to be set aside included.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        May widen ranges.

    Returns
    -------
    list of Finding
        Of no row, one a column and unit; nothing is converted.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> frame = pd.DataFrame({"temp_c": [92.0] * 8 + [199.0, 198.0]})
    >>> texts = {"temp_c": ["92"] * 8 + ["199", "198"]}
    >>> unit_jumps(frame, texts, Bench())[0].reason
    '2 of 10 cells look like °F, such as 199: 92.8 °C'
    """
    groups = groups_of_rows(frame, ("bag", "grinder"))
    found: list[Finding] = []
    for name in texts:
        if name not in frame or name.startswith(("score:", "typed_")):
            continue
        entry = entry_of(name, bench)
        numbers = frame[name].to_numpy(dtype=float) if entry.is_numeric else np.empty(0)
        outside = (numbers < entry.soft.low) | (numbers > entry.soft.high)
        if entry.unit in _OTHERS and outside.sum() >= _TOGETHER:
            column = spread_column(frame, texts, name, groups, bench)
            found += _jumps(entry, column, np.flatnonzero(outside))
    return found


def _jumps(entry: Quantity, column: SpreadColumn, rows: np.ndarray) -> Iterator[Finding]:
    values = column.numbers[rows]
    middle, scale = column.middle[rows], column.scale[rows]
    for unit in _OTHERS[entry.unit]:
        turned = np.array([_turned(value, unit, entry.unit) for value in values.tolist()])
        near = (turned >= entry.soft.low) & (turned <= entry.soft.high)
        near &= ~(np.abs(turned - middle) > _NEAR * scale)
        n_cells = int(np.isfinite(column.numbers).sum())
        fewest = _TOGETHER if np.isfinite(middle).all() else max(_TOGETHER, _NEARLY_ALL * n_cells)
        if near.sum() >= fewest:
            first = int(np.argmax(near))
            cells = f"{int(near.sum()):,} of {count(n_cells, 'cell')}"
            name = "%" if entry.unit == "% by mass" else entry.unit
            such = f"such as {shown(column.texts[rows[first]])}: {turned[first]:.3g} {name}"
            reason = f"{cells} look like {_plural(unit)}, {such}"
            remedy = "write the unit in these cells, or in the header where it holds for all"
            yield Finding(NO_ROW, entry.name, "", reason, remedy)
            return


def _plural(unit: _OtherUnit) -> str:
    return "fractions" if not unit.written else unit.spoken


def _turned(value: float, unit: _OtherUnit, wanted: str) -> float:
    """Return a number of another unit in the glossary's."""
    return convert(value, unit.written, wanted).value if unit.written else 100 * value
