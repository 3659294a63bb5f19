"""Where two lines meet: the likelihood at every break and every spread between groups."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import optimize

from yieldwright.models.linear._orthonormal import orthonormal_columns, summed

if TYPE_CHECKING:
    from yieldwright.models.trend.rows import TrendRows

__all__ = ["Breaks", "Meeting", "breaks_of", "likeliest_break", "lowest_deviances"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Variances of groups, relative to that of rows, at which deviances are looked at first.
GRID = np.concatenate([[0.0], np.geomspace(1e-3, 1e7, 21)])

#: Change of the logarithm of a relative variance that moves no digit printed.
SETTLED = 1e-10

#: A change of slope of which other columns leave less than this share is explained by them.
EXPLAINED = 1e-13

#: Steps by the golden section between three neighbours of the grid.
STEPS = 24
GOLDEN = (5**0.5 - 1) / 2


class Meeting(NamedTuple):
    """Where two lines most likely meet.

    Attributes
    ----------
    place : float
        Where, on the scale of the breaks.
    ratio : float
        Variance of groups relative to that of rows.
    deviance : float
        −2 × log-likelihood there, constants included.
    """

    place: float
    ratio: float
    deviance: float


@dataclass(frozen=True, slots=True, eq=False)
class Breaks:
    """Crossproducts of what changes with the break, stretch by stretch between different x.

    Inside a stretch the change of slope is a combination of two columns: how far x lies
    beyond the start of the stretch, and whether it does. Of all three (those two and the
    response) what the other columns explain is taken off.

    Attributes
    ----------
    starts, widths : ndarray
        Stretches in which a break may lie.
    crossed : ndarray
        Crossproducts, one 3 × 3 matrix per stretch.
    sums : ndarray
        Sums over groups of the same, groups × stretches × 3.
    common : ndarray
        Sums over groups of the orthonormal columns that are the same for all breaks.
    counts : ndarray
        Rows of each group; none where there are no groups.
    n_rows : int
        Rows.
    scale : float
        Sum of squares of the response, by which it was divided.
    """

    starts: Array
    widths: Array
    crossed: Array
    sums: Array
    common: Array
    counts: Array
    n_rows: int
    scale: float

    @property
    def low(self) -> float:
        """Where breaks begin."""
        return float(self.starts[0])

    @property
    def high(self) -> float:
        """Where they end."""
        return float(self.starts[-1] + self.widths[-1])

    @property
    def ratios(self) -> Array:
        """Relative variances to begin with."""
        return GRID if len(self.counts) else GRID[:1]

    def left(self, ratios: Array, stretches: Codes) -> Array:
        """Return the crossproducts given the common columns, at pairs of ratio and stretch.

        Parameters
        ----------
        ratios : ndarray
            Variances of groups relative to that of rows. [1]
        stretches : ndarray of int
            As many stretches.

        Returns
        -------
        ndarray
            Pairs × 3 × 3.
        """
        shares = ratios[:, np.newaxis] / (1 + np.outer(ratios, self.counts))
        own, common = self.sums[:, stretches], self.common
        width = common.shape[1]
        outer = np.einsum("gi,gj->gij", common, common).reshape(len(common), width**2)
        gram = np.eye(width) - (shares @ outer).reshape(-1, width, width)
        beside = -np.einsum("bg,gi,gba->bia", shares, common, own)
        inside = self.crossed[stretches] - np.einsum("bg,gba,gbc->bac", shares, own, own)
        return np.asarray(
            inside - np.einsum("bia,bic->bac", beside, np.linalg.solve(gram, beside))
        )

    def deviances(self, ratios: Array, squares: Array) -> Array:
        """Return deviances from relative variances and sums of squares left.

        Parameters
        ----------
        ratios : ndarray
            Variances of groups relative to that of rows. [1]
        squares : ndarray
            Sums of squares, over that of the response. [1]

        Returns
        -------
        ndarray
        """
        logs = np.log1p(np.outer(ratios, self.counts)).sum(axis=1)
        spread = np.log(2 * np.pi * self.scale / self.n_rows * np.maximum(squares, 1e-300))
        return np.asarray(self.n_rows * (spread + 1) + logs)

    def stretches_of(self, places: Array) -> Codes:
        """Return in which stretch each break lies.

        Parameters
        ----------
        places : ndarray
            Breaks, on the scale of x from −1 to +1.

        Returns
        -------
        ndarray of int
        """
        before = np.searchsorted(self.starts, places, "right") - 1
        return np.asarray(np.clip(before, 0, len(self.starts) - 1))


def breaks_of(rows: TrendRows) -> Breaks:
    """Return the breaks that may be looked for, on the scale of x from −1 to +1.

    Parameters
    ----------
    rows : TrendRows
        Rows with at least four different x.

    Returns
    -------
    Breaks
    """
    unit = rows.unit_x
    places = np.unique(unit)[1:-1]
    starts, widths = places[:-1], np.diff(places)
    basis = orthonormal_columns(np.column_stack([rows.flat, unit])).columns
    beyond = unit[:, np.newaxis] > starts
    changing = np.where(beyond, unit[:, np.newaxis] - starts, 0.0)
    columns = np.stack([changing, beyond.astype(float)], axis=2)
    columns = columns - np.einsum("ip,pka->ika", basis, np.einsum("ip,ika->pka", basis, columns))
    response = rows.y - rows.y.mean()
    scale = float(response @ response)
    response = (response - basis @ (basis.T @ response)) / np.sqrt(scale)
    repeated = np.broadcast_to(response[:, np.newaxis, np.newaxis], (*changing.shape, 1))
    parts = np.concatenate([columns, repeated], axis=2)
    crossed = np.einsum("ika,ikc->kac", parts, parts)
    if rows.codes is None:
        sums, common, counts = np.empty((0, *parts.shape[1:])), basis[:0], np.empty(0)
    else:
        sums, common = summed(parts, rows.codes), summed(basis, rows.codes)
        counts = np.bincount(rows.codes).astype(float)
    return Breaks(starts, widths, crossed, sums, common, counts, rows.n_rows, scale)


def likeliest_break(breaks: Breaks) -> Meeting:
    """Return where two lines most likely meet, over all breaks and spreads of groups.

    Parameters
    ----------
    breaks : Breaks
        From `breaks_of`.

    Returns
    -------
    Meeting

    Notes
    -----
    Inside a stretch and at a given spread the likeliest break is known in closed form [1]_,
    so only the spread is searched for.

    References
    ----------
    .. [1] Hudson (1966), J. Am. Stat. Assoc. 61, 1097, section 3.
    """
    ratio = 0.0
    if len(breaks.counts):
        lows = _best_places(breaks, breaks.ratios)[0].min(axis=1)
        at = int(np.argmin(lows))
        ratio = _refined_ratio(breaks, at) if at else 0.0
    lows, places = _best_places(breaks, np.array([ratio]))
    best = int(np.argmin(lows[0]))
    return Meeting(float(places[0, best]), ratio, float(lows[0, best]))


def _refined_ratio(breaks: Breaks, at: int) -> float:
    """Return the relative variance near a point of the grid at which the deviance is least."""
    logs = np.log(GRID[1:])
    ends = logs[max(at - 2, 0)], logs[min(at, len(logs) - 1)]
    found = optimize.minimize_scalar(
        lambda log: float(_best_places(breaks, np.exp([log]))[0].min()),
        bounds=ends,
        method="bounded",
        options={"xatol": SETTLED},
    )
    return float(np.exp(found.x))


def _best_places(breaks: Breaks, ratios: Array) -> tuple[Array, Array]:
    """Return least deviance and its break, ratios × stretches."""
    count = len(breaks.starts)
    pairs = np.repeat(ratios, count)
    stretches = np.tile(np.arange(count), len(ratios))
    left = breaks.left(pairs, stretches)
    width = breaks.widths[stretches]
    along = _meeting(left, width)
    offsets = np.stack([np.zeros_like(width), width, along])
    squares = np.stack([_squares(left, each) for each in offsets])
    best, every = squares.argmin(axis=0), np.arange(len(pairs))
    lows = breaks.deviances(pairs, squares[best, every])
    places = breaks.starts[stretches] + offsets[best, every]
    return lows.reshape(-1, count), places.reshape(-1, count)


def _meeting(left: Array, width: Array) -> Array:
    """Return how far into a stretch the free lines on both sides meet, kept inside it."""
    above = left[:, 0, 0] * left[:, 1, 2] - left[:, 0, 1] * left[:, 0, 2]
    below = left[:, 1, 1] * left[:, 0, 2] - left[:, 0, 1] * left[:, 1, 2]
    along = np.divide(-above, below, out=np.zeros_like(above), where=below != 0)
    return np.asarray(np.clip(along, 0.0, width))


def _squares(left: Array, offsets: Array) -> Array:
    """Return the sum of squares left by a break so far into its stretch."""
    size = left[:, 0, 0] - 2 * offsets * left[:, 0, 1] + offsets**2 * left[:, 1, 1]
    pull = left[:, 0, 2] - offsets * left[:, 1, 2]
    gained = np.divide(pull**2, size, out=np.zeros_like(size), where=size > EXPLAINED)
    return np.asarray(left[:, 2, 2] - gained)


def lowest_deviances(breaks: Breaks, places: Array) -> Array:
    """Return the least deviance over the spread of groups at each break.

    Parameters
    ----------
    breaks : Breaks
        From `breaks_of`.
    places : ndarray
        Breaks, on the scale of x from −1 to +1.

    Returns
    -------
    ndarray
        −2 × log-likelihoods, constants included.
    """
    stretches = breaks.stretches_of(places)
    offsets = places - breaks.starts[stretches]

    def at(logs: Array) -> Array:
        ratios = np.exp(logs)
        return breaks.deviances(ratios, _squares(breaks.left(ratios, stretches), offsets))

    ratios, every = breaks.ratios, np.unique(stretches)
    pairs = np.repeat(ratios, len(every)), np.tile(every, len(ratios))
    left = breaks.left(*pairs).reshape(len(ratios), len(every), 3, 3)
    own = left[:, np.searchsorted(every, stretches)].reshape(-1, 3, 3)
    squares = _squares(own, np.tile(offsets, len(ratios)))
    tried = breaks.deviances(np.repeat(ratios, len(places)), squares)
    tried = tried.reshape(len(ratios), len(places))
    best = tried.argmin(axis=0)
    inside = best > 0
    if not inside.any():
        return np.asarray(tried[0])
    logs = np.log(GRID[1:])
    low, high = logs[np.maximum(best - 2, 0)], logs[np.minimum(best, len(logs) - 1)]
    return np.asarray(np.minimum(tried.min(axis=0), _golden(at, low, high)))


def _golden(function: Callable[[Array], Array], low: Array, high: Array) -> Array:
    """Return the least values between two ends each, by the golden section side by side."""
    near, far = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_near, at_far = function(near), function(far)
    for _ in range(STEPS):
        lower = at_near < at_far
        low, high = np.where(lower, low, near), np.where(lower, far, high)
        fresh = np.where(lower, high - GOLDEN * (high - low), low + GOLDEN * (high - low))
        value = function(fresh)
        near, far = np.where(lower, fresh, far), np.where(lower, near, fresh)
        at_near, at_far = np.where(lower, value, at_far), np.where(lower, at_near, value)
    return np.asarray(np.minimum(at_near, at_far))
