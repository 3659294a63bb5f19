"""What the next row will be at stated settings: its mean, and how far it may fall from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import RoleError
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.intervals.intervals import LEVEL, t_interval
from yieldwright.models.mixed.model import MixedFit
from yieldwright.models.terms.design import design_of
from yieldwright.models.terms.terms import Factor
from yieldwright.models.terms.tried_combinations import require_combined
from yieldwright.models.wording import quoted_list

if TYPE_CHECKING:
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.contrasts.estimating import LineFit
    from yieldwright.models.mixed.contrasts import Approximation
    from yieldwright.models.mixed.groups import Grouping
    from yieldwright.models.terms.design import Design

__all__ = ["Prediction", "predicted", "row_spread", "spread_about_mean"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Prediction:
    """What is expected at stated settings.

    Attributes
    ----------
    at : mapping of str to object
        The settings.
    mean : Estimate
        Mean of all rows that could be met there, with its interval.
    row_sd : float
        Standard deviation of what a new row may differ from the mean estimated, in the
        unit of the response.
    row_df : float
        Degrees of freedom behind it.
    row_low, row_high : float
        Limits between which a new row falls as often as the level says.
    new_groups : tuple of str
        Groupings of which the new row belongs to a group not seen yet.
    """

    at: Mapping[str, object]
    mean: Estimate
    row_sd: float
    row_df: float
    row_low: float
    row_high: float
    new_groups: tuple[str, ...] = ()


def predicted(
    fit: LineFit,
    at: Mapping[str, object],
    *,
    term: str = "prediction",
    level: float = LEVEL,
    df: Approximation = "satterthwaite",
) -> Prediction:
    """Return the mean response at stated settings, and where a new row will fall.

    Parameters
    ----------
    fit : LinearFit or MixedFit
        Fit of a design made from columns.
    at : mapping of str to object
        Values by column header. A level has to be stated for each factor; numbers not
        stated stand at their mean, and blocks weigh all alike.
    term : str
        What to call the mean.
    level : float
        Confidence level of both intervals. [1]
    df : {"satterthwaite", "kenward_roger"}
        How a mixed model finds degrees of freedom of the mean.

    Returns
    -------
    Prediction
        Of a mixed model, for a row of groups not seen yet.

    Raises
    ------
    OutOfRangeError
        If a number lies outside the values tried, several outside what was tried
        together, or the combination farther out than any row fitted. The text names it,
        and what lies nearest.
    RoleError
        If a factor is not stated, or the fit has no columns.
    UnknownNameError
        If a column or level is not in the fit.

    Notes
    -----
    Least squares: the variance of a row is added to that of the mean, and both are known
    to the same degrees of freedom, so that the t interval is exact. In blocks, the row is
    one of the blocks fitted.

    Mixed model: so are the variances of all groups, and of their tilt. Degrees of freedom
    are Satterthwaite's for the whole sum, V = x'Cx + Σ z'Gz + σ²: 2 V² / g'Ag with g the
    derivatives of V in the parameters of the variances and A their covariance. That is
    exact to second moments where mean squares are balanced; a variance estimated at 0 is
    held there, and then the interval is somewhat too narrow.

    References
    ----------
    .. [1] Weisberg (2014), Applied Linear Regression, 4th ed., section 2.6.3.
    .. [2] Satterthwaite (1946), Biometrics Bulletin 2, 110.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11], "y": [1.0, 3.0, 5.0, 7.5]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind")]), frame["y"])
    >>> found = predicted(fit, {"grind": 10})
    >>> round(found.mean.estimate, 2), round(found.row_low, 2), round(found.row_high, 2)
    (5.2, 4.25, 6.15)
    """
    design = design_of(fit)
    _require_levels(design, at)
    row = design.row(at)
    require_combined(design, row, at)
    mean = estimated(fit, row, term=term, level=level, df=df)
    if isinstance(fit, MixedFit):
        sd, row_df = row_spread(fit, row, mean, at=at)
        groups = tuple(each.name for each in fit.groupings)
    else:
        sd, row_df, groups = float(np.hypot(mean.std_error, fit.sigma)), float(fit.df_resid), ()
    low, high = t_interval(mean.estimate, sd, row_df, level=level)
    return Prediction(dict(at), mean, sd, row_df, low, high, groups)


def row_spread(
    fit: MixedFit,
    row: Array,
    mean: Estimate,
    *,
    at: Mapping[str, object] | None = None,
    shares: Mapping[str, float] | None = None,
    rows: float = 1.0,
) -> tuple[float, float]:
    """Return how far a row of new groups may fall from the mean estimated for it.

    Parameters
    ----------
    fit : MixedFit
        The model.
    row : ndarray
        One value per column of its design.
    mean : Estimate
        The mean response there.
    at : mapping of str to object, optional
        Values along which groups tilt; those not stated stand at their mean.
    shares : mapping of str to float, optional
        By name of a grouping, which share of its variance the row meets: 0 for a group
        whose shift is of no interest, a half for the mean of two of its groups. Else 1.
    rows : float
        Of how many rows the mean is meant. [count]

    Returns
    -------
    sd : float
        Standard deviation, in the unit of the response.
    df : float
        Satterthwaite's degrees of freedom behind it, see `predicted`.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> sd, df = row_spread(fit, np.ones(1), estimated(fit, [1.0]))
    >>> round(sd**2, 3), round(df, 2)
    (16.694, 2.06)
    """
    every = {each.name: np.sqrt((shares or {}).get(each.name, 1.0)) for each in fit.groupings}
    tilts = {each.name: every[each.name] * _tilted(each, at or {}) for each in fit.groupings}
    return _spread(fit, row, mean.std_error, tilts, rows)


def spread_about_mean(fit: LineFit) -> tuple[float, float]:
    """Return how far a row of new groups falls from a mean that is known for sure.

    Parameters
    ----------
    fit : LinearFit or MixedFit
        The model.

    Returns
    -------
    sd : float
        Standard deviation, in the unit of the response.
    df : float
        Degrees of freedom behind it, of a mixed model Satterthwaite's, see `predicted`.

    Examples
    --------
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> sd, df = spread_about_mean(fit_least_squares(np.ones((3, 1)), [1.0, 2.0, 3.0]))
    >>> round(sd, 6), df
    (1.0, 2.0)
    """
    if not isinstance(fit, MixedFit):
        return fit.sigma, float(fit.df_resid)
    tilts = {each.name: _tilted(each, {}) for each in fit.groupings}
    return _spread(fit, np.zeros(len(fit.params)), 0.0, tilts, 1.0)


def _spread(
    fit: MixedFit, row: Array, std_error: float, tilts: Mapping[str, Array], rows: float
) -> tuple[float, float]:
    """Return the spread of a row about a mean with some error, and its freedom."""
    among = sum(float(z @ fit.covariances[name] @ z) for name, z in tilts.items())
    total = std_error**2 + among + fit.sigma**2 / rows
    slopes = np.einsum("c,jcd,d->j", row, fit.cov_slopes, row)
    slopes += np.append(_group_slopes(fit, tilts), among + fit.sigma**2 / rows)
    return float(np.sqrt(total)), float(2 * total**2 / (slopes @ fit.parameter_cov @ slopes))


def _require_levels(design: Design, at: Mapping[str, object]) -> None:
    factors = [term.column for term in design.terms if isinstance(term, Factor)]
    unstated = [column for column in factors if column not in at]
    if unstated:
        raise RoleError(
            f"a row cannot stand between the levels of {quoted_list(unstated)}; state one of "
            "them, or ask mean_at() for the mean over them"
        )


def _tilted(groups: Grouping, at: Mapping[str, object]) -> Array:
    """Return by what the effects of a group are multiplied at some settings."""
    if groups.slope is None:
        return np.ones(1)
    value = at.get(groups.slope_name, float(groups.slope.mean()))
    return np.array([1.0, float(str(value))])


def _group_slopes(fit: MixedFit, tilts: Mapping[str, Array]) -> Array:
    """Return the derivatives of what groups add to a variance, in parameters not held at 0."""
    surface, order = fit.posing.surface, fit.posing.order
    slopes = []
    for (term, _), slope in zip(surface.owners, surface.slopes(fit.lowest.theta), strict=True):
        groups = fit.groupings[order[term]]
        carried = groups.back.T @ tilts[groups.name] * fit.sigma
        slopes.append(float(carried @ slope @ carried))
    return np.array(slopes)[~fit.lowest.at_zero]
