"""Second-order surfaces in two or three numbers: value, slope and bend at any place."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.models.contrasts.contrasts import Estimate, contrast
from yieldwright.models.contrasts.means import JointTest
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.terms.design import design_of

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit
    from yieldwright.models.terms.terms import Numeric

__all__ = ["Surface"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Surface:
    """The part of a fit that is a second-order surface.

    Places are coded: each number runs from −1 at the lowest value tried to +1 at the
    highest, unless its term was given another scale.

    Attributes
    ----------
    fit : LinearFit
        The fit that holds it.
    terms : tuple of Numeric
        The numbers, with their scales.
    positions : ndarray
        Where its coefficients stand in the fit: slopes, squares, products.
    tried : ndarray
        Coded place of each row fitted.
    groups : ndarray or None
        Number of the group of each row, where the means of groups were taken off before
        fitting.
    """

    fit: LinearFit
    terms: tuple[Numeric, ...]
    positions: npt.NDArray[np.intp]
    tried: Array
    groups: npt.NDArray[np.intp] | None = None

    @property
    def columns(self) -> tuple[str, ...]:
        """Headers of the numbers."""
        return tuple(term.column for term in self.terms)

    @property
    def width(self) -> int:
        """How many numbers."""
        return len(self.terms)

    @cached_property
    def coefficients(self) -> Array:
        """Slopes in the middle, squares, products."""
        return np.asarray(self.fit.params[self.positions])

    @cached_property
    def cov(self) -> Array:
        """Covariance of those coefficients."""
        return self.fit.cov[np.ix_(self.positions, self.positions)]

    @cached_property
    def linear(self) -> Array:
        """Slopes in the middle of what was tried, one per number."""
        return self.coefficients[: self.width]

    @cached_property
    def bends(self) -> Array:
        """Symmetric matrix: squares on its diagonal, half the products off it."""
        return _bend_matrix(self.coefficients[self.width :], self.width)

    def slope_weights(self, place: Array) -> Array:
        """Return the weights of the coefficients in the slopes at a place.

        Parameters
        ----------
        place : ndarray
            Coded place; a place at the origin less another gives the change between them.

        Returns
        -------
        ndarray
            One row per number, one column per coefficient.
        """
        size = self.width
        pairs = list(combinations(range(size), 2))
        weights = np.zeros((size, 2 * size + len(pairs)))
        weights[:, :size] = np.eye(size)
        weights[:, size : 2 * size] = 2 * np.diag(place)
        for column, (first, second) in enumerate(pairs, start=2 * size):
            weights[first, column], weights[second, column] = place[second], place[first]
        return weights

    def slope(self, place: Array) -> Array:
        """Return the slopes at a place, per coded unit.

        Parameters
        ----------
        place : ndarray
            Coded place.

        Returns
        -------
        ndarray
            One per number.
        """
        return np.asarray(self.linear + 2 * self.bends @ place)

    def slope_test(self, place: Array) -> JointTest:
        """Return the F test of whether the surface is level at a place.

        Parameters
        ----------
        place : ndarray
            Coded place.

        Returns
        -------
        JointTest

        Notes
        -----
        The places where it is not significant are the confidence region of the
        stationary point.
        """
        weights = self.slope_weights(place)
        cov, slope = weights @ self.cov @ weights.T, self.slope(place)
        statistic = float(slope @ np.linalg.pinv(cov, hermitian=True) @ slope) / self.width
        if not np.any(cov):
            statistic = np.inf if np.any(slope) else 0.0
        df = self.fit.df_resid
        p_value = float(special.fdtrc(self.width, df, statistic))
        return JointTest("slope", statistic, p_value, self.width, df)

    def row(self, place: Array) -> Array:
        """Return the design row of a place, all else at its mean.

        Parameters
        ----------
        place : ndarray
            Coded place.

        Returns
        -------
        ndarray
            One value per coefficient of the fit.
        """
        return np.asarray(self.rows(place[np.newaxis])[0])

    def rows(self, places: Array) -> Array:
        """Return the design rows of some places, all else at its mean.

        Parameters
        ----------
        places : ndarray
            Coded places, one row each.

        Returns
        -------
        ndarray
            One row per place.
        """
        pairs = combinations(range(self.width), 2)
        products = [places[:, first] * places[:, second] for first, second in pairs]
        rows = np.tile(design_of(self.fit).row(), (len(places), 1))
        rows[:, self.positions] = np.column_stack([places, places**2, *products])
        return rows

    def value(self, place: Array, *, level: float = LEVEL) -> Estimate:
        """Return the mean response at a place, all else at its mean.

        Parameters
        ----------
        place : ndarray
            Coded place; whether it was tried is for the caller to ask.
        level : float
            Confidence level of the interval. [1]

        Returns
        -------
        Estimate
        """
        return contrast(self.fit, self.row(place), term="surface", level=level)

    def change(self, start: Array, end: Array, *, level: float = LEVEL) -> Estimate:
        """Return the difference between two places, the second less the first.

        Parameters
        ----------
        start, end : ndarray
            Coded places.
        level : float
            Confidence level of the interval. [1]

        Returns
        -------
        Estimate
        """
        weights = self.row(end) - self.row(start)
        return contrast(self.fit, weights, term="change", level=level)

    def coded(self, values: Array) -> Array:
        """Return places in coded units.

        Parameters
        ----------
        values : ndarray
            In the units of the columns, one number each along the last axis.

        Returns
        -------
        ndarray
        """
        return np.asarray((values - self._middles) / self._reaches)

    def natural(self, places: Array) -> Array:
        """Return coded places in the units of the columns.

        Parameters
        ----------
        places : ndarray
            One number each along the last axis.

        Returns
        -------
        ndarray
        """
        return np.asarray(self._middles + places * self._reaches)

    @cached_property
    def _middles(self) -> Array:
        return np.array([term.middle for term in self.terms])

    @cached_property
    def _reaches(self) -> Array:
        return np.array([term.reach for term in self.terms])


def _bend_matrix(quadratic: Array, size: int) -> Array:
    """Return the symmetric matrix of squares and products."""
    matrix = np.diag(quadratic[:size])
    for value, (first, second) in zip(quadratic[size:], combinations(range(size), 2), strict=True):
        matrix[first, second] = matrix[second, first] = value / 2
    return matrix
