"""Sums of variances with limits, and the coefficient of variation with its own."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from scipy import special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL, Interval

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["LARGEST_VARIATION", "variance_sum_interval", "variation_interval"]

#: Coefficient of variation beyond which the approximation of its limits fails: McKay (1932).
LARGEST_VARIATION = 1 / 3


def variation_interval(variation: float, df: float, *, level: float = LEVEL) -> Interval:
    """Return the limits of a coefficient of variation.

    Parameters
    ----------
    variation : float
        Standard deviation over mean. [1]
    df : float
        Degrees of freedom of the standard deviation; rows less one for a plain sample. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval

    Raises
    ------
    OutOfRangeError
        If the coefficient is not between 0 and a third, or there are no degrees of freedom.

    Notes
    -----
    Of sets pooled, the mean counts as known as well as one set of `df` + 1 rows would know
    it; it is known better, which matters little while the coefficient is small.

    References
    ----------
    .. [1] Vangel (1996), Am. Stat. 50, 21, equation 8.

    Examples
    --------
    >>> low, high = variation_interval(0.05, 9)
    >>> round(low, 4), round(high, 4)
    (0.0344, 0.0915)
    """
    if not (0 < variation <= LARGEST_VARIATION and df > 0):
        raise OutOfRangeError(
            f"a coefficient of variation must lie above 0 and up to a third, and rest on more "
            f"than 0 degrees of freedom; got {variation:g} on {df:g}"
        )
    tails = ((1 - level) / 2, (1 + level) / 2)
    low, high = (_vangel(variation, df, float(special.chdtri(df, tail))) for tail in tails)
    return Interval(low, high)


def variance_sum_interval(
    variances: Sequence[float],
    df: Sequence[float],
    weights: Sequence[float],
    *,
    level: float = LEVEL,
) -> Interval:
    """Return the limits of a sum of independent variances with weights above 0.

    Parameters
    ----------
    variances : sequence of float
        Mean squares. [any unit, squared]
    df : sequence of float
        Their degrees of freedom. [1]
    weights : sequence of float
        What each is multiplied with, at least 0. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval
        [unit of the variances]

    Raises
    ------
    OutOfRangeError
        If a weight or variance is below 0, or degrees of freedom are not above 0.

    References
    ----------
    .. [1] Graybill and Wang (1980), J. Am. Stat. Assoc. 75, 869.

    Examples
    --------
    >>> low, high = variance_sum_interval([1.0], [9], [1.0])
    >>> round(low**0.5, 2), round(high**0.5, 2)
    (0.69, 1.83)
    """
    triples = list(zip(variances, df, weights, strict=True))
    if any(not (v >= 0 and f > 0 and w >= 0) for v, f, w in triples):
        raise OutOfRangeError("a sum of variances needs variances and weights of at least 0")
    tail = (1 - level) / 2
    below = above = total = 0.0
    for variance, degrees, weight in triples:
        part = weight * variance
        total += part
        below += (part * (1 - degrees / float(special.chdtri(degrees, tail)))) ** 2
        above += (part * (degrees / float(special.chdtri(degrees, 1 - tail)) - 1)) ** 2
    return Interval(max(total - math.sqrt(below), 0.0), total + math.sqrt(above))


def _vangel(variation: float, df: float, chi_square: float) -> float:
    """Return the limit that belongs to one quantile of χ²."""
    inner = ((chi_square + 2) / (df + 1) - 1) * variation**2 + chi_square / df
    return variation / math.sqrt(inner) if inner > 0 else math.inf
