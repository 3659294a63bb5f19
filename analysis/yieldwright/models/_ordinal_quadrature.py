"""Likelihood of ordered levels whose groups shift the line behind them, integrated by group."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from yieldwright.models._ordinal_likelihood import Likelihood

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]
Limits = tuple[Array, Array]

#: Steps and halvings after which the most likely shift of a group is found, or nothing is.
MOST_STEPS, MOST_HALVINGS = 100, 40

#: A step, or a slope, this small is rounding.
LEVEL_GROUND = 1e-12

#: Stands for a share that is 0 to the last bit.
TINY = float(np.finfo(float).tiny)


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
class _Nodes:
    """Each group at each node: where it stands, its share of the integral, and its slopes."""

    places: Array
    shares: Array
    low_pulls: Array
    high_pulls: Array
    log_integrals: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Bends:
    """Rows at given shifts: their share, and densities with slopes and bends at both limits."""

    share: Array
    below: tuple[Array, Array, Array]
    above: tuple[Array, Array, Array]

    @property
    def alike(self) -> tuple[Array, Array, Array]:
        """Derivatives of the share, over the share, when both limits move alike."""
        pairs = zip(self.below, self.above, strict=True)
        one, two, three = ((high - low) / self.share for low, high in pairs)
        return one, two, three

    def mixed(self, once: Array, twice: Array) -> tuple[Array, Array]:
        """Return mixed derivatives of log-shares in each limit and in what moves both.

        Those of first order count `once`, those of second order `twice`.
        """
        one, two, _ = self.alike
        low, high = (
            once * (slope - one * density)
            + twice * (bend - two * density - 2 * one * slope + 2 * one**2 * density)
            for density, slope, bend in (self.below, self.above)
        )
        return low / self.share, high / self.share


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
        limits, spread = self.rows.limits(params[:-1]), float(params[-1])
        shifts = np.zeros(len(self.starts)) if near is None else near
        if not (limits[0] < limits[1]).all():
            return GroupedPoint(-np.inf, np.zeros(len(params)), shifts, np.ones_like(shifts))
        shifts, bends = self._modes(limits, spread, shifts)
        nodes = self._at_nodes(limits, spread, shifts, bends)
        value = float(nodes.log_integrals.sum() - np.log(bends).sum() / 2)
        slope = self._slope_held(nodes) + self._slope_moving(
            limits, spread, (shifts, bends), nodes
        )
        return GroupedPoint(value, slope, shifts, bends)

    def _modes(self, limits: Limits, spread: float, shifts: Array) -> tuple[Array, Array]:
        """Return the most likely shifts and their bends, by Newton's method on all at once."""
        slope, bend = self._slope_in_shift(limits, spread, shifts)
        for _ in range(MOST_STEPS):
            step = slope / bend
            if np.abs(step).max() <= LEVEL_GROUND * (1 + np.abs(shifts).max()):
                break
            step, slope, bend = self._shortened(limits, spread, (shifts, slope), step)
            shifts = shifts + step
        return shifts, bend

    def _shortened(
        self, limits: Limits, spread: float, state: tuple[Array, Array], step: Array
    ) -> tuple[Array, Array, Array]:
        """Return a step, halved in groups where it overshoots, with slope and bend after it."""
        shifts, slope = state
        ahead, bend = self._slope_in_shift(limits, spread, shifts + step)
        for _ in range(MOST_HALVINGS):
            beyond = np.abs(ahead) > np.maximum(np.abs(slope), LEVEL_GROUND)
            if not beyond.any():
                break
            step = np.where(beyond, step / 2, step)
            ahead, bend = self._slope_in_shift(limits, spread, shifts + step)
        return step, ahead, bend

    def _slope_in_shift(self, limits: Limits, spread: float, shifts: Array) -> tuple[Array, Array]:
        """Return slope, and minus the bend, of the log of likelihood times density."""
        one, two, _ = self._bends(limits, spread, shifts).alike
        first, second = self._counted(one), self._counted(two - one**2)
        # The density alone bends by 1; a share that is 0 to the last bit adds only noise.
        return -spread * first - shifts, np.maximum(1 - spread**2 * second, 1.0)

    def _bends(self, limits: Limits, spread: float, shifts: Array) -> _Bends:
        moved = spread * shifts[self.codes]
        share, below, above = self.rows.link.bent(limits[0] - moved, limits[1] - moved)
        return _Bends(np.maximum(share, TINY), below, above)

    def _at_nodes(self, limits: Limits, spread: float, shifts: Array, bends: Array) -> _Nodes:
        """Return every group at every node."""
        places = shifts[:, None] + self.nodes / np.sqrt(bends)[:, None]
        moved = spread * places[self.codes]
        share, below, above = self.rows.link.caught(
            limits[0][:, None] - moved, limits[1][:, None] - moved
        )
        share = np.maximum(share, TINY)
        weights = self.rows.weights[:, None]
        heights = self._sums(weights * np.log(share)) - places**2 / 2 + self.log_weights
        top = heights.max(axis=1, keepdims=True)
        parts = np.exp(heights - top)
        total = parts.sum(axis=1, keepdims=True)
        relative = weights / share
        return _Nodes(
            places, parts / total, relative * below, relative * above, (top + np.log(total))[:, 0]
        )

    def _slope_held(self, nodes: _Nodes) -> Array:
        """Return the slopes with nodes held where they are."""
        weighted = nodes.shares[self.codes]
        slopes = self.rows.upper.T @ np.einsum("rk,rk->r", nodes.high_pulls, weighted)
        slopes -= self.rows.lower.T @ np.einsum("rk,rk->r", nodes.low_pulls, weighted)
        common = self._sums(nodes.high_pulls - nodes.low_pulls)
        return np.append(slopes, -np.sum(nodes.shares * nodes.places * common))

    def _slope_moving(
        self, limits: Limits, spread: float, modes: tuple[Array, Array], nodes: _Nodes
    ) -> Array:
        """Return what the slopes owe to nodes that move with modes and their bends.

        A parameter moves a mode by its mixed derivative over the bend, and a bend by its own
        derivative and by that of the mode.
        """
        shifts, bends = modes
        rows = self._bends(limits, spread, shifts)
        one, two, three = rows.alike
        first, second = self._counted(one), self._counted(two - one**2)
        third = self._counted(three - 3 * one * two + 2 * one**3)
        common = self._sums(nodes.high_pulls - nodes.low_pulls)
        uphill = nodes.shares * (-spread * common - nodes.places)
        by_bend = -(uphill @ self.nodes) / (2 * bends**1.5) - 1 / (2 * bends)
        by_mode = (uphill.sum(axis=1) + by_bend * spread**3 * third) / bends
        low, high = rows.mixed(-spread * by_mode[self.codes], -(spread**2) * by_bend[self.codes])
        weights = self.rows.weights
        in_rows = self.rows.upper.T @ (weights * high) - self.rows.lower.T @ (weights * low)
        in_spread = by_mode * (spread * shifts * second - first)
        in_spread += by_bend * (spread**2 * shifts * third - 2 * spread * second)
        return np.append(in_rows, in_spread.sum())

    def _counted(self, rows: Array) -> Array:
        """Return the sums over the rows of each group, each as often as it stands for itself."""
        return self._sums(self.rows.weights * rows)

    def _sums(self, rows: Array) -> Array:
        sums: Array = np.add.reduceat(rows, self.starts, axis=0)
        return sums
