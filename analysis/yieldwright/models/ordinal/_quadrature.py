"""Likelihood of ordered levels whose groups shift the line behind them, integrated by group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.models.ordinal._shifts import Around, Block, Shifts, shifted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.models.ordinal._likelihood import Likelihood

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Steps and halvings after which the most likely shift of a group is found, or nothing is.
MOST_STEPS, MOST_HALVINGS = 100, 40

#: A step, or a slope, this small is rounding.
LEVEL_GROUND = 1e-12

#: Numbers, rows times nodes, that are worked on at once and stay in a processor's cache.
AT_ONCE = 2**14

#: Rows, counted for each set of parameters, that are laid side by side.
ABREAST = 2**12


@dataclass(frozen=True, slots=True, eq=False)
class GroupedPoint:
    """What a grouped likelihood is like at some parameters.

    Attributes
    ----------
    value : float
        Log-likelihood, minus infinity where limits stand in the wrong order.
    slope : ndarray
        Its slopes, those of nodes that move included.
    shifts, bends : ndarray
        Most likely shift of each group, in standard deviations of the groups, and minus
        the second derivative there of the log of likelihood times density.
    """

    value: float
    slope: Array
    shifts: Array
    bends: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Integrals:
    """What the nodes say: log-integrals and slopes, with nodes held and in what moves them."""

    logs: Array
    low: Array
    high: Array
    in_spread: Array
    by_mode: Array
    by_bend: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Groups:
    """Rows of groups between limits, perhaps one set of rows after the other.

    Attributes
    ----------
    rows : Shifts
        Sorted by group.
    spread : ndarray
        Standard deviation that each group is drawn with.
    starts, codes : ndarray of int
        First row of each group, and group of each row.
    weights : ndarray
        How often each row stands for itself.
    """

    rows: Shifts
    spread: Array
    starts: Codes
    codes: Codes
    weights: Array

    def modes(self, shifts: Array) -> tuple[Array, Array]:
        """Return the most likely shifts and their bends, by Newton's method on all at once."""
        slope, bend = self._slope_in_shift(shifts)
        for _ in range(MOST_STEPS):
            step = slope / bend
            if np.abs(step).max() <= LEVEL_GROUND * (1 + np.abs(shifts).max()):
                break
            step, slope, bend = self._shortened((shifts, slope), step)
            shifts = shifts + step
        return shifts, bend

    def _shortened(self, state: tuple[Array, Array], step: Array) -> tuple[Array, Array, Array]:
        """Return a step, halved in groups where it overshoots, with slope and bend after it."""
        shifts, slope = state
        ahead, bend = self._slope_in_shift(shifts + step)
        for _ in range(MOST_HALVINGS):
            beyond = np.abs(ahead) > np.maximum(np.abs(slope), LEVEL_GROUND)
            if not beyond.any():
                break
            step = np.where(beyond, step / 2, step)
            ahead, bend = self._slope_in_shift(shifts + step)
        return step, ahead, bend

    def _slope_in_shift(self, shifts: Array) -> tuple[Array, Array]:
        """Return slope, and minus the bend, of the log of likelihood times density."""
        one, two = self.rows.bent(self.spread * shifts, self.codes)
        first, second = self._counted(one), self._counted(two)
        # The density alone bends by 1; a share that is 0 to the last bit adds only noise.
        return -self.spread * first - shifts, np.maximum(1 - self.spread**2 * second, 1.0)

    def integrals(self, modes: tuple[Array, Array], rule: tuple[Array, Array]) -> _Integrals:
        """Return the integrals over the shift of each group, and their slopes."""
        parts = [self._integrals_of(block, modes, rule) for block in self._blocks(len(rule[0]))]
        if len(parts) == 1:
            return _Integrals(*parts[0])
        return _Integrals(*(np.concatenate(each) for each in zip(*parts, strict=True)))

    def _integrals_of(
        self, block: Block, modes: tuple[Array, Array], rule: tuple[Array, Array]
    ) -> tuple[Array, ...]:
        shifts, bends = (each[block.groups] for each in modes)
        spread, (nodes, log_weights) = self.spread[block.groups, np.newaxis], rule
        places = shifts[:, np.newaxis] + nodes / np.sqrt(bends)[:, np.newaxis]
        rows = self.rows.at_nodes(block, spread * places)
        heights = rows.heights - places**2 / 2 + log_weights
        top = heights.max(axis=1, keepdims=True)
        shares = np.exp(heights - top)
        total = shares.sum(axis=1, keepdims=True)
        shares /= total
        low, high, common = rows.pulled(shares)
        uphill = shares * (-spread * common - places)
        return (
            (top + np.log(total))[:, 0] - np.log(bends) / 2,
            low,
            high,
            -np.einsum("gk,gk,gk->g", shares, places, common),
            uphill.sum(axis=1),
            -(uphill @ nodes) / (2 * bends**1.5) - 1 / (2 * bends),
        )

    def slopes(self, modes: tuple[Array, Array], found: _Integrals) -> tuple[Array, Array, Array]:
        """Return slopes in the limits of each row, and in the spread of each group.

        Nodes move with modes and their bends. A parameter moves a mode by its mixed
        derivative over the bend, and a bend by its own derivative and by that of the mode.
        """
        (shifts, bends), spread = modes, self.spread
        rows: Around = self.rows.around(spread * shifts, self.codes)
        first, second, third = map(self._counted, (rows.first, rows.second, rows.third))
        by_bend = found.by_bend
        by_mode = (found.by_mode + by_bend * spread**3 * third) / bends
        once, twice = (-spread * by_mode)[self.codes], (-(spread**2) * by_bend)[self.codes]
        low = found.low + self.weights * (once * rows.low[0] + twice * rows.low[1])
        high = found.high + self.weights * (once * rows.high[0] + twice * rows.high[1])
        in_spread = by_mode * (spread * shifts * second - first)
        in_spread += by_bend * (spread**2 * shifts * third - 2 * spread * second)
        return low, high, found.in_spread + in_spread

    def _blocks(self, n_nodes: int) -> Iterator[Block]:
        """Return all groups in runs that are worked on at once."""
        ends = np.append(self.starts[1:], len(self.codes))
        if len(self.codes) * n_nodes <= AT_ONCE:
            whole = slice(None)
            yield Block(whole, whole, self.starts, self.codes, self.weights)
            return
        first = 0
        while first < len(ends):
            begin = int(self.starts[first])
            last = int(np.searchsorted(ends, begin + AT_ONCE // n_nodes, side="right"))
            last = max(last, first + 1)
            rows, groups = slice(begin, int(ends[last - 1])), slice(first, last)
            yield Block(
                rows,
                groups,
                self.starts[groups] - begin,
                self.codes[rows] - first,
                self.weights[rows],
            )
            first = last

    def _counted(self, rows: Array) -> Array:
        """Return the sums over the rows of each group, each as often as it stands for itself."""
        sums: Array = np.add.reduceat(self.weights * rows, self.starts)
        return sums


@dataclass(frozen=True, slots=True, eq=False)
class GroupedLikelihood:
    """A likelihood in which every group shifts its rows by a normal amount.

    Its last parameter is the standard deviation of that amount; either sign means the same.

    Attributes
    ----------
    rows : Likelihood
        Of the rows given the shifts, sorted by group.
    starts : ndarray of int
        First row of each group.
    codes : ndarray of int
        Group of each row.
    nodes, log_weights : ndarray
        Of Gauss and Hermite's rule, for the normal density; a single node at 0 is
        Laplace's approximation.
    """

    rows: Likelihood
    starts: Codes
    codes: Codes
    nodes: Array
    log_weights: Array

    def at(self, params: Array, *, near: Array | None = None) -> GroupedPoint:
        """Return value and slopes at some parameters, shifts searched from those given."""
        shifts = np.zeros(len(self.starts)) if near is None else near
        return self._at_all(params[np.newaxis], shifts)[0]

    def at_each(self, params: Array, *, near: Array) -> list[GroupedPoint]:
        """Return the same at several sets of parameters, as many at once as are worth it."""
        abreast = max(ABREAST // len(self.codes), 1)
        places = range(0, len(params), abreast)
        return [p for at in places for p in self._at_all(params[at : at + abreast], near)]

    def _at_all(self, params: Array, near: Array) -> list[GroupedPoint]:
        low = params[:, :-1] @ self.rows.lower.T + self.rows.below
        high = params[:, :-1] @ self.rows.upper.T + self.rows.above
        if not (low < high).all():
            if len(params) > 1:
                return [self.at(each, near=near) for each in params]
            return [GroupedPoint(-np.inf, np.zeros(params.shape[1]), near, np.ones_like(near))]
        copies = len(params)
        groups = self._side_by_side(low, high, params[:, -1])
        modes = groups.modes(np.tile(near, copies))
        found = groups.integrals(modes, (self.nodes, self.log_weights))
        in_low, in_high, in_spread = groups.slopes(modes, found)
        slopes = in_high.reshape(copies, -1) @ self.rows.upper
        slopes -= in_low.reshape(copies, -1) @ self.rows.lower
        values, spreads, shifts, bends = (
            each.reshape(copies, -1) for each in (found.logs, in_spread, *modes)
        )
        slopes = np.column_stack([slopes, spreads.sum(axis=1)])
        return [
            GroupedPoint(float(value), *rest)
            for value, *rest in zip(values.sum(axis=1), slopes, shifts, bends, strict=True)
        ]

    def _side_by_side(self, low: Array, high: Array, spreads: Array) -> _Groups:
        """Return the groups at several sets of parameters, one after the other."""
        copies, n_rows = low.shape
        if copies == 1:
            rows = shifted(self.rows.link, low[0], high[0])
            spread = np.full(len(self.starts), spreads[0])
            return _Groups(rows, spread, self.starts, self.codes, self.rows.weights)
        turn = np.arange(copies)[:, np.newaxis]
        return _Groups(
            rows=shifted(self.rows.link, low.ravel(), high.ravel()),
            spread=np.repeat(spreads, len(self.starts)),
            starts=(self.starts + n_rows * turn).ravel(),
            codes=(self.codes + len(self.starts) * turn).ravel(),
            weights=np.tile(self.rows.weights, copies),
        )
