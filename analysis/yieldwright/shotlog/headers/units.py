"""The unit in a header: in brackets, behind a stroke or at the end of its words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.bench import Refractometer
from yieldwright.shotlog.cells.units import Conversion, convert, is_unit_word

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity

__all__ = ["WithUnit", "is_refractometer_unit", "split_unit", "turned_unit"]

_BRACKET = re.compile(r"(.*?)\s*[(\[{]([^()\[\]{}]*)[)\]}]\s*", re.DOTALL)
_SIGN = re.compile(r"(.+?)[\s_]*([%°º℃℉].*)", re.DOTALL)
_TAIL = re.compile(r"(.+?)(?:\s*[/,]\s*|[\s_]+in\s+|[\s_-]+)([^\s_,/-]+)", re.DOTALL)
#: How a bench may announce cells such as 0:36, which say their units themselves.
_CLOCKS = frozenset({"mm:ss", "m:ss", "min:s", "min:sec", "min:ss"})
#: Any number that is possible as a temperature, a mass and a refractive index.
_PROBE = 1.35


class WithUnit(NamedTuple):
    """A header taken apart.

    Attributes
    ----------
    words : str
        What is left of it.
    unit : str
        As typed; empty where what stands apart is no unit.
    aside : str
        What stands in brackets, unit or not; empty where there are none.
    """

    words: str
    unit: str
    aside: str = ""


def split_unit(text: str) -> Iterator[WithUnit]:
    """Yield the ways in which a header may be words and a unit.

    Parameters
    ----------
    text : str
        Header as typed.

    Yields
    ------
    WithUnit

    Examples
    --------
    >>> [tuple(each) for each in split_unit("Dose (oz)")]
    [('Dose', 'oz', 'oz')]
    >>> [tuple(each) for each in split_unit("hold_psi")]
    [('hold', 'psi', '')]
    >>> list(split_unit("coffee in"))
    []
    """
    if found := _BRACKET.fullmatch(text):
        aside = found[2].strip()
        unit = aside if is_unit_word(aside) else ""
        yield WithUnit(found[1], unit, "" if aside.casefold() in _CLOCKS else aside)
        return
    if is_unit_word(text):
        yield WithUnit("", text.strip())
    for form in (_SIGN, _TAIL):
        found = form.fullmatch(text.strip())
        if found and is_unit_word(found[2]):
            yield WithUnit(found[1], found[2])


def turned_unit(unit: str, entry: Quantity, bench: Bench) -> Conversion:
    """Return what becomes of a number when a unit is stated for its whole column.

    Parameters
    ----------
    unit : str
        As typed.
    entry : Quantity
        What the column holds.
    bench : Bench
        May state the density of the beverage; gives the factor for sugar scales.

    Returns
    -------
    Conversion
        Refused where the quantity cannot have such a unit.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.glossary import quantity
    >>> turned_unit("oz", quantity("dose_g"), Bench()).is_changed
    True
    >>> turned_unit("°C", quantity("dose_g"), Bench()).refusal
    'has a unit we do not convert, and the column wants g'
    """
    is_strength = entry.name.startswith("tds_")
    is_beverage = entry.name.startswith("beverage_")
    return convert(
        _PROBE,
        unit,
        entry.unit if entry.is_numeric else "1",
        density_g_per_ml=bench.density_g_per_ml if is_beverage else None,
        refractometer=bench.refractometer if is_strength else None,
    )


def is_refractometer_unit(unit: str) -> bool:
    """Return whether a unit says by itself that the strength was read.

    Parameters
    ----------
    unit : str
        As typed.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_refractometer_unit("°Bx"), is_refractometer_unit("nD"), is_refractometer_unit("%")
    (True, True, False)
    """
    read = convert(_PROBE, unit, "% by mass", refractometer=Refractometer())
    return not read.refusal and bool(convert(_PROBE, unit, "% by mass").refusal)
