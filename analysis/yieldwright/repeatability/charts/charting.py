"""The charts of one series: single values, weighted average and sums, and what they alarm at."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.models.charts.constants import D2_OF_PAIRS
from yieldwright.models.charts.cusum import cusum_chart
from yieldwright.models.charts.ewma import ewma_chart
from yieldwright.models.charts.false_alarms import adjusted_for
from yieldwright.models.charts.individuals import individuals_chart
from yieldwright.repeatability.charts.alarms import alarms_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldwright.models.charts.cusum import CusumChart
    from yieldwright.models.charts.ewma import EwmaChart
    from yieldwright.models.charts.false_alarms import Watchers
    from yieldwright.models.charts.individuals import IndividualsChart
    from yieldwright.repeatability.charts.alarms import Alarm
    from yieldwright.repeatability.charts.watched_series import WatchedSeries

__all__ = ["CROWDED", "WATCH_COLUMNS", "Charts", "charts_of", "gone_without", "visible_move"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

#: Columns of the table.
WATCH_COLUMNS = (
    "shot", "session", "pulled_on", "value", "adjusted", "moving_range", "average",
    "average_low", "average_high", "sum_high", "sum_low", "alarm",
)  # fmt: skip

#: The largest lasting move that is tried, how finely a smaller one is told, both in spreads,
#: and how often one must be seen.
LARGEST_MOVE, FINEST_MOVE, SEEN = 4.0, 1 / 16, 0.8

#: Share of steady benches that alarm, beyond which an alarm shows no move of any size.
CROWDED = 0.5

#: Draws to learn how often a move is seen, as a share of those of a steady bench: 80 % is
#: then known to 1.4 points, and the move to a twentieth of a spread.
MOVE_SHARE = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Charts:
    """What watches one series.

    Attributes
    ----------
    single : IndividualsChart
        Values, with settings taken out.
    average : EwmaChart
        Weighted averages of them.
    sums : CusumChart
        Cumulative sums of them, in spreads.
    flags : mapping of str to ndarray
        Where each watcher alarms.
    alarms : tuple of Alarm
        The same as stretches.
    """

    single: IndividualsChart
    average: EwmaChart
    sums: CusumChart
    flags: Mapping[str, Flags]
    alarms: tuple[Alarm, ...]

    def table(self, series: WatchedSeries) -> pd.DataFrame:
        """Return one row per shot of the series they were drawn from.

        Parameters
        ----------
        series : WatchedSeries
            Shots in order.

        Returns
        -------
        DataFrame
            One row per shot.
        """
        shots = series.shots
        rows = range(len(shots))
        columns = (
            _column(shots, "shot", [str(place + 1) for place in rows]),
            _column(shots, "session", [""] * len(shots)),
            _column(shots, "pulled_on", pd.NaT),
            series.observed,
            self.single.observed,
            np.append(np.nan, self.single.moving_ranges),
            self.average.averages,
            self.average.lower,
            self.average.upper,
            self.sums.high,
            self.sums.low,
            [_named(self.flags, place) for place in rows],
        )
        return pd.DataFrame(dict(zip(WATCH_COLUMNS, columns, strict=True)))


def charts_of(series: WatchedSeries, watchers: Watchers, *, baseline: int) -> Charts:
    """Return the charts of a series.

    Parameters
    ----------
    series : WatchedSeries
        Shots in order, not all alike.
    watchers : Watchers
        Rules and charts that watch.
    baseline : int
        How many of the first shots estimates rest on. [count]

    Returns
    -------
    Charts
    """
    center = float(series.observed[:baseline].mean())
    left = adjusted_for(series.observed, series.matrix, baseline)
    single = individuals_chart(center + left, baseline=baseline)
    average = ewma_chart(
        single.observed,
        target=single.center,
        sigma=single.sigma,
        weight=watchers.weight,
        limit=watchers.limit,
    )
    z = single.standardized
    sums = cusum_chart(z, target=0.0, allowance=watchers.allowance, decision=watchers.decision)
    flags = watchers.alarms(z)
    return Charts(single, average, sums, flags, alarms_of(watchers, flags, z, average, sums))


def gone_without(
    series: WatchedSeries, charts: Charts, watchers: Watchers, *, rows: Sequence[int]
) -> tuple[str, ...]:
    """Return the watchers that would not alarm at all without some shots.

    Parameters
    ----------
    series : WatchedSeries
        Shots in order.
    charts : Charts
        What was drawn from them, limits resting on all.
    watchers : Watchers
        Rules and charts that watch.
    rows : sequence of int
        Shots to leave out.

    Returns
    -------
    tuple of str
        Their names; none where what is left bears no chart.
    """
    kept = np.setdiff1d(np.arange(len(series.observed)), rows)
    matrix = series.matrix[kept]
    rest = replace(
        series, shots=series.shots.iloc[kept], observed=series.observed[kept], matrix=matrix
    )
    if len(np.unique(rest.observed)) < 2:
        return ()
    after = charts_of(rest, watchers, baseline=len(kept)).flags
    return tuple(
        name for name, flags in charts.flags.items() if flags.any() and not after[name].any()
    )


def visible_move(
    watchers: Watchers,
    matrix: Array,
    *,
    baseline: int,
    rng: np.random.Generator,
    draws: int,
) -> float:
    """Return the smallest move begun halfway that is nearly always seen, in spreads.

    Parameters
    ----------
    watchers : Watchers
        Rules and charts that watch.
    matrix : ndarray
        Design that values were adjusted by.
    baseline : int
        How many of the first shots estimates rest on. [count]
    rng : Generator
        Source of chance.
    draws : int
        Steady benches drawn for the chance of an alarm. [count]

    Returns
    -------
    float
        Missing where the largest tried is not.

    Notes
    -----
    Seen is a move where a bench that raises no alarm without it raises one with it. Every
    size is tried on the same drawn benches, so that a larger one is not seen less by chance.
    """
    n = len(matrix)
    since = (np.arange(n) >= n // 2).astype(np.float64)
    moved = adjusted_for(since, matrix, baseline)
    drawn = rng.standard_normal((math.ceil(MOVE_SHARE * draws), n))
    left = adjusted_for(drawn, matrix, baseline)
    quiet = left[~_alarming(watchers, left, baseline)]

    def is_seen(move: float) -> bool:
        return bool(_alarming(watchers, quiet + move * moved, baseline).mean() >= SEEN)

    if not len(quiet) or not is_seen(LARGEST_MOVE):
        return math.nan
    unseen, seen = 0.0, LARGEST_MOVE
    while seen - unseen > FINEST_MOVE:
        middle = (unseen + seen) / 2
        unseen, seen = (unseen, middle) if is_seen(middle) else (middle, seen)
    return seen


def _alarming(watchers: Watchers, left: Array, baseline: int) -> Flags:
    """Return which of many adjusted series raise an alarm of any kind."""
    distances = np.abs(np.diff(left[:, :baseline], axis=1)).mean(axis=1)
    flags = watchers.alarms(left / (distances / D2_OF_PAIRS)[:, None])
    found: Flags = np.any([each.any(axis=1) for each in flags.values()], axis=0)
    return found


def _column(shots: pd.DataFrame, name: str, otherwise: object) -> Any:  # noqa: ANN401
    return shots.get(name, otherwise)


def _named(flags: Mapping[str, Flags], place: int) -> str:
    return "; ".join(name for name, flagged in flags.items() if flagged[place])
