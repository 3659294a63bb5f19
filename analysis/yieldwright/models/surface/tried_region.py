"""What was tried: the smallest convex figure that holds every place of a row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, QhullError

from yieldwright.errors import AliasedColumnsError
from yieldwright.models.terms.tried_combinations import EDGE

__all__ = ["DECIMALS", "TriedRegion", "tried_region"]

Array = npt.NDArray[np.float64]

#: Coded places that agree to so many decimals are one place: logged decimals carry rounding.
DECIMALS = 10


@dataclass(frozen=True, eq=False)
class TriedRegion:
    """The convex hull of the places tried; outside it nothing is predicted.

    Attributes
    ----------
    places : ndarray
        The different coded places, one row each.
    counts : ndarray
        Rows at each.
    corners : ndarray
        Those of them that span the hull, in two dimensions in order around it.
    normals, offsets : ndarray
        A place x is inside where normals @ x + offsets ≤ 0.
    """

    places: Array
    counts: npt.NDArray[np.intp]
    corners: Array
    normals: Array
    offsets: Array

    @property
    def middle(self) -> Array:
        """The middle of the coded scale where it is inside, else the mean of all rows."""
        origin = np.zeros(self.places.shape[1])
        return origin if self.holds(origin[np.newaxis])[0] else self._mean

    def holds(self, places: Array) -> npt.NDArray[np.bool_]:
        """Return which places lie inside, its edge included.

        Parameters
        ----------
        places : ndarray
            Coded places, one row each.

        Returns
        -------
        ndarray of bool
        """
        beyond = places @ self.normals.T + self.offsets
        return np.asarray((beyond <= EDGE).all(axis=1))

    def lattice(self, at: Array, size: int) -> Array:
        """Return a lattice that fills a slice through the hull, from edge to edge.

        Parameters
        ----------
        at : ndarray
            A place inside; the slice runs through it along the first two numbers.
        size : int
            Lines of the lattice along each of them. [count]

        Returns
        -------
        ndarray, shape (size, size, numbers)
            Places; along the first axis the first number rises, along the second the
            second, each time from the lower to the upper edge.
        """
        flat, offsets = self.normals[:, :2], self.offsets + self.normals[:, 2:] @ at[2:]
        low, high = (_farthest(flat, EDGE - offsets, sign) for sign in (-1.0, 1.0))
        lowest, highest = self.places[:, :2].min(axis=0), self.places[:, :2].max(axis=0)
        across = np.linspace(max(low, lowest[0]), min(high, highest[0]), size)
        beyond = flat[:, :1] * across + offsets[:, np.newaxis]
        with np.errstate(divide="ignore", invalid="ignore"):
            edges = -beyond / flat[:, 1:]
        bottom = np.where(flat[:, 1:] < 0, edges, lowest[1]).max(axis=0)
        top = np.maximum(np.where(flat[:, 1:] > 0, edges, highest[1]).min(axis=0), bottom)
        shares = np.linspace(0, 1, size)
        places = np.tile(at, (size, size, 1))
        places[:, :, 0] = across[:, np.newaxis]
        places[:, :, 1] = bottom[:, np.newaxis] + (top - bottom)[:, np.newaxis] * shares
        return places

    @property
    def _mean(self) -> Array:
        return np.asarray(np.average(self.places, axis=0, weights=self.counts))


def _farthest(normals: Array, limits: Array, sign: float) -> float:
    """Return the lowest or highest first number of a slice."""
    free = [(None, None)] * 2
    found = linprog([-sign, 0.0], A_ub=normals, b_ub=limits, bounds=free)
    return float(np.asarray(found.x)[0])


def tried_region(places: Array) -> TriedRegion:
    """Return the region that some places span.

    Parameters
    ----------
    places : ndarray
        Coded places, one row per row fitted.

    Returns
    -------
    TriedRegion

    Raises
    ------
    AliasedColumnsError
        If they lie on one line or plane.

    Examples
    --------
    >>> region = tried_region(np.array([[-1.0, -1.0], [1.0, -1.0], [0.0, 1.0]]))
    >>> region.holds(np.array([[0.0, 0.0], [1.0, 1.0]])).tolist()
    [True, False]
    """
    distinct, counts = np.unique(places.round(DECIMALS), axis=0, return_counts=True)
    try:
        hull = ConvexHull(distinct)
    except (QhullError, ValueError) as flat:
        raise AliasedColumnsError(
            f"the {len(distinct)} different places tried lie on one line or plane, which is no "
            "region; bring rows beside it"
        ) from flat
    return TriedRegion(
        places=distinct,
        counts=counts,
        corners=distinct[hull.vertices],
        normals=hull.equations[:, :-1],
        offsets=hull.equations[:, -1],
    )
