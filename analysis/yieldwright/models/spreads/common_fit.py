"""Levels of groups in one common fit, where each group has a spread of its own."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError

__all__ = ["CommonFit", "OwnSpread", "WeightedSum", "own_spread", "satterthwaite_sum"]

Array = npt.NDArray[np.float64]

#: Smallest share of the largest singular value that counts as a direction of its own.
RANK_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class OwnSpread:
    """Spread of some rows about a fit of their own.

    Attributes
    ----------
    sd : float
        Standard deviation about the fit; missing without degrees of freedom.
    df : int
        Rows less the rank of their design. [1]
    residuals : ndarray
        One per row.
    """

    sd: float
    df: int
    residuals: Array


@dataclass(frozen=True, slots=True)
class WeightedSum:
    """A weighted sum of rows with what unequal variances make of it.

    Attributes
    ----------
    estimate, std_error : float
        Value and standard error. [unit of the values]
    df : float
        Degrees of freedom of the standard error. [1]
    """

    estimate: float
    std_error: float
    df: float


def own_spread(design: Array, values: Array) -> OwnSpread:
    """Return the spread of rows about a least-squares fit to those rows alone.

    Parameters
    ----------
    design : ndarray
        One row per row; columns may be aliased.
    values : ndarray
        One finite value per row. [any unit]

    Returns
    -------
    OwnSpread

    Raises
    ------
    MisalignedError
        If there is not one value per row.

    Notes
    -----
    The expected sum of squared residuals is σ² tr(I − H) = σ² (rows − rank), and for
    normal values it is σ² times a chi-square on as many degrees of freedom, whatever the
    other groups do. Residuals of a fit that groups share are not: with blocks in common,
    the noise of one group enters the residuals of another.

    Examples
    --------
    >>> found = own_spread(np.ones((4, 1)), np.array([1.0, 2.0, 3.0, 4.0]))
    >>> round(found.sd, 3), found.df
    (1.291, 3)
    """
    if len(values) != len(design):
        raise MisalignedError(f"{len(values)} values came for {len(design)} rows")
    basis = _basis(design)
    residuals = values - basis @ (basis.T @ values)
    df = len(values) - basis.shape[1]
    sd = float(np.sqrt(residuals @ residuals / df)) if df else float("nan")
    return OwnSpread(_without_dust(sd, values), df, residuals)


def satterthwaite_sum(
    estimate: float, squares: Sequence[float], sds: Sequence[float], dfs: Sequence[float]
) -> WeightedSum:
    """Return a weighted sum of rows whose groups have variances of their own.

    Parameters
    ----------
    estimate : float
        The sum itself. [any unit]
    squares : sequence of float
        Sum of the squared weights of the rows of each group. [1]
    sds, dfs : sequence of float
        Standard deviation of each group, and its degrees of freedom.

    Returns
    -------
    WeightedSum
        Missing where a group that counts has no spread.

    References
    ----------
    .. [1] Satterthwaite (1946), Biometrics Bull. 2, 110; for two groups and nothing else
       Welch (1947), Biometrika 34, 28.

    Examples
    --------
    >>> found = satterthwaite_sum(1.0, [1 / 10, 1 / 10], [2.0, 1.0], [9, 9])
    >>> round(found.std_error, 3), round(found.df, 2)
    (0.707, 13.24)
    """
    parts = [
        (square * sd**2, df)
        for square, sd, df in zip(squares, sds, dfs, strict=True)
        if square > 0
    ]
    variance = sum(part for part, _ in parts)
    if not variance > 0 or not all(df > 0 for _, df in parts):
        return WeightedSum(estimate, float("nan"), float("nan"))
    df = variance**2 / sum(part**2 / own for part, own in parts)
    return WeightedSum(estimate, float(np.sqrt(variance)), df)


@dataclass(frozen=True, eq=False)
class CommonFit:
    """A design whose first columns are one per group; columns may be aliased.

    Attributes
    ----------
    design : ndarray
        One row per row, one column per coefficient.
    groups : tuple of hashable
        Group of each row.
    """

    design: Array
    groups: tuple[Hashable, ...]

    def estimable(self, weights: Array) -> bool:
        """Return whether the rows determine a weighted sum of coefficients.

        Parameters
        ----------
        weights : ndarray
            One per column of the design.

        Returns
        -------
        bool
        """
        rebuilt = weights @ self._resolved
        return bool(np.allclose(rebuilt, weights, atol=1e-7 * max(1.0, np.abs(weights).max())))

    def row_weights(self, weights: Array) -> Array:
        """Return the weight of each row in a weighted sum of coefficients.

        Parameters
        ----------
        weights : ndarray
            One per column of the design.

        Returns
        -------
        ndarray
        """
        return np.asarray(weights @ self._solver, dtype=np.float64)

    def squares_by_group(self, row_weights: Array) -> dict[Hashable, float]:
        """Return the sum of the squared weights of the rows of each group.

        Parameters
        ----------
        row_weights : ndarray
            One per row.

        Returns
        -------
        dict of hashable to float
        """
        names, codes = self._coded
        sums = np.bincount(codes, weights=row_weights**2, minlength=len(names))
        return dict(zip(names, sums.tolist(), strict=True))

    def spread(self, values: Array) -> OwnSpread:
        """Return the spread of all rows about the fit, one for all groups.

        Parameters
        ----------
        values : ndarray
            One finite value per row. [any unit]

        Returns
        -------
        OwnSpread
        """
        return own_spread(self.design, values)

    @cached_property
    def _solver(self) -> Array:
        """What takes values to the coefficients of least length."""
        return np.asarray(np.linalg.pinv(self.design, rcond=RANK_TOLERANCE), dtype=np.float64)

    @cached_property
    def _resolved(self) -> Array:
        """What the coefficients of least length are of the true ones."""
        return np.asarray(self._solver @ self.design, dtype=np.float64)

    @cached_property
    def _coded(self) -> tuple[tuple[Hashable, ...], npt.NDArray[np.intp]]:
        """Names of the groups in the order they are met, and the number of each row's."""
        names = tuple(dict.fromkeys(self.groups))
        place = {name: number for number, name in enumerate(names)}
        return names, np.array([place[group] for group in self.groups], dtype=np.intp)


def _basis(design: Array) -> Array:
    """Return orthonormal columns that span those of a design."""
    left, singular, _ = np.linalg.svd(design, full_matrices=False)
    return np.asarray(left[:, singular > RANK_TOLERANCE * singular.max()], dtype=np.float64)


def _without_dust(sd: float, values: Array) -> float:
    """Return 0 for a spread that is rounding of the machine and nothing else."""
    scale = float(np.abs(values).max(initial=0.0))
    return 0.0 if sd <= 1e-12 * scale else sd
