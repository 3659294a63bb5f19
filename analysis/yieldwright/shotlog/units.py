"""Units a person may write behind a number, converted where that needs no guess."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Conversion", "convert", "is_unit_word"]

#: Factors to the glossary's unit. Ounce: international avoirdupois, 0.45359237 kg / 16.
#: Pound-force per square inch: 6894.757293168 Pa. Both after NIST SP 811, appendix B.
_FACTORS: dict[str, dict[str, float]] = {
    "g": {"g": 1, "gr": 1, "gram": 1, "grams": 1, "kg": 1000, "oz": 28.349523125},
    "s": {"s": 1, "sec": 1, "secs": 1, "second": 1, "seconds": 1, "min": 60},
    "min": {"min": 1, "mins": 1, "minute": 1, "minutes": 1, "h": 60, "s": 1 / 60},
    "bar": {"bar": 1, "psi": 0.06894757293168, "kpa": 0.01, "mpa": 10, "atm": 1.01325},
    "% by mass": {"%": 1, "pct": 1, "percent": 1, "% w/w": 1, "% by mass": 1},
    "%": {"%": 1, "pct": 1, "percent": 1},
    "d": {"d": 1, "day": 1, "days": 1, "week": 7, "weeks": 7},
    "°C": {"°c": 1, "c": 1, "℃": 1, "degc": 1},
    "1": {},
}
_FAHRENHEIT = frozenset({"°f", "f", "℉", "degf"})
_VOLUMES = frozenset({"ml", "cl", "l", "cc", "cm3", "cm³", "fl oz", "floz"})
_BRIX = frozenset({"°bx", "bx", "°brix", "brix"})
_WORDS = (
    frozenset(word for factors in _FACTORS.values() for word in factors)
    | _FAHRENHEIT
    | _VOLUMES
    | _BRIX
    | {"k"}
)


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
    """

    value: float
    is_changed: bool = False
    refusal: str = ""
    suggestion: str = ""


def convert(value: float, unit: str, wanted: str) -> Conversion:
    """Return a value in the unit of its column.

    Parameters
    ----------
    value : float
        As typed.
    unit : str
        As typed behind it; empty where none was.
    wanted : str
        Unit of the glossary.

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
    word = " ".join(unit.casefold().split()).removesuffix(".")
    factor = 1.0 if not word else _FACTORS.get(wanted, {}).get(word)
    if factor is not None:
        return Conversion(value if factor == 1 else value * factor, factor != 1)
    if wanted == "°C" and word in _FAHRENHEIT:
        return Conversion((value - 32) / 1.8, is_changed=True)
    if wanted == "°C" and word == "k":
        return Conversion(value - 273.15, is_changed=True)
    return _refused(value, word, wanted)


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
    return text.strip(" ()[]").casefold() in _WORDS


def _refused(value: float, word: str, wanted: str) -> Conversion:
    wants = f"and the column wants {wanted}" if wanted != "1" else "and the column has no unit"
    if wanted == "g" and word in _VOLUMES:
        return Conversion(0, False, f"is a volume, {wants}", "weigh it: a volume is no mass")
    if wanted == "% by mass" and word in _BRIX:
        low, high = 0.85 * value * 0.95, 0.85 * value * 1.05
        return Conversion(
            0,
            False,
            f"is a reading in °Bx, {wants}",
            f"about 0.85 × °Bx, between {low:.1f} and {high:.1f} %; read it as % by mass",
        )
    return Conversion(0, False, f"has a unit we do not convert, {wants}", f"{value:g}?")
