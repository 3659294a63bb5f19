"""One random shift by group under one design, for many responses side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from yieldwright.models.linear._orthonormal import Orthonormal, orthonormal_columns, summed

__all__ = ["Refits", "ShiftedDesign", "deviances", "refits", "shifted_design"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Relative variances at which the deviance is looked at first: a spread between groups of a
#: thousandth of that within, up to ten thousand times as much.
GRID = np.concatenate([[0.0], np.geomspace(1e-6, 1e8, 85)])

#: Steps between two of these, each at least halving what is left; the last change nothing.
STEPS = 40

#: Change of the logarithm of a relative variance that matters to no digit printed.
SETTLED = 1e-10

#: A direction of groups of which the columns leave less than this share is explained by them.
EXPLAINED = 1e-10


class Refits(NamedTuple):
    """What one model says of many responses.

    Attributes
    ----------
    params : ndarray
        Coefficients, one row per response.
    group_sd, row_sd : ndarray
        Standard deviation of groups, and of a row about its group. [unit of the response]
    """

    params: Array
    group_sd: Array
    row_sd: Array


@dataclass(frozen=True, slots=True, eq=False)
class ShiftedDesign:
    """What columns and groups alone determine, whatever the response.

    `along` and `sizes` turn sums over groups of what the columns leave into independent
    directions with their weights; `growing` are the weights in the log determinant.

    Attributes
    ----------
    basis : Orthonormal
        The columns, and the way back from them.
    codes : ndarray of int
        Group of each row, from 0 without gaps.
    counts : ndarray
        Rows of each group.
    sums : ndarray
        Sum of the orthonormal columns over each group.
    along, sizes : ndarray
        Directions of groups that the columns leave, and their weights.
    growing : ndarray
        Weights in the log determinant.
    df : int
        Rows, less coefficients where the likelihood is restricted.
    """

    basis: Orthonormal
    codes: Codes
    counts: Array
    sums: Array
    along: Array
    sizes: Array
    growing: Array
    df: int

    @property
    def order(self) -> Codes:
        """Rows by their group."""
        return np.argsort(self.codes, kind="stable")

    @property
    def starts(self) -> Codes:
        """Where each group begins among rows in that order."""
        ends = np.cumsum(self.counts).astype(np.intp)
        return np.concatenate([[0], ends[:-1]])


def shifted_design(matrix: Array, codes: Codes, *, reml: bool = True) -> ShiftedDesign:
    """Return what columns and groups determine, whatever the response.

    Parameters
    ----------
    matrix : ndarray
        Separable columns, the first all ones.
    codes : ndarray of int
        Group of each row, from 0 without gaps.
    reml : bool
        Whether the likelihood is the restricted one.

    Returns
    -------
    ShiftedDesign

    Examples
    --------
    >>> shifted_design(np.ones((4, 1)), np.array([0, 0, 1, 1])).sizes.tolist()
    [2.0]
    """
    basis = orthonormal_columns(matrix)
    counts, sums = np.bincount(codes).astype(float), summed(basis.columns, codes)
    sizes, along = np.linalg.eigh(np.diag(counts) - sums @ sums.T)
    left = sizes > EXPLAINED * counts.max()
    sizes, along = sizes[left], along[:, left] / np.sqrt(sizes[left])
    df = len(matrix) - (matrix.shape[1] if reml else 0)
    return ShiftedDesign(basis, codes, counts, sums, along, sizes, sizes if reml else counts, df)


def refits(shape: ShiftedDesign, responses: Array) -> Refits:
    """Return coefficients and spreads of many responses.

    Parameters
    ----------
    shape : ShiftedDesign
        What is common to all.
    responses : ndarray
        One row per response, one column per row of the design. [any unit]

    Returns
    -------
    Refits

    Examples
    --------
    >>> shape = shifted_design(np.ones((6, 1)), np.array([0, 0, 1, 1, 2, 2]))
    >>> found = refits(shape, np.array([[1.0, 2.0, 4.0, 5.0, 9.0, 8.0]]))
    >>> found.params.round(6).tolist(), (found.group_sd**2).round(6).tolist()
    ([[4.833333]], [12.083333])
    """
    first = responses @ shape.basis.columns
    left = responses - first @ shape.basis.columns.T
    sums = np.add.reduceat(left[:, shape.order], shape.starts, axis=1)
    squares = (sums @ shape.along) ** 2
    rest = np.maximum(np.einsum("bi,bi->b", left, left) - squares.sum(axis=1), 0.0)
    ratio = _best(shape, squares, rest)
    shares = ratio[:, np.newaxis] / (1 + ratio[:, np.newaxis] * shape.counts)
    width = shape.sums.shape[1]
    outer = np.einsum("ga,gb->gab", shape.sums, shape.sums).reshape(-1, width**2)
    grams = np.eye(width) - (shares @ outer).reshape(-1, width, width)
    pulled = (shares * sums) @ shape.sums
    coded = first - np.linalg.solve(grams, pulled[:, :, np.newaxis])[:, :, 0]
    spread = rest + (squares / (1 + ratio[:, np.newaxis] * shape.sizes)).sum(axis=1)
    row_sd = np.sqrt(spread / shape.df)
    return Refits(coded @ shape.basis.back.T, np.sqrt(ratio) * row_sd, row_sd)


def deviances(shape: ShiftedDesign, found: Refits) -> Array:
    """Return −2 × the plain log-likelihood of refits, constants included.

    Parameters
    ----------
    shape : ShiftedDesign
        From `shifted_design` with `reml=False`.
    found : Refits
        From `refits` of the same.

    Returns
    -------
    ndarray
        One value per response.

    Examples
    --------
    >>> shape = shifted_design(np.ones((6, 1)), np.array([0, 0, 1, 1, 2, 2]), reml=False)
    >>> found = refits(shape, np.array([[1.0, 2.0, 4.0, 5.0, 9.0, 8.0]]))
    >>> deviances(shape, found).round(3).tolist()
    [23.348]
    """
    ratio = (found.group_sd / found.row_sd) ** 2
    logs = np.log1p(np.outer(ratio, shape.counts)).sum(axis=1)
    return np.asarray(shape.df * (np.log(2 * np.pi * found.row_sd**2) + 1) + logs)


def _best(shape: ShiftedDesign, squares: Array, rest: Array) -> Array:
    """Return the relative variance at which each deviance is smallest."""
    spreads = squares @ (1 / (1 + np.outer(shape.sizes, GRID))) + rest[:, np.newaxis]
    logs = np.log1p(np.outer(GRID, shape.growing)).sum(axis=1)
    best = np.argmin(logs + shape.df * np.log(np.maximum(spreads, 1e-300)), axis=1)
    inside = np.flatnonzero(best > 0)
    ratio = np.zeros(len(rest))
    low = np.log(GRID[np.maximum(best[inside] - 1, 1)])
    high = np.log(GRID[np.minimum(best[inside] + 1, len(GRID) - 1)])
    ratio[inside] = np.exp(_settled(shape, squares[inside], rest[inside], low, high))
    return ratio


def _settled(shape: ShiftedDesign, squares: Array, rest: Array, low: Array, high: Array) -> Array:
    """Return the logarithms at which deviances turn, by Newton's steps kept between two ends."""
    at = (low + high) / 2
    for _ in range(STEPS):
        slope, bend = _slopes(shape, squares, rest, np.exp(at)[:, np.newaxis])
        low, high = np.where(slope < 0, at, low), np.where(slope < 0, high, at)
        step = np.divide(slope, bend, out=np.full_like(slope, np.inf), where=bend > 0)
        ahead = at - step
        following = np.where((low < ahead) & (ahead < high), ahead, (low + high) / 2)
        moved, at = np.abs(following - at).max(initial=0.0), following
        if moved < SETTLED:
            break
    return at


def _slopes(
    shape: ShiftedDesign, squares: Array, rest: Array, ratio: Array
) -> tuple[Array, Array]:
    """Return the first two derivatives of the deviances in the logarithm of the ratio."""
    own = ratio * shape.growing / (1 + ratio * shape.growing)
    shares = ratio * shape.sizes / (1 + ratio * shape.sizes)
    kept = squares * (1 - shares)
    spread = rest + kept.sum(axis=1)
    first = (kept * shares).sum(axis=1) / spread
    second = (kept * shares * (1 - 2 * shares)).sum(axis=1) / spread
    slope = own.sum(axis=1) - shape.df * first
    bend = (own * (1 - own)).sum(axis=1) - shape.df * (second + first**2)
    return slope, bend
