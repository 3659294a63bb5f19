"""What a log of this size could have found, and how many shots a difference needs."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import TypeVar

import numpy as np
import numpy.typing as npt
from scipy import optimize, special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL, t_quantile

__all__ = [
    "ALPHA",
    "POWER",
    "detectable_effect",
    "detection_power",
    "difference_half_width",
    "shots_per_setting",
]

#: Chance of a false alarm, two-sided, and of finding what is there: conventions of Cohen (1988).
ALPHA = 0.05
POWER = 0.8

#: Shots beyond which a difference counts as not to be found.
MOST_SHOTS = 10**9

Measured = TypeVar("Measured", float, npt.NDArray[np.float64])


def detection_power(
    effect: Measured, std_error: float, df: float, *, alpha: float = ALPHA
) -> Measured:
    """Return the chance that a two-sided t test finds an effect of a given size.

    Parameters
    ----------
    effect : float or ndarray
        True effect. [any unit]
    std_error : float
        Standard error with which it is estimated. [unit of the effect]
    df : float
        Degrees of freedom of the standard error. [1]
    alpha : float
        Chance of a false alarm. [1]

    Returns
    -------
    same kind as `effect`
        Between `alpha` and 1; both tails count.

    Raises
    ------
    OutOfRangeError
        If the standard error or the degrees of freedom are not above 0, or `alpha`
        is not between 0 and 1.

    Examples
    --------
    >>> round(detection_power(0.5, 0.5 * (2 / 17) ** 0.5, 32), 3)
    0.807
    """
    _require_positive("std_error", std_error)
    power = _power(np.abs(np.asarray(effect, dtype=float)) / std_error, df, alpha)
    if isinstance(effect, np.ndarray):
        return power
    return float(power)


def detectable_effect(
    std_error: Measured, df: float, *, power: float = POWER, alpha: float = ALPHA
) -> Measured:
    """Return the smallest effect that would be found with a stated chance.

    Parameters
    ----------
    std_error : float or ndarray
        Standard error of the effect. [any unit]
    df : float
        Degrees of freedom of the standard error. [1]
    power : float
        Chance of finding it. [1]
    alpha : float
        Chance of a false alarm, below `power`. [1]

    Returns
    -------
    same kind as `std_error`
        Size of the effect, either sign. [unit of `std_error`]

    Raises
    ------
    OutOfRangeError
        If the degrees of freedom are not above 0, or not 0 < alpha < power < 1.

    Notes
    -----
    Solves P(|T| > t) = power for the noncentrality of T; a smaller effect may well be
    real and is likelier missed than found.

    Examples
    --------
    >>> round(detectable_effect(0.25, 9), 3)
    0.787
    """
    return std_error * _noncentrality(float(df), power, alpha)


def shots_per_setting(
    difference: float, sd: float, *, power: float = POWER, alpha: float = ALPHA
) -> int:
    """Return how many shots each of two settings needs to find a difference.

    Parameters
    ----------
    difference : float
        Wanted difference of the two means. [any unit]
    sd : float
        Standard deviation from shot to shot. [unit of the difference]
    power : float
        Chance of finding it. [1]
    alpha : float
        Chance of a false alarm, below `power`. [1]

    Returns
    -------
    int
        At least 2.

    Raises
    ------
    OutOfRangeError
        If difference or spread is not above 0, not 0 < alpha < power < 1, or no number
        of shots below a thousand million suffices.

    Examples
    --------
    >>> shots_per_setting(0.5, 0.5)
    17
    """
    _require_positive("difference", abs(difference))
    _require_positive("sd", sd)
    _require_chances(power, alpha)

    def suffices(shots: int) -> bool:
        std_error = sd * math.sqrt(2 / shots)
        return detection_power(abs(difference), std_error, 2 * shots - 2, alpha=alpha) >= power

    enough = 2
    while not suffices(enough):
        enough *= 2
        if enough > MOST_SHOTS:
            raise OutOfRangeError(
                f"a difference of {difference:g} at a spread of {sd:g} is beyond any log"
            )
    return _first(suffices, max(2, enough // 2), enough)


def difference_half_width(sd: Measured, shots: int, *, level: float = LEVEL) -> Measured:
    """Return the half-width of the interval of a difference of two settings.

    Parameters
    ----------
    sd : float or ndarray
        Standard deviation from shot to shot. [any unit]
    shots : int
        Shots per setting, at least 2. [count]
    level : float
        Confidence level. [1]

    Returns
    -------
    same kind as `sd`

    Raises
    ------
    OutOfRangeError
        If there are fewer than 2 shots, or the level is not between 0 and 1.

    Examples
    --------
    >>> round(difference_half_width(0.5, 4), 2)
    0.87
    """
    return sd * (t_quantile(2 * shots - 2, level=level) * math.sqrt(2 / shots))


def _power(
    noncentrality: npt.NDArray[np.float64], df: float, alpha: float
) -> npt.NDArray[np.float64]:
    critical = t_quantile(df, level=1 - alpha)
    # scipy gives NaN for some probabilities too small to matter: they count as 0.
    below = np.nan_to_num(special.nctdtr(df, noncentrality, critical), nan=0.0)
    far_below = np.nan_to_num(special.nctdtr(df, noncentrality, -critical), nan=0.0)
    return np.asarray(1 - below + far_below)


@lru_cache(maxsize=1024)
def _noncentrality(df: float, power: float, alpha: float) -> float:
    """Return the effect in standard errors that is found with this chance."""
    _require_chances(power, alpha)

    def shortfall(noncentrality: float) -> float:
        return float(_power(np.array(noncentrality), df, alpha)) - power

    upper = t_quantile(df, level=1 - alpha)
    while shortfall(upper) < 0:
        upper *= 2
    return float(optimize.brentq(shortfall, 0.0, upper, xtol=1e-12))


def _first(suffices: Callable[[int], bool], low: int, high: int) -> int:
    """Return the least number from low to high that suffices, high being known to."""
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if suffices(middle) else (middle + 1, high)
    return high


def _require_positive(name: str, value: float) -> None:
    if not 0 < value < math.inf:
        raise OutOfRangeError(f"{name} must lie above 0 and be finite; {value:g} does not")


def _require_chances(power: float, alpha: float) -> None:
    if not 0 < alpha < power < 1:
        raise OutOfRangeError(
            f"chances must satisfy 0 < alpha < power < 1; got alpha {alpha:g}, power {power:g}"
        )
