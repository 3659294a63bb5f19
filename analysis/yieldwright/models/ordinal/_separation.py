"""Whether a likelihood of ordered levels rises for ever, and along which combinations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import optimize, sparse

from yieldwright.errors import YieldwrightError
from yieldwright.models.ordinal._likelihood import Likelihood, Peak, climbed

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

#: Singular values below this share of the largest count as 0.
RANK = 1e-9

#: Steps in which a peak that is there is usually found.
PROOF_STEPS = 25

#: Share of all pulls below which one is rounding and proves nothing.
PROOF_DIGITS = 1e-13


@dataclass(frozen=True, slots=True, eq=False)
class Cone:
    """Directions along which no row's share ever falls.

    Attributes
    ----------
    margins : ndarray
        A direction is in the cone where `margins` @ direction is at least 0 throughout.
    low, high : ndarray of bool
        Rows whose lower or upper limit some direction carries away without end.
    """

    margins: Array
    low: Flags
    high: Flags

    @property
    def is_empty(self) -> bool:
        """Whether the likelihood has its peak at a finite place."""
        return not (self.low.any() or self.high.any())

    def reaches(self, weights: Array) -> tuple[bool, bool]:
        """Return whether a combination of parameters can fall, and rise, without end.

        Parameters
        ----------
        weights : ndarray
            One per parameter.

        Returns
        -------
        falls, rises : bool
        """
        if self.is_empty:
            return False, False
        return self._grows(-weights), self._grows(weights)

    def _grows(self, weights: Array) -> bool:
        size = float(np.abs(weights).max())
        unit = weights / size if size > 0 else weights
        ahead = np.vstack([-self.margins, unit])
        room = np.append(np.zeros(len(self.margins)), 1.0)
        found: Any = optimize.linprog(-unit, A_ub=ahead, b_ub=room, bounds=(None, None))
        return bool(found.status == 0 and -found.fun > 0.5)


@dataclass(frozen=True, slots=True, eq=False)
class Highest:
    """Where a likelihood is highest, or what it tends to.

    Attributes
    ----------
    cone : Cone
        Directions along which it rises for ever.
    params : ndarray
        One place of the peak that is left once those limits are carried away.
    value : float
        Log-likelihood, or the bound it tends to.
    cov : ndarray
        Covariance of the combinations that stay finite.
    """

    cone: Cone
    params: Array
    value: float
    cov: Array

    def combination(self, weights: Array) -> float:
        """Return a combination of parameters; not a number where nothing determines it.

        Parameters
        ----------
        weights : ndarray
            One per parameter.

        Returns
        -------
        float
            Perhaps infinite.
        """
        falls, rises = self.cone.reaches(weights)
        if falls and rises:
            return np.nan
        if falls or rises:
            return np.inf if rises else -np.inf
        return float(weights @ self.params)


def cone_of(likelihood: Likelihood) -> Cone:
    """Return the directions along which a likelihood rises for ever.

    Parameters
    ----------
    likelihood : Likelihood
        Of ordered levels, without parameters it does not depend on.

    Returns
    -------
    Cone

    Notes
    -----
    A row never falls where its upper limit does not fall and its lower does not rise.
    One linear program finds all limits that such directions can carry away: directions
    add up, so each limit gains at least 1 if any direction carries it.
    """
    has_low, has_high = np.isfinite(likelihood.below), np.isfinite(likelihood.above)
    stacked = np.vstack([-likelihood.lower[has_low], likelihood.upper[has_high]])
    margins, place = np.unique(stacked, axis=0, return_inverse=True)
    carried = _carried(margins)[place.ravel()]
    low, high = np.zeros_like(has_low), np.zeros_like(has_high)
    low[has_low] = carried[: has_low.sum()]
    high[has_high] = carried[has_low.sum() :]
    return Cone(margins, low, high)


def highest(likelihood: Likelihood, start: Array, *, cone: Cone | None = None) -> Highest:
    """Return where a likelihood is highest, at a finite place or in the limit.

    Parameters
    ----------
    likelihood : Likelihood
        Of ordered levels.
    start : ndarray
        Parameters at which every row's limits stand in order.
    cone : Cone, optional
        Where it is known already.

    Returns
    -------
    Highest
    """
    if cone is None:
        peak = _certain_peak(likelihood, start)
        if peak is not None:
            cov = np.asarray(np.linalg.inv(peak.information), dtype=float)
            return Highest(empty_cone(likelihood), peak.params, peak.value, cov)
        cone = cone_of(likelihood)
    left, basis = left_over(likelihood, cone)
    peak = climbed(left, basis.T @ start)
    inverse = np.linalg.inv(peak.information)
    return Highest(cone, basis @ peak.params, peak.value, basis @ inverse @ basis.T)


def empty_cone(likelihood: Likelihood) -> Cone:
    """Return the cone of a likelihood that has a peak."""
    none = np.zeros(len(likelihood.weights), dtype=bool)
    return Cone(np.zeros((0, likelihood.n_parameters)), none, none)


def left_over(likelihood: Likelihood, cone: Cone) -> tuple[Likelihood, Array]:
    """Return what is left once a cone's limits are carried away, and the basis it stands in.

    Parameters
    ----------
    likelihood : Likelihood
        Of ordered levels.
    cone : Cone
        Directions along which it rises for ever.

    Returns
    -------
    left : Likelihood
        With a peak, in coordinates of which `basis` @ coordinates = parameters.
    basis : ndarray
    """
    if cone.is_empty:
        return likelihood, np.eye(likelihood.n_parameters)
    left = likelihood.released(cone.low, cone.high)
    basis = row_space(left)
    return left.turned(basis), basis


def row_space(likelihood: Likelihood) -> Array:
    """Return an orthonormal basis of the combinations a likelihood depends on.

    Parameters
    ----------
    likelihood : Likelihood
        With limits taken away.

    Returns
    -------
    ndarray
        Parameters × combinations.
    """
    stacked = np.vstack([likelihood.lower, likelihood.upper])
    _, sizes, directions = np.linalg.svd(stacked, full_matrices=False)
    basis: Array = directions[sizes > RANK * max(float(sizes.max(initial=0.0)), 1.0)].T
    return basis


def _certain_peak(likelihood: Likelihood, start: Array) -> Peak | None:
    """Return the peak where the slopes there prove that there is one, without a program.

    No direction has only margins of at least 0, some above, where positive multiples of all
    margins sum to nothing. At a peak the pulls of the rows are such multiples, but for
    rounding; they prove it where putting that right leaves them positive.
    """
    try:
        peak = climbed(likelihood, start, most_steps=PROOF_STEPS)
    except (YieldwrightError, np.linalg.LinAlgError):
        return None
    margins = np.vstack([-likelihood.lower, likelihood.upper])
    pulls = np.concatenate(likelihood.pulls(peak.params))
    held = np.isfinite(np.concatenate([likelihood.below, likelihood.above]))
    margins, pulls = margins[held], pulls[held]
    right = margins @ np.linalg.solve(margins.T @ margins, margins.T @ pulls)
    least = pulls.min(initial=np.inf)
    proven = 2 * np.abs(right).max() < least and least > PROOF_DIGITS * pulls.sum()
    return peak if proven else None


def _carried(margins: Array) -> Flags:
    """Return which margins some direction of the cone makes positive."""
    count, n_parameters = margins.shape
    cost = np.append(np.zeros(n_parameters), -np.ones(count))
    ahead = sparse.hstack([sparse.csr_array(-margins), sparse.eye_array(count)])
    bounds = [(None, None)] * n_parameters + [(0.0, 1.0)] * count
    # scipy-stubs knows no sparse arrays here.
    linprog: Any = optimize.linprog
    found = linprog(cost, A_ub=ahead, b_ub=np.zeros(count), bounds=bounds)
    return np.asarray(found.x[n_parameters:] > 0.5, dtype=bool)
