"""Single values in the order they came, and how far neighbours lie apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.formatting import count
from yieldwright.models.charts.constants import D2_OF_PAIRS, D4_OF_PAIRS, MEDIAN_OF_PAIRS

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["LIMIT", "IndividualsChart", "individuals_chart", "series_of"]

Array = npt.NDArray[np.float64]

#: Limits lie so many standard deviations from the centre.
LIMIT = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class IndividualsChart:
    """Values with centre and limits, and moving ranges with theirs.

    Attributes
    ----------
    observed : ndarray
        Values in the order they came. [any unit]
    center : float
        Mean of the values the limits rest on. [unit of the values]
    sigma : float
        Standard deviation from neighbours: mean moving range / d2. [unit of the values]
    moving_ranges : ndarray
        Distance of each value from the one before; one fewer than values.
    mean_range : float
        Mean or median moving range, whichever was asked for. [unit of the values]
    range_upper : float
        Upper limit of moving ranges. [unit of the values]
    baseline : int
        Values the limits rest on, the first ones. [count]
    """

    observed: Array
    center: float
    sigma: float
    moving_ranges: Array
    mean_range: float
    range_upper: float
    baseline: int

    @property
    def lower(self) -> float:
        """Lower limit: three standard deviations below the centre."""
        return self.center - LIMIT * self.sigma

    @property
    def upper(self) -> float:
        """Upper limit: three standard deviations above the centre."""
        return self.center + LIMIT * self.sigma

    @property
    def standardized(self) -> Array:
        """Values as standard deviations from the centre."""
        return (self.observed - self.center) / self.sigma


def individuals_chart(
    values: Sequence[float] | Array,
    *,
    by: Literal["mean", "median"] = "mean",
    baseline: int | None = None,
    d2: float = D2_OF_PAIRS,
) -> IndividualsChart:
    """Return the chart of individuals and moving ranges of a series.

    Parameters
    ----------
    values : sequence of float
        In the order they came, none missing. [any unit]
    by : {"mean", "median"}
        Which moving range gives the spread; the median heeds single jumps less.
    baseline : int or None
        How many of the first values the limits rest on; None for all. [count]
    d2 : float
        Mean range of two values, in standard deviations; only printed examples with a
        rounded constant need another than the exact one.

    Returns
    -------
    IndividualsChart

    Raises
    ------
    TooFewShotsError
        If there are fewer than two values to rest limits on.
    OutOfRangeError
        If a value is missing or infinite, or all neighbours are the same.

    Notes
    -----
    Neighbours and not the overall spread give the standard deviation, so that a drift or
    a step does not widen the limits that ought to show it.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
    .. [2] ISO 7870-2:2013, clause 6: charts of individuals and moving ranges.

    Examples
    --------
    >>> chart = individuals_chart([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(chart.center, 2), round(chart.lower, 2), round(chart.upper, 2)
    (50.81, 45.82, 55.80)
    """
    series = series_of(values)
    first = len(series) if baseline is None else baseline
    if not 2 <= first <= len(series):
        raise TooFewShotsError(
            f"limits need 2 values at least and rest on {count(first, 'value')} of {len(series)}"
        )
    ranges = np.abs(np.diff(series))
    middle, divisor = _middle(ranges[: first - 1], by, d2)
    if middle <= 0:
        raise OutOfRangeError(
            "neighbouring values are all the same, so no spread can be told: read them finer"
        )
    return IndividualsChart(
        observed=series,
        center=float(series[:first].mean()),
        sigma=middle / divisor,
        moving_ranges=ranges,
        mean_range=middle,
        range_upper=D4_OF_PAIRS * D2_OF_PAIRS * middle / divisor,
        baseline=first,
    )


def series_of(values: Sequence[float] | Array) -> Array:
    """Return values as one row of finite numbers, or say which is none.

    Parameters
    ----------
    values : sequence of float
        In the order they came. [any unit]

    Returns
    -------
    ndarray

    Raises
    ------
    OutOfRangeError
        If a value is missing or infinite.

    Examples
    --------
    >>> series_of([1, 2]).tolist()
    [1.0, 2.0]
    """
    series = np.array(values, dtype=np.float64).reshape(-1)
    wrong = np.flatnonzero(~np.isfinite(series))
    if len(wrong):
        raise OutOfRangeError(
            f"values of a chart must be finite numbers; {len(wrong)} of {len(series)} are not, "
            f"first {series[wrong[0]]} at place {wrong[0] + 1} (leave it out)"
        )
    return series


def _middle(ranges: Array, by: Literal["mean", "median"], d2: float) -> tuple[float, float]:
    """Return the usual moving range and what it is in standard deviations."""
    if by == "median":
        return float(np.median(ranges)), MEDIAN_OF_PAIRS
    return float(ranges.mean()), d2
