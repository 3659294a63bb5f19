"""The mixed model equations, solved for one set of relative covariance factors.

With P = V⁻¹ − V⁻¹X(X'V⁻¹X)⁻¹X'V⁻¹ and V = I + ZΨZ', all that a deviance, its derivatives and
its degrees of freedom need is y'Py, Z'Py and Z'PZ. The first grouping is absorbed group by
group; what remains is as large as the other groupings and the columns of the design.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy.linalg import lapack

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.mixed._crossproducts import Crossproducts

__all__ = ["Projected", "Solved", "projected", "solved"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """Solution of the mixed model equations.

    Attributes
    ----------
    sums : Crossproducts
        What was solved.
    own : ndarray
        Z₁'V₁⁻¹Z₁ of the first grouping, group by group.
    shared : ndarray
        Z₁'V₁⁻¹[Z₂ X].
    rest : ndarray
        [Z₂ X]'V₁⁻¹[Z₂ X].
    root : ndarray
        U, whose U'U carries from V₁⁻¹ to P.
    pulls : tuple of ndarray
        Z'Py of each grouping: groups × effects.
    coefficients : ndarray
        Of the columns of the design.
    quadratic : float
        y'Py.
    log_det, log_det_fixed : float
        Of V, and of X'V⁻¹X.
    """

    sums: Crossproducts
    own: Array
    shared: Array
    rest: Array
    root: Array
    pulls: tuple[Array, ...]
    coefficients: Array
    quadratic: float
    log_det: float
    log_det_fixed: float

    @property
    def coefficient_root(self) -> Array:
        """Lower triangular L⁻¹ with (X'V⁻¹X)⁻¹ = L⁻¹'L⁻¹."""
        n_effects = self.sums.n_effects
        root: Array = self.root[n_effects:, n_effects:]
        return root

    def loadings(self) -> tuple[Array, ...]:
        """Return Z'V⁻¹X(X'V⁻¹X)⁻¹ of each grouping: groups × effects × columns."""
        below = self.root[self.sums.n_effects :]
        weights = below.T @ self.coefficient_root
        first = self.shared @ weights
        others = self.rest @ weights
        blocks = zip(self.sums.blocks, self.sums.widths[1:], strict=True)
        return (first, *(others[b].reshape(-1, w, weights.shape[1]) for b, w in blocks))


@dataclass(frozen=True, eq=False)
class Projected:
    """Z'PZ of all groupings, that of the first never written out.

    Attributes
    ----------
    own : ndarray
        Group by group, before anything is taken off.
    taken : ndarray
        What is taken off the first is the product of this with its transpose.
    across : ndarray
        First grouping by the rest.
    rest : ndarray
        The rest by itself.
    blocks : tuple of slice
        Where each grouping but the first stands.
    widths : tuple of int
        Effects per group.
    df : int
        Rows, less the columns of the design where these are taken off.
    """

    own: Array
    taken: Array
    across: Array
    rest: Array
    blocks: tuple[slice, ...]
    widths: tuple[int, ...]
    df: int

    def groupwise(self, term: int) -> Array:
        """Return the blocks on the diagonal: groups × effects × effects.

        Parameters
        ----------
        term : int
            Which grouping.

        Returns
        -------
        ndarray
        """
        if term == 0:
            return self.own - self._gone
        return _sum("gagb->gab", self._block(term, term))

    def paired(self, one: int, two: int) -> Array:
        """Return Σ G[ga,hc] G[gb,hd] over all pairs of groups, by a, b, c and d.

        Parameters
        ----------
        one, two : int
            Groupings of g and h.

        Returns
        -------
        ndarray
        """
        if one == two == 0:
            return self._paired_first()
        block = self._block(one, two)
        if block.shape[1] == block.shape[3] == 1:
            return np.full((1, 1, 1, 1), np.vdot(block, block))
        return _sum("gahc,gbhd->abcd", block, block, by_parts=True)

    def sandwiched(self, one: int, two: int, left: Array, right: Array) -> Array:
        """Return Σ left[ga] G[gb,hc] right[hd] over all pairs of groups, by a, b, c and d.

        Parameters
        ----------
        one, two : int
            Groupings of g and h.
        left, right : ndarray
            Groups × effects of each.

        Returns
        -------
        ndarray
        """
        sides = left[:, :, np.newaxis], right[:, :, np.newaxis]
        return self.sandwiched_in_columns(one, two, *sides)[:, :, :, :, 0, 0]

    def sandwiched_in_columns(self, one: int, two: int, left: Array, right: Array) -> Array:
        """Return Σ left[gax] G[gb,hc] right[hdy] over pairs of groups, by a, b, c, d, x and y.

        Parameters
        ----------
        one, two : int
            Groupings of g and h.
        left, right : ndarray
            Groups × effects × columns of each.

        Returns
        -------
        ndarray
        """
        if left.shape[1] == right.shape[1] == 1:
            return self._sandwiched_shifts(one, two, left[:, 0], right[:, 0])
        if one == two == 0:
            ends = [_sum("gax,gbr->abxr", side, self.taken) for side in (left, right)]
            near = _sum("gax,gbc,gdy->abcdxy", left, self.own, right, by_parts=True)
            return near - _sum("abxr,dcyr->abcdxy", *ends, by_parts=True)
        block = self._block(one, two)
        return _sum("gax,gbhc,hdy->abcdxy", left, block, right, by_parts=True)

    def _sandwiched_shifts(self, one: int, two: int, left: Array, right: Array) -> Array:
        """Return the same where groups only shift, columns by columns."""
        if one == two == 0:
            taken = self.taken[:, 0]
            inner = (left.T * self.own[:, 0, 0]) @ right - (left.T @ taken) @ (right.T @ taken).T
        else:
            inner = left.T @ self._block(one, two)[:, 0, :, 0] @ right
        shape = (1, 1, 1, 1, *inner.shape)
        return inner.reshape(shape)

    @cached_property
    def _gone(self) -> Array:
        return _sum("gar,gbr->gab", self.taken, self.taken)

    def _block(self, one: int, two: int) -> Array:
        if one > two:
            return self._block(two, one).transpose(2, 3, 0, 1)
        wide = self.widths[two]
        if one == 0:
            part = self.across[:, :, self.blocks[two - 1]]
            return part.reshape(*part.shape[:2], -1, wide)
        part = self.rest[self.blocks[one - 1], self.blocks[two - 1]]
        return part.reshape(-1, self.widths[one], part.shape[1] // wide, wide)

    def _paired_first(self) -> Array:
        gone = self._gone
        kept = self.own - gone
        wide, deep = self.taken.shape[1:]
        flat = self.taken.reshape(len(self.taken), -1)
        product = flat.T @ flat
        if wide == 1:
            size = np.vdot(kept, kept) - np.vdot(gone, gone) + np.vdot(product, product)
            return np.full((1, 1, 1, 1), size)
        product = product.reshape(wide, deep, wide, deep)
        near = _sum("gac,gbd->abcd", kept, kept) - _sum("gac,gbd->abcd", gone, gone)
        return near + _sum("arbs,crds->abcd", product, product, by_parts=True)


def _sum(path: str, *arrays: Array, by_parts: bool = False) -> Array:
    """Return a sum of products; large ones are cheaper by parts."""
    total: Array = np.einsum(path, *arrays, optimize=by_parts)
    return total


def solved(sums: Crossproducts, factors: Sequence[Array]) -> Solved:
    """Return the solution of the mixed model equations.

    Parameters
    ----------
    sums : Crossproducts
        Of groups, columns and response.
    factors : sequence of ndarray
        Relative covariance factor of one group, for each grouping.

    Returns
    -------
    Solved
    """
    own, shared, kernel, log_det = _absorbed(sums, factors[0])
    rest, pull = kernel[:-1, :-1], kernel[:-1, -1]
    root, diagonal = _root(sums, rest, factors[1:])
    score = root @ pull
    weights = root.T @ score
    n_effects = sums.n_effects
    others = pull - rest @ weights
    blocks = zip(sums.blocks, sums.widths[1:], strict=True)
    return Solved(
        sums=sums,
        own=own,
        shared=shared[:, :, :-1],
        rest=rest,
        root=root,
        pulls=(
            shared[:, :, -1] - shared[:, :, :-1] @ weights,
            *(others[b].reshape(-1, w) for b, w in blocks),
        ),
        coefficients=weights[n_effects:],
        quadratic=float(kernel[-1, -1] - score @ score),
        log_det=log_det + 2 * float(np.log(diagonal[:n_effects]).sum()),
        log_det_fixed=2 * float(np.log(diagonal[n_effects:]).sum()),
    )


def projected(at: Solved, *, fixed: bool) -> Projected:
    """Return Z'PZ, or Z'V⁻¹Z where the columns of the design are not taken off.

    Parameters
    ----------
    at : Solved
        Mixed model equations.
    fixed : bool
        Whether the columns of the design are taken off.

    Returns
    -------
    Projected
    """
    n_effects = at.sums.n_effects
    root = at.root if fixed else at.root[:n_effects]
    taken, wise = at.shared @ root.T, at.rest[:n_effects] @ root.T
    return Projected(
        own=at.own,
        taken=taken,
        across=at.shared[:, :, :n_effects] - taken @ wise.T,
        rest=at.rest[:n_effects, :n_effects] - wise @ wise.T,
        blocks=at.sums.blocks,
        widths=at.sums.widths,
        df=at.sums.n_rows - (at.sums.n_columns if fixed else 0),
    )


def _absorbed(sums: Crossproducts, factor: Array) -> tuple[Array, Array, Array, float]:
    """Return the crossproducts through V₁⁻¹ of the first grouping, and log det V₁."""
    relative = factor @ factor.T
    wide, size = len(factor), len(sums.rest)
    slack = np.eye(wide) + sums.own @ relative
    solution = sums.near / slack if wide == 1 else _times_inverse(slack, sums.near)
    own, shared = solution[:, :, :wide], solution[:, :, wide:]
    weighted = shared * relative[0, 0] if wide == 1 else relative @ shared
    kernel = sums.rest - sums.shared.reshape(-1, size).T @ weighted.reshape(-1, size)
    determinants = slack if wide == 1 else np.linalg.det(slack)
    return own, shared, kernel, float(np.log(determinants).sum())


def _times_inverse(slack: Array, right: Array) -> Array:
    return np.asarray(np.linalg.solve(slack, right), dtype=np.float64)


def _root(sums: Crossproducts, rest: Array, factors: Sequence[Array]) -> tuple[Array, Array]:
    """Return L⁻¹Λ' of the equations that remain, and the diagonal of L."""
    flipped = [factor.T for factor in factors]
    half = _times(rest, factors, sums)
    system = _times(half.T, factors, sums)
    system.flat[: sums.n_effects * len(system) : len(system) + 1] += 1.0
    lower = np.linalg.cholesky(system)
    inverse, _ = lapack.dtrtri(lower, lower=1)
    return _times(inverse, flipped, sums), np.diag(lower)


def _times(matrix: Array, factors: Sequence[Array], sums: Crossproducts) -> Array:
    """Return a matrix whose columns of each grouping are multiplied by its factor."""
    product = matrix.copy() if factors else matrix
    for factor, block in zip(factors, sums.blocks, strict=True):
        part = matrix[:, block].reshape(len(matrix), -1, len(factor))
        product[:, block] = (part @ factor).reshape(len(matrix), -1)
    return product
