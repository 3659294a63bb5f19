"""Whether values rise or fall with x, whatever the form: Mann–Kendall and Sen's slope."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.trend.rows import trend_rows

if TYPE_CHECKING:
    from yieldwright.models.trend.rows import Values

__all__ = ["MonotoneTrend", "monotone_trend"]

Array = npt.NDArray[np.float64]

#: Rows at least: fewer have no order that chance would not give in one of three logs.
LEAST = 4


@dataclass(frozen=True, slots=True)
class MonotoneTrend:
    """A trend of ranks, and the middle of the slopes of all pairs.

    Attributes
    ----------
    excess, variance : float
        Pairs that rise less pairs that fall, and its variance where there is no trend.
    tau : float
        Kendall's tau-b. [1]
    z, p_value : float
        Excess over its spread, one pair taken off for continuity, and its chance, two-sided.
    slope : float
        Median of the slopes of all pairs. [unit of y per unit of x]
    ci_low, ci_high : float
        Sen's limits; infinite where the pairs do not reach far enough.
    n : int
        Rows. [count]
    """

    excess: float
    variance: float
    tau: float
    z: float
    p_value: float
    slope: float
    ci_low: float
    ci_high: float
    n: int


def monotone_trend(x: Values, y: Values, *, level: float = LEVEL) -> MonotoneTrend:
    """Return whether values rise or fall with x, whatever the form.

    Parameters
    ----------
    x, y : array-like
        Along what, and the values; one finite number per row. [any unit]
    level : float
        Confidence level of the limits. [1]

    Returns
    -------
    MonotoneTrend

    Raises
    ------
    MisalignedError, OutOfRangeError
        As in `compare_forms`.
    TooFewShotsError
        If there are fewer than four rows.

    Notes
    -----
    Rows are taken as independent: give means of sessions where sessions shift the
    response. The normal approximation serves from about ten rows on.

    References
    ----------
    .. [1] Kendall (1975), Rank Correlation Methods, 4th ed., section 4.
    .. [2] Sen (1968), J. Am. Stat. Assoc. 63, 1379.

    Examples
    --------
    >>> found = monotone_trend(range(8), [1, 2, 2.5, 4, 3.5, 6, 7, 9])
    >>> found.excess, round(found.slope, 2), round(found.p_value, 4)
    (26.0, 1.0, 0.002)
    """
    if not 0 < level < 1:
        raise OutOfRangeError(f"a confidence level must lie between 0 and 1, not {level:g}")
    rows = trend_rows(x, y)
    if rows.n_rows < LEAST:
        raise TooFewShotsError(
            f"{rows.n_rows} rows cannot tell a trend of ranks; bring {LEAST} at least"
        )
    first, second = np.triu_indices(rows.n_rows, 1)
    along, up = rows.x[second] - rows.x[first], rows.y[second] - rows.y[first]
    excess = float(np.sum(np.sign(along) * np.sign(up)))
    variance = _variance(rows.x, rows.y)
    z = math.copysign(max(abs(excess) - 1, 0.0), excess) / math.sqrt(variance)
    slopes = np.sort(up[along != 0] / along[along != 0])
    low, high = _limits(slopes, variance, level)
    return MonotoneTrend(
        excess=excess,
        variance=variance,
        tau=excess / math.sqrt(float(np.count_nonzero(along)) * float(np.count_nonzero(up))),
        z=z,
        p_value=2 * float(special.ndtr(-abs(z))),
        slope=float(np.median(slopes)),
        ci_low=low,
        ci_high=high,
        n=rows.n_rows,
    )


def _variance(x: Array, y: Array) -> float:
    """Return the variance of the excess where y goes on regardless of x, ties allowed for."""
    n = len(x)
    ties = [np.unique(values, return_counts=True)[1].astype(float) for values in (x, y)]
    full = n * (n - 1) * (2 * n + 5) - sum(float(np.sum(t * (t - 1) * (2 * t + 5))) for t in ties)
    threes = [float(np.sum(t * (t - 1) * (t - 2))) for t in ties]
    twos = [float(np.sum(t * (t - 1))) for t in ties]
    third = threes[0] * threes[1] / (9 * n * (n - 1) * (n - 2))
    return full / 18 + third + twos[0] * twos[1] / (2 * n * (n - 1))


def _limits(slopes: Array, variance: float, level: float) -> tuple[float, float]:
    """Return the slopes so many pairs from both ends."""
    reach = float(special.ndtri((1 + level) / 2)) * math.sqrt(variance)
    below, above = round((len(slopes) - reach) / 2) - 1, round((len(slopes) + reach) / 2)
    low = float(slopes[below]) if below >= 0 else -math.inf
    return low, float(slopes[above]) if above < len(slopes) else math.inf
