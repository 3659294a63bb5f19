"""The deviance of a mixed model with its exact first and second derivatives."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.models.mixed._bend import VANISHING, Bend
from yieldwright.models.mixed._equations import Projected, Solved, projected, solved
from yieldwright.models.mixed._one_way import OneWay, one_way
from yieldwright.models.mixed._written_out import WrittenOut, written_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.mixed._crossproducts import Crossproducts

__all__ = ["Surface", "absolute", "bent", "lowest_value", "profiled"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Surface:
    """The deviance over relative covariance factors θ and the log of the row variance.

    Attributes
    ----------
    sums : Crossproducts
        Of groups, columns and response.
    basis : tuple of tuple of ndarray
        For each grouping, the matrices that its factor is a combination of.
    reml : bool
        Whether the columns of the design are averaged out (REML) or not (ML).
    """

    sums: Crossproducts
    basis: tuple[tuple[Array, ...], ...]
    reml: bool

    @cached_property
    def owners(self) -> tuple[tuple[int, Array], ...]:
        """Grouping and basis matrix of each parameter θ."""
        return tuple((term, matrix) for term, own in enumerate(self.basis) for matrix in own)

    @cached_property
    def ways(self) -> tuple[Array, ...]:
        """Matrix along which each variance or covariance moves that of a group's effects."""
        return tuple(m if np.trace(m) else m + m.T for _, m in self.owners)

    @cached_property
    def one_way(self) -> OneWay | None:
        """Sums by size of group, where a single random intercept is all there is."""
        alone = self.sums.widths == (1,)
        return one_way(self.sums) if alone else None

    @cached_property
    def written_out(self) -> WrittenOut | None:
        """All crossproducts in one matrix, where effects are few and go their own ways."""
        return written_out(self.sums, self.basis)

    @property
    def df(self) -> int:
        """Rows behind the row variance: less the columns of the design under REML."""
        return self.sums.n_rows - (self.sums.n_columns if self.reml else 0)

    def rebased(self, term: int, basis: Sequence[Array]) -> Surface:
        """Return the surface with other parameters for one grouping.

        Parameters
        ----------
        term : int
            Which grouping.
        basis : sequence of ndarray
            Matrices that its factor is now a combination of.

        Returns
        -------
        Surface
        """
        bases = (*self.basis[:term], tuple(basis), *self.basis[term + 1 :])
        return replace(self, basis=bases)

    def factors(self, theta: Array) -> list[Array]:
        """Return the relative covariance factor of each grouping.

        Parameters
        ----------
        theta : ndarray
            Parameters.

        Returns
        -------
        list of ndarray
        """
        factors = [np.zeros_like(own[0]) for own in self.basis]
        for value, (term, matrix) in zip(theta.tolist(), self.owners, strict=True):
            factors[term] = factors[term] + value * matrix
        return factors

    def solved(self, theta: Array) -> Solved:
        """Return the mixed model equations solved at θ.

        Parameters
        ----------
        theta : ndarray
            Parameters.

        Returns
        -------
        Solved
        """
        return solved(self.sums, self.factors(theta))

    def log_variance(self, at: Solved) -> float:
        """Return the log of the row variance that fits best.

        Parameters
        ----------
        at : Solved
            Mixed model equations.

        Returns
        -------
        float
        """
        return float(np.log(max(at.quadratic, VANISHING) / self.df))

    def value(self, at: Solved, log_variance: float) -> float:
        """Return the deviance.

        Parameters
        ----------
        at : Solved
            Mixed model equations.
        log_variance : float
            Log of the row variance.

        Returns
        -------
        float
        """
        spread = self.df * (log_variance + np.log(2 * np.pi)) + at.quadratic / np.exp(log_variance)
        return float(spread + at.log_det + (at.log_det_fixed if self.reml else 0.0))

    def bend(self, theta: Array, at: Solved, log_variance: float) -> Bend:
        """Return the deviance with its derivatives in θ and then the log row variance.

        Parameters
        ----------
        theta : ndarray
            Parameters.
        at : Solved
            Mixed model equations at θ.
        log_variance : float
            Log of the row variance.

        Returns
        -------
        Bend
        """
        pulled = projected(at, fixed=True)
        traced = pulled if self.reml else projected(at, fixed=False)
        scaled = [pull / np.exp(log_variance / 2) for pull in at.pulls]
        slopes, tilts = self.slopes(theta), self._tilts
        counts = [traced.groupwise(term).sum(axis=0) for term in range(len(self.basis))]
        squares = [pull.T @ pull for pull in scaled]
        size = len(theta)
        gradient, hessian = np.empty(size + 1), np.empty((size + 1, size + 1))
        share = at.quadratic / np.exp(log_variance)
        gradient[size], hessian[size, size] = self.df - share, share
        second = _Second(traced, pulled, scaled)
        for j, (term, _) in enumerate(self.owners):
            drop = np.vdot(slopes[j], squares[term])
            gradient[j] = np.vdot(slopes[j], counts[term]) - drop
            hessian[j, size] = hessian[size, j] = drop
        for j, k in combinations_with_replacement(range(size), 2):
            one, two = self.owners[j][0], self.owners[k][0]
            bent = second.along(one, two, slopes[j], slopes[k])
            if one == two:
                bent += np.vdot(tilts[j, k], counts[one] - squares[one])
            hessian[j, k] = hessian[k, j] = bent
        return Bend(self.value(at, log_variance), gradient, hessian)

    def slopes(self, theta: Array) -> list[Array]:
        """Return the derivative of the relative covariances in each parameter.

        Parameters
        ----------
        theta : ndarray
            Parameters.

        Returns
        -------
        list of ndarray
        """
        factors = self.factors(theta)
        halves = [matrix @ factors[term].T for term, matrix in self.owners]
        return [half + half.T for half in halves]

    @cached_property
    def _tilts(self) -> dict[tuple[int, int], Array]:
        """Return the second derivatives of the relative covariances, which are constant."""
        pairs = combinations_with_replacement(enumerate(self.owners), 2)
        return {
            (j, k): one @ two.T + two @ one.T for (j, (a, one)), (k, (b, two)) in pairs if a == b
        }


