"""Spreads and sizes as text: two figures each, since a spread is known by its ratio."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.formatting import number, percent

if TYPE_CHECKING:
    from yieldwright.repeatability.spread.quantity_spread import QuantitySpread

__all__ = [
    "amount",
    "basis_phrase",
    "figure",
    "share_span",
    "share_words",
    "sized",
    "span",
    "with_limits",
]


def amount(size: float, unit: str) -> str:
    """Return a size with its unit, in the right number.

    Parameters
    ----------
    size : float
        How much. [any unit]
    unit : str
        From `measured_unit`.

    Returns
    -------
    str

    Examples
    --------
    >>> amount(1.0, "points"), amount(0.5, "points"), amount(2.0, "s")
    ('1 point', '0.5 points', '2 s')
    """
    return f"{size:g} {'point' if unit == 'points' and size == 1 else unit}".strip()


def basis_phrase(each: QuantitySpread) -> str:
    """Return what a spread rests on, short enough for a table.

    Parameters
    ----------
    each : QuantitySpread
        One measured quantity.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.spread.quantity_spread import quantity_spread
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_s": [30.0, 34.0, 33.0]})
    >>> basis_phrase(quantity_spread(ComparableSet("", "", shots), "time_s", bench=Bench()))
    '2'
    """
    return f"{each.alike.df:,}{' line' if each.alike.basis == 'fit' else ''}"


def figure(value: float) -> str:
    """Return a spread, or what follows from one, to two figures.

    Parameters
    ----------
    value : float
        Any spread. [any unit]

    Returns
    -------
    str

    Examples
    --------
    >>> figure(0.3391), figure(12.8)
    ('0.34', '13')
    """
    return number(value, figures=2)


def share_span(low: float, high: float) -> str:
    """Return the limits of a share, once where both read alike.

    Parameters
    ----------
    low, high : float
        Fractions.

    Returns
    -------
    str

    Examples
    --------
    >>> share_span(0.04, 0.14), share_span(0.98, 0.999), share_span(0.996, 0.9999)
    ('4 % to 14 %', '98 % to more than 99 %', 'more than 99 %')
    """
    ends = share_words(low), share_words(high)
    return " to ".join(dict.fromkeys(ends))


def share_words(share: float) -> str:
    """Return a share in a sentence: never a false 0 or 100 %, and without signs.

    Parameters
    ----------
    share : float
        Fraction.

    Returns
    -------
    str

    Examples
    --------
    >>> share_words(0.084), share_words(0.004), share_words(0.9999)
    ('8 %', 'less than 1 %', 'more than 99 %')
    """
    told = percent(share)
    return told.replace("<", "less than ").replace(">", "more than ")


def sized(value: float, unit: str) -> str:
    """Return a spread to two figures with its unit, if it has one.

    Parameters
    ----------
    value : float
        Any spread. [any unit]
    unit : str
        From `measured_unit`.

    Returns
    -------
    str

    Examples
    --------
    >>> sized(0.3391, "s"), sized(0.039, "")
    ('0.34 s', '0.039')
    """
    return f"{figure(value)} {unit}".strip()


def span(low: float, high: float) -> str:
    """Return the limits of a spread: their ratio matters, so each keeps two figures.

    Parameters
    ----------
    low, high : float
        Its limits. [any unit]

    Returns
    -------
    str

    Examples
    --------
    >>> span(0.2432, 1.0), span(1.1, 13.07)
    ('0.24 to 1.0', '1.1 to 13')
    """
    return f"{figure(low)} to {figure(high)}"


def with_limits(value: float, low: float, high: float) -> str:
    """Return a spread with its interval in brackets, or the interval alone.

    Parameters
    ----------
    value : float
        The spread; missing where too few repeats stand behind it. [any unit]
    low, high : float
        Its limits. [unit of the spread]

    Returns
    -------
    str

    Examples
    --------
    >>> with_limits(1.58, 1.087, 2.884), with_limits(float("nan"), 1.1, 13.07)
    ('1.6 (1.1 to 2.9)', '1.1 to 13')
    """
    if math.isnan(low) or math.isnan(high):
        return "–"
    limits = span(low, high)
    return limits if math.isnan(value) else f"{figure(value)} ({limits})"
