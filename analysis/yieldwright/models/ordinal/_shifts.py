"""What becomes of log-shares of rows where their groups shift: by slopes, and at nodes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from yieldwright.models.ordinal._links import Link

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Stands for a share that is 0 to the last bit.
TINY = float(np.finfo(float).tiny)

#: Places beyond which logistic shares are rounding; the product of four exponentials of this
#: size is still a number.
FAR = 170.0


class Block(NamedTuple):
    """Rows of some groups, one after the other.

    Attributes
    ----------
    rows, groups : slice
        Which of all.
    starts, codes : ndarray of int
        First row of each of these groups, and group of each of these rows, from 0.
    weights : ndarray
        How often each row stands for itself.
    """

    rows: slice
    groups: slice
    starts: Codes
    codes: Codes
    weights: Array

    def sums(self, values: Array) -> Array:
        """Return the sums over the rows of each group."""
        return np.asarray(np.add.reduceat(values, self.starts, axis=0), dtype=np.float64)


class Around(NamedTuple):
    """Derivatives of log-shares of rows at given shifts.

    Attributes
    ----------
    first, second, third : ndarray
        Where both limits move alike.
    low, high : tuple of ndarray
        Of first and second where the lower limit alone falls, or the upper alone rises.
    """

    first: Array
    second: Array
    third: Array
    low: tuple[Array, Array]
    high: tuple[Array, Array]


class Nodes(Protocol):
    """Rows of a block at the nodes of their groups."""

    @property
    def heights(self) -> Array:
        """Sums of log-shares: groups × nodes."""

    def pulled(self, shares: Array) -> tuple[Array, Array, Array]:
        """Return slopes where lower limits fall and upper ones rise, and where both rise.

        The former are averages over nodes by their shares, one per row; the last are sums
        over rows: groups × nodes.
        """


class Shifts(Protocol):
    """Rows between limits that shift with their groups, by an amount taken off both limits."""

    def bent(self, moved: Array, codes: Codes) -> tuple[Array, Array]:
        """Return first and second derivative where both limits move alike."""

    def around(self, moved: Array, codes: Codes) -> Around:
        """Return all derivatives."""

    def at_nodes(self, block: Block, moved: Array) -> Nodes:
        """Return the rows of a block at the shifts of its groups: groups × nodes."""


def shifted(link: Link, low: Array, high: Array) -> Shifts:
    """Return rows between limits that shift.

    Parameters
    ----------
    link : Link
        Distribution of what is caught between them.
    low, high : ndarray
        Limits of each row, the lower one below the upper one.

    Returns
    -------
    Shifts
    """
    return _logistic(low, high) if link.name == "logit" else _OfLink(link, low, high)


@dataclass(frozen=True, slots=True, eq=False)
class _Logistic:
    """Rows between limits a and b of a logistic distribution.

    The log-share is log(eᵇ − eᵃ) − x − log(1 + eᵃ⁻ˣ) − log(1 + eᵇ⁻ˣ) at a shift x, so that all
    derivatives are polynomials of the shares above either limit. Exponentials of limits and of
    shifts are taken apart and multiplied.
    """

    below: Array
    above: Array
    bounded: Array
    constant: Array
    narrow: Array

    def _left(self, moved: Array, codes: Codes) -> tuple[Array, Array]:
        """Return the shares above both limits; 1 where there is no upper limit."""
        turned = np.exp(np.clip(-moved, -FAR, FAR))[codes]
        return 1 / (1 + self.below * turned), 1 / (1 + self.above * turned)

    def bent(self, moved: Array, codes: Codes) -> tuple[Array, Array]:
        over_low, over_high = self._left(moved, codes)
        first = over_low + over_high - (2 - self.bounded)
        return first, over_low * (over_low - 1) + over_high * (over_high - 1)

    def around(self, moved: Array, codes: Codes) -> Around:
        over_low, over_high = self._left(moved, codes)
        first = over_low + over_high - (2 - self.bounded)
        low, high = over_low * (over_low - 1), over_high * (over_high - 1)
        low_slope, high_slope = low * (2 * over_low - 1), high * (2 * over_high - 1)
        both = low + high, low_slope + high_slope
        return Around(first, *both, (-low, -low_slope), (high, high_slope))

    def at_nodes(self, block: Block, moved: Array) -> _LogisticNodes:
        turned = np.exp(np.clip(-moved, -FAR, FAR))[block.codes]
        low = self.below[block.rows, np.newaxis] * turned
        high = np.multiply(self.above[block.rows, np.newaxis], turned, out=turned)
        low += 1
        high += 1
        logs = low * high
        np.log(logs, out=logs)
        logs *= block.weights[:, np.newaxis]
        bounded, constant = self.bounded[block.rows], self.constant[block.rows]
        heights = block.sums(block.weights * constant)[:, np.newaxis] - block.sums(logs)
        heights -= block.sums(block.weights * bounded)[:, np.newaxis] * moved
        return _LogisticNodes(block, heights, low, high, bounded, self.narrow[block.rows])


@dataclass(frozen=True, slots=True, eq=False)
class _LogisticNodes:
    block: Block
    heights: Array
    low: Array
    high: Array
    bounded: Array
    narrow: Array

    def pulled(self, shares: Array) -> tuple[Array, Array, Array]:
        over_low, over_high = np.reciprocal(self.low), np.reciprocal(self.high)
        weights, spread = self.block.weights, shares[self.block.codes]
        low = weights * (self.narrow + 1 - np.einsum("rk,rk->r", over_low, spread))
        high = weights * (self.narrow + np.einsum("rk,rk->r", over_high, spread))
        over_low += over_high
        over_low *= weights[:, np.newaxis]
        unbounded = self.block.sums(weights * (2 - self.bounded))
        return low, high, self.block.sums(over_low) - unbounded[:, np.newaxis]


def _logistic(low: Array, high: Array) -> _Logistic:
    bounded = np.isfinite(high)
    distance = high - low
    upper = np.where(bounded, high, 0.0)
    return _Logistic(
        below=np.exp(np.minimum(low, FAR)),
        above=np.where(bounded, np.exp(np.minimum(upper, FAR)), 0.0),
        bounded=bounded.astype(float),
        constant=np.where(bounded, upper + np.log(-np.expm1(-distance)), 0.0),
        narrow=np.exp(-distance) / -np.expm1(-distance),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _OfLink:
    """Rows between limits of any distribution whose density has slopes and bends."""

    link: Link
    low: Array
    high: Array

    def bent(self, moved: Array, codes: Codes) -> tuple[Array, Array]:
        found = self.around(moved, codes)
        return found.first, found.second

    def around(self, moved: Array, codes: Codes) -> Around:
        off = moved[codes]
        share, below, above = self.link.bent(self.low - off, self.high - off)
        share = np.maximum(share, TINY)
        pairs = zip(below, above, strict=True)
        one, two, three = ((high - low) / share for low, high in pairs)
        low, high = (
            (
                (slope - one * density) / share,
                (bend - two * density - 2 * one * slope + 2 * one**2 * density) / share,
            )
            for density, slope, bend in (below, above)
        )
        third = three - 3 * one * two + 2 * one**3
        return Around(one, two - one**2, third, low, high)

    def at_nodes(self, block: Block, moved: Array) -> _NodesOfLink:
        off = moved[block.codes]
        low, high = self.low[block.rows, np.newaxis], self.high[block.rows, np.newaxis]
        share, below, above = self.link.caught(low - off, high - off)
        share = np.maximum(share, TINY)
        weights = block.weights[:, np.newaxis]
        relative = weights / share
        heights = block.sums(weights * np.log(share))
        return _NodesOfLink(block, heights, relative * below, relative * above)


@dataclass(frozen=True, slots=True, eq=False)
class _NodesOfLink:
    block: Block
    heights: Array
    low: Array
    high: Array

    def pulled(self, shares: Array) -> tuple[Array, Array, Array]:
        spread = shares[self.block.codes]
        low, high = (np.einsum("rk,rk->r", part, spread) for part in (self.low, self.high))
        return low, high, self.block.sums(self.high - self.low)
