"""Trend of a variance over time, in shares of itself, exact for normal values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from yieldwright.errors import AliasedColumnsError, OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL

__all__ = ["VarianceTrend", "slope_errors", "trend_design", "variance_slope", "variance_trend"]

Array = npt.NDArray[np.float64]

#: Draws behind an interval: coverage is then known to a quarter of a point.
DRAWS = 4000

#: Fisher's scoring closes in fast; a step is never longer than this in log variance.
ROUNDS, LONGEST_STEP = 60, 3.0


@dataclass(frozen=True, slots=True)
class VarianceTrend:
    """Change of the logarithm of a variance per unit of time.

    Attributes
    ----------
    slope, low, high : float
        Estimate and limits, per unit of time. [1]
    p_value : float
        Two-sided test against no change.
    """

    slope: float
    low: float
    high: float
    p_value: float

    @property
    def sd_change(self) -> tuple[float, float, float]:
        """Change of the standard deviation per unit of time as a share: estimate, low, high."""
        change, low, high = np.expm1(np.array([self.slope, self.low, self.high]) / 2).tolist()
        return change, low, high


def trend_design(times: Array, groups: npt.NDArray[np.object_] | None = None) -> Array:
    """Return the design of a trend: time in the last column, a level for each group before it.

    Parameters
    ----------
    times : ndarray
        When each sum of squares was taken. [any unit of time]
    groups : ndarray or None
        What else each belongs to; None where there is one level.

    Returns
    -------
    ndarray

    Raises
    ------
    AliasedColumnsError
        If time cannot be told from the groups: no group was met at two times.

    Examples
    --------
    >>> trend_design(np.array([0.0, 1.0, 3.0])).tolist()
    [[1.0, -1.33], [1.0, -0.33], [1.0, 1.67]]
    """
    named = np.zeros(len(times)) if groups is None else groups
    levels = list(dict.fromkeys(named.tolist()))
    columns = [np.asarray(named == level, dtype=np.float64) for level in levels]
    design = np.column_stack([*columns, times - times.mean()])
    if np.linalg.matrix_rank(design) < design.shape[1]:
        raise AliasedColumnsError(
            "time cannot be told from the groups: none of them was met at two times",
            columns=("time", "group"),
        )
    return design


def variance_trend(
    squares: Array,
    dfs: Array,
    design: Array,
    *,
    rng: np.random.Generator,
    level: float = LEVEL,
) -> VarianceTrend:
    """Return the trend of a variance from sums of squares taken at several times.

    Parameters
    ----------
    squares : ndarray
        Sums of squared residuals. [square of any unit]
    dfs : ndarray
        Degrees of freedom of each. [1]
    design : ndarray
        From `trend_design`.
    rng : Generator
        Source of the draws behind the interval.
    level : float
        Confidence level. [1]

    Returns
    -------
    VarianceTrend

    Raises
    ------
    OutOfRangeError
        If a sum is negative, or so many are 0 that no trend can be found.
    AliasedColumnsError
        If time and groups cannot be told apart.

    Notes
    -----
    For normal values each sum is σ² times a chi-square, so that its logarithm is a level
    plus a slope times time plus an error of known law. Shifting or tilting the logarithms
    shifts and tilts the maximum-likelihood line alike: the error of its slope has a law that
    depends on no unknown, and drawing it gives an interval that is exact but for the number
    of draws, on three sums as on thirty.

    References
    ----------
    .. [1] Davidian and Carroll (1987), J. Am. Stat. Assoc. 82, 1079, on variance functions.
    .. [2] Antle and Bain (1969), SIAM Rev. 11, 251: errors of maximum likelihood without an
       unknown.

    Examples
    --------
    >>> times = np.arange(5.0)
    >>> squares = 9 * np.exp(-0.5 * times)
    >>> found = variance_trend(
    ...     squares, np.full(5, 9.0), trend_design(times), rng=np.random.default_rng(1)
    ... )
    >>> round(found.slope, 3), found.low < -0.5 < found.high
    (-0.5, True)
    """
    slope = float(variance_slope(squares[None, :], dfs, design)[0])
    errors = slope_errors(dfs, design, rng=rng)
    return _around(slope, errors, level)


def slope_errors(dfs: Array, design: Array, *, rng: np.random.Generator) -> Array:
    """Return draws of how far the slope falls from the truth, sorted.

    Parameters
    ----------
    dfs : ndarray
        Degrees of freedom of each sum of squares. [1]
    design : ndarray
        From `trend_design`.
    rng : Generator
        Source of chance.

    Returns
    -------
    ndarray
    """
    draws = rng.chisquare(dfs, size=(DRAWS, len(dfs)))
    return np.sort(variance_slope(draws, dfs, design))


def variance_slope(squares: Array, dfs: Array, design: Array) -> Array:
    """Return the maximum-likelihood slope of the logarithm of a variance, one per row.

    Parameters
    ----------
    squares : ndarray
        One row per set of sums of squares.
    dfs : ndarray
        Degrees of freedom of each column. [1]
    design : ndarray
        One row per column of `squares`, time in its last column.

    Returns
    -------
    ndarray

    Raises
    ------
    OutOfRangeError
        If a sum is negative, or so many are 0 that no trend can be found.

    Notes
    -----
    A gamma law with a logarithmic link, by Fisher's scoring.
    """
    _require_findable(squares, design)
    information = design.T @ (dfs[:, None] * design)
    solver = np.linalg.solve(information, design.T)
    scale = squares.sum(axis=1, keepdims=True) / dfs.sum()
    relative = squares / scale
    found = np.zeros((len(squares), design.shape[1]))
    for _ in range(ROUNDS):
        step = (relative * np.exp(-found @ design.T) - dfs) @ solver.T
        longest = np.abs(step @ design.T).max(axis=1, keepdims=True)
        step *= np.minimum(1.0, LONGEST_STEP / np.maximum(longest, 1e-300))
        found += step
        if longest.max() < 1e-9:
            break
    return np.asarray(found[:, -1], dtype=np.float64)


def _require_findable(squares: Array, design: Array) -> None:
    if (squares < 0).any():
        raise OutOfRangeError("a sum of squares cannot be negative")
    for row in squares[(squares == 0).any(axis=1)]:
        if np.linalg.matrix_rank(design[row > 0]) < design.shape[1]:
            raise OutOfRangeError(
                "too many sums of squares are 0 for a trend of the variance (log one more decimal)"
            )


def _around(slope: float, errors: Array, level: float) -> VarianceTrend:
    low, high = np.quantile(errors, [(1 - level) / 2, (1 + level) / 2])
    beyond = float(np.mean(errors >= slope)), float(np.mean(errors <= slope))
    p_value = min(2 * min(beyond) + 1 / len(errors), 1.0)
    return VarianceTrend(slope, slope - float(high), slope - float(low), p_value)
