"""Sums of what lies beyond an allowance: a chart that dates a small lasting change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError
from yieldwright.models.charts.individuals import series_of

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["CusumChart", "accumulated", "cusum_chart"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class CusumChart:
    """Upper and lower sums after each value.

    Attributes
    ----------
    high, low : ndarray
        What values lay above, and below, the target beyond the allowance, summed up and
        never below 0. [unit of the values]
    decision : float
        A sum above it is a signal. [unit of the values]
    """

    high: Array
    low: Array
    decision: float

    @property
    def beyond(self) -> Flags:
        """Whether either sum lies above the decision limit."""
        return (self.high > self.decision) | (self.low > self.decision)

    @property
    def first_high(self) -> int | None:
        """Place of the first signal upwards, counted from 1; None without one."""
        return _first(self.high > self.decision)

    @property
    def first_low(self) -> int | None:
        """Place of the first signal downwards, counted from 1; None without one."""
        return _first(self.low > self.decision)

    def began(self, place: int) -> int:
        """Return where the larger sum last left zero, which dates the change.

        Parameters
        ----------
        place : int
            A point, counted from 0. [count]

        Returns
        -------
        int
            The first point of the sum that stands there, counted from 0.
        """
        sums = self.high if self.high[place] >= self.low[place] else self.low
        at_zero = np.flatnonzero(sums[: place + 1] <= 0)
        return int(at_zero[-1]) + 1 if len(at_zero) else 0


def cusum_chart(
    values: Sequence[float] | Array,
    *,
    target: float,
    allowance: float,
    decision: float,
    head_start: float = 0.0,
) -> CusumChart:
    r"""Return the tabular two-sided chart of cumulative sums of a series.

    Parameters
    ----------
    values : sequence of float
        In the order they came. [any unit]
    target : float
        Level of a steady series. [unit of the values]
    allowance : float
        What each value may lie off without counting, k: half the change to be seen.
        [unit of the values]
    decision : float
        Sum that is a signal, h. [unit of the values]
    head_start : float
        Where both sums begin. [unit of the values]

    Returns
    -------
    CusumChart

    Raises
    ------
    OutOfRangeError
        If a value is missing, the decision limit is not above 0, or allowance or head
        start is negative.

    Notes
    -----
    .. math:: S^+_i = \max(0, S^+_{i-1} + x_i - target - k)

    and likewise downwards. Sums stay in play after a signal.

    References
    ----------
    .. [1] Page (1954), Biometrika 41, 100.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3.
    .. [3] Lucas and Crosier (1982), Technometrics 24, 199: the head start.

    Examples
    --------
    >>> chart = cusum_chart([1.0, 2.0, 3.0], target=0.0, allowance=0.5, decision=4.0)
    >>> chart.high.tolist(), chart.first_high
    ([0.5, 2.0, 4.5], 3)
    """
    series = series_of(values)
    if decision <= 0 or allowance < 0 or head_start < 0:
        raise OutOfRangeError(
            "sums need a decision limit above 0, and an allowance and a head start of 0 or more; "
            f"got {decision:g}, {allowance:g} and {head_start:g}"
        )
    return CusumChart(
        high=accumulated(series - target, allowance, head_start),
        low=accumulated(target - series, allowance, head_start),
        decision=decision,
    )


def accumulated(values: Array, allowance: float, head_start: float = 0.0) -> Array:
    """Return one-sided cumulative sums along the last axis.

    Parameters
    ----------
    values : ndarray
        Distances from the target, one series or many. [any unit]
    allowance : float
        What each may lie off without counting. [unit of the values]
    head_start : float
        Where sums begin. [unit of the values]

    Returns
    -------
    ndarray
        Of the same shape.

    Examples
    --------
    >>> accumulated(np.array([1.0, -2.0, 1.0]), 0.5).tolist()
    [0.5, 0.0, 0.5]
    """
    sums = np.empty_like(values)
    running = np.full(values.shape[:-1], head_start)
    for place in range(values.shape[-1]):
        running = np.maximum(running + values[..., place] - allowance, 0.0)
        sums[..., place] = running
    return sums


def _first(flags: Flags) -> int | None:
    places = np.flatnonzero(flags)
    return int(places[0]) + 1 if len(places) else None
