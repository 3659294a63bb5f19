"""Linear mixed models by REML or ML: groups that shift, and perhaps tilt, the response."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError
from yieldwright.models.linear.problem import Problem, posed
from yieldwright.models.mixed._deviance import bent
from yieldwright.models.mixed._kenward_roger import KenwardRoger, kenward_roger
from yieldwright.models.mixed._posing import Posing, posed_among_groups, require_spread_within
from yieldwright.models.mixed._search import Lowest, lowest
from yieldwright.models.mixed._spreads import first_estimate
from yieldwright.models.mixed.groups import Grouping, require_groupings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from yieldwright.models.mixed._equations import Solved
    from yieldwright.models.terms.design import Design

__all__ = ["MixedFit", "fit_mixed"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class MixedFit:
    """A linear mixed model; what not every reader asks for is computed when asked.

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
    deviance : float
        −2 × log-likelihood (restricted under REML), constants included.
    lowest : Lowest
        Parameters of the variances at which the deviance is lowest.
    solution : Solved
        Mixed model equations there.
    posing : Posing
        The deviance, and how its figures are carried to the units of the user.
    problem : Problem
        Columns and response.
    """

    names: tuple[str, ...]
    params: Array
    std_error: Array
    cov: Array
    method: Literal["reml", "ml"]
    sigma: float
    deviance: float
    lowest: Lowest
    solution: Solved
    posing: Posing
    problem: Problem

    @property
    def design(self) -> Design | None:
        """What was fitted, where it was made from columns."""
        return self.problem.design

    @property
    def groupings(self) -> tuple[Grouping, ...]:
        """The groups, as given."""
        return self.posing.groupings

    @property
    def n_rows(self) -> int:
        """Number of rows fitted."""
        return len(self.problem.observed)

    @property
    def n_groups(self) -> Mapping[str, int]:
        """Number of groups of each grouping."""
        return {each.name: len(each.levels) for each in self.groupings}

    @property
    def n_parameters(self) -> int:
        """Coefficients, variances and covariances."""
        return len(self.params) + len(self.lowest.theta) + 1

    @property
    def condition_number(self) -> float:
        """Largest over smallest singular value of the columns, centred and scaled."""
        return self.posing.condition_number

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

    @cached_property
    def covariances(self) -> Mapping[str, Array]:
        """Covariance matrix of the effects of one group, by name of the grouping.

        Shift first, then tilt if there is one, in the units of the user.
        """
        carried = zip(self.groupings, self._factors, strict=True)
        halves = {each.name: self.sigma * each.back @ factor for each, factor in carried}
        return {name: half @ half.T for name, half in halves.items()}

    @cached_property
    def at_edge(self) -> Mapping[str, bool]:
        """Whether a covariance matrix is singular, by name of the grouping.

        That is a variance of exactly 0, or shift and tilt that go together completely.
        """
        owners = [term for term, _ in self.posing.surface.owners]
        held = {term for term, zero in zip(owners, self.lowest.at_zero, strict=True) if zero}
        edges = self.posing.as_given([term in held for term in range(len(self.groupings))])
        return {each.name: edge for each, edge in zip(self.groupings, edges, strict=True)}

    @cached_property
    def effects(self) -> Mapping[str, Array]:
        """Conditional modes, by name of the grouping: groups × effects."""
        pulls = self.posing.as_given(self.solution.pulls)
        parts = zip(self.groupings, self._factors, pulls, strict=True)
        return {
            each.name: self.posing.size * pull @ factor @ (each.back @ factor).T
            for each, factor, pull in parts
        }

    @cached_property
    def fitted(self) -> Array:
        """One value per row, effects of its groups included."""
        shifts = (_shift(each, self.effects[each.name]) for each in self.groupings)
        return self.problem.matrix @ self.params + sum(shifts)

    @property
    def residuals(self) -> Array:
        """One value per row: the response less what is fitted."""
        return self.problem.observed - self.fitted

    @cached_property
    def parameter_cov(self) -> Array:
        """Covariance of the estimates of factors not at 0 and of the log row variance."""
        hessian = bent(self.posing.surface, self.lowest.theta, self.solution).hessian
        free = np.append(~self.lowest.at_zero, True)
        return np.asarray(2 * np.linalg.inv(hessian[np.ix_(free, free)]), dtype=np.float64)

    @cached_property
    def adjusted(self) -> KenwardRoger:
        """Covariance of the coefficients as Kenward and Roger adjust it; of a REML fit only."""
        return kenward_roger(self)

    @cached_property
    def cov_slopes(self) -> Array:
        """Derivatives of `cov` in those parameters, one matrix each."""
        surface, loadings = self.posing.surface, self.solution.loadings()
        scale = self.sigma * self.posing.root
        ways = zip(surface.owners, surface.slopes(self.lowest.theta), strict=True)
        inner = [
            np.einsum("ab,gac,gbd->cd", slope, loadings[term], loadings[term])
            for (term, _), slope in ways
        ]
        free = [each for each, zero in zip(inner, self.lowest.at_zero, strict=True) if not zero]
        return np.array([*(scale @ each @ scale.T for each in free), self.cov])

    @property
    def df(self) -> Array:
        """Satterthwaite's degrees of freedom of each coefficient."""
        slopes = np.diagonal(self.cov_slopes, axis1=1, axis2=2)
        spread = np.einsum("jc,jk,kc->c", slopes, self.parameter_cov, slopes)
        degrees: Array = 2 * np.diag(self.cov) ** 2 / spread
        return degrees

    @property
    def _factors(self) -> list[Array]:
        """Relative covariance factor of each grouping as given."""
        return self.posing.as_given(self.posing.surface.factors(self.lowest.theta))


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
    >>> from yieldwright.models.mixed.groups import grouping
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
    """Return coefficients and variance, carried to the units of the user."""
    surface = posing.surface
    at = surface.solved(found.theta)
    log_variance = surface.log_variance(at)
    sigma = posing.size * float(np.exp(log_variance / 2))
    half = sigma * posing.root @ at.coefficient_root.T
    cov = half @ half.T
    return MixedFit(
        names=problem.names,
        params=posing.params + posing.size * posing.root @ at.coefficients,
        std_error=np.sqrt(cov.diagonal()),
        cov=cov,
        method="reml" if surface.reml else "ml",
        sigma=sigma,
        deviance=surface.value(at, log_variance) + posing.shift,
        lowest=found,
        solution=at,
        posing=posing,
        problem=problem,
    )


def _shift(groups: Grouping, effects: Array) -> Array:
    """Return what the effects of its group add to each row."""
    shift: Array = effects[groups.codes, 0]
    return shift if groups.slope is None else shift + effects[groups.codes, 1] * groups.slope
