"""Intervals of standard deviations and their ratios that hold where values are not normal."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import LEVEL, Interval
from yieldwright.models.spreads.ratios import SdRatio

__all__ = ["pooled_kurtosis", "robust_sd_interval", "robust_sd_ratio"]

Array = npt.NDArray[np.float64]

NORMAL_KURTOSIS = 3.0

#: Fewer rows than this leave the correction for small samples without a meaning.
LEAST_ROWS = 3


def robust_sd_interval(
    values: Array, *, sd: float | None = None, df: float | None = None, level: float = LEVEL
) -> Interval:
    """Return an interval of a standard deviation that allows for heavy tails.

    Parameters
    ----------
    values : ndarray
        A sample, or residuals of one group about a common fit. [any unit]
    sd, df : float or None
        Standard deviation and degrees of freedom where a common fit gave them; None for
        those of a plain sample.
    level : float
        Confidence level. [1]

    Returns
    -------
    Interval

    Raises
    ------
    TooFewShotsError
        If there are fewer than 3 values.
    OutOfRangeError
        If all values are the same, or the level is not between 0 and 1.

    Notes
    -----
    The kurtosis is taken about a trimmed mean and widens a normal interval of the
    logarithm of the variance. Where one tail is very long, 10 to 40 values show too
    little of it: of exponential values it covers 87–89 % in place of 95 %.

    References
    ----------
    .. [1] Bonett (2006), Comput. Stat. Data Anal. 50, 775.

    Examples
    --------
    >>> sample = np.array([15.83, 16.01, 16.24, 16.42, 15.33, 15.44, 16.88, 16.31])
    >>> low, high = robust_sd_interval(sample)
    >>> round(low, 2), round(high, 2)
    (0.33, 1.08)
    """
    z = _normal_quantile(level)
    sd, df = _sd_and_df(values, sd, df)
    n = df + 1
    small = n / (n - z) if n > z else math.inf
    if math.isinf(small):
        return Interval(0.0, math.inf)
    kurtosis = pooled_kurtosis([values], [sd], [df])
    reach = z * small * math.sqrt(max(kurtosis - (n - 3) / n, 0.0) / df)
    middle = math.log(small * sd**2)
    return Interval(math.exp((middle - reach) / 2), math.exp((middle + reach) / 2))


def robust_sd_ratio(
    first: Array,
    second: Array,
    *,
    sds: tuple[float, float] | None = None,
    dfs: tuple[float, float] | None = None,
    level: float = LEVEL,
) -> SdRatio:
    """Return the ratio of two standard deviations with an interval that allows for heavy tails.

    Parameters
    ----------
    first, second : ndarray
        Two samples, or residuals of two groups about a common fit. [any unit]
    sds, dfs : pair of float or None
        Standard deviations and degrees of freedom where a common fit gave them.
    level : float
        Confidence level. [1]

    Returns
    -------
    SdRatio
        Without a bound where a group has too few values for one.

    Raises
    ------
    TooFewShotsError
        If a sample has fewer than 3 values.
    OutOfRangeError
        If all values of a sample are the same, or the level is not between 0 and 1.

    Notes
    -----
    Both samples share one kurtosis, with residuals not below that of normal values. The
    p-value is that of the normal statistic without its small-sample shift.

    References
    ----------
    .. [1] Bonett (2006), Appl. Psychol. Meas. 30, 432.

    Examples
    --------
    >>> found = robust_sd_ratio(np.arange(12.0), 3 * np.arange(12.0))
    >>> round(found.ratio, 3), found.low < 1 / 3 < found.high
    (0.333, True)
    """
    z = _normal_quantile(level)
    one_sd, one_df = _sd_and_df(first, sds and sds[0], dfs and dfs[0])
    two_sd, two_df = _sd_and_df(second, sds and sds[1], dfs and dfs[1])
    ratio, kurtosis = one_sd / two_sd, pooled_kurtosis([first, second], [one_sd, two_sd],
                                                      [one_df, two_df])  # fmt: skip
    if min(one_df, two_df) + 1 <= z:
        return SdRatio(ratio, 0.0, math.inf, 1.0)
    variance = sum(max(kurtosis - (df - 2) / (df + 1), 0.0) / df for df in (one_df, two_df))
    error = math.sqrt(variance)
    shift = math.log((one_df + 1) / (one_df + 1 - z)) - math.log((two_df + 1) / (two_df + 1 - z))
    middle = 2 * math.log(ratio) + shift
    p_value = 2 * float(special.ndtr(-abs(2 * math.log(ratio)) / error)) if error else 0.0
    low, high = (math.exp((middle + side * z * error) / 2) for side in (-1, 1))
    return SdRatio(ratio, low, high, p_value)


def pooled_kurtosis(samples: list[Array], sds: list[float], dfs: list[float]) -> float:
    """Return the kurtosis that several samples share, each about its own trimmed mean.

    Parameters
    ----------
    samples : list of ndarray
        Values of each group. [any unit]
    sds, dfs : list of float
        Their standard deviations and degrees of freedom.

    Returns
    -------
    float
        3 for normal values in the long run, and no less for residuals that rest on fewer
        degrees of freedom than rows less one. [1]

    Examples
    --------
    >>> flat = np.linspace(-1, 1, 101)
    >>> round(pooled_kurtosis([flat], [float(flat.std(ddof=1))], [100]), 1)
    1.8
    """
    n_rows, total = sum(map(len, samples)), sum(df + 1 for df in dfs)
    fourth = sum(float(np.sum((values - _trimmed_mean(values)) ** 4)) for values in samples)
    squares = sum(df * sd**2 for sd, df in zip(sds, dfs, strict=True))
    found = total * fourth / squares**2
    return max(found, NORMAL_KURTOSIS) if total < n_rows else found


def _trimmed_mean(values: Array) -> float:
    """Return the mean without the share 1 / (2 √(n − 4)) at either end; the median of few."""
    n = len(values)
    share = 0.5 if n <= 5 else 1 / (2 * math.sqrt(n - 4))
    cut = int(share * n)
    if 2 * cut >= n:
        return float(np.median(values))
    return float(np.mean(np.sort(values)[cut : n - cut]))


def _sd_and_df(values: Array, sd: float | None, df: float | None) -> tuple[float, float]:
    if len(values) < LEAST_ROWS:
        raise TooFewShotsError(
            f"a spread that allows for heavy tails needs {LEAST_ROWS} values; got {len(values)}"
        )
    found = float(np.std(values, ddof=1)) if sd is None else sd
    if not found > 0:
        raise OutOfRangeError(
            f"all {len(values)} values are the same, and a spread of 0 has no such interval "
            "(log one more decimal)"
        )
    return found, float(len(values) - 1) if df is None else df


def _normal_quantile(level: float) -> float:
    if not 0 < level < 1:
        raise OutOfRangeError(f"a confidence level must lie between 0 and 1; {level:g} does not")
    return float(special.ndtri((1 + level) / 2))
