"""Difference of two quantities from the interval of each, as of two standard deviations."""

from __future__ import annotations

import math

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL, Interval, sd_interval

__all__ = ["difference_interval", "sd_difference_interval"]


def difference_interval(
    first: float,
    first_interval: tuple[float, float],
    second: float,
    second_interval: tuple[float, float],
) -> Interval:
    """Return the interval of a difference from the intervals of its two parts.

    Parameters
    ----------
    first : float
        Estimate from which the other is taken. [any unit]
    first_interval : pair of float
        Its interval, at the level wanted for the difference. [any unit]
    second : float
        The other estimate. [any unit]
    second_interval : pair of float
        Its interval, at the same level. [any unit]

    Returns
    -------
    Interval

    Raises
    ------
    OutOfRangeError
        If an estimate lies outside its interval.

    Notes
    -----
    The variance of each estimate is recovered at the limit that matters, so that lopsided
    intervals give a lopsided one. The estimates are independent.

    References
    ----------
    .. [1] Zou and Donner (2008), Stat. Med. 27, 1693; for two proportions
       with their score intervals it is method 10 of Newcombe (1998), Stat. Med. 17, 873.

    Examples
    --------
    >>> low, high = difference_interval(0.8, (0.6924, 0.8772), 0.6, (0.4904, 0.7002))
    >>> round(low, 3), round(high, 3)
    (0.053, 0.334)
    """
    _require_inside(first, first_interval)
    _require_inside(second, second_interval)
    down, up = first - first_interval[0], first_interval[1] - first
    other_down, other_up = second - second_interval[0], second_interval[1] - second
    estimate = first - second
    return Interval(
        estimate - math.hypot(down, other_up),
        estimate + math.hypot(up, other_down),
    )


def sd_difference_interval(
    first_sd: float,
    first_df: float,
    second_sd: float,
    second_df: float,
    *,
    level: float = LEVEL,
) -> Interval:
    """Return the interval of the difference of two standard deviations of normal values.

    Parameters
    ----------
    first_sd : float
        Standard deviation from which the other is taken. [any unit]
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
    Interval

    Raises
    ------
    OutOfRangeError
        If a spread is negative, degrees of freedom are not above 0, or the level is not
        between 0 and 1.

    Examples
    --------
    >>> low, high = sd_difference_interval(2.0, 9, 1.0, 9)
    >>> round(low, 2), round(high, 2)
    (-0.04, 2.68)
    """
    return difference_interval(
        first_sd,
        sd_interval(first_sd, first_df, level=level),
        second_sd,
        sd_interval(second_sd, second_df, level=level),
    )


def _require_inside(estimate: float, limits: tuple[float, float]) -> None:
    low, high = limits
    if not low <= estimate <= high:
        raise OutOfRangeError(
            f"an estimate must lie in its interval; {estimate:g} is not in {low:g} to {high:g}"
        )
