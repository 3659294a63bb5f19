"""Intraclass correlations: which share of the variance lies between targets."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.agreement.ratings import complete_ratings
from yieldwright.models.intervals.intervals import LEVEL, Interval

__all__ = ["KINDS", "MeanSquares", "intraclass", "mean_squares", "variance_share"]

Array = npt.NDArray[np.float64]

#: The six forms of Shrout and Fleiss: one rating, then the mean of all raters.
KINDS = ("ICC1", "ICC2", "ICC3", "ICC1k", "ICC2k", "ICC3k")


#: Share of a rating that computing may leave of no difference at all.
ROUNDING = 1e-10


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """Mean squares of a table of targets × raters.

    Attributes
    ----------
    targets, raters, error, within : float
        Between targets, between raters, of what is left, and of all ratings of one target.
    n_targets, n_raters : int
        Size of the table.
    """

    targets: float
    raters: float
    error: float
    within: float
    n_targets: int
    n_raters: int


def mean_squares(ratings: pd.DataFrame | Array) -> MeanSquares:
    """Return the mean squares of a complete table of targets × raters.

    Parameters
    ----------
    ratings : DataFrame or ndarray
        One row per target, one column per rater, no gaps. [any unit]

    Returns
    -------
    MeanSquares

    Raises
    ------
    TooFewShotsError
        If there are fewer than two targets or raters.
    OutOfRangeError
        If a rating is missing or infinite.

    Examples
    --------
    >>> mean_squares(np.array([[1.0, 2.0], [3.0, 4.0], [5.0, 6.0]])).targets
    8.0
    """
    table = complete_ratings(ratings)
    n, k = table.shape
    grand = table.mean()
    of_targets = table.mean(axis=1, keepdims=True) - grand
    of_raters = table.mean(axis=0, keepdims=True) - grand
    left = table - grand - of_targets - of_raters
    squares = float((left**2).sum())
    between = n * float((of_raters**2).sum())
    return MeanSquares(
        targets=k * float((of_targets**2).sum()) / (n - 1),
        raters=between / (k - 1),
        error=squares / ((n - 1) * (k - 1)),
        within=(squares + between) / (n * (k - 1)),
        n_targets=n,
        n_raters=k,
    )


def intraclass(ratings: pd.DataFrame | Array, *, level: float = LEVEL) -> pd.DataFrame:
    """Return the six intraclass correlations of a complete table, with F tests and limits.

    Parameters
    ----------
    ratings : DataFrame or ndarray
        One row per target, one column per rater, no gaps. [any unit]
    level : float
        Confidence level. [1]

    Returns
    -------
    DataFrame
        One row per form, in the order of `KINDS`: kind, estimate, statistic (F), df,
        df_error, p_value, ci_low, ci_high. A limit may lie below 0.

    Raises
    ------
    TooFewShotsError
        If there are fewer than two targets or raters.
    OutOfRangeError
        If a rating is missing or infinite, all ratings of each target are alike, or the
        level is not between 0 and 1.

    Notes
    -----
    ICC1: raters differ from target to target. ICC2: the same raters throughout, drawn from
    many, and their levels count as disagreement. ICC3: these raters, levels left out. With
    a k: of the mean of all raters. Limits of ICC2 use Satterthwaite's degrees of freedom.

    References
    ----------
    .. [1] Shrout and Fleiss (1979), Psychol. Bull. 86, 420, tables 3 to 5.

    Examples
    --------
    >>> scores = np.array(
    ...     [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]],
    ...     dtype=float,
    ... )
    >>> intraclass(scores)["estimate"].round(2).tolist()
    [0.17, 0.29, 0.71, 0.44, 0.62, 0.91]
    """
    if not 0 < level < 1:
        raise OutOfRangeError(f"a confidence level must lie between 0 and 1; {level:g} does not")
    found = mean_squares(ratings)
    nothing = (ROUNDING * float(np.abs(np.asarray(ratings, dtype=float)).max())) ** 2
    if not (found.error > nothing and found.within > nothing):
        raise OutOfRangeError(
            "ratings leave no disagreement to measure by; bring raters who differ somewhere"
        )
    single = [_one_way(found, level), _two_way(found, level), _two_way_fixed(found, level)]
    rows = [*single, *(_of_mean(row, found.n_raters) for row in single)]
    return pd.DataFrame([{"kind": kind, **row} for kind, row in zip(KINDS, rows, strict=True)])


def variance_share(
    between: float,
    df_between: float,
    within: float,
    df_within: float,
    *,
    level: float = LEVEL,
) -> tuple[float, Interval]:
    """Return which share of the variance of means the spread within them causes.

    Parameters
    ----------
    between : float
        Mean square of means, times the readings in each. [any unit, squared]
    df_between : float
        Its degrees of freedom. [1]
    within : float
        Mean square of readings of one mean. [any unit, squared]
    df_within : float
        Its degrees of freedom. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    share : float
        `within / between`, at most 1: one less the ICC of means of Shrout and Fleiss.
    limits : Interval
        From the F distribution, at most 1.

    Raises
    ------
    OutOfRangeError
        If `between` or the degrees of freedom are not above 0, or `within` is below 0.

    References
    ----------
    .. [1] Shrout and Fleiss (1979), Psychol. Bull. 86, 420, table 5, case 1.

    Examples
    --------
    >>> share, (low, high) = variance_share(8.0, 9, 2.0, 10)
    >>> share, round(low, 3), round(high, 3)
    (0.25, 0.063, 0.945)
    """
    if not (between > 0 and within >= 0 and df_between > 0 and df_within > 0):
        raise OutOfRangeError(
            f"mean squares of at least 0, and degrees of freedom above 0, are needed; got "
            f"{between:g} on {df_between:g} and {within:g} on {df_within:g}"
        )
    tail = (1 - level) / 2
    low, high = (special.fdtri(df_between, df_within, p) for p in (tail, 1 - tail))
    share = within / between
    return min(share, 1.0), Interval(min(share * float(low), 1.0), min(share * float(high), 1.0))


def _one_way(ms: MeanSquares, level: float) -> dict[str, float]:
    k = ms.n_raters
    df = (ms.n_targets - 1, ms.n_targets * (k - 1))
    return _from_ratio(ms.targets / ms.within, df, k, level)


def _two_way_fixed(ms: MeanSquares, level: float) -> dict[str, float]:
    k = ms.n_raters
    df = (ms.n_targets - 1, (ms.n_targets - 1) * (k - 1))
    return _from_ratio(ms.targets / ms.error, df, k, level)


def _from_ratio(f: float, df: tuple[int, int], k: int, level: float) -> dict[str, float]:
    """Return a correlation that depends on the mean squares by their ratio alone."""
    upper = float(special.fdtri(*df, (1 + level) / 2))
    lower = float(special.fdtri(*df, (1 - level) / 2))
    estimate, low, high = ((r - 1) / (r + k - 1) for r in (f, f / upper, f / lower))
    return _row(estimate, f, df, low, high)


def _two_way(ms: MeanSquares, level: float) -> dict[str, float]:
    n, k = ms.n_targets, ms.n_raters
    ratio, f = ms.raters / ms.error, ms.targets / ms.error
    estimate = (ms.targets - ms.error) / (
        ms.targets + (k - 1) * ms.error + k * (ms.raters - ms.error) / n
    )
    pull = k * estimate * ratio
    rest = n * (1 + (k - 1) * estimate) - k * estimate
    v = (k - 1) * (n - 1) * (pull + rest) ** 2 / ((n - 1) * pull**2 + rest**2)
    above = float(special.fdtri(n - 1, v, (1 + level) / 2))
    below = float(special.fdtri(v, n - 1, (1 + level) / 2))
    spread = k * ms.raters + (k * n - k - n) * ms.error
    low = n * (ms.targets - above * ms.error) / (above * spread + n * ms.targets)
    high = n * (below * ms.targets - ms.error) / (spread + n * below * ms.targets)
    return _row(estimate, f, (n - 1, (n - 1) * (k - 1)), low, high)


def _row(
    estimate: float, f: float, df: tuple[int, int], low: float, high: float
) -> dict[str, float]:
    p_value = float(special.fdtrc(*df, f)) if math.isfinite(f) else 0.0
    figures = (estimate, f, *map(float, df), p_value, low, high)
    names = ("estimate", "statistic", "df", "df_error", "p_value", "ci_low", "ci_high")
    return dict(zip(names, figures, strict=True))


def _of_mean(row: dict[str, float], k: int) -> dict[str, float]:
    """Return a correlation of the mean of k raters (Spearman–Brown)."""
    stepped = {name: _stepped_up(row[name], k) for name in ("estimate", "ci_low", "ci_high")}
    return {**row, **stepped}


def _stepped_up(single: float, k: int) -> float:
    return k * single / (1 + (k - 1) * single)
