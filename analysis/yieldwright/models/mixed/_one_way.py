"""One random intercept: groups matter by their size alone, so like sizes are summed once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import log, pi
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.linalg import lapack

from yieldwright.models.mixed._bend import VANISHING, Bend

if TYPE_CHECKING:
    from yieldwright.models.mixed._crossproducts import Crossproducts

__all__ = ["Along", "OneWay", "one_way"]

Array = npt.NDArray[np.float64]


class Along(NamedTuple):
    """A quantity along a single parameter, with its first and second derivative."""

    value: float
    first: float
    second: float


@dataclass(frozen=True, eq=False)
class OneWay:
    """Crossproducts within groups, summed over groups of one size.

    Attributes
    ----------
    sizes, counts : ndarray
        Rows of a group, and how many groups have so many.
    squares : ndarray
        For each size, the sum of the outer products of the groups' sums.
    total : ndarray
        Crossproducts of the columns of the design and the response.
    """

    sizes: Array
    counts: Array
    squares: Array
    total: Array

    @cached_property
    def at_zero(self) -> tuple[Along, Along, Along]:
        """What `along` gives where groups do not differ, which is asked for twice."""
        return self.along(0.0)

    def along(self, ratio: float) -> tuple[Along, Along, Along]:
        """Return log det V, log det X'V⁻¹X and y'Py at a relative variance.

        Parameters
        ----------
        ratio : float
            ψ, the variance between groups over that within. [1]

        Returns
        -------
        rows, columns, quadratic : Along
        """
        grown = 1 + self.sizes * ratio
        shares = self.sizes / grown
        kept = np.array([-ratio / grown, -1 / grown**2, 2 * shares / grown**2])
        added, first, second = (kept @ self.squares).reshape(3, *self.total.shape)
        lower, failed = lapack.dpotrf(self.total + added, lower=1)
        if failed:
            raise np.linalg.LinAlgError("rounding leaves nothing of the response within groups")
        root, _ = lapack.dtrtri(lower, lower=1)
        # The last row is the response less what the columns explain, over its size.
        size = float(lower[-1, -1])
        ends = root[-1] * size
        inside = root[:-1, :-1].T @ root[:-1, :-1]
        pulled = first @ ends
        bent = ends @ second @ ends - 2 * pulled[:-1] @ inside @ pulled[:-1]
        moved = inside @ first[:-1, :-1]
        turned = np.vdot(inside, second[:-1, :-1]) - np.vdot(moved, moved.T)
        weighted = self.counts * shares
        return (
            Along(
                float(self.counts @ np.log(grown)),
                float(weighted.sum()),
                -float(weighted @ shares),
            ),
            Along(
                2 * float(np.log(lower.diagonal()[:-1]).sum()),
                float(np.vdot(inside, first[:-1, :-1])),
                float(turned),
            ),
            Along(size**2, float(ends @ pulled), float(bent)),
        )

    def bend(self, factor: float, df: int, *, reml: bool) -> Bend:
        """Return the deviance with its derivatives in θ, whose square is ψ, and log variance.

        Parameters
        ----------
        factor : float
            θ, the spread between groups over that within. [1]
        df : int
            Rows behind the row variance, which is the one that fits best. [1]
        reml : bool
            Whether the columns of the design are averaged out.

        Returns
        -------
        Bend
        """
        deviance, pull = self._deviance(factor, df, reml=reml)
        beside = -2 * factor * pull
        own = 4 * factor**2 * deviance.second + 2 * deviance.first
        hessian = np.array([[own, beside], [beside, df]])
        return Bend(deviance.value, np.array([2 * factor * deviance.first, 0.0]), hessian)

    def profiled(self, factor: float, df: int, *, reml: bool) -> Along:
        """Return the deviance at the row variance that fits best, along θ alone.

        Parameters
        ----------
        factor : float
            θ, the spread between groups over that within. [1]
        df : int
            Rows behind the row variance. [1]
        reml : bool
            Whether the columns of the design are averaged out.

        Returns
        -------
        Along
        """
        deviance, pull = self._deviance(factor, df, reml=reml)
        own = 4 * factor**2 * (deviance.second - pull**2 / df) + 2 * deviance.first
        return Along(deviance.value, 2 * factor * deviance.first, own)

    def _deviance(self, factor: float, df: int, *, reml: bool) -> tuple[Along, float]:
        """Return the deviance along ψ at a row variance held, and what y'Py has in its slope."""
        rows, columns, quadratic = self.along(factor**2) if factor else self.at_zero
        variance = max(quadratic.value, VANISHING) / df
        value = df * (log(2 * pi * variance) + 1) + rows.value
        first = rows.first + quadratic.first / variance
        second = rows.second + quadratic.second / variance
        if reml:
            value += columns.value
            first += columns.first
            second += columns.second
        return Along(value, first, second), quadratic.first / variance


def one_way(sums: Crossproducts) -> OneWay:
    """Return the sums by size of group of a single random intercept.

    Parameters
    ----------
    sums : Crossproducts
        Of one grouping without a slope.

    Returns
    -------
    OneWay
    """
    order = np.argsort(sums.near[:, 0, 0], kind="stable")
    sorted_sums = sums.near[order, 0]
    sizes, shared = sorted_sums[:, 0], sorted_sums[:, 1:]
    starts = np.flatnonzero(np.diff(sizes, prepend=0.0))
    products = (shared[:, :, np.newaxis] * shared[:, np.newaxis]).reshape(len(shared), -1)
    squares = np.add.reduceat(products, starts, axis=0)
    counts = np.diff(starts, append=len(sizes)).astype(float)
    return OneWay(sizes[starts], counts, squares, sums.rest)
