"""Whether one person's misses of the recipe grew smaller over the weeks."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from yieldwright.errors import AliasedColumnsError
from yieldwright.models.contrasts.contrasts import two_sided_p
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.models.spreads.log_variance import trend_design
from yieldwright.repeatability.persons.people_misses import AIMED

__all__ = ["LEAST_MISS_DF", "MISS_TREND_COLUMNS", "mean_trend", "miss_trends"]

#: Columns of a table of trends of misses, before all tests are counted.
MISS_TREND_COLUMNS = ("column", "change", "ci_low", "ci_high", "df", "p_value", "missing")

#: Sessions that a trend of a miss needs beyond its levels and its slope: by the law of
#: chi-square a scatter is judged tenfold too small in 8.0 % of logs with one of them, in 1.0 %
#: with two and in 0.14 % with three.
LEAST_MISS_DF = 3

_UNKNOWN = (math.nan,) * 5


def miss_trends(shots: pd.DataFrame) -> pd.DataFrame:
    """Return how the mean misses of one person moved over the weeks.

    Parameters
    ----------
    shots : DataFrame
        From `person_shots`.

    Returns
    -------
    DataFrame
        One row per thing aimed at and measured: change of the mean absolute miss per week
        with its t interval, degrees of freedom and p-value, or in `missing` why there is none.
    """
    measured = [column for column in AIMED if shots[f"miss:{column}"].notna().any()]
    rows = [_miss_trend(shots, column) for column in measured]
    return pd.DataFrame(rows, columns=list(MISS_TREND_COLUMNS))


def _miss_trend(shots: pd.DataFrame, column: str) -> tuple[object, ...]:
    """Return the change of a mean miss per week, on means of sessions weighted by shots."""
    known = shots.dropna(subset=[f"miss:{column}"])
    means = known.groupby("session", sort=False).agg(
        set=("set", "first"), when=("when", "first"),
        miss=(f"miss:{column}", "mean"), n=(f"miss:{column}", "size"),
    )  # fmt: skip
    if why := _too_few(means):
        return (column, *_UNKNOWN, why)
    try:
        design = trend_design(means["when"].to_numpy(float), means["set"].to_numpy(object))
    except AliasedColumnsError:
        return (column, *_UNKNOWN, "every bag or grinder was met on one day only")
    counts, values = (means[name].to_numpy(dtype=float) for name in ("n", "miss"))
    found = mean_trend(values, design, counts)
    if math.isnan(found[-1]):
        return (column, *_UNKNOWN, "sessions do not scatter about it, as more decimals would show")
    return (column, *found, "")


def _too_few(means: pd.DataFrame) -> str:
    """Return why means of sessions bear no trend, by their layout or for want of scatter."""
    bags, sessions = means["set"].nunique(), len(means)
    needed = LEAST_MISS_DF + bags + 1
    if sessions < needed:
        over = f" of {bags} bags or grinders" if bags > 1 else ""
        return f"{needed} sessions{over} are needed, and it is known of {sessions}"
    return "" if means["miss"].max() > means["miss"].min() else "it was the same in all sessions"


def mean_trend(
    means: np.ndarray, design: np.ndarray, counts: np.ndarray
) -> tuple[float, float, float, int, float]:
    """Return the change of means of sessions per week with its t interval.

    Parameters
    ----------
    means : ndarray
        One per session. [any unit]
    design : ndarray
        From `trend_design`.
    counts : ndarray
        Shots behind each mean. [count]

    Returns
    -------
    tuple
        Change, both limits, degrees of freedom and p-value.

    Notes
    -----
    The scatter about the line is all there is to judge it by. With one degree of freedom
    that scatter comes out below a tenth of the truth in 8 of 100 logs, and a chance slope
    then looks sharp; with three in 1 of 700.

    Examples
    --------
    >>> from yieldwright.models.spreads.log_variance import trend_design
    >>> misses, weeks = np.array([2.0, 1.8, 1.3, 1.2, 0.9]), np.arange(5.0)
    >>> change, low, high, df, p_value = mean_trend(misses, trend_design(weeks), np.full(5, 4.0))
    >>> round(change, 2), df, low < change < high < 0
    (-0.28, 3, True)
    """
    df = len(means) - design.shape[1]
    root = np.sqrt(counts)
    weighted = root[:, None] * design
    inverse = np.linalg.inv(weighted.T @ weighted)
    params = inverse @ weighted.T @ (root * means)
    left = root * (means - design @ params)
    error = math.sqrt(float(left @ left) / df * float(inverse[-1, -1]))
    change, reach = float(params[-1]), t_quantile(df) * error
    return change, change - reach, change + reach, df, two_sided_p(change, error, df)
