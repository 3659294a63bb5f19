"""What an ordinal fit says about one number, with limits that may be one-sided."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.errors import MisalignedError, OutOfRangeError, RoleError, UnknownNameError
from yieldwright.models.intervals.intervals import LEVEL, t_interval, t_quantile
from yieldwright.models.terms.terms import Numeric
from yieldwright.models.wording import nearest, quoted
from yieldwright.results import ESTIMATE_COLUMNS

if TYPE_CHECKING:
    from yieldwright.models.ordinal._profile import Profile
    from yieldwright.models.ordinal.mixed import OrdinalMixedFit
    from yieldwright.models.ordinal.model import OrdinalFit

__all__ = [
    "OrdinalEstimate",
    "ordinal_contrast",
    "ordinal_estimates",
    "ordinal_steps",
    "ordinal_table",
]

Array = npt.NDArray[np.float64]
Limits = Literal["profile", "wald"]


@dataclass(frozen=True, slots=True)
class OrdinalEstimate:
    """One estimated combination of thresholds and slopes.

    Attributes
    ----------
    term : str
        What is estimated.
    estimate, std_error : float
        Value and standard error, on the line behind the levels. The value is infinite
        where the rows separate completely, not a number where nothing determines it.
    df : float
        Degrees of freedom of the quantiles; infinite for normal ones.
    ci_low, ci_high : float
        Limits of the interval; infinite where the rows rule nothing out on that side.
    statistic, p_value : float
        Test against zero, two-sided: signed root of the likelihood ratio, or the
        estimate over its standard error.
    """

    term: str
    estimate: float
    std_error: float
    df: float
    ci_low: float
    ci_high: float
    statistic: float
    p_value: float


def ordinal_contrast(
    fit: OrdinalFit | OrdinalMixedFit,
    weights: Mapping[str, float] | Sequence[float] | Array,
    *,
    term: str = "contrast",
    limits: Limits = "profile",
    level: float = LEVEL,
    df: float = np.inf,
) -> OrdinalEstimate:
    """Return a weighted sum of slopes, or one threshold, with its interval.

    Parameters
    ----------
    fit : OrdinalFit or OrdinalMixedFit
        From `fit_ordinal` or `fit_ordinal_mixed`.
    weights : mapping of str to float, or sequence of float
        Weights by name of parameter, or one for each, thresholds first.
    term : str
        What to call it.
    limits : {"profile", "wald"}
        From the profile likelihood, which stays true where rows separate; or estimate
        and standard error, which then have nothing to say.
    level : float
        Confidence level of the interval. [1]
    df : float
        Degrees of freedom of the quantiles. [1]

    Returns
    -------
    OrdinalEstimate

    Raises
    ------
    UnknownNameError
        If a name is none of the fit's, or stands for several parameters.
    MisalignedError
        If there is not one weight for each parameter.
    OutOfRangeError
        If all weights are 0, or those of thresholds sum to 0 and are not all 0.

    References
    ----------
    .. [1] Venzon and Moolgavkar (1988), Applied Statistics 37, 87.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.model import fit_ordinal
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 2, 2, 3, 3, 3, 3]})
    >>> fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["score"])
    >>> found = ordinal_contrast(fit, {"band = b": 1.0})
    >>> found.estimate, round(found.ci_low, 2), found.ci_high
    (inf, 2.61, inf)
    """
    combined = _in_order(fit, weights)
    _require_combination(combined, fit.posing.n_cuts)
    if limits == "wald":
        return _wald(fit, combined, term, level, df)
    scaled = fit.posing.back.T @ combined
    along = fit.along(scaled)
    std_error = _std_error(fit, combined) if np.isfinite(along.estimate) else np.nan
    reach = t_quantile(df, level=level)
    step = reach * std_error if np.isfinite(std_error) else fit.posing.link.spread
    low, high = along.limits(reach, step)
    statistic = _signed_root(along)
    return OrdinalEstimate(
        term, along.estimate, std_error, df, low, high, statistic, _p_value(statistic, df)
    )


def ordinal_estimates(
    fit: OrdinalFit | OrdinalMixedFit,
    *,
    limits: Limits = "profile",
    level: float = LEVEL,
    df: float = np.inf,
) -> tuple[OrdinalEstimate, ...]:
    """Return every slope of a fit as it stands in the design.

    Parameters
    ----------
    fit : OrdinalFit or OrdinalMixedFit
        From `fit_ordinal` or `fit_ordinal_mixed`.
    limits : {"profile", "wald"}
        As in `ordinal_contrast`.
    level : float
        Confidence level of the intervals. [1]
    df : float
        Degrees of freedom of the quantiles. [1]

    Returns
    -------
    tuple of OrdinalEstimate
        One per slope, in the order of the design.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.model import fit_ordinal
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 1, 2, 1, 2, 2, 2]})
    >>> fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["score"])
    >>> [(each.term, round(each.p_value, 3)) for each in ordinal_estimates(fit)]
    [('band = b', 0.148)]
    """
    units = np.eye(fit.n_parameters)[fit.posing.n_cuts :]
    return tuple(
        ordinal_contrast(fit, unit, term=name, limits=limits, level=level, df=df)
        for name, unit in zip(fit.names[fit.posing.n_cuts :], units, strict=True)
    )


def ordinal_steps(
    fit: OrdinalFit | OrdinalMixedFit,
    column: str,
    *,
    limits: Limits = "profile",
    level: float = LEVEL,
    df: float = np.inf,
) -> tuple[OrdinalEstimate, ...]:
    """Return the effect of one step of a number: one for a line, three for a curve.

    Parameters
    ----------
    fit : OrdinalFit or OrdinalMixedFit
        From `fit_ordinal` or `fit_ordinal_mixed`.
    column : str
        Header of a numeric column.
    limits : {"profile", "wald"}
        As in `ordinal_contrast`.
    level : float
        Confidence level of the intervals. [1]
    df : float
        Degrees of freedom of the quantiles. [1]

    Returns
    -------
    tuple of OrdinalEstimate
        For a curve the slope per step at the low end, the middle and the high end of the
        values tried.

    Raises
    ------
    RoleError
        If the column does not enter as a number.
    UnknownNameError
        If no term of the fit was made from the column.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.model import fit_ordinal
    >>> frame = pd.DataFrame({"grind": [8, 8, 9, 9, 10, 10], "score": [1, 2, 1, 2, 2, 2]})
    >>> fit = fit_ordinal(build_design(frame, [Numeric("grind")]), frame["score"])
    >>> [(each.term, round(each.estimate, 2)) for each in ordinal_steps(fit, "grind")]
    [('grind', 1.29)]
    """
    term = fit.design.term(column)
    if not isinstance(term, Numeric):
        raise RoleError(f"{quoted(column)} enters as levels, which have no slope; compare levels")
    first = fit.posing.n_cuts + fit.design.place(column).start - 1
    places = {column: 0.0}
    if term.power == 2:
        ends = ((-1.0, term.low), (0.0, term.middle), (1.0, term.high))
        places = {f"{column} at {value:g}": unit for unit, value in ends}
    estimates = []
    for name, unit in places.items():
        weights = np.zeros(fit.n_parameters)
        slope = np.array([1.0, 2 * unit])[: term.power]
        weights[first : first + term.power] = slope * term.step / term.reach
        estimates.append(
            ordinal_contrast(fit, weights, term=name, limits=limits, level=level, df=df)
        )
    return tuple(estimates)


def ordinal_table(estimates: Iterable[OrdinalEstimate]) -> pd.DataFrame:
    """Return estimates as a table.

    Parameters
    ----------
    estimates : iterable of OrdinalEstimate
        All effects looked at together.

    Returns
    -------
    DataFrame
        One row per estimate: term, estimate, std_error, df, ci_low, ci_high, statistic,
        p_value.

    Examples
    --------
    >>> ordinal_table([]).columns.tolist() == list(ESTIMATE_COLUMNS[:-1])
    True
    """
    return pd.DataFrame(map(astuple, estimates), columns=list(ESTIMATE_COLUMNS[:-1]))


def _in_order(
    fit: OrdinalFit | OrdinalMixedFit, weights: Mapping[str, float] | Sequence[float] | Array
) -> Array:
    if isinstance(weights, Mapping):
        ordered = np.zeros(fit.n_parameters)
        for name, weight in weights.items():
            ordered[_position(fit, name)] = weight
        return ordered
    given = np.asarray(weights, dtype=float)
    if given.shape != fit.params.shape:
        raise MisalignedError(
            f"{given.size} weights for {fit.n_parameters} thresholds and slopes; give one for each"
        )
    return given


def _position(fit: OrdinalFit | OrdinalMixedFit, name: str) -> int:
    count = fit.names.count(name)
    if count != 1:
        what = "no parameter is" if count == 0 else f"{count} parameters are"
        raise UnknownNameError(f"{what} called {quoted(name)}; {nearest(name, fit.names)}")
    return fit.names.index(name)


def _require_combination(weights: Array, n_cuts: int) -> None:
    cuts = weights[:n_cuts]
    if not weights.any() or (cuts.any() and cuts.sum() == 0):
        raise OutOfRangeError(
            "a contrast needs weights that are not all 0, of slopes or of one threshold; "
            f"got {np.count_nonzero(cuts)} thresholds and {np.count_nonzero(weights[n_cuts:])} "
            "slopes (differences of thresholds have no profile)"
        )


def _wald(
    fit: OrdinalFit | OrdinalMixedFit, weights: Array, term: str, level: float, df: float
) -> OrdinalEstimate:
    estimate = fit.highest.combination(fit.posing.back.T @ weights)
    std_error = _std_error(fit, weights) if np.isfinite(estimate) else np.nan
    low, high = t_interval(estimate, std_error, df, level=level)
    statistic = estimate / std_error
    return OrdinalEstimate(
        term, estimate, std_error, df, low, high, statistic, _p_value(statistic, df)
    )


def _std_error(fit: OrdinalFit | OrdinalMixedFit, weights: Array) -> float:
    scaled = fit.posing.back.T @ weights
    return float(np.sqrt(np.maximum(scaled @ fit.highest.cov @ scaled, 0.0)))


def _signed_root(along: Profile) -> float:
    """Return the signed root of the likelihood ratio against 0."""
    if along.falls and along.rises:
        return np.nan
    return along.signed_root(0.0)


def _p_value(statistic: float, df: float) -> float:
    return float(2 * special.stdtr(df, -abs(statistic)))
