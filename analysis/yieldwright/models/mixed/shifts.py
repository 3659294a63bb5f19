"""One random shift by group under one design, for many responses side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from yieldwright.models.linear._orthonormal import Orthonormal, orthonormal_columns, summed

__all__ = ["Refits", "ShiftedDesign", "deviances", "drawn_refits", "refits", "shifted_design"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Relative variances at which the deviance is looked at first: a spread between groups of a
#: thousandth of that within, up to ten thousand times as much.
GRID = np.concatenate([[0.0], np.geomspace(1e-6, 1e8, 57)])

#: Steps between two of these, each at least halving what is left; the last change nothing.
STEPS = 40

#: Change of the logarithm of a relative variance that matters to no digit printed.
SETTLED = 1e-10

#: A step that lowers a deviance by no more than this changes no digit of it.
NO_GAIN = 1e-18

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
    pulls = np.add.reduceat(left[:, shape.order], shape.starts, axis=1) @ shape.along
    rest = np.einsum("bi,bi->b", left, left) - np.einsum("bk,bk->b", pulls, pulls)
    return _solved(shape, first, pulls, np.maximum(rest, 0.0))


def drawn_refits(
    shape: ShiftedDesign,
    middle: Array,
    spreads: tuple[float, float],
    *,
    rng: np.random.Generator,
    times: int,
) -> Refits:
    """Return refits to responses drawn from a model of these columns and groups.

    Parameters
    ----------
    shape : ShiftedDesign
        What is common to all.
    middle : ndarray
        What the columns give for each row. [any unit]
    spreads : tuple of float
        Standard deviation of groups, and of a row about its group. [unit of `middle`]
    rng : Generator
        Source of chance.
    times : int
        How many. [count]

    Returns
    -------
    Refits

    Notes
    -----
    A refit needs of a response no more than what lies along the columns, along each
    direction of groups that they leave, and the sum of squares of the rest. These are drawn
    themselves, from the distributions that rows drawn one by one would give them, so time
    does not grow with the rows.

    Examples
    --------
    >>> shape = shifted_design(np.ones((6, 1)), np.array([0, 0, 1, 1, 2, 2]))
    >>> rng = np.random.default_rng(1)
    >>> drawn_refits(shape, np.full(6, 4.0), (3.5, 0.7), rng=rng, times=3).params.shape
    (3, 1)
    """
    group_sd, row_sd = spreads
    (n_rows, width), n_directions = shape.basis.columns.shape, len(shape.sizes)
    shifts = rng.normal(0, group_sd, (times, len(shape.counts)))
    first = middle @ shape.basis.columns + shifts @ shape.sums
    first = first + rng.normal(0, row_sd, (times, width))
    pulls = shifts @ (shape.along * shape.sizes)
    pulls = pulls + rng.normal(0, row_sd, (times, n_directions))
    free = n_rows - width - n_directions
    rest = row_sd**2 * (rng.chisquare(free, times) if free else np.zeros(times))
    return _solved(shape, first, pulls, rest)


def _solved(shape: ShiftedDesign, first: Array, pulls: Array, rest: Array) -> Refits:
    """Return coefficients and spreads from all that a refit needs of a response."""
    squares = pulls**2
    ratio = _best(shape, squares, rest)
    kept = 1 / (1 + ratio[:, np.newaxis] * shape.sizes)
    # Generalised least squares takes Q'ZψZ'P of a response off what plain ones give, and P is
    # diagonal in the directions of groups that the columns leave.
    coded = (
        first - (ratio[:, np.newaxis] * kept * pulls) @ (shape.along * shape.sizes).T @ shape.sums
    )
    row_sd = np.sqrt((rest + (squares * kept).sum(axis=1)) / shape.df)
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
    """Return the logarithms at which deviances turn, by Newton's steps kept between two ends.

    Those that have settled are left alone, so that few are carried to the last steps.
    """
    found = (low + high) / 2
    going, at = np.arange(len(found)), found.copy()
    for _ in range(STEPS):
        slope, bend = _slopes(shape, squares, rest, np.exp(at)[:, np.newaxis])
        low, high = np.where(slope < 0, at, low), np.where(slope < 0, high, at)
        step = np.divide(slope, bend, out=np.full_like(slope, np.inf), where=bend > 0)
        ahead = at - step
        following = np.where((low < ahead) & (ahead < high), ahead, (low + high) / 2)
        following = np.where(np.abs(slope * step) > NO_GAIN, following, at)
        found[going] = following
        moving = np.abs(following - at) > SETTLED
        if not moving.any():
            break
        going, at = going[moving], following[moving]
        squares, rest, low, high = squares[moving], rest[moving], low[moving], high[moving]
    return found


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
