"""Numbers for display: rounded to their uncertainty, with units and true minus signs."""

from __future__ import annotations

import math

__all__ = [
    "MINUS",
    "interval",
    "number",
    "p_value",
    "p_words",
    "percent",
    "ratio",
    "signed",
    "with_uncertainty",
]

MINUS = "\N{MINUS SIGN}"

_MISSING = "–"


def number(value: float, u: float | None = None, *, figures: int = 3) -> str:
    """Return a number rounded to its uncertainty, or to some significant figures.

    Parameters
    ----------
    value : float
        What to show; a missing value shows as a dash.
    u : float or None
        Uncertainty, in the unit of `value`; two of its leading figures are kept where
        the first is 1 or 2, else one.
    figures : int
        Significant figures where there is no uncertainty.

    Returns
    -------
    str

    Examples
    --------
    >>> number(19.8342, 0.24), number(-3.14159, 0.5), number(1234.5, figures=2)
    ('19.83', '−3.1', '1200')
    """
    if math.isnan(value):
        return _MISSING
    if math.isinf(value):
        return "∞" if value > 0 else f"{MINUS}∞"
    has_u = u is not None and math.isfinite(u) and u > 0
    places = _places(u) if has_u and u is not None else _places_of(value, figures)
    return _fixed(value, places)


def signed(value: float, u: float | None = None) -> str:
    """Return a number with its sign always shown.

    Parameters
    ----------
    value : float
        What to show.
    u : float or None
        Uncertainty, in the unit of `value`.

    Returns
    -------
    str

    Examples
    --------
    >>> signed(2.04, 0.3), signed(-2.04, 0.3)
    ('+2.0', '−2.0')
    """
    text = number(value, u)
    return text if text.startswith(MINUS) or value <= 0 or math.isnan(value) else f"+{text}"


def with_uncertainty(value: float, u: float, unit: str = "") -> str:
    """Return a value with what follows its ± sign, both to the same place.

    Parameters
    ----------
    value : float
        What to show.
    u : float
        What stands behind the ±, in the unit of `value`: say in the text around it
        whether it is a standard uncertainty or the half-width of an interval.
    unit : str
        Printed once, at the end.

    Returns
    -------
    str

    Examples
    --------
    >>> with_uncertainty(19.8342, 0.24, "%")
    '19.83 ± 0.24 %'
    >>> with_uncertainty(36.0, float("nan"), "g")
    '36.0 g'
    """
    tail = f" {unit}" if unit else ""
    if math.isnan(u) or math.isnan(value):
        return number(value) + (tail if not math.isnan(value) else "")
    return f"{number(value, u)} ± {number(u, u)}{tail}"


def interval(low: float, high: float, unit: str = "") -> str:
    """Return an interval in words, both ends to the place its width deserves.

    An unbounded end is said in words, never printed as a number.

    Parameters
    ----------
    low, high : float
        The ends; infinite where the interval is unbounded.
    unit : str
        Printed once, at the end.

    Returns
    -------
    str

    Examples
    --------
    >>> interval(-0.4123, 0.6, "points")
    '−0.41 to 0.60 points'
    >>> interval(float("-inf"), 3.0, "s")
    'at most 3.00 s'
    """
    tail = f" {unit}" if unit else ""
    if math.isnan(low) or math.isnan(high):
        return _MISSING
    if math.isinf(low) and math.isinf(high):
        return "anything"
    if math.isinf(low):
        return f"at most {number(high)}{tail}"
    if math.isinf(high):
        return f"at least {number(low)}{tail}"
    width = (high - low) / 2
    return f"{number(low, width)} to {number(high, width)}{tail}"


def percent(fraction: float, *, places: int = 0) -> str:
    """Return a fraction as a percentage that never rounds to a false 0 or 100.

    Parameters
    ----------
    fraction : float
        Between 0 and 1.
    places : int
        Decimal places.

    Returns
    -------
    str

    Examples
    --------
    >>> percent(0.084), percent(0.0004), percent(0.9999), percent(1.0)
    ('8 %', '<1 %', '>99 %', '100 %')
    """
    if math.isnan(fraction):
        return _MISSING
    step = 10.0**-places
    if 0 < 100 * fraction < step / 2:
        return f"<{step:g} %"
    if 100 - step / 2 < 100 * fraction < 100:
        return f">{100 - step:g} %"
    return f"{100 * fraction:.{places}f} %"


def p_value(p: float) -> str:
    """Return a p-value to the figures it deserves.

    Parameters
    ----------
    p : float
        Between 0 and 1.

    Returns
    -------
    str

    Examples
    --------
    >>> p_value(0.0321), p_value(0.00004), p_value(0.5)
    ('0.032', '<0.001', '0.50')
    """
    if math.isnan(p):
        return _MISSING
    if p < 0.001:
        return "<0.001"
    return f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


def p_words(p: float) -> str:
    """Return a p-value as it stands in a sentence, with its sign.

    Parameters
    ----------
    p : float
        Between 0 and 1.

    Returns
    -------
    str

    Examples
    --------
    >>> p_words(0.0321), p_words(0.00004), p_words(float("nan"))
    ('p = 0.032', 'p < 0.001', 'p not known')
    """
    if math.isnan(p):
        return "p not known"
    shown = p_value(p)
    return f"p < {shown[1:]}" if shown.startswith("<") else f"p = {shown}"


def ratio(brew_ratio: float) -> str:
    """Return a brew ratio as the trade writes it.

    Parameters
    ----------
    brew_ratio : float
        Beverage mass for one gram of dose. [1]

    Returns
    -------
    str

    Examples
    --------
    >>> ratio(2.0)
    '1:2.0'
    """
    return _MISSING if math.isnan(brew_ratio) else f"1:{brew_ratio:.1f}"


def _places(u: float) -> int:
    """Return the decimal places at which an uncertainty keeps one or two figures."""
    exponent = math.floor(math.log10(u))
    leading = u / 10.0**exponent
    return -exponent + (1 if leading < 2.95 else 0)


def _places_of(value: float, figures: int) -> int:
    """Return the decimal places that show so many figures of a number as it is rounded."""
    exponent = int(f"{value:.{figures - 1}e}".partition("e")[2])
    return figures - 1 - exponent


def _fixed(value: float, places: int) -> str:
    rounded = round(value, places)
    text = f"{abs(rounded):.{max(places, 0)}f}"
    return f"{MINUS}{text}" if rounded < 0 else text
