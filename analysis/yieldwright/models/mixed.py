"""Linear mixed models by REML or ML: groups that shift, and perhaps tilt, the response."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError
from yieldwright.models._mixed_posing import Posing, posed_among_groups, require_spread_within
from yieldwright.models._mixed_search import Lowest, lowest
from yieldwright.models._mixed_spreads import first_estimate
from yieldwright.models.mixed_groups import Grouping, require_groupings
from yieldwright.models.problem import Problem, posed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from yieldwright.models._mixed_deviance import Surface
    from yieldwright.models._mixed_equations import Solved
    from yieldwright.models.design import Design

__all__ = ["MixedFit", "fit_mixed"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class MixedFit:
    """A linear mixed model with what its small-sample statistics need.

    Attributes
    ----------
    names : tuple of str
        Names of the coefficients, intercept first.
    params, std_error : ndarray
        Coefficients and their standard errors, in the units of the design.
    cov : ndarray
        Covariance matrix of the coefficients.
    method : {"reml", "ml"}
        What was made largest: the restricted or the plain likelihood.
    sigma : float
        Standard deviation of a row about its groups, in the unit of the response.
    groupings : tuple of Grouping
        The groups, as given.
    covariances : mapping of str to ndarray
        Covariance matrix of the effects of one group, by name of the grouping: shift,
        then tilt if there is one, in the units of the user.
    at_edge : mapping of str to bool
        Whether that matrix is singular: a variance estimated as exactly 0, or shift and
        tilt that go together completely.
    effects : mapping of str to ndarray
        Conditional modes: groups × effects, by name of the grouping.
    deviance : float
        −2 × log-likelihood (restricted under REML), constants included.
    n_parameters : int
        Coefficients, variances and covariances.
    fitted, residuals : ndarray
        One value per row, effects of its groups included.
    condition_number : float
        Of the columns after centring and scaling.
    cov_slopes : ndarray
        Derivatives of `cov` in the free parameters of the variances, one matrix each.
    parameter_cov : ndarray
        Covariance of the estimates of those parameters.
    lowest : Lowest
        Where it is lowest.
    posing : Posing
        How its figures are carried to the units of the user.
    design : Design or None
        What was fitted, where it was made from columns.
    """

    names: tuple[str, ...]
    params: Array
    std_error: Array
    cov: Array
    method: Literal["reml", "ml"]
    sigma: float
    groupings: tuple[Grouping, ...]
    covariances: Mapping[str, Array]
    at_edge: Mapping[str, bool]
    effects: Mapping[str, Array]
    deviance: float
    n_parameters: int
    fitted: Array
    residuals: Array
    condition_number: float
    cov_slopes: Array
    parameter_cov: Array
    lowest: Lowest
    posing: Posing
    design: Design | None = None

    @property
    def n_rows(self) -> int:
        """Number of rows fitted."""
        return len(self.residuals)

    @property
    def n_groups(self) -> Mapping[str, int]:
        """Number of groups of each grouping."""
        return {each.name: len(each.levels) for each in self.groupings}

    @property
    def log_likelihood(self) -> float:
        """Log-likelihood, restricted under REML: then it depends on the units of the design."""
        return -self.deviance / 2

    @property
    def aic(self) -> float:
        """Deviance and twice the parameters; under REML, of one and the same design only."""
        return self.deviance + 2 * self.n_parameters

    @property
    def bic(self) -> float:
        """Deviance and the parameters times the log of the rows."""
        return self.deviance + float(np.log(self.n_rows)) * self.n_parameters

    @property
    def df(self) -> Array:
        """Satterthwaite's degrees of freedom of each coefficient."""
        variances = np.diag(self.cov)
        slopes = np.diagonal(self.cov_slopes, axis1=1, axis2=2)
        degrees: Array = (
            2 * variances**2 / np.einsum("jc,jk,kc->c", slopes, self.parameter_cov, slopes)
        )
        return degrees


