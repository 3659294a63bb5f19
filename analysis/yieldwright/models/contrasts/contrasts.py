"""Linear combinations of coefficients, each with t interval and a robust twin beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.errors import MisalignedError, OutOfRangeError, UnknownNameError
from yieldwright.models.intervals.intervals import LEVEL, t_interval
from yieldwright.models.wording import nearest, quoted
from yieldwright.results import ESTIMATE_COLUMNS

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit

__all__ = [
    "Estimate",
    "contrast",
    "estimate_table",
    "holm",
    "independent_sum",
    "two_sided_p",
    "weights_in_order",
]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Estimate:
    """One estimated quantity.

    Attributes
    ----------
    term : str
        What is estimated.
    estimate, std_error : float
        Value and standard error, in the unit of the response.
    df : float
        Degrees of freedom of the standard error.
    ci_low, ci_high : float
        Limits of the t interval.
    statistic, p_value : float
        Test against zero, two-sided; not a number where the standard error is 0.
    hc3_std_error, hc3_ci_low, hc3_ci_high, hc3_p_value : float
        The same where the variance may differ from row to row; not a number where the
        quantity hangs on a single row.
    """

    term: str
    estimate: float
    std_error: float
    df: float
    ci_low: float
    ci_high: float
    statistic: float
    p_value: float
    hc3_std_error: float
    hc3_ci_low: float
    hc3_ci_high: float
    hc3_p_value: float


def contrast(
    fit: LinearFit,
    weights: Mapping[str, float] | Sequence[float] | Array,
    *,
    term: str = "contrast",
    level: float = LEVEL,
) -> Estimate:
    """Return a weighted sum of coefficients with its t interval.

    Parameters
    ----------
    fit : LinearFit
        From `fit_least_squares`.
    weights : mapping of str to float, or sequence of float
        Weights by name of coefficient, or one for each.
    term : str
        What to call it.
    level : float
        Confidence level of the intervals. [1]

    Returns
    -------
    Estimate

    Raises
    ------
    UnknownNameError
        If a name is none of the fit's, or stands for several coefficients.
    MisalignedError
        If there is not one weight for each coefficient.

    Examples
    --------
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> matrix = np.column_stack([np.ones(4), [0.0, 1.0, 2.0, 3.0]])
    >>> fit = fit_least_squares(matrix, np.array([1.0, 3.0, 5.0, 7.5]))
    >>> slope = contrast(fit, {"x1": 1.0}, term="slope")
    >>> round(slope.estimate, 3), round(slope.std_error, 3), slope.df
    (2.15, 0.087, 2)
    """
    combined = weights_in_order(fit.names, weights)
    estimate = float(combined @ fit.params)
    std_error = _std_error(combined, fit.cov)
    robust = _std_error(combined, fit.hc3_cov)
    interval = t_interval(estimate, std_error, fit.df_resid, level=level)
    robust_interval = t_interval(estimate, robust, fit.df_resid, level=level)
    return Estimate(
        term=term,
        estimate=estimate,
        std_error=std_error,
        df=fit.df_resid,
        ci_low=interval.low,
        ci_high=interval.high,
        statistic=estimate / std_error if std_error > 0 else np.nan,
        p_value=two_sided_p(estimate, std_error, fit.df_resid),
        hc3_std_error=robust,
        hc3_ci_low=robust_interval.low,
        hc3_ci_high=robust_interval.high,
        hc3_p_value=two_sided_p(estimate, robust, fit.df_resid),
    )


def estimate_table(
    estimates: Iterable[Estimate], *, errors: Literal["equal", "hc3"] = "equal"
) -> pd.DataFrame:
    """Return estimates as a table, with p-values corrected for how many were looked at.

    Parameters
    ----------
    estimates : iterable of Estimate
        All effects looked at together.
    errors : {"equal", "hc3"}
        Standard errors for one variance, or robust ones.

    Returns
    -------
    DataFrame
        One row per estimate: term, estimate, std_error, df, ci_low, ci_high, statistic,
        p_value, p_holm.

    Examples
    --------
    >>> estimate_table([]).columns.tolist() == list(ESTIMATE_COLUMNS)
    True
    """
    rows = [_plain_row(each) if errors == "equal" else _hc3_row(each) for each in estimates]
    table = pd.DataFrame(rows, columns=list(ESTIMATE_COLUMNS[:-1]))
    return table.assign(p_holm=holm(table["p_value"].to_numpy(dtype=float)))


def holm(p_values: Sequence[float] | Array) -> Array:
    """Return p-values corrected for the number of tests by Holm's step-down rule.

    Parameters
    ----------
    p_values : sequence of float
        One per test; missing ones stay missing and are not counted. [1]

    Returns
    -------
    ndarray
        In the order given.

    Raises
    ------
    OutOfRangeError
        If a p-value lies outside 0–1.

    References
    ----------
    .. [1] Holm (1979), Scand. J. Statistics 6, 65.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).tolist()
    [0.03, 0.06, 0.06]
    """
    given = np.asarray(p_values, dtype=float)
    if ((given < 0) | (given > 1)).any():
        raise OutOfRangeError("p-values must lie in 0–1; at least one does not")
    tested = given[np.isfinite(given)]
    order = np.argsort(tested, kind="stable")
    scaled = tested[order] * np.arange(len(tested), 0, -1)
    stepped = np.minimum(np.maximum.accumulate(scaled), 1.0) if len(tested) else scaled
    corrected = np.full(given.shape, np.nan)
    corrected[np.flatnonzero(np.isfinite(given))[order]] = stepped
    return corrected


def independent_sum(one: Estimate, other: Estimate, *, level: float = LEVEL) -> Estimate:
    """Return the sum of two estimates that owe nothing to one another.

    Parameters
    ----------
    one, other : Estimate
        In one unit.
    level : float
        Confidence level of the interval. [1]

    Returns
    -------
    Estimate
        Named as the first; its robust twin is not a number.

    References
    ----------
    .. [1] Satterthwaite (1946), Biometrics Bulletin 2, 110: degrees of freedom V² / Σ Vᵢ²/νᵢ.

    Examples
    --------
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> fit = fit_least_squares(np.ones((4, 1)), np.array([1.0, 2.0, 4.0, 5.0]))
    >>> mean = contrast(fit, [1.0], term="mean")
    >>> total = independent_sum(mean, mean)
    >>> total.estimate, round(total.std_error / mean.std_error, 3), round(total.df, 6)
    (6.0, 1.414, 6.0)
    """
    variances = np.array([one.std_error**2, other.std_error**2])
    estimate, std_error = one.estimate + other.estimate, float(np.sqrt(variances.sum()))
    shares = float((variances**2 / [one.df, other.df]).sum())
    df = float(variances.sum() ** 2 / shares) if shares else min(one.df, other.df)
    low, high = t_interval(estimate, std_error, df, level=level)
    return Estimate(
        term=one.term,
        estimate=estimate,
        std_error=std_error,
        df=df,
        ci_low=low,
        ci_high=high,
        statistic=estimate / std_error if std_error > 0 else np.nan,
        p_value=two_sided_p(estimate, std_error, df),
        **dict.fromkeys(("hc3_std_error", "hc3_ci_low", "hc3_ci_high", "hc3_p_value"), np.nan),
    )


def weights_in_order(
    names: Sequence[str], weights: Mapping[str, float] | Sequence[float] | Array
) -> Array:
    """Return weights of coefficients in the order of a fit.

    Parameters
    ----------
    names : sequence of str
        Names of the coefficients.
    weights : mapping of str to float, or sequence of float
        Weights by name of coefficient, or one for each.

    Returns
    -------
    ndarray

    Raises
    ------
    UnknownNameError
        If a name is none of the fit's, or stands for several coefficients.
    MisalignedError
        If there is not one weight for each coefficient.

    Examples
    --------
    >>> weights_in_order(("(intercept)", "grind"), {"grind": 2.0}).tolist()
    [0.0, 2.0]
    """
    if isinstance(weights, Mapping):
        ordered = np.zeros(len(names))
        for name, weight in weights.items():
            ordered[_position(names, name)] = weight
        return ordered
    given = np.asarray(weights, dtype=float)
    if given.shape != (len(names),):
        raise MisalignedError(
            f"{given.size} weights for {len(names)} coefficients; give one for each"
        )
    return given


def two_sided_p(estimate: float, std_error: float, df: float) -> float:
    """Return the probability of a t as far from zero where the quantity is zero.

    Parameters
    ----------
    estimate : float
        Value. [any unit]
    std_error : float
        Standard error. [unit of the estimate]
    df : float
        Degrees of freedom of the standard error. [1]

    Returns
    -------
    float
        Not a number where the standard error is 0.

    Examples
    --------
    >>> round(two_sided_p(2.228, 1.0, 10), 3)
    0.05
    """
    if not std_error > 0:
        return np.nan
    return float(2 * special.stdtr(df, -abs(estimate / std_error)))


def _position(names: Sequence[str], name: str) -> int:
    count = list(names).count(name)
    if count != 1:
        what = "no coefficient is" if count == 0 else f"{count} coefficients are"
        raise UnknownNameError(f"{what} called {quoted(name)}; {nearest(name, names)}")
    return list(names).index(name)


def _std_error(weights: Array, cov: Array) -> float:
    used = np.flatnonzero(weights)
    variance = weights[used] @ cov[np.ix_(used, used)] @ weights[used]
    return float(np.sqrt(np.maximum(variance, 0.0)))


def _plain_row(each: Estimate) -> tuple[object, ...]:
    return (
        each.term,
        each.estimate,
        each.std_error,
        each.df,
        each.ci_low,
        each.ci_high,
        each.statistic,
        each.p_value,
    )


def _hc3_row(each: Estimate) -> tuple[object, ...]:
    return (
        each.term,
        each.estimate,
        each.hc3_std_error,
        each.df,
        each.hc3_ci_low,
        each.hc3_ci_high,
        each.estimate / each.hc3_std_error if each.hc3_std_error > 0 else np.nan,
        each.hc3_p_value,
    )
