"""What a mixed model says of its coefficients: t intervals, tests of one or several at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import AliasedColumnsError, OutOfRangeError
from yieldwright.models.contrasts.contrasts import (
    Estimate,
    estimate_table,
    two_sided_p,
    weights_in_order,
)
from yieldwright.models.intervals.intervals import LEVEL, t_interval

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.mixed.model import MixedFit

__all__ = [
    "MixedTest",
    "mixed_coefficients",
    "mixed_contrast",
    "mixed_test",
    "satterthwaite_df",
]

Array = npt.NDArray[np.float64]
Weights = Mapping[str, float] | Sequence[float] | Array
Approximation = Literal["satterthwaite", "kenward_roger"]

#: Contrasts with less of the largest variance than this follow from the others.
INDEPENDENT = 1e-10

#: Degrees of freedom that differ by less are one and the same.
SAME = 1e-8


@dataclass(frozen=True, slots=True)
class MixedTest:
    """Test of several contrasts of a mixed model at once.

    Attributes
    ----------
    term : str
        What is tested.
    statistic, p_value : float
        F, and the probability of one as large where all contrasts are zero.
    df_term : int
        Degrees of freedom of the numerator: contrasts.
    df_error : float
        Those of the denominator.
    """

    term: str
    statistic: float
    p_value: float
    df_term: int
    df_error: float


def mixed_contrast(
    fit: MixedFit,
    weights: Weights,
    *,
    term: str = "contrast",
    level: float = LEVEL,
    df: Approximation = "satterthwaite",
) -> Estimate:
    """Return a weighted sum of coefficients of a mixed model with its t interval.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed`.
    weights : mapping of str to float, or sequence of float
        Weights by name of coefficient, or one for each.
    term : str
        What to call it.
    level : float
        Confidence level of the interval. [1]
    df : {"satterthwaite", "kenward_roger"}
        How degrees of freedom are found; Kenward and Roger's way also widens the
        standard error, and needs a REML fit.

    Returns
    -------
    Estimate
        Its robust twin is not a number: variances by group are in the model.

    Raises
    ------
    UnknownNameError
        If a name is none of the fit's, or stands for several coefficients.
    MisalignedError
        If there is not one weight for each coefficient.
    OutOfRangeError
        If Kenward and Roger's way is asked of a fit by plain likelihood.

    References
    ----------
    .. [1] Kuznetsova, Brockhoff and Christensen (2017), J. Stat. Softw. 82(13).

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> mean = mixed_contrast(fit, [1.0], term="mean")
    >>> round(mean.estimate, 3), round(mean.std_error, 3), round(mean.df, 6)
    (4.833, 2.028, 2.0)
    """
    row = weights_in_order(fit.names, weights)
    if df == "kenward_roger":
        adjusted = fit.adjusted
        variance, degrees = row @ adjusted.cov @ row, adjusted.scaled_f(row[np.newaxis])[0]
        if not variance > 0:  # the adjustment is a series, which fails on the smallest tables
            variance = row @ fit.cov @ row
    else:
        variance, degrees = row @ fit.cov @ row, satterthwaite_df(fit, row)
    return _estimated(term, float(row @ fit.params), float(np.sqrt(variance)), degrees, level)


def mixed_coefficients(
    fit: MixedFit, *, level: float = LEVEL, df: Approximation = "satterthwaite"
) -> pd.DataFrame:
    """Return all coefficients of a mixed model as a table.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed`.
    level : float
        Confidence level of the intervals. [1]
    df : {"satterthwaite", "kenward_roger"}
        How degrees of freedom are found.

    Returns
    -------
    DataFrame
        One row per coefficient: term, estimate, std_error, df, ci_low, ci_high,
        statistic, p_value.

    Raises
    ------
    OutOfRangeError
        If Kenward and Roger's way is asked of a fit by plain likelihood.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> mixed_coefficients(fit)["df"].round(6).tolist()
    [2.0]
    """
    cov, degrees = fit.cov, fit.df
    if df == "kenward_roger":
        adjusted = fit.adjusted
        rows = np.eye(len(fit.names))
        cov = adjusted.cov
        degrees = np.array([adjusted.scaled_f(row[np.newaxis])[0] for row in rows])
    figures = zip(fit.names, fit.params, np.sqrt(np.diag(cov)), degrees, strict=True)
    estimates = [
        _estimated(name, float(value), float(error), float(freedom), level)
        for name, value, error, freedom in figures
    ]
    return estimate_table(estimates).drop(columns="p_holm")


def mixed_test(
    fit: MixedFit,
    weights: Sequence[Weights] | Array,
    *,
    term: str = "contrasts",
    df: Approximation = "satterthwaite",
) -> MixedTest:
    """Return the F test that several weighted sums of coefficients are all zero.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed`.
    weights : sequence of mapping or of sequence of float
        Weights of each contrast, by name of coefficient or one for each.
    term : str
        What to call it.
    df : {"satterthwaite", "kenward_roger"}
        How degrees of freedom are found.

    Returns
    -------
    MixedTest

    Raises
    ------
    AliasedColumnsError
        If a contrast follows from the others.
    OutOfRangeError
        If there is no contrast, or Kenward and Roger's way is asked of a fit by plain
        likelihood.
    UnknownNameError, MisalignedError
        As in `mixed_contrast`.

    Notes
    -----
    Satterthwaite's way splits F into independent squared t, each with degrees of freedom
    of its own, and matches the mean of their sum [1]_. Its denominator depends a little
    on how the contrasts are written; F does not.

    References
    ----------
    .. [1] Fai and Cornelius (1996), J. Stat. Comput. Simul. 54, 363; as used by
       Kuznetsova, Brockhoff and Christensen (2017), J. Stat. Softw. 82(13).

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> test = mixed_test(fit, [[1.0]])
    >>> round(test.statistic, 3), test.df_term, round(test.df_error, 6)
    (5.682, 1, 2.0)
    """
    rows = np.array([weights_in_order(fit.names, each) for each in weights])
    if not rows.size:
        raise OutOfRangeError("a test needs at least one contrast; none was given")
    values = np.linalg.eigvalsh(_correlations(rows @ fit.cov @ rows.T))
    if not values[0] > INDEPENDENT:
        raise AliasedColumnsError(
            f"the {len(rows)} contrasts tested at once follow from one another; leave one out"
        )
    statistic, error = _tested(fit, rows, df)
    p_value = float(special.fdtrc(len(rows), error, statistic))
    return MixedTest(term, statistic, p_value, len(rows), error)


def satterthwaite_df(fit: MixedFit, weights: Weights) -> float:
    """Return Satterthwaite's degrees of freedom of a weighted sum of coefficients.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed`.
    weights : mapping of str to float, or sequence of float
        Weights by name of coefficient, or one for each.

    Returns
    -------
    float
        Not a number where all weights are 0.

    Raises
    ------
    UnknownNameError, MisalignedError
        As in `mixed_contrast`.

    Notes
    -----
    2 v² / g'Ag, with v the variance of the sum, g its derivatives in the parameters of
    the variances and A the covariance of those, twice the inverse Hessian of the
    deviance. Parameters estimated at the edge are held there.

    References
    ----------
    .. [1] Satterthwaite (1946), Biometrics Bulletin 2, 110.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> round(satterthwaite_df(fit, [1.0]), 6)
    2.0
    """
    row = weights_in_order(fit.names, weights)
    if not row.any():
        return np.nan
    slope = np.einsum("c,jcd,d->j", row, fit.cov_slopes, row)
    return float(2 * (row @ fit.cov @ row) ** 2 / (slope @ fit.parameter_cov @ slope))


def _estimated(term: str, estimate: float, error: float, df: float, level: float) -> Estimate:
    known = error > 0
    low, high = t_interval(estimate, error, df, level=level) if known else (estimate, estimate)
    return Estimate(
        term=term,
        estimate=estimate,
        std_error=error,
        df=df,
        ci_low=low,
        ci_high=high,
        statistic=estimate / error if known else np.nan,
        p_value=two_sided_p(estimate, error, df),
        hc3_std_error=np.nan,
        hc3_ci_low=np.nan,
        hc3_ci_high=np.nan,
        hc3_p_value=np.nan,
    )


def _correlations(cov: Array) -> Array:
    sizes = np.sqrt(np.diag(cov))
    return cov / np.outer(sizes, sizes) if sizes.all() else np.zeros_like(cov)


def _tested(fit: MixedFit, rows: Array, df: Approximation) -> tuple[float, float]:
    """Return F and the degrees of freedom of its denominator."""
    estimates = rows @ fit.params
    if df == "kenward_roger":
        adjusted = fit.adjusted
        error, scale = adjusted.scaled_f(rows)
        middle = np.linalg.solve(rows @ adjusted.cov @ rows.T, estimates)
        return scale * float(estimates @ middle) / len(rows), error
    variances, axes = np.linalg.eigh(rows @ fit.cov @ rows.T)
    apart = axes.T @ rows
    statistic = float(np.sum((apart @ fit.params) ** 2 / variances)) / len(rows)
    return statistic, _matched_df([satterthwaite_df(fit, row) for row in apart])


def _matched_df(degrees: list[float]) -> float:
    """Return the denominator whose F has the mean of the sum of squared t."""
    if max(degrees) - min(degrees) < SAME * max(degrees):
        return float(np.mean(degrees))
    if min(degrees) <= 2:
        return 2.0
    mean = sum(df / (df - 2) for df in degrees)
    return 2 * mean / (mean - len(degrees))
