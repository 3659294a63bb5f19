"""A mixed model of one grouping fitted to many responses at once, and its bootstrap."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.linear._orthonormal import Orthonormal, orthonormal_columns, summed
from yieldwright.models.linear.bootstrap import DRAWS
from yieldwright.models.linear.resampled import Resampled, in_portions

if TYPE_CHECKING:
    from yieldwright.models.mixed.model import MixedFit

__all__ = ["Refits", "bootstrap_mixed", "refit_mixed"]

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
class _Shape:
    """What columns and groups alone determine, whatever the response.

    `along` and `sizes` turn sums over groups of what the columns leave into independent
    directions with their weights; `growing` are the weights in the log determinant.
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


def refit_mixed(fit: MixedFit, responses: Array) -> Refits:
    """Return what the model of a fit says of other responses of the same rows.

    Parameters
    ----------
    fit : MixedFit
        Fit with one grouping that shifts the response, without a slope.
    responses : ndarray
        One row per response, one column per row of the fit. [any unit]

    Returns
    -------
    Refits

    Raises
    ------
    OutOfRangeError
        If the fit has several groupings or a slope, or a response is missing or infinite.
    MisalignedError
        If a response has not as many values as the fit has rows.

    Notes
    -----
    The columns leave a response in directions whose variances are 1 + λψ, with ψ the
    relative variance of the groups [1]_; these are found once. Then the deviance of every
    response is a sum over few terms, and all are made smallest side by side.

    References
    ----------
    .. [1] Crainiceanu and Ruppert (2004), J. R. Stat. Soc. B 66, 165, section 3.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> again = refit_mixed(fit, frame["y"].to_numpy()[np.newaxis])
    >>> again.params.round(6).tolist(), (again.group_sd**2).round(6).tolist()
    ([[4.833333]], [12.083333])
    """
    shape = _shape(fit)
    given = np.atleast_2d(np.asarray(responses, dtype=float))
    if given.shape[1] != fit.n_rows:
        raise MisalignedError(
            f"responses of {given.shape[1]} values do not go with {fit.n_rows} rows; give one "
            "value a row"
        )
    if not np.isfinite(given).all():
        unusable = int((~np.isfinite(given).all(axis=1)).sum())
        raise OutOfRangeError(
            f"responses must be finite; {unusable} of {len(given)} are not (leave them out)"
        )
    return _refitted(shape, given)


def bootstrap_mixed(fit: MixedFit, *, rng: np.random.Generator, times: int = DRAWS) -> Resampled:
    """Return a mixed model refitted to responses drawn from itself.

    Parameters
    ----------
    fit : MixedFit
        Fit with one grouping that shifts the response, without a slope.
    rng : Generator
        Source of chance; the same seed gives the same draws.
    times : int
        How many refits. [count]

    Returns
    -------
    Resampled
        Coefficients, then the standard deviation of the groups and that of the rows, so
        that a function of spreads has its interval too.

    Raises
    ------
    OutOfRangeError
        If the fit has several groupings or a slope, or no refit is asked for.

    Notes
    -----
    Group effects and rows are drawn from normal distributions of the variances found. A
    variance found to be 0 stays 0 in every draw: the interval then says nothing of it.

    References
    ----------
    .. [1] Davison and Hinkley (1997), Bootstrap Methods and their Application, section 3.8.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")])
    >>> drawn = bootstrap_mixed(fit, rng=np.random.default_rng(1), times=500)
    >>> drawn.names, drawn.draws.shape
    (('(intercept)', '(sd of day)', '(sd of rows)'), (500, 3))
    """
    if times < 1:
        raise OutOfRangeError(f"at least one refit must be asked for, not {times}")
    shape, name = _shape(fit), fit.groupings[0].name
    group_sd = float(np.sqrt(fit.covariances[name][0, 0]))
    middle = fit.problem.matrix @ fit.params
    parts = []
    for count in in_portions(times, fit.n_rows):
        shifts = rng.normal(0, group_sd, (count, len(shape.counts)))
        rows = rng.normal(0, fit.sigma, (count, fit.n_rows))
        parts.append(np.column_stack(_refitted(shape, middle + shifts[:, shape.codes] + rows)))
    names = (*fit.names, f"(sd of {name})", "(sd of rows)")
    params = np.array([*fit.params, group_sd, fit.sigma])
    return Resampled(names, params, np.concatenate(parts), "parametric")


def _shape(fit: MixedFit) -> _Shape:
    groupings = fit.groupings
    if len(groupings) != 1 or groupings[0].slope is not None:
        raise OutOfRangeError(
            "refits side by side are for one grouping that shifts the response; this fit has "
            f"{len(groupings)}{', with a slope' if groupings[0].slope is not None else ''}"
        )
    codes, basis = groupings[0].codes, orthonormal_columns(fit.problem.matrix)
    counts, sums = np.bincount(codes).astype(float), summed(basis.columns, codes)
    sizes, along = np.linalg.eigh(np.diag(counts) - sums @ sums.T)
    left = sizes > EXPLAINED * counts.max()
    sizes, along = sizes[left], along[:, left] / np.sqrt(sizes[left])
    reml = fit.method == "reml"
    df = fit.n_rows - (len(fit.params) if reml else 0)
    return _Shape(basis, codes, counts, sums, along, sizes, sizes if reml else counts, df)


def _refitted(shape: _Shape, responses: Array) -> Refits:
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


def _best(shape: _Shape, squares: Array, rest: Array) -> Array:
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


def _settled(shape: _Shape, squares: Array, rest: Array, low: Array, high: Array) -> Array:
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


def _slopes(shape: _Shape, squares: Array, rest: Array, ratio: Array) -> tuple[Array, Array]:
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