class _Second:
    """Second derivatives in the relative covariances, each pair of groupings once."""

    def __init__(self, traced: Projected, pulled: Projected, pulls: list[Array]) -> None:
        self._traced, self._pulled, self._pulls = traced, pulled, pulls
        self._known: dict[tuple[int, int], Array] = {}

    def along(self, one: int, two: int, first: Array, second: Array) -> float:
        if (one, two) not in self._known:
            pulls = self._pulls[one], self._pulls[two]
            sandwiched = self._pulled.sandwiched(one, two, *pulls)
            self._known[one, two] = 2 * sandwiched - self._traced.paired(one, two)
        known = self._known[one, two].reshape(first.size, second.size)
        return float(first.ravel() @ known @ second.ravel())


def bent(surface: Surface, theta: Array, at: Solved | None = None) -> Bend:
    """Return the deviance with derivatives in θ and log row variance, where that fits best.

    Parameters
    ----------
    surface : Surface
        The deviance.
    theta : ndarray
        Parameters.
    at : Solved, optional
        Mixed model equations at θ, where they are solved already.

    Returns
    -------
    Bend
    """
    if surface.one_way is not None:
        return surface.one_way.bend(float(theta[0]), surface.df, reml=surface.reml)
    if surface.written_out is not None:
        return surface.written_out.bend(theta, reml=surface.reml)
    solution = surface.solved(theta) if at is None else at
    return surface.bend(theta, solution, surface.log_variance(solution))


def profiled(surface: Surface, theta: Array) -> Bend:
    """Return the deviance at the row variance that fits best, with derivatives in θ.

    Parameters
    ----------
    surface : Surface
        The deviance.
    theta : ndarray
        Parameters.

    Returns
    -------
    Bend
    """
    full = bent(surface, theta)
    size = len(theta)
    beside = full.hessian[:size, size]
    hessian = full.hessian[:size, :size] - beside[:, np.newaxis] * (beside / full.hessian[-1, -1])
    return Bend(full.value, full.gradient[:size], hessian)


def lowest_value(surface: Surface, theta: Array) -> float:
    """Return the deviance at the row variance that fits best.

    Parameters
    ----------
    surface : Surface
        The deviance.
    theta : ndarray
        Parameters.

    Returns
    -------
    float
    """
    if surface.one_way is not None:
        return surface.one_way.bend(float(theta[0]), surface.df, reml=surface.reml).value
    if surface.written_out is not None:
        return surface.written_out.bend(theta, reml=surface.reml).value
    at = surface.solved(theta)
    return surface.value(at, surface.log_variance(at))


def absolute(surface: Surface, point: Array) -> Bend:
    """Return the deviance with derivatives in σθ and the log of the row variance.

    Parameters
    ----------
    surface : Surface
        The deviance.
    point : ndarray
        Covariance factors in the unit of the response, then the log row variance.

    Returns
    -------
    Bend
    """
    log_variance = float(point[-1])
    per_unit = np.exp(-log_variance / 2)
    theta = point[:-1] * per_unit
    if surface.written_out is None:
        full = surface.bend(theta, surface.solved(theta), log_variance)
    else:
        full = surface.written_out.bend(theta, reml=surface.reml, log_variance=log_variance)
    change = np.diag([*(per_unit for _ in theta), 1.0])
    change[:-1, -1] = -theta / 2
    hessian = change.T @ full.hessian @ change
    hessian[-1, -1] += full.gradient[:-1] @ theta / 4
    hessian[:-1, -1] -= full.gradient[:-1] * per_unit / 2
    hessian[-1, :-1] -= full.gradient[:-1] * per_unit / 2
    return Bend(full.value, change.T @ full.gradient, hessian)
