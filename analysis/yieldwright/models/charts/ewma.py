"""Averages that forget slowly: a chart for small lasting changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import signal

from yieldwright.errors import OutOfRangeError
from yieldwright.models.charts.individuals import series_of

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["EwmaChart", "ewma_chart", "ewma_reach", "smoothed"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class EwmaChart:
    """Exponentially weighted averages with their limits.

    Attributes
    ----------
    averages : ndarray
        After each value. [unit of the values]
    target : float
        Where the average begins, and the centre. [unit of the values]
    reach : ndarray
        Exact distance of the limits from the target at each value; it grows from the
        first value on. [unit of the values]
    lasting_reach : float
        The distance it comes to after many values. [unit of the values]
    weight : float
        Share of the newest value. [1]
    """

    averages: Array
    target: float
    reach: Array
    lasting_reach: float
    weight: float

    @property
    def lower(self) -> Array:
        """Exact lower limit at each value."""
        return self.target - self.reach

    @property
    def upper(self) -> Array:
        """Exact upper limit at each value."""
        return self.target + self.reach

    @property
    def beyond(self) -> Flags:
        """Whether each average lies outside its exact limits."""
        return np.abs(self.averages - self.target) > self.reach


def ewma_chart(
    values: Sequence[float] | Array, *, target: float, sigma: float, weight: float, limit: float
) -> EwmaChart:
    r"""Return the chart of exponentially weighted averages of a series.

    Parameters
    ----------
    values : sequence of float
        In the order they came. [any unit]
    target : float
        Level of a steady series. [unit of the values]
    sigma : float
        Standard deviation of one value. [unit of the values]
    weight : float
        Share of the newest value, λ. [1]
    limit : float
        Distance of the limits, L, in standard deviations of the average. [1]

    Returns
    -------
    EwmaChart

    Raises
    ------
    OutOfRangeError
        If a value is missing, the weight is not in (0, 1], or spread or limit is not
        above 0.

    Notes
    -----
    .. math:: z_i = λ x_i + (1 - λ) z_{i-1},\quad
       z_0 = target,\quad
       L σ \sqrt{\tfrac{λ}{2 - λ} (1 - (1 - λ)^{2i})}

    References
    ----------
    .. [1] Roberts (1959), Technometrics 1, 239.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.

    Examples
    --------
    >>> chart = ewma_chart([52, 47, 53], target=50, sigma=2.0539, weight=0.3, limit=3)
    >>> chart.averages.round(3).tolist(), round(chart.target + chart.lasting_reach, 4)
    ([50.6, 49.52, 50.564], 52.5884)
    """
    series = series_of(values)
    if not (0 < weight <= 1 and sigma > 0 and limit > 0):
        raise OutOfRangeError(
            "an average needs a weight above 0 and at most 1, and a spread and a limit above 0; "
            f"got weight {weight:g}, spread {sigma:g}, limit {limit:g}"
        )
    return EwmaChart(
        averages=target + smoothed(series - target, weight),
        target=target,
        reach=sigma * ewma_reach(len(series), weight, limit),
        lasting_reach=float(limit * sigma * np.sqrt(weight / (2 - weight))),
        weight=weight,
    )


def smoothed(values: Array, weight: float) -> Array:
    """Return exponentially weighted averages along the last axis, beginning at 0.

    Parameters
    ----------
    values : ndarray
        Distances from the target, one series or many. [any unit]
    weight : float
        Share of the newest value. [1]

    Returns
    -------
    ndarray
        Of the same shape.

    Examples
    --------
    >>> smoothed(np.array([1.0, 0.0]), 0.5).tolist()
    [0.5, 0.25]
    """
    return np.asarray(signal.lfilter([weight], [1.0, weight - 1.0], values, axis=-1))


def ewma_reach(n_values: int, weight: float, limit: float) -> Array:
    """Return the exact distance of the limits from the target after each value.

    Parameters
    ----------
    n_values : int
        How many values. [count]
    weight : float
        Share of the newest value. [1]
    limit : float
        In standard deviations of the average. [1]

    Returns
    -------
    ndarray
        In standard deviations of one value.

    Examples
    --------
    >>> ewma_reach(2, 0.5, 3.0).round(4).tolist()
    [1.5, 1.6771]
    """
    forgotten = 1 - (1 - weight) ** (2 * np.arange(1, n_values + 1))
    return np.asarray(limit * np.sqrt(weight / (2 - weight) * forgotten))
