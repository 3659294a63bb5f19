"""Alarms of a series: which watcher, from which shot on, and which way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.models.charts.false_alarms import CUSUM, EWMA

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from yieldwright.models.charts.cusum import CusumChart
    from yieldwright.models.charts.ewma import EwmaChart
    from yieldwright.models.charts.false_alarms import Watchers

__all__ = ["Alarm", "alarms_of"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Alarm:
    """One unbroken stretch of shots at which a watcher alarms.

    Attributes
    ----------
    by : str
        Name of the rule, or `ewma` or `cusum`.
    begins : int
        Row of the shot at which the pattern, or the climb to the limit, began.
    first, last : int
        Rows of the first and the last shot that alarm.
    side : int
        1 above the centre, −1 below it, 0 where the pattern has no side.
    """

    by: str
    begins: int
    first: int
    last: int
    side: int


def alarms_of(
    watchers: Watchers,
    flags: Mapping[str, Flags],
    z: Array,
    average: EwmaChart,
    sums: CusumChart,
) -> tuple[Alarm, ...]:
    """Return the stretches that alarm, the earliest first.

    Parameters
    ----------
    watchers : Watchers
        Rules and charts that watch.
    flags : mapping of str to ndarray
        Where each of them alarms.
    z : ndarray
        Standardised values. [standard deviation]
    average : EwmaChart
        Weighted averages.
    sums : CusumChart
        Cumulative sums.

    Returns
    -------
    tuple of Alarm

    Notes
    -----
    A stretch that changes sides is two. An average began to climb where it last crossed
    the centre, a sum where it last left zero.
    """
    above = np.sign(average.averages - average.target).astype(int)
    sides = {EWMA: above, CUSUM: np.where(sums.high >= sums.low, 1, -1)}
    sides |= {rule.name: _sides(rule.pattern, z) for rule in watchers.rules}
    reach = {rule.name: rule.of for rule in watchers.rules}
    found = []
    for name, flagged in flags.items():
        for first, last in _stretches(np.where(flagged, sides[name] + 2, 0)):
            if name == CUSUM:
                begins = sums.began(first)
            elif name == EWMA:
                begins = _crossed(above, first)
            else:
                begins = max(first - reach[name] + 1, 0)
            found.append(Alarm(name, begins, first, last, int(sides[name][first])))
    return tuple(sorted(found, key=lambda alarm: (alarm.first, alarm.begins)))


def _sides(pattern: str, z: Array) -> npt.NDArray[np.int_]:
    """Return the side each shot would alarm on: level, direction of a trend, or none."""
    if pattern == "beyond":
        return np.sign(z).astype(int)
    if pattern == "trend":
        return np.sign(np.diff(z, prepend=z[:1])).astype(int)
    return np.zeros(len(z), dtype=int)


def _crossed(above: npt.NDArray[np.int_], place: int) -> int:
    """Return the first shot of the unbroken stretch on one side that ends at a place."""
    elsewhere = np.flatnonzero(above[: place + 1] != above[place])
    return int(elsewhere[-1]) + 1 if len(elsewhere) else 0


def _stretches(codes: npt.NDArray[np.int_]) -> Iterator[tuple[int, int]]:
    """Yield first and last place of each unbroken stretch of one code that is not 0."""
    edges = np.flatnonzero(np.diff(codes)) + 1
    for start, end in zip([0, *edges], [*edges, len(codes)], strict=True):
        if codes[start]:
            yield int(start), int(end) - 1
