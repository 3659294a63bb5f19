"""Ratio of two standard deviations with its interval, and the smallest that could show."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.spreads.pooled import require_spreads

__all__ = ["SdRatio", "sd_ratio", "smallest_sd_ratio"]


@dataclass(frozen=True, slots=True)
class SdRatio:
    """One standard deviation over another.

    Attributes
    ----------
    ratio : float
        First over second. [1]
    low, high : float
        Limits of its interval. [1]
    p_value : float
        Two-sided test against a ratio of 1; missing where both spreads are 0.
    """

    ratio: float
    low: float
    high: float
    p_value: float


def sd_ratio(
    first_sd: float,
    first_df: float,
    second_sd: float,
    second_df: float,
    *,
    level: float = LEVEL,
) -> SdRatio:
    """Return the ratio of two standard deviations of normal values with its F interval.

    Parameters
    ----------
    first_sd : float
        Standard deviation above the line. [any unit]
    first_df : float
        Its degrees of freedom; they need not be whole. [1]
    second_sd : float
        The other, in the same unit. [any unit]
    second_df : float
        Its degrees of freedom. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    SdRatio

    Raises
    ------
    OutOfRangeError
        If a spread is negative, degrees of freedom are not above 0, or the level is not
        between 0 and 1.

    Notes
    -----
    Holds for independent estimates of normal values; see `robust_sd_ratio` for others.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.9.

    Examples
    --------
    >>> found = sd_ratio(2.0, 9, 1.0, 9)
    >>> round(found.low, 3), round(found.high, 3), round(found.p_value, 4)
    (0.997, 4.013, 0.0509)
    """
    require_spreads([first_sd, second_sd], [first_df, second_df])
    _require_level(level)
    if second_sd == 0:
        return SdRatio(math.inf if first_sd else math.nan, 0.0, math.inf, math.nan)
    ratio = first_sd / second_sd
    upper = float(special.fdtri(first_df, second_df, (1 + level) / 2))
    lower = float(special.fdtri(first_df, second_df, (1 - level) / 2))
    below = float(special.fdtr(first_df, second_df, ratio**2))
    above = float(special.fdtrc(first_df, second_df, ratio**2))
    return SdRatio(
        ratio, ratio / math.sqrt(upper), ratio / math.sqrt(lower), min(2 * min(below, above), 1.0)
    )


def smallest_sd_ratio(
    first_df: float, second_df: float, *, power: float | None = None, level: float = LEVEL
) -> float:
    """Return the ratio of standard deviations from which on chance is unlikely.

    Parameters
    ----------
    first_df, second_df : float
        Degrees of freedom behind the two spreads. [1]
    power : float or None
        Share of logs in which a true ratio is to show; None for the ratio that two
        estimates must reach. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    float
        At least 1, the larger of both directions. [1]

    Raises
    ------
    OutOfRangeError
        If degrees of freedom are not above 0, or level or power not between 0 and 1.

    Examples
    --------
    >>> [round(smallest_sd_ratio(n - 1, n - 1), 2) for n in (10, 20, 30)]
    [2.01, 1.59, 1.45]
    """
    require_spreads([1.0, 1.0], [first_df, second_df])
    for share in (level, 0.5 if power is None else power):
        _require_level(share)
    return max(
        _needed(first_df, second_df, power, level), _needed(second_df, first_df, power, level)
    )


def _needed(larger_df: float, smaller_df: float, power: float | None, level: float) -> float:
    """Return the ratio needed where the larger spread has the first degrees of freedom."""
    quantile = special.fdtri(larger_df, smaller_df, (1 + level) / 2)
    if power is not None:
        quantile /= special.fdtri(larger_df, smaller_df, 1 - power)
    return math.sqrt(float(quantile))


def _require_level(level: float) -> None:
    if not 0 < level < 1:
        raise OutOfRangeError(f"level and power must lie between 0 and 1; {level:g} does not")
