"""Every quantity once: name, unit, meaning, source and three ranges.

Validation, docstrings, axis labels, templates and the data dictionary all read
this one list. Standard library only.
"""

from __future__ import annotations

import dataclasses
import difflib
import re

from yieldwright.errors import UnknownNameError
from yieldwright.glossary.other_quantities import FORMULA_QUANTITIES, TASTING_QUANTITIES
from yieldwright.glossary.quantity import Kind, Quantity, Span
from yieldwright.glossary.shot_columns import SHOT_QUANTITIES

__all__ = [
    "EXTRACTION_CEILING_PCT",
    "FORMULA_QUANTITIES",
    "NOTES_LIMIT",
    "SHOT_QUANTITIES",
    "TASTING_QUANTITIES",
    "Kind",
    "Quantity",
    "Span",
    "axis_label",
    "find_quantity",
    "quantity",
]

#: About 30 % of roasted coffee dissolves in water (Lockhart 1957, as restated in
#: Batali et al. 2020, Sci Rep 10, 16450). No bench can widen this.
EXTRACTION_CEILING_PCT = 30.0

#: Characters a note may hold (common practice, no source).
NOTES_LIMIT = 2000

_BY_NAME = {
    entry.name: entry for entry in (*FORMULA_QUANTITIES, *TASTING_QUANTITIES, *SHOT_QUANTITIES)
}
_NUMBERED_READING = re.compile(r"tds_([1-9]\d?)_pct")


def find_quantity(name: str) -> Quantity | None:
    """Return the entry of a name, or None where the glossary has none.

    Two families are made on demand: `u_` before a number stands for its standard
    uncertainty, and `tds_1_pct`, `tds_2_pct` … for single readings of the strength.

    Parameters
    ----------
    name : str
        Canonical name.

    Returns
    -------
    Quantity or None

    Examples
    --------
    >>> find_quantity("u_dose_g").label
    'Uncertainty of dose'
    >>> find_quantity("colour") is None
    True
    """
    if name in _BY_NAME:
        return _BY_NAME[name]
    reading = _NUMBERED_READING.fullmatch(name)
    if reading:
        return _reading(name, int(reading[1]))
    parent = _BY_NAME.get(name[2:]) if name.startswith("u_") else None
    return _uncertainty_of(parent) if parent is not None and parent.is_numeric else None


def quantity(name: str) -> Quantity:
    """Return the entry of a name.

    Parameters
    ----------
    name : str
        Canonical name.

    Returns
    -------
    Quantity

    Raises
    ------
    UnknownNameError
        If no entry has this name; the text offers the nearest ones.

    Examples
    --------
    >>> quantity("peak_bar").axis_label
    'Peak pressure [bar]'
    """
    entry = find_quantity(name)
    if entry is None:
        near = difflib.get_close_matches(name, _BY_NAME, n=3)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise UnknownNameError(f"the glossary has no quantity named {name!r}{hint}")
    return entry


def axis_label(name: str) -> str:
    """Return the label of a quantity with its unit in brackets.

    Parameters
    ----------
    name : str
        Canonical name.

    Returns
    -------
    str

    Raises
    ------
    UnknownNameError
        If no entry has this name.

    Examples
    --------
    >>> axis_label("ey_pct")
    'Extraction yield [% by mass]'
    """
    return quantity(name).axis_label


def _reading(name: str, number: int) -> Quantity:
    whole = _BY_NAME["tds_pct"]
    return dataclasses.replace(
        whole,
        name=name,
        label=f"Strength, reading {number}",
        meaning=f"Reading {number} of the beverage's total dissolved solids.",
    )


def _uncertainty_of(parent: Quantity) -> Quantity:
    return Quantity(
        name=f"u_{parent.name}",
        kind="number",
        label=f"Uncertainty of {parent.label[0].lower()}{parent.label[1:]}",
        meaning=f"Standard uncertainty: {parent.meaning}",
        unit=parent.unit,
        source="JCGM 100:2008",
        possible=Span(0),
    )
