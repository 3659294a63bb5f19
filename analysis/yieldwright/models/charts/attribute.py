"""Counts in the order they came: shares of a number that were bad, and plain counts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.charts.individuals import LIMIT

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["CountChart", "count_chart", "share_chart"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class CountChart:
    """Shares or counts with centre and limits.

    Attributes
    ----------
    observed : ndarray
        Shares or counts, in the order they came.
    center : float
        Share of all, or mean count.
    lower, upper : ndarray
        Limits at each value: never below 0, and for shares never above 1.
    """

    observed: Array
    center: float
    lower: Array
    upper: Array

    @property
    def beyond(self) -> Flags:
        """Whether each value lies outside its limits."""
        return (self.observed < self.lower) | (self.observed > self.upper)


def share_chart(bad: Sequence[float] | Array, of: Sequence[float] | Array) -> CountChart:
    """Return the p chart of shares that were bad.

    Parameters
    ----------
    bad : sequence of float
        How many were bad. [count]
    of : sequence of float
        Of how many, each at least 1. [count]

    Returns
    -------
    CountChart

    Raises
    ------
    MisalignedError
        If the two differ in length, or there are none.
    OutOfRangeError
        If a count is negative, missing, or above what it is of.

    Notes
    -----
    Limits lie three standard deviations √(p (1 − p) / n) from the share of all: rough
    where n·p is below about 5, and then an exact chance is to be told beside them.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2.

    Examples
    --------
    >>> chart = share_chart([1, 0, 2, 9], [10, 10, 10, 10])
    >>> round(chart.center, 2), chart.upper.round(3).tolist()[:1], chart.beyond.tolist()
    (0.3, [0.735], [False, False, False, True])
    """
    counts, sizes = np.asarray(bad, dtype=np.float64), np.asarray(of, dtype=np.float64)
    if counts.shape != sizes.shape or not counts.size:
        raise MisalignedError(
            f"each count needs the number it is of; got {counts.size} and {sizes.size}"
        )
    if not ((counts >= 0) & (counts <= sizes) & (sizes >= 1)).all():
        raise OutOfRangeError("a count must lie between 0 and the number it is of")
    center = float(counts.sum() / sizes.sum())
    reach = LIMIT * np.sqrt(center * (1 - center) / sizes)
    lower, upper = np.maximum(center - reach, 0.0), np.minimum(center + reach, 1.0)
    return CountChart(counts / sizes, center, lower, upper)


def count_chart(counts: Sequence[float] | Array) -> CountChart:
    """Return the c chart of counts over equal stretches.

    Parameters
    ----------
    counts : sequence of float
        In the order they came. [count]

    Returns
    -------
    CountChart

    Raises
    ------
    OutOfRangeError
        If there are none, or one is negative or missing.

    Notes
    -----
    Limits lie three standard deviations √c from the mean count.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1.

    Examples
    --------
    >>> chart = count_chart([4, 5, 3, 4])
    >>> chart.center, chart.lower.tolist()[0], chart.upper.tolist()[0]
    (4.0, 0.0, 10.0)
    """
    values = np.asarray(counts, dtype=np.float64)
    if not values.size or not (np.isfinite(values) & (values >= 0)).all():
        raise OutOfRangeError("counts must be numbers of 0 or more")
    center = float(values.mean())
    reach = np.full(values.shape, LIMIT * np.sqrt(center))
    return CountChart(values, center, np.maximum(center - reach, 0.0), center + reach)
