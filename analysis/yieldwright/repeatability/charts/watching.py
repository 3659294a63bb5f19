"""Whether the bench stays as it is: one response, shot after shot, and what moved when."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
import pandas as pd

from yieldwright.cautions import gravest_first
from yieldwright.errors import TooFewShotsError
from yieldwright.formatting import number, percent
from yieldwright.models.charts.constants import D2_OF_PAIRS
from yieldwright.models.charts.false_alarms import (
    DRAWS,
    AlarmChances,
    Watchers,
    adjusted_for,
    alarm_chances,
    range_constant,
)
from yieldwright.models.charts.run_rules import NINE_SAME_SIDE, ONE_BEYOND_3S
from yieldwright.repeatability.charts.charting import (
    CROWDED,
    WATCH_COLUMNS,
    charts_of,
    gone_without,
    visible_move,
)
from yieldwright.repeatability.charts.watch_cautions import cautions_of, hanging_caution
from yieldwright.repeatability.charts.watch_texts import unit_of
from yieldwright.repeatability.charts.watch_words import sentences_of, too_few
from yieldwright.repeatability.charts.watched_series import LEAST, watched_series
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution
    from yieldwright.models.charts.run_rules import Rule
    from yieldwright.repeatability.charts.alarms import Alarm
    from yieldwright.repeatability.charts.charting import Charts
    from yieldwright.repeatability.charts.watched_series import WatchedSeries
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["DEFAULT_RULES", "Watch", "watch"]

#: Rules for single shots: Nelson (1984), tests 1 and 2. More would cry wolf more often.
DEFAULT_RULES = (ONE_BEYOND_3S, NINE_SAME_SIDE)

#: Weight and limit of the average: run length 500 on a steady bench (Lucas and Saccucci
#: 1990, table 3). Allowance and decision limit of the sums: 465 (Lucas and Crosier 1982).
WEIGHT, LIMIT = 0.2, 2.962
ALLOWANCE, DECISION = 0.5, 5.0

#: Values drawn in all, and steady benches at the least: with so few a chance of one half is
#: known to 1.6 points.
MOST_VALUES, FEWEST_DRAWS = 2_000_000, 1_000

#: What is left of values beside them, as a share, is rounding and no spread.
ROUNDING = 1e-9

#: Where chance begins if a caller brings no generator: any number would do.
SEED = 20_261_130


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Watch(Result):
    """One response in the order pulled, with limits and alarms.

    Attributes
    ----------
    response : str
        Column watched.
    table : DataFrame
        One row per shot, see `WATCH_COLUMNS`: the value as logged and with settings taken
        out, its distance from the one before, the weighted average with its exact limits,
        both sums in spreads, and the names of the watchers that alarm at it.
    center, center_half : float
        Centre, and half of its 95 % interval.
    sigma, sigma_low, sigma_high : float
        Spread from neighbours, with its 95 % interval.
    reach : float
        Distance of the limits of a single shot from the centre.
    range_upper : float
        Distance of two neighbours that a steady bench seldom passes.
    watchers : Watchers
        Rules and charts that watch.
    alarms : tuple of Alarm
        Stretches that alarm, the earliest first.
    chances : AlarmChances or None
        How often they alarm on a steady bench of as many shots, adjusted alike.
    visible_move : float
        The smallest lasting move, begun halfway, at which at least 80 % of such logs alarm
        that do not without it; missing where four spreads are too few, or where half of
        steady benches alarm. All of these are in the unit of the response.
    allowed_for : tuple of str
        Columns whose effect was taken out.
    baseline : int
        How many of the first shots limits rest on. [count]
    missing : str
        What a chart lacks; empty where there is one.
    """

    drawing: ClassVar[str] = "control_chart"

    response: str
    table: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(WATCH_COLUMNS)))
    center: float = math.nan
    center_half: float = math.nan
    sigma: float = math.nan
    sigma_low: float = math.nan
    sigma_high: float = math.nan
    reach: float = math.nan
    range_upper: float = math.nan
    watchers: Watchers = Watchers(())
    alarms: tuple[Alarm, ...] = ()
    chances: AlarmChances | None = None
    visible_move: float = math.nan
    allowed_for: tuple[str, ...] = ()
    baseline: int = 0
    missing: str = ""

    @property
    def title(self) -> str:
        """What was watched."""
        return f"Whether {column_label(self.response)} stays as it is"

    @property
    def lower(self) -> float:
        """Lower limit of a single shot."""
        return self.center - self.reach

    @property
    def upper(self) -> float:
        """Upper limit of a single shot."""
        return self.center + self.reach

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """The numbers to read first."""
        if self.chances is None:
            return super().headline
        unit = unit_of(self.response)
        low, high = (number(end, self.sigma / 3) for end in (self.lower, self.upper))
        limits = f"{low} to {high} {unit}".rstrip()
        return (
            *super().headline,
            ("Limits of a single shot", limits),
            ("Alarms", str(len(self.alarms))),
            ("Chance of any on a steady bench", percent(self.chances.of_any)),
        )

    def to_frame(self) -> pd.DataFrame:
        """Return the series at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the series as text.

        Returns
        -------
        DataFrame
            One row per shot: name, day, value, adjusted value, average, alarms.
        """
        adjusted = bool(self.allowed_for)
        rows = [
            _shown(row, self.sigma, adjusted=adjusted) for row in self.table.to_dict("records")
        ]
        return pd.DataFrame(rows)


def watch(
    comparable: ComparableSet,
    of: str,
    *,
    bench: Bench,
    rules: Sequence[Rule] = DEFAULT_RULES,
    baseline: int | None = None,
    told_in: pd.DataFrame | None = None,
    rng: np.random.Generator | None = None,
) -> Watch:
    """Return whether one response of comparable shots stays as it is, and what moved when.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    of : str
        `time_s`, `ey_pct`, `beverage_g` or any other column of numbers, or `score:` and
        an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.
    rules : sequence of Rule
        What counts as an alarm among single shots.
    baseline : int or None
        How many of the first shots limits rest on, such as those before a change; None
        for all. [count]
    told_in : DataFrame or None
        One row per shot of the whole log, warm-ups and failures too: what was cleaned or
        changed may be told at one of them. None for the shots that are compared.
    rng : Generator or None
        Source of chance for steady benches; None for one that begins the same each time.

    Returns
    -------
    Watch
        With `missing` in place of a chart where fewer than 10 shots have a value.

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    RoleError
        If the column holds words.
    TooFewShotsError
        If the baseline is shorter than 10 shots or longer than the series.

    Notes
    -----
    Four watchers, and no more: one value beyond 3 standard deviations and nine in a row
    on one side, tests 1 and 2 of Nelson [1]_; a weighted average [2]_ and cumulative sums
    [3]_ for changes too small for either. Each alarms about once in 370 to 500 shots of a
    steady bench where limits are known; together, with limits from the same 30 shots, in
    12 % of steady logs. All eight tests of Nelson alone would in 25 %. Moving ranges have a
    limit in `range_upper` and raise no alarm of their own: they say little that single
    values do not [4]_.

    Limits lie three spreads out: mean distance of neighbours, with settings taken out, over
    1.128. They rest on the shots they judge, so the chance of an alarm is not that of printed
    run lengths: it is counted on drawn steady benches of this length, adjusted for the
    same columns, with normal values. Where they trail off to one side it is more: of 30
    shots with a skewness of 1 (gamma), 30 % of steady logs in place of 12 %. Sessions that
    differ are not a steady bench.

    References
    ----------
    .. [1] Nelson (1984), J. Qual. Technol. 16, 237.
    .. [2] Lucas and Saccucci (1990), Technometrics 32, 1.
    .. [3] Lucas and Crosier (1982), Technometrics 24, 199.
    .. [4] Roes, Does and Schurink (1993), J. Qual. Technol. 25, 188.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> times = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    >>> found = watch(
    ...     ComparableSet("", "", pd.DataFrame({"time_s": times})), "time_s", bench=Bench()
    ... )
    >>> [alarm.by for alarm in found.alarms], round(found.upper, 1)
    ([], 55.8)
    """
    series = watched_series(comparable, of, bench=bench, baseline=baseline, told_in=told_in)
    bare = Watch(
        response=of,
        n_shots=len(series.observed),
        dropped=(*comparable.excluded, *series.dropped),
        watchers=Watchers(tuple(rules), WEIGHT, LIMIT, ALLOWANCE, DECISION),
        allowed_for=series.allowed_for,
        baseline=len(series.observed) if baseline is None else baseline,
    )
    lacking = too_few(series, of, LEAST)
    if lacking:
        return replace(bare, missing=lacking, sentences=(lacking,))
    _require_baseline(bare)
    if _nothing_left(series, bare.baseline):
        lacking = (
            f"Nothing is left of {column_label(of)} to draw limits from: the shots they would "
            "rest on are all the same, or follow from their settings to the last figure."
        )
        return replace(bare, missing=lacking, sentences=(lacking,))
    return _told(bare, series, np.random.default_rng(SEED) if rng is None else rng)


def _nothing_left(series: WatchedSeries, baseline: int) -> bool:
    left = adjusted_for(series.observed, series.matrix, baseline)[:baseline]
    return float(np.abs(np.diff(left)).mean()) <= ROUNDING * float(np.abs(series.observed).max())


def _require_baseline(bare: Watch) -> None:
    if not LEAST <= bare.baseline <= bare.n_shots:
        raise TooFewShotsError(
            f"limits must rest on {LEAST} to {bare.n_shots} shots, not {bare.baseline}: "
            "name another baseline, or none for all shots"
        )


def _told(bare: Watch, series: WatchedSeries, rng: np.random.Generator) -> Watch:
    """Return the chart of a series, its alarms in words."""
    watchers, baseline = bare.watchers, bare.baseline
    charts = charts_of(series, watchers, baseline=baseline)
    draws = max(min(DRAWS, MOST_VALUES // bare.n_shots), FEWEST_DRAWS)
    chances = alarm_chances(
        watchers, bare.n_shots, rng=rng, matrix=series.matrix, baseline=baseline, draws=draws
    )
    scale = charts.single.sigma
    spread = scale * D2_OF_PAIRS / range_constant(series.matrix, baseline)
    move = math.nan
    if chances.of_any <= CROWDED:
        move = visible_move(watchers, series.matrix, baseline=baseline, rng=rng, draws=draws)
    found = replace(
        bare,
        table=charts.table(series),
        center=charts.single.center,
        center_half=chances.center_factor * scale,
        sigma=spread,
        sigma_low=chances.spread_factors[0] * scale,
        sigma_high=chances.spread_factors[1] * scale,
        reach=charts.single.upper - charts.single.center,
        range_upper=charts.single.range_upper,
        alarms=charts.alarms,
        chances=chances,
        visible_move=spread * move,
    )
    cautions = (*_hanging(found, series, charts), *cautions_of(found, series))
    return replace(found, sentences=sentences_of(found, series), cautions=gravest_first(cautions))


def _hanging(found: Watch, series: WatchedSeries, charts: Charts) -> tuple[Caution, ...]:
    """Return that alarms hang on shots beyond the limits, where these rest on all shots."""
    lone = charts.flags.get(ONE_BEYOND_3S.name, np.zeros(0, dtype=bool))
    rows = np.flatnonzero(lone)
    if not len(rows) or len(lone) - len(rows) < LEAST or found.baseline < found.n_shots:
        return ()
    gone = gone_without(series, charts, found.watchers, rows=rows.tolist())
    others = [name for name in gone if name != ONE_BEYOND_3S.name]
    return hanging_caution(found, rows.tolist(), others)


def _shown(row: Mapping[Hashable, Any], sigma: float, *, adjusted: bool) -> dict[str, str]:
    """Return one shot as text."""
    day = row["pulled_on"]
    shown = {
        "Shot": str(row["shot"]),
        "Day": "–" if pd.isna(day) else day.date().isoformat(),
        "Value": number(row["value"], sigma / 3),
    }
    if adjusted:
        shown["Adjusted"] = number(row["adjusted"], sigma / 3)
    return {
        **shown,
        "Average": number(row["average"], sigma / 3),
        "Alarm": row["alarm"].replace("_", " "),
    }
