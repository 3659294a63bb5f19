"""Intervals that stay honest on few rows: t, Wilson, exact, and for a spread."""

from __future__ import annotations

import math
from typing import NamedTuple

from scipy import special

from yieldwright.errors import OutOfRangeError

__all__ = [
    "LEVEL",
    "Interval",
    "exact_interval",
    "sd_interval",
    "t_interval",
    "t_quantile",
    "wilson_interval",
]

#: Confidence level where none is asked for: the convention of the trade of statistics.
LEVEL = 0.95


class Interval(NamedTuple):
    """Two limits of one interval."""

    low: float
    high: float


def t_interval(estimate: float, std_error: float, df: float, *, level: float = LEVEL) -> Interval:
    """Return the t interval of an estimate.

    Parameters
    ----------
    estimate : float
        Centre of the interval. [any unit]
    std_error : float
        Standard error. [unit of the estimate]
    df : float
        Degrees of freedom of the standard error. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval

    Raises
    ------
    OutOfRangeError
        If the level is not between 0 and 1, or the degrees of freedom are not above 0.

    Examples
    --------
    >>> low, high = t_interval(20.0, 0.5, 10)
    >>> round(low, 3), round(high, 3)
    (18.886, 21.114)
    """
    reach = t_quantile(df, level=level) * std_error
    return Interval(estimate - reach, estimate + reach)


def t_quantile(df: float, *, level: float = LEVEL) -> float:
    """Return how many standard errors a two-sided t interval reaches.

    Parameters
    ----------
    df : float
        Degrees of freedom. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    float

    Raises
    ------
    OutOfRangeError
        If the level is not between 0 and 1, or the degrees of freedom are not above 0.

    Examples
    --------
    >>> round(t_quantile(10), 3)
    2.228
    """
    _require_level(level)
    if not df > 0:
        raise OutOfRangeError(f"degrees of freedom must lie above 0; {df:g} do not (more rows)")
    return float(special.stdtrit(df, (1 + level) / 2))


def wilson_interval(successes: int, trials: int, *, level: float = LEVEL) -> Interval:
    """Return the Wilson score interval of a proportion.

    Parameters
    ----------
    successes : int
        How often it happened. [count]
    trials : int
        How often it could have. [count]
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval
        Fractions between 0 and 1.

    Raises
    ------
    OutOfRangeError
        If the counts do not lie in 0 ≤ successes ≤ trials with trials above 0.

    References
    ----------
    .. [1] Wilson (1927), J. Am. Stat. Assoc. 22, 209.

    Examples
    --------
    >>> low, high = wilson_interval(1, 10)
    >>> round(low, 4), round(high, 4)
    (0.0179, 0.4042)
    """
    _require_counts(successes, trials)
    _require_level(level)
    z2 = float(special.ndtri((1 + level) / 2)) ** 2
    middle = (successes + z2 / 2) / (trials + z2)
    spread = successes * (trials - successes) / trials + z2 / 4
    reach = math.sqrt(z2 * spread) / (trials + z2)
    low = 0.0 if successes == 0 else middle - reach
    return Interval(low, 1.0 if successes == trials else middle + reach)


def exact_interval(successes: int, trials: int, *, level: float = LEVEL) -> Interval:
    """Return the exact (Clopper–Pearson) interval of a proportion.

    Parameters
    ----------
    successes : int
        How often it happened. [count]
    trials : int
        How often it could have. [count]
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval
        Fractions between 0 and 1; never covers less than the level, often more.

    Raises
    ------
    OutOfRangeError
        If the counts do not lie in 0 ≤ successes ≤ trials with trials above 0.

    References
    ----------
    .. [1] Clopper and Pearson (1934), Biometrika 26, 404.

    Examples
    --------
    >>> low, high = exact_interval(0, 10)
    >>> low, round(high, 4)
    (0.0, 0.3085)
    """
    _require_counts(successes, trials)
    _require_level(level)
    tail, failures = (1 - level) / 2, trials - successes
    low = special.betaincinv(successes, failures + 1, tail) if successes else 0.0
    high = special.betaincinv(successes + 1, failures, 1 - tail) if failures else 1.0
    return Interval(float(low), float(high))


def sd_interval(sd: float, df: float, *, level: float = LEVEL) -> Interval:
    """Return the chi-square interval of a standard deviation.

    Parameters
    ----------
    sd : float
        Standard deviation estimated. [any unit]
    df : float
        Degrees of freedom behind it; rows less one for a plain sample. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval

    Raises
    ------
    OutOfRangeError
        If the spread is negative, the level is not between 0 and 1, or the degrees of
        freedom are not above 0.

    Examples
    --------
    >>> low, high = sd_interval(1.0, 9)
    >>> round(low, 2), round(high, 2)
    (0.69, 1.83)
    """
    _require_level(level)
    if not df > 0 or sd < 0:
        raise OutOfRangeError(
            f"a standard deviation of at least 0 and degrees of freedom above 0 are needed; "
            f"got {sd:g} on {df:g} (bring at least two rows)"
        )
    tail = (1 - level) / 2
    upper, lower = special.chdtri(df, tail), special.chdtri(df, 1 - tail)
    return Interval(sd * math.sqrt(df / upper), sd * math.sqrt(df / lower))


def _require_level(level: float) -> None:
    if not 0 < level < 1:
        raise OutOfRangeError(f"a confidence level must lie between 0 and 1; {level:g} does not")


def _require_counts(successes: int, trials: int) -> None:
    if not 0 <= successes <= trials or trials < 1:
        raise OutOfRangeError(
            f"counts must satisfy 0 ≤ successes ≤ trials, trials ≥ 1; got {successes} of {trials}"
        )
