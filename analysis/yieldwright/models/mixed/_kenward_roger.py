"""Kenward and Roger's adjustment of what a REML fit says about its coefficients."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError
from yieldwright.models.mixed._equations import Projected, projected

if TYPE_CHECKING:
    from yieldwright.models.mixed._deviance import Surface
    from yieldwright.models.mixed.model import MixedFit

__all__ = ["KenwardRoger", "kenward_roger"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class KenwardRoger:
    """An adjusted covariance of coefficients, and what degrees of freedom are made of.

    Attributes
    ----------
    cov : ndarray
        Adjusted covariance matrix of the coefficients.
    plain_cov : ndarray
        The one before.
    slopes : ndarray
        Φ Pᵢ Φ of each variance or covariance, that of the rows last.
    variance_cov : ndarray
        Covariance of the estimates of those, from the expected information.
    """

    cov: Array
    plain_cov: Array
    slopes: Array
    variance_cov: Array

    def scaled_f(self, weights: Array) -> tuple[float, float]:
        """Return degrees of freedom of the denominator and the factor that scales F.

        Parameters
        ----------
        weights : ndarray
            One row per contrast tested.

        Returns
        -------
        df, scale : float
        """
        count = len(weights)
        middle = np.linalg.inv(weights @ self.plain_cov @ weights.T)
        moved = [middle @ weights @ slope @ weights.T for slope in self.slopes]
        traces = np.array([np.trace(each) for each in moved])
        pairs = np.array([[np.sum(one * two.T) for two in moved] for one in moved])
        first = float(traces @ self.variance_cov @ traces)
        second = float(np.sum(self.variance_cov * pairs))
        return _matched(count, first, second)


def kenward_roger(fit: MixedFit) -> KenwardRoger:
    """Return the adjusted covariance of the coefficients of a REML fit.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed` with method "reml".

    Returns
    -------
    KenwardRoger

    Raises
    ------
    OutOfRangeError
        If the fit is by plain likelihood.

    References
    ----------
    .. [1] Kenward and Roger (1997), Biometrics 53, 983.
    .. [2] Halekoh and Højsgaard (2014), J. Stat. Softw. 59(9), section 3.
    """
    if fit.method != "reml":
        raise OutOfRangeError("Kenward and Roger adjust a REML fit; fit again with method='reml'")
    surface, theta = fit.posing.surface, fit.lowest.theta
    left = projected(fit.solution, fixed=True)
    root = fit.posing.root * fit.sigma
    loadings = [load @ root.T for load in fit.solution.loadings()]
    relative = _relative(surface, theta)
    moves = [
        np.einsum("ab,gac,gbd->cd", way, loadings[term], loadings[term])
        for (term, _), way in zip(surface.owners, surface.ways, strict=True)
    ]
    # In units of the row variance V is the sum of relative variances and their matrices, so
    # what holds for the rows' own matrix, the identity, follows from PVP = P and X'P = 0.
    slopes = -np.array([*moves, fit.cov - np.tensordot(relative, np.array(moves), 1)])
    information = _information(surface, left, relative)
    variance_cov = np.asarray(2 * np.linalg.inv(information), dtype=np.float64)
    inner = _extended(_inner(surface, left, loadings), relative)
    added = 2 * np.einsum("ij,ijcd->cd", variance_cov, inner)
    return KenwardRoger(fit.cov + added, fit.cov, slopes, variance_cov)


def _relative(surface: Surface, theta: Array) -> Array:
    """Return the relative variance or covariance behind each parameter."""
    factors = surface.factors(theta)
    corners = [np.argwhere(matrix)[0] for _, matrix in surface.owners]
    products = [factors[term] @ factors[term].T for term, _ in surface.owners]
    return np.array([each[tuple(at)] for each, at in zip(products, corners, strict=True)])


def _information(surface: Surface, left: Projected, relative: Array) -> Array:
    """Return twice the expected information of the relative variances, that of rows last."""
    size, ways = len(surface.owners), surface.ways
    terms = [term for term, _ in surface.owners]
    groups = np.empty((size, size))
    for j, k in combinations_with_replacement(range(size), 2):
        paired = left.paired(terms[j], terms[k])
        groups[j, k] = groups[k, j] = np.einsum("ab,cd,abcd->", ways[j], ways[k], paired)
    traces = np.array(
        [np.vdot(w, left.groupwise(t).sum(axis=0)) for w, t in zip(ways, terms, strict=True)]
    )
    beside = traces - groups @ relative
    own = left.df - traces @ relative - beside @ relative
    return np.block([[groups, beside[:, np.newaxis]], [beside, own]])


def _inner(surface: Surface, left: Projected, loadings: list[Array]) -> Array:
    """Return J'EᵢZ'PZEⱼJ for each pair of variances: pairs × coefficients × coefficients."""
    size, columns = len(surface.owners), loadings[0].shape[2]
    inner = np.empty((size, size, columns, columns))
    for j, k in combinations_with_replacement(range(size), 2):
        one, two = surface.owners[j][0], surface.owners[k][0]
        full = left.sandwiched_in_columns(one, two, loadings[one], loadings[two])
        ways = surface.ways[j][:, :, np.newaxis, np.newaxis] * surface.ways[k]
        inner[j, k] = np.tensordot(ways, full, 4)
        inner[k, j] = inner[j, k].T
    return inner


def _extended(inner: Array, relative: Array) -> Array:
    """Return the same with the rows' own variance as the last one."""
    beside = -np.einsum("i,ijcd->jcd", relative, inner)
    across = np.concatenate([inner, beside[np.newaxis]])
    last = -np.einsum("j,ijcd->icd", relative, across)
    return np.concatenate([across, last[:, np.newaxis]], axis=1)


def _matched(count: int, first: float, second: float) -> tuple[float, float]:
    """Return df and scale of the F whose first two moments match."""
    if count == 1:
        return 2 / first, 1.0  # what the lines below come to, without their 0/0 at 2 df
    spread = (first + 6 * second) / (2 * count)
    share = ((count + 1) * first - (count + 4) * second) / ((count + 2) * second)
    below = 3 * count + 2 * (1 - share)
    one, two, three = share / below, (count - share) / below, (count + 2 - share) / below
    mean = 1 - second / count
    ratio = (mean / (1 - two * spread)) ** 2 * (1 + one * spread) / (1 - three * spread) / count
    df = 4 + (count + 2) / (count * ratio - 1)
    return df, df * mean / (df - 2)