def fit_mixed(
    design: Design | Array,
    response: pd.Series[float] | Array,
    groupings: Sequence[Grouping],
    *,
    method: Literal["reml", "ml"] = "reml",
    names: Sequence[str] = (),
) -> MixedFit:
    """Fit a response by columns and groups, or say by name what cannot be told apart.

    Parameters
    ----------
    design : Design or ndarray
        What explains; a plain matrix needs a first column of ones.
    response : Series or ndarray
        What is explained, one finite value per row of the design. [any unit]
    groupings : sequence of Grouping
        From `grouping`: nested or crossed, any number of them.
    method : {"reml", "ml"}
        Restricted likelihood, whose variances do not shrink with the coefficients; or
        plain likelihood, to compare designs.
    names : sequence of str, optional
        Names of the columns of a plain matrix, intercept first.

    Returns
    -------
    MixedFit

    Raises
    ------
    AliasedColumnsError
        If columns, or the spreads of groups, cannot be told apart. The attribute
        `columns` names them.
    TooFewShotsError
        If there are not more rows than coefficients, or no groups.
    MisalignedError
        If design, response and groups describe different rows.
    OutOfRangeError
        If the response is missing somewhere, infinite, the same in every row, or leaves
        no spread within groups; or the method is none of the two.

    Notes
    -----
    The deviance is profiled over coefficients and row variance [1]_ and made smallest by
    Newton's method with exact derivatives. A variance that is smallest at 0 is exactly 0.
    Columns and response are centred and scaled before solving. No matrix of rows × groups
    is formed: the grouping with most effects is absorbed group by group, and the rest
    costs the cube of the other groups' number.

    References
    ----------
    .. [1] Bates, Maechler, Bolker and Walker (2015), J. Stat. Softw. 67(1), section 3.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed_groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> fit.covariances["day"].round(6).tolist(), round(fit.sigma**2, 6)
    ([[12.083333]], 0.5)
    """
    if method not in ("reml", "ml"):
        raise OutOfRangeError(f"method must be 'reml' or 'ml', not {method!r:.60}")
    problem = posed(design, response, names=names)
    index = len(problem.observed) if problem.design is None else problem.design.index
    require_groupings(groupings, index)
    posing = posed_among_groups(problem, groupings, reml=method == "reml")
    found = lowest(posing.surface, first_estimate(posing))
    require_spread_within(posing, found.theta)
    return _reported(problem, posing, found)


def _reported(problem: Problem, posing: Posing, found: Lowest) -> MixedFit:
    """Return everything a fit reports, carried to the units of the user."""
    surface, groupings = posing.surface, posing.groupings
    at = surface.solved(found.theta)
    log_variance = surface.log_variance(at)
    sigma = posing.size * float(np.exp(log_variance / 2))
    half = sigma * posing.root @ at.coefficient_root.T
    params = posing.params + posing.size * posing.root @ at.coefficients
    factors = posing.as_given(surface.factors(found.theta))
    relative = [each.back @ factor for each, factor in zip(groupings, factors, strict=True)]
    pulls = posing.as_given(at.pulls)
    effects = [
        posing.size * pull @ factor @ carried.T
        for pull, factor, carried in zip(pulls, factors, relative, strict=True)
    ]
    fitted = problem.matrix @ params + sum(map(_shifts, groupings, effects))
    slopes, parameter_cov = _uncertainty(posing, found, at, half @ half.T)
    keys = [each.name for each in groupings]
    return MixedFit(
        names=problem.names,
        params=params,
        std_error=np.sqrt(np.diag(half @ half.T)),
        cov=half @ half.T,
        method="reml" if surface.reml else "ml",
        sigma=sigma,
        groupings=groupings,
        covariances=dict(zip(keys, (sigma**2 * r @ r.T for r in relative), strict=True)),
        at_edge=dict(zip(keys, posing.as_given(_edges(surface, found)), strict=True)),
        effects=dict(zip(keys, effects, strict=True)),
        deviance=surface.value(at, log_variance) + posing.shift,
        n_parameters=len(params) + len(found.theta) + 1,
        fitted=fitted,
        residuals=problem.observed - fitted,
        condition_number=posing.condition_number,
        cov_slopes=slopes,
        parameter_cov=parameter_cov,
        lowest=found,
        posing=posing,
        design=problem.design,
    )


def _shifts(groups: Grouping, effects: Array) -> Array:
    """Return what the effects of its group add to each row."""
    shift: Array = effects[groups.codes, 0]
    return shift if groups.slope is None else shift + effects[groups.codes, 1] * groups.slope


def _edges(surface: Surface, found: Lowest) -> list[bool]:
    """Return for each grouping whether some parameter of it stands at 0."""
    owners = [term for term, _ in surface.owners]
    held = {term for term, zero in zip(owners, found.at_zero, strict=True) if zero}
    return [term in held for term in range(len(surface.basis))]


def _uncertainty(posing: Posing, found: Lowest, at: Solved, cov: Array) -> tuple[Array, Array]:
    """Return how `cov` moves with each free parameter, and the covariance of those.

    The parameters are the factors not at 0 and the log of the row variance.
    """
    surface = posing.surface
    log_variance = surface.log_variance(at)
    hessian = surface.bend(found.theta, at, log_variance).hessian
    free = np.append(~found.at_zero, True)
    loadings = at.loadings()
    scale = posing.size * np.exp(log_variance / 2) * posing.root
    slopes = [
        scale @ np.einsum("ab,gac,gbd->cd", slope, loadings[term], loadings[term]) @ scale.T
        for (term, _), slope in zip(surface.owners, surface.slopes(found.theta), strict=True)
    ]
    kept = [slope for slope, zero in zip(slopes, found.at_zero, strict=True) if not zero]
    return np.array([*kept, cov]), 2 * np.linalg.inv(hessian[np.ix_(free, free)])
