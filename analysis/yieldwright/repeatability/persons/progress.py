"""Whether one person grew steadier over the weeks, and whether the coffee could be why."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
import pandas as pd

from yieldwright.errors import AliasedColumnsError, OutOfRangeError, UnknownNameError
from yieldwright.formatting import number
from yieldwright.models.spreads.log_variance import VarianceTrend, trend_design, variance_trend
from yieldwright.models.wording import nearest, quoted
from yieldwright.repeatability.persons.people_tied import person_words
from yieldwright.repeatability.persons.people_words import unit_words
from yieldwright.repeatability.persons.progress_counted import counted_together
from yieldwright.repeatability.persons.progress_misses import MISS_TREND_COLUMNS, miss_trends
from yieldwright.repeatability.persons.progress_sessions import (
    PersonShots,
    person_shots,
    session_table,
    week_table,
)
from yieldwright.repeatability.persons.progress_words import (
    about_the_coffee,
    coffee_refusal,
    too_few,
    verdict_of,
)
from yieldwright.repeatability.spread.likeness import ENOUGH
from yieldwright.repeatability.spread.spread_texts import figure, span
from yieldwright.results import Dropped, Result
from yieldwright.shotlog import ShotLog
from yieldwright.taste.columns.comparable import ComparableSet, comparable_sets
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.cautions import Caution

__all__ = ["Progress", "progress"]

#: What the draws behind an interval start from where no source of chance is given.
SEED = 5


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Progress(Result):
    """How one person's spread and misses moved over the weeks.

    Attributes
    ----------
    of : str
        Column followed.
    barista : str
        Code of the person.
    unit : str
        Unit of a spread, in words.
    weeks : DataFrame
        One row per week: shots, spread of like shots with its interval, mean misses.
    change, change_low, change_high : float
        Change of the standard deviation per week as a share of itself; missing where it
        is refused. [1]
    p_value, p_holm : float
        Test against no change, by itself and corrected for all tests counted.
    n_tests : int
        Changes over the weeks that were tested, of everybody followed at once. [count]
    n_repeats, n_sessions : int
        Repeats of like shots behind the trend, and sessions they were pulled in. [count]
    misses : DataFrame
        One row per thing aimed at: change of the mean absolute miss per week with its t
        interval and p-values, or why there is none (`missing`). [unit of the column, per week]
    trend_line : DataFrame
        One row per week: the spread by the trend, and by both ends of its interval turned
        about the middle of the weeks; empty without a trend.
    missing : str
        Why there is no trend; empty where there is one.
    other_start : tuple of Dropped
        Shots left out because they are timed from another start.
    """

    drawing: ClassVar[str] = "progress_line"

    of: str
    barista: str
    unit: str = ""
    weeks: pd.DataFrame
    change: float = math.nan
    change_low: float = math.nan
    change_high: float = math.nan
    p_value: float = math.nan
    p_holm: float = math.nan
    n_tests: int = 0
    n_repeats: int = 0
    n_sessions: int = 0
    misses: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=[*MISS_TREND_COLUMNS, "p_holm"])
    )
    trend_line: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=["week", "sd", "low", "high"])
    )
    missing: str = ""
    other_start: tuple[Dropped, ...] = ()

    @property
    def title(self) -> str:
        """What was followed, and whose."""
        return f"{person_words(self.barista)} over the weeks, {column_label(self.of)}"

    @property
    def verdict(self) -> str:
        """The trend, or why there is none, in one short line."""
        return verdict_of(self)

    def to_frame(self) -> pd.DataFrame:
        """Return the weeks at full precision."""
        return self.weeks

    def display_frame(self) -> pd.DataFrame:
        """Return the weeks as text.

        Returns
        -------
        DataFrame
            One row per week: shots, repeats, spread with its interval.
        """
        return pd.DataFrame([_shown(row) for row in self.weeks.to_dict("records")])


def progress(
    shots: ShotLog | Sequence[ComparableSet],
    of: str,
    *,
    barista: str,
    bench: Bench,
    rng: np.random.Generator | None = None,
) -> Progress | None:
    """Return how one person's spread and misses moved over the weeks.

    Parameters
    ----------
    shots : ShotLog or sequence of ComparableSet
        A log, or its bags and grinders.
    of : str
        Column followed, such as `time_s`, `ey_pct` or `beverage_g`.
    barista : str
        Code of the person.
    bench : Bench
        Whose recipe is aimed at.
    rng : Generator or None
        Source of the draws behind the interval; None for one that begins the same each
        time.

    Returns
    -------
    Progress or None
        None where the log names nobody who pulled.

    Raises
    ------
    UnknownNameError
        If nobody of that code pulled, or there is no such column.

    Notes
    -----
    Spread is that of shots alike in one session, so that neither a new setting nor a day
    counts as one. Its logarithm follows a line over the weeks, with a level of its own for
    each bag and grinder. Where every bag was met in one week only, coffee and practice
    cannot be told apart and no trend is given. The interval is exact for normal values
    and too narrow where single shots lie far out. The spread and each miss are tested: a
    change is told where Holm's rule leaves it, while each interval is 95 % by itself.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> days = pd.to_datetime(["2026-03-01", "2026-03-08", "2026-03-15"]).repeat(3)
    >>> shots = pd.DataFrame({"barista": "p1", "session": days.astype(str), "pulled_on": days})
    >>> shots["time_s"] = [30.0, 36, 42, 33, 36, 40, 35, 36, 38]
    >>> found = progress([ComparableSet("", "", shots)], "time_s", barista="p1", bench=Bench())
    >>> round(found.change, 2), found.change_low < 0 < found.change_high
    (-0.5, True)
    """
    sets = comparable_sets(shots) if isinstance(shots, ShotLog) else tuple(shots)
    named = [each for each in sets if "barista" in each.shots and len(each.shots)]
    people = sorted({str(code) for each in named for code in each.shots["barista"].dropna()})
    if not people:
        return None
    _require(sets, people, of, barista)
    own = person_shots(named, of, barista=barista, bench=bench)
    sessions = session_table(own.shots)
    found = Progress(
        of=of,
        barista=barista,
        unit=unit_words(of, bench),
        weeks=week_table(own.shots, sessions),
        n_repeats=int(sessions["df"].sum()),
        n_sessions=len(sessions),
        n_shots=len(own.shots),
        dropped=own.dropped,
        other_start=own.other_start,
    )
    return _told(found, own, sessions, np.random.default_rng(SEED) if rng is None else rng)


def _require(sets: Sequence[ComparableSet], people: list[str], of: str, barista: str) -> None:
    if barista not in people:
        raise UnknownNameError(
            f"nobody of the code {quoted(barista)} pulled; {nearest(barista, people)}"
        )
    if not any(of in each.shots for each in sets):
        known = sorted({str(name) for each in sets for name in each.shots})
        raise UnknownNameError(f"the shots have no column {quoted(of)}; {nearest(of, known)}")


def _told(
    found: Progress, own: PersonShots, sessions: pd.DataFrame, rng: np.random.Generator
) -> Progress:
    """Return the weeks with trend, sentences and cautions, or with the reason for no trend."""
    cautions: tuple[Caution, ...] = ()
    missing = too_few(found, sessions)
    if not missing:
        try:
            found = _with_trend(found, own, sessions, rng)
            cautions = tuple(about_the_coffee(own.shots))
        except AliasedColumnsError:
            refusal = coffee_refusal(own.shots)
            missing, cautions = refusal.sentence, (refusal,)
        except OutOfRangeError:
            missing = "Most like shots read exactly the same: log one more decimal."
    (told,) = counted_together([replace(found, missing=missing, cautions=cautions)])
    return told


def _with_trend(
    found: Progress, own: PersonShots, sessions: pd.DataFrame, rng: np.random.Generator
) -> Progress:
    times, dfs = sessions["when"].to_numpy(dtype=float), sessions["df"].to_numpy(dtype=float)
    squares = sessions["squares"].to_numpy(dtype=float)
    design = trend_design(times, sessions["set"].to_numpy(dtype=object))
    trend = variance_trend(squares, dfs, design, rng=rng)
    change, low, high = trend.sd_change
    return replace(
        found,
        change=change,
        change_low=low,
        change_high=high,
        p_value=trend.p_value,
        misses=miss_trends(own.shots),
        trend_line=_line(trend, times, dfs, squares),
    )


def _line(
    trend: VarianceTrend, times: np.ndarray, dfs: np.ndarray, squares: np.ndarray
) -> pd.DataFrame:
    """Return the spread by the trend, through the pooled spread at the middle of the repeats."""
    middle = float(np.average(times, weights=dfs))
    weeks = np.linspace(times.min(), times.max(), 25)
    # The level that makes the fitted variances add up to the sums of squares.
    base = math.sqrt(
        float(np.sum(squares * np.exp(-trend.slope * (times - middle)))) / float(dfs.sum())
    )
    lines = [base * np.exp(slope * (weeks - middle) / 2) for slope in
             (trend.slope, trend.low, trend.high)]  # fmt: skip
    table = pd.DataFrame({"week": weeks + 1, "sd": lines[0]})
    return table.assign(low=np.minimum(lines[1], lines[2]), high=np.maximum(lines[1], lines[2]))


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    return {
        "Week": f"{row['week']}",
        "Shots": f"{row['n_shots']}",
        "Repeats": f"{row['df']:.0f}",
        "SD": figure(row["sd"] if row["df"] >= ENOUGH else math.nan),
        "95 % interval": span(row["sd_low"], row["sd_high"]) if row["df"] else number(math.nan),
    }
