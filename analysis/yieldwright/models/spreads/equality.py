"""Tests of whether several groups share one standard deviation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.spreads.pooled import pooled_sd

__all__ = ["EqualityTest", "bartlett", "brown_forsythe"]

Array = npt.NDArray[np.float64]


class EqualityTest(NamedTuple):
    """Statistic, its degrees of freedom (the second infinite for a chi-square), and p."""

    statistic: float
    df: float
    df_within: float
    p_value: float


def bartlett(sds: Sequence[float], dfs: Sequence[float]) -> EqualityTest:
    """Return Bartlett's test that normal groups share one standard deviation.

    Parameters
    ----------
    sds : sequence of float
        Standard deviation of each group, above 0. [any unit]
    dfs : sequence of float
        Degrees of freedom behind each; they need not be whole. [1]

    Returns
    -------
    EqualityTest

    Raises
    ------
    TooFewShotsError
        If there are fewer than two groups.
    OutOfRangeError
        If a spread is 0 or has no degrees of freedom.

    Notes
    -----
    Heavy tails raise false alarms; see `brown_forsythe`.

    References
    ----------
    .. [1] Bartlett (1937), Proc. R. Soc. A 160, 268.

    Examples
    --------
    >>> round(bartlett([1.0, 1.2, 2.5], [9, 9, 9]).p_value, 3)
    0.014
    """
    _require_groups(len(sds))
    pooled = pooled_sd(sds, dfs)
    if min(sds) <= 0:
        raise OutOfRangeError(
            "a group whose values are all the same has no logarithm of its spread (log one more "
            "decimal)"
        )
    raw = pooled.df * math.log(pooled.sd**2)
    raw -= sum(df * math.log(sd**2) for sd, df in zip(sds, dfs, strict=True))
    groups = len(sds) - 1
    scale = 1 + (sum(1 / df for df in dfs) - 1 / pooled.df) / (3 * groups)
    statistic = max(raw / scale, 0.0)
    return EqualityTest(statistic, groups, math.inf, float(special.chdtrc(groups, statistic)))


def brown_forsythe(samples: Sequence[Array]) -> EqualityTest:
    """Return the Brown–Forsythe test that groups share one spread, whatever their shape.

    Parameters
    ----------
    samples : sequence of ndarray
        Values of each group, or its residuals about a common fit. [any unit]

    Returns
    -------
    EqualityTest

    Raises
    ------
    TooFewShotsError
        If there are fewer than two groups, or one has fewer than two values.

    Notes
    -----
    An analysis of variance of distances from the median of each group: Levene's test
    with medians. Where all distances are alike inside every group the p-value is missing.

    References
    ----------
    .. [1] Brown and Forsythe (1974), J. Am. Stat. Assoc. 69, 364.

    Examples
    --------
    >>> narrow, wide = np.array([4.0, 5, 6, 5, 4, 6]), np.array([1.0, 9, 5, 2, 8, 5])
    >>> round(brown_forsythe([narrow, wide]).p_value, 4)
    0.0607
    """
    _require_groups(len(samples))
    if min(map(len, samples)) < 2:
        raise TooFewShotsError("a spread needs two values or more of each group")
    away = [np.abs(values - np.median(values)) for values in samples]
    means, sizes = [float(each.mean()) for each in away], [len(each) for each in away]
    n_rows, groups = sum(sizes), len(away) - 1
    middle = float(np.average(means, weights=sizes))
    between = sum(n * (mean - middle) ** 2 for n, mean in zip(sizes, means, strict=True)) / groups
    within = sum(float(np.sum((each - each.mean()) ** 2)) for each in away) / (n_rows - groups - 1)
    if within == 0:
        return EqualityTest(math.nan, groups, n_rows - groups - 1, math.nan)
    statistic = between / within
    tail = float(special.fdtrc(groups, n_rows - groups - 1, statistic))
    return EqualityTest(statistic, groups, n_rows - groups - 1, tail)


def _require_groups(groups: int) -> None:
    if groups < 2:
        raise TooFewShotsError(f"equality needs two groups or more; got {groups}")
