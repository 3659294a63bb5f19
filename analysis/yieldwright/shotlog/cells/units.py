"""Units a person may write behind a number, converted where that needs no guess."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.errors import OutOfRangeError
from yieldwright.refractometry import (
    brix_of_index,
    index_in_air,
    strength_half_width,
    strength_of_brix,
)

if TYPE_CHECKING:
    from yieldwright.bench import Refractometer

__all__ = ["Conversion", "conversion_basis", "convert", "is_unit_word", "names_no_unit"]


def _spelt(factors: dict[str, float]) -> dict[str, float]:
    """Return factors by single words, from factors by words separated by blanks."""
    return {word: factor for words, factor in factors.items() for word in words.split()}


_MINUTES = "min mins minute minutes ' ′"
_SECONDS = "s sec secs second seconds \" ″ ′′ ''"
_HOURS = "h hr hrs hour hours"

#: Factors to the glossary's unit. Ounce and pound: international avoirdupois, 0.45359237 kg
#: a pound; pound-force per square inch: 6894.757293168 Pa; kilogram-force per square
#: centimetre: 98066.5 Pa. All after NIST SP 811, appendix B. Words are folded, see `_folded`.
_FACTORS: dict[str, dict[str, float]] = {
    "g": _spelt(
        {
            "g gr gm gms gram grams gramme grammes": 1,
            "kg kilogram kilograms": 1000,
            "mg milligram milligrams": 0.001,
            "oz ounce ounces": 28.349523125,
            "lb lbs pound pounds": 453.59237,
        }
    ),
    "s": _spelt({_SECONDS: 1, _MINUTES: 60, _HOURS: 3600, "ms": 0.001}),
    "min": _spelt({_MINUTES: 1, _HOURS: 60, _SECONDS: 1 / 60}),
    "bar": _spelt(
        {
            "bar bars barg": 1,
            "psi psig": 0.06894757293168,
            "mbar hpa": 0.001,
            "kpa": 0.01,
            "mpa": 10,
            "atm": 1.01325,
            "kgf/cm2 kg/cm2": 0.980665,
        }
    ),
    "% by mass": _spelt(
        {
            "% pct percent %bymass %w/w %m/m wt% w% %tds tds g/100g": 1,
            "‰ g/kg mg/g": 0.1,
        }
    ),
    "%": _spelt({"% pct percent %rh rh": 1}),
    "d": _spelt({"d day days": 1, "week weeks wk": 7, _HOURS: 1 / 24}),
    "°C": _spelt({"°c c degc celsius degreesc degreescelsius": 1}),
}
_FAHRENHEIT = frozenset({"°f", "f", "degf", "fahrenheit", "degreesf", "degreesfahrenheit"})
_KELVIN = frozenset({"k", "kelvin"})
_MILLILITRES = _spelt({"ml cc cm3 milliliter milliliters millilitre millilitres": 1}) | _spelt(
    {"cl": 10, "dl": 100, "l liter liters litre litres": 1000}
)
_FLUID_OUNCES = frozenset({"floz", "fluidounce", "fluidounces"})  # two are in use
#: What may follow a temperature without saying which scale is meant.
_ANY_SCALE = frozenset({"°", "deg", "degree", "degrees"})
_BRIX = frozenset({"°bx", "bx", "°brix", "brix", "degbrix", "degreesbrix"})
_INDEX_AIR = frozenset({"nd", "nd20", "n20d", "ndair"})
_INDEX_VACUUM = frozenset({"ndvac", "ndvacuum", "nvac"})
_ABSOLUTE = frozenset({"bara", "psia"})
_WORDS = (
    frozenset(word for factors in _FACTORS.values() for word in factors)
    | _FAHRENHEIT
    | _KELVIN
    | _ANY_SCALE
    | frozenset(_MILLILITRES)
    | _FLUID_OUNCES
    | _BRIX
    | _INDEX_AIR
    | _INDEX_VACUUM
    | _ABSOLUTE
)

#: Prefixes that change by a factor of a million or more with their case.
_TWO_MEANINGS = {"mPa": "MPa", "Mg": "mg", "Mbar": "mbar"}
_BLANKS_AND_BRACKETS = re.compile(r"[\s().\[\]_^]+")
_DEGREES = str.maketrans("º˚", "°°")


class Conversion(NamedTuple):
    """A value in the wanted unit, or why there is none.

    Attributes
    ----------
    value : float
        In the wanted unit; 0 where refused.
    is_changed : bool
        Whether the unit was another one.
    refusal : str
        Why the unit cannot be taken.
    suggestion : str
        What to do instead.
    half_width : float
        How far the conversion itself may be off, in the wanted unit.
    """

    value: float
    is_changed: bool = False
    refusal: str = ""
    suggestion: str = ""
    half_width: float = 0.0


def convert(
    value: float,
    unit: str,
    wanted: str,
    *,
    density_g_per_ml: float | None = None,
    refractometer: Refractometer | None = None,
) -> Conversion:
    """Return a value in the unit of its column.

    Parameters
    ----------
    value : float
        As typed.
    unit : str
        As typed behind it; empty where none was.
    wanted : str
        Unit of the glossary.
    density_g_per_ml : float or None
        Mass of a millilitre; None where a volume is no mass. [g/mL]
    refractometer : Refractometer or None
        Gives the factor from the sugar scale to strength; None where the column holds
        another share of mass.

    Returns
    -------
    Conversion

    Examples
    --------
    >>> convert(194.0, "°F", "°C").value
    90.0
    >>> convert(36.0, "mL", "g").refusal
    'is a volume, and the column wants g'
    """
    if unit.strip() in _TWO_MEANINGS:
        return _two_meanings(value, unit.strip())
    word = _folded(unit)
    factor = 1.0 if not word else _FACTORS.get(wanted, {}).get(word)
    if factor is not None:
        return Conversion(value if factor == 1 else value * factor, factor != 1)
    if wanted == "°C" and word in _FAHRENHEIT | _KELVIN:
        celsius = (value - 32) * 5 / 9 if word in _FAHRENHEIT else value - 273.15
        return Conversion(celsius, is_changed=True)
    if density_g_per_ml is not None and wanted == "g" and word in _MILLILITRES:
        return Conversion(value * _MILLILITRES[word] * density_g_per_ml, is_changed=True)
    if refractometer is not None and word in _BRIX | _INDEX_AIR | _INDEX_VACUUM:
        return _strength(value, word, refractometer)
    return _refused(value, word, wanted)


def conversion_basis(
    unit: str, *, density_g_per_ml: float | None, refractometer: Refractometer
) -> str:
    """Return what a conversion rests on besides the definition of its units, as a sentence.

    Parameters
    ----------
    unit : str
        Converted from.
    density_g_per_ml : float or None
        Mass of a millilitre. [g/mL]
    refractometer : Refractometer
        Gives the factor from the sugar scale to strength.

    Returns
    -------
    str
        Empty where definitions are enough.

    Examples
    --------
    >>> from yieldwright.bench import Refractometer
    >>> conversion_basis("mL", density_g_per_ml=0.95, refractometer=Refractometer())
    'Millilitres count 0.95 g each, as bench.toml says.'
    """
    word = _folded(unit)
    if word in _MILLILITRES and density_g_per_ml is not None:
        return f"Millilitres count {density_g_per_ml:g} g each, as bench.toml says."
    if word not in _BRIX | _INDEX_AIR | _INDEX_VACUUM:
        return ""
    factor, spread = refractometer.tds_per_brix, 100 * refractometer.tds_per_brix_spread
    known = f", give or take {spread:g} %, alike for all readings" if spread else ""
    return (
        f"A degree on the sugar scale counts {factor:g} % by mass{known}; "
        "tds_per_brix in bench.toml may say otherwise."
    )


def is_unit_word(text: str) -> bool:
    """Return whether a cell holds nothing but a unit, as in a row of units.

    Parameters
    ----------
    text : str
        A cell.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_unit_word("[g]"), is_unit_word("18 g")
    (True, False)
    """
    return _folded(text) in _WORDS


def names_no_unit(text: str) -> bool:
    """Return whether what stands behind a number leaves its unit open, as a degree sign does.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    bool

    Examples
    --------
    >>> names_no_unit("°"), names_no_unit("°C")
    (True, False)
    """
    return not text or _folded(text) in _ANY_SCALE


@lru_cache(maxsize=256)
def _folded(unit: str) -> str:
    """Return a unit without case, blanks, brackets, dots and typographic variants."""
    plain = unit.strip()
    if not plain.isascii():
        plain = unicodedata.normalize("NFKC", plain.translate(_DEGREES))
    return _BLANKS_AND_BRACKETS.sub("", plain).casefold()


def _strength(value: float, word: str, refractometer: Refractometer) -> Conversion:
    """Return the strength of a sugar scale reading or a refractive index."""
    try:
        brix = value if word in _BRIX else _brix(value, word)
        tds_pct = strength_of_brix(brix, tds_per_brix=refractometer.tds_per_brix)
        spread = strength_half_width(tds_pct, spread=refractometer.tds_per_brix_spread)
    except OutOfRangeError:
        return _beyond(value, word)
    return Conversion(tds_pct, is_changed=True, half_width=spread)


def _beyond(value: float, word: str) -> Conversion:
    if word in _BRIX:
        reason = "is no reading of a sugar scale, which goes from 0 to 100 °Bx"
        return Conversion(0, False, reason, "read the sample again?")
    reason = "is no index of a drink, which lies between 1.333 for water and 1.381"
    meant = f"{value:g} °Bx?" if 0 < value <= 30 else "read the sample again?"
    return Conversion(0, False, reason, meant)


def _brix(index: float, word: str) -> float:
    return brix_of_index(index_in_air(index) if word in _INDEX_VACUUM else index)


def _refused(value: float, word: str, wanted: str) -> Conversion:
    wants = f"and the column wants {wanted}" if wanted != "1" else "and the column has no unit"
    if wanted == "g" and word in _FLUID_OUNCES | _MILLILITRES.keys():
        return Conversion(0, False, f"is a volume, {wants}", "weigh it: a volume is no mass")
    if wanted == "bar" and word in _ABSOLUTE:
        return Conversion(
            0,
            False,
            "is a pressure above vacuum, and the column wants it above the air's",
            "take the pressure of the air off and write bar",
        )
    return Conversion(0, False, f"has a unit we do not convert, {wants}", f"{value:g}?")


def _two_meanings(value: float, unit: str) -> Conversion:
    meant = _TWO_MEANINGS[unit]
    return Conversion(
        0, False, f"has a unit that means {unit} or {meant}", f"write {value:g} {meant}?"
    )
