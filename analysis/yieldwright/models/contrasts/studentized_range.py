"""The studentised range: how far apart the outermost of several means fall by chance."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy import optimize, special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import t_quantile

__all__ = ["range_quantile", "range_tail"]

Array = npt.NDArray[np.float64]

#: Probability of a standard deviation beyond the ends of what is summed over.
NEGLIGIBLE = 1e-20

#: Where a standard normal variable lies, and how finely it is summed over.
_Z = np.linspace(-9.5, 9.5, 161)
_DENSITY = np.exp(-(_Z**2) / 2) / np.sqrt(2 * np.pi) * (_Z[1] - _Z[0])
_BELOW = special.ndtr(_Z)

#: Points at which the standard deviation is summed over, on a logarithmic scale; more
#: where few degrees of freedom leave it a long tail towards 0.
_POINTS = 161
_MOST_POINTS = 4000


def range_tail(statistic: float, n_means: int, df: float) -> float:
    """Return the probability of a range as large among means that are all the same.

    Parameters
    ----------
    statistic : float
        Difference of the largest and the smallest of the means, over the standard error
        of one mean: √2 × |t| of a difference. [1]
    n_means : int
        Means compared, at least 2. [count]
    df : float
        Degrees of freedom of the standard error; may be infinite. [1]

    Returns
    -------
    float
        Not a number where the statistic or the degrees of freedom are not.

    Raises
    ------
    OutOfRangeError
        If fewer than two means are compared, or degrees of freedom are not above 0.

    Notes
    -----
    The double integral over a normal variable and a standard deviation, by the
    trapezoidal rule on functions that vanish with all their derivatives at both ends,
    which converges faster than any power: 11 digits, in a tenth of the time that
    adaptive quadrature takes.

    References
    ----------
    .. [1] Lund and Lund (1983), Applied Statistics 32, 204: algorithm AS 190, equation 1.

    Examples
    --------
    >>> round(range_tail(3.877, 3, 10), 4)
    0.05
    """
    _require_means(n_means, df)
    if np.isnan(statistic) or np.isnan(df):
        return np.nan
    if np.isinf(statistic) or statistic <= 0:
        return float(statistic <= 0)
    if np.isinf(df):
        return float(_normal_tail(np.array([statistic]), n_means)[0])
    spreads, weights = _spreads(df)
    tail = float(weights @ _normal_tail(statistic * spreads, n_means))
    return min(tail, 1.0)


@lru_cache(maxsize=512)
def range_quantile(level: float, n_means: int, df: float) -> float:
    """Return the range that means which are all the same exceed with a stated probability.

    Parameters
    ----------
    level : float
        Probability of a smaller range. [1]
    n_means : int
        Means compared, at least 2. [count]
    df : float
        Degrees of freedom of the standard error; may be infinite. [1]

    Returns
    -------
    float

    Raises
    ------
    OutOfRangeError
        If fewer than two means are compared, the level is not between 0 and 1, or the
        degrees of freedom are not above 0.

    Examples
    --------
    >>> round(range_quantile(0.95, 3, 10), 3)
    3.877
    """
    single = t_quantile(df, level=level) * np.sqrt(2)  # exact for two means
    _require_means(n_means, df)
    if n_means == 2:
        return float(single)

    def miss(log_range: float) -> float:
        return math.log(range_tail(math.exp(log_range), n_means, df) / (1 - level))

    # By Bonferroni over all pairs the quantile is no larger than that of one pair at
    # the level shared among them.
    shared = 1 - (1 - level) / (n_means * (n_means - 1) / 2)
    highest = t_quantile(df, level=shared) * np.sqrt(2)
    low, high = np.log(single) - 1e-3, np.log(highest) + 1e-3
    return float(np.exp(optimize.brentq(miss, low, high, xtol=1e-13, rtol=1e-13)))


def _require_means(n_means: int, df: float) -> None:
    if n_means < 2:
        raise OutOfRangeError(f"a range needs at least two means to compare; got {n_means}")
    if df <= 0:
        raise OutOfRangeError(f"degrees of freedom must lie above 0; {df:g} do not (more rows)")


def _spreads(df: float) -> tuple[Array, Array]:
    """Return standard deviations over their expectation, and how likely each is."""
    half = df / 2
    low = special.gammaincinv(half, NEGLIGIBLE)
    high = special.gammainccinv(half, NEGLIGIBLE)
    points = int(min(_POINTS * max(1.0, 3 / df), _MOST_POINTS))
    logs = np.linspace(np.log(low / half) / 2, np.log(high / half) / 2, points)
    exponent = df * logs - half * np.exp(2 * logs)
    density = np.exp(exponent + np.log(2.0) + half * np.log(half) - special.gammaln(half))
    return np.exp(logs), density * (logs[1] - logs[0])


def _normal_tail(ranges: Array, n_means: int) -> Array:
    """Return the probability of ranges as large among standard normal variables."""
    # Φ(z)^m − (Φ(z) − Φ(z − w))^m without the cancellation, m = means less one; where
    # nothing of z lies below z − w, both are the same.
    reached = np.minimum(special.ndtr(_Z - ranges[:, None]) / _BELOW, 1.0)
    power = n_means - 1
    with np.errstate(divide="ignore"):
        lost = -np.expm1(power * np.log1p(-reached))
    return np.asarray(n_means * (lost * _BELOW**power) @ _DENSITY)
