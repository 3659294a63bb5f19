"""Do levels and spreads of people cover, and is nobody ranked by chance?

Each log goes the way of a comparison: what is allowed for is decided once by the layout of
a scenario, the figures then come from the shots of each log.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
import pandas as pd

from tests.evidence.tally import Promise, Tally, report
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.models.spreads.log_variance import (
    slope_errors,
    trend_design,
    variance_slope,
    variance_trend,
)
from yieldwright.repeatability.persons.people_figures import Figures
from yieldwright.repeatability.persons.people_footing import Footing, footing_of
from yieldwright.repeatability.persons.people_judged import figures_of
from yieldwright.repeatability.persons.people_misses import mean_with_interval
from yieldwright.repeatability.persons.progress import SEED
from yieldwright.repeatability.persons.progress_misses import LEAST_MISS_DF, mean_trend
from yieldwright.taste.columns.comparable import ComparableSet

Array = np.ndarray


@dataclass(frozen=True)
class Scenario:
    """People, their shots, and what else moves the outcome."""

    name: str
    shots: tuple[int, ...]
    sds: tuple[float, ...]
    sessions: int = 1
    grinds: tuple[float, ...] = (11.0,)
    skewed: bool = False

    @property
    def equal(self) -> bool:
        """Whether nobody differs from anybody in spread."""
        return len(set(self.sds)) == 1


#: Effects of a setting and of a day, in the unit of the outcome.
GRIND, SESSION_SD, LEVEL = -2.0, 1.5, 36.0

SCENARIOS = (
    Scenario("equal", (10, 10), (1.0, 1.0)),
    Scenario("ratio 2", (10, 10), (2.0, 1.0)),
    Scenario("6 against 20", (6, 20), (1.0, 1.0)),
    Scenario("6 and 20, r 2", (6, 20), (2.0, 1.0)),
    Scenario("grind, session", (12, 12, 12), (1.0, 1.0, 1.0), 4, (10.0, 11.0, 12.0)),
    Scenario("same, ratio 2", (12, 12, 12), (2.0, 1.0, 1.0), 4, (10.0, 11.0, 12.0)),
    Scenario("grinds as a line", (20, 20), (1.5, 1.0), 5, (9.0, 10.0, 11.0, 12.0)),
    Scenario("one a session", (8, 8, 8, 8), (1.0, 1.0, 1.0, 1.0), 8),
    Scenario("skewed", (12, 12), (1.0, 1.0), skewed=True),
)


def layout(scenario: Scenario) -> pd.DataFrame:
    """Return who pulled what, everybody the same settings in every session."""
    rows = []
    for person, shots in enumerate(scenario.shots):
        each = shots // scenario.sessions
        for session, turn in product(range(scenario.sessions), range(each)):
            grind = scenario.grinds[(turn + session) % len(scenario.grinds)]
            rows.append((f"p{person + 1}", f"day {session + 1}", 5.0 + 3 * session, grind))
    names = ["barista", "session", "roast_age_d", "grind_setting"]
    return pd.DataFrame(rows, columns=names)


def footing(scenario: Scenario) -> Footing:
    """Return what the layout allows for."""
    shots = layout(scenario).assign(time_s=LEVEL)
    found = footing_of(ComparableSet("bag", "mill", shots), "time_s")
    assert found is not None
    return found


def outcomes(
    scenario: Scenario, shots: pd.DataFrame, logs: int, rng: np.random.Generator
) -> Array:
    """Return the shot times of many logs, one row each: nobody is slower than anybody."""
    sds = np.array([scenario.sds[int(code[1:]) - 1] for code in shots["barista"]])
    size = (logs, len(shots))
    noise = rng.exponential(size=size) - 1 if scenario.skewed else rng.normal(size=size)
    spread = SESSION_SD if scenario.sessions > 1 else 0.0
    days = rng.normal(0, spread, (logs, scenario.sessions))
    moved = days[:, shots["session"].str.removeprefix("day ").astype(int) - 1]
    return LEVEL + GRIND * (shots["grind_setting"].to_numpy() - 11) + moved + sds * noise


def truths(scenario: Scenario, found: Footing) -> list[float]:
    """Return the SD that each spread is of: that of the day, too, where it stays in."""
    day = 0.0 if scenario.sessions == 1 or "session" in found.allowed_alone else SESSION_SD
    return [math.hypot(sd, day) for sd in scenario.sds]


def judged(scenario: Scenario, sds: list[float], figures: Figures) -> Iterator[tuple[str, bool]]:
    """Yield each promise of one log and whether it held."""
    true = dict(zip([each.person for each in figures.people], sds, strict=True))
    for each in figures.people:
        yield "SD", each.sd_low <= true[each.person] <= each.sd_high
        yield "SD, long tails", each.robust_low <= true[each.person] <= each.robust_high
    for pair in figures.pairs:
        one, two, spread = true[pair.first], true[pair.second], pair.spread
        yield "level difference", pair.level.ci_low <= 0 <= pair.level.ci_high
        if spread is None:
            continue
        yield "ratio of SDs", spread.ratio.low <= one / two <= spread.ratio.high
        yield "ratio, long tails", spread.robust.low <= one / two <= spread.robust.high
        low, high = spread.difference_low, spread.difference_high
        yield "difference of SDs", low <= one - two <= high
    yield "ranked in level", any(pair.level.is_clear for pair in figures.pairs)
    ranked = [pair for pair in figures.pairs if pair.spread is not None and pair.spread.is_clear]
    wrongly = [pair for pair in ranked if true[pair.first] == true[pair.second]]
    if scenario.equal or len(scenario.shots) > 2:
        yield "ranked in spread wrongly", bool(wrongly)


def missed(scenario: Scenario, found: Footing, values: Array) -> Iterator[tuple[str, bool]]:
    """Yield whether the mean miss of a recipe at the mean of the shots is covered."""
    for person, sd in zip(found.people, scenario.sds, strict=True):
        _, low, high = mean_with_interval(np.abs(values[found.rows[person]] - LEVEL))
        yield "mean miss", low <= sd * math.sqrt(2 / math.pi) <= high


def promise(scenario: Scenario, quantity: str, found: Footing) -> Promise:
    """Return what a line of the study is held to."""
    if quantity.startswith("ranked"):
        return "no promise" if scenario.skewed and "spread" in quantity else "false alarms"
    if scenario.skewed and quantity != "level difference":
        return "no promise"
    if quantity.endswith("long tails"):
        return "at least"
    days_in = "session" in found.allowed and "session" not in found.allowed_alone
    # Shots of one day are alike, which an F ratio of independent spreads knows nothing of.
    return (
        "at least" if days_in and quantity in ("ratio of SDs", "difference of SDs") else "coverage"
    )


def pulled(scenario: Scenario, logs: int, rng: np.random.Generator) -> Iterator[Tally]:
    """Yield every promise of one scenario."""
    found = footing(scenario)
    sds = truths(scenario, found)
    held: Counter[str] = Counter()
    asked: Counter[str] = Counter()
    for values in outcomes(scenario, found.shots, logs, rng):
        told = list(judged(scenario, sds, figures_of(found, values)))
        if scenario.sessions == 1 and not scenario.skewed:
            told += missed(scenario, found, values)
        for quantity, kept in told:
            asked[quantity] += 1
            held[quantity] += kept
    for quantity, cases in asked.items():
        kind = promise(scenario, quantity, found)
        yield Tally(scenario.name, sum(scenario.shots), quantity, kind, held[quantity], cases)


@dataclass(frozen=True)
class Course:
    """One person over the weeks of a course, some shots alike in every session."""

    name: str
    weeks: tuple[float, ...]
    shots: tuple[int, ...]
    slope: float = 0.0
    bags: str = ""


#: People of a class who are followed at once.
CLASS = 3

COURSES = (
    Course("three weeks", (0.0, 1.0, 2.0), (4, 4, 4)),
    Course("five weeks", (0.0, 1.0, 2.0, 3.0, 4.0), (4, 3, 4, 5, 4)),
    Course("six, falling", (0.0, 1.0, 2.0, 3.0, 4.0, 5.0), (4, 4, 3, 5, 2, 6), -0.25),
    Course("two bags", (0.0, 1.0, 2.0, 3.0, 4.0, 5.0), (5, 4, 3, 3, 4, 5), -0.1, "aaabbb"),
)


def followed(course: Course, logs: int, rng: np.random.Generator) -> Iterator[Tally]:
    """Yield how often the trends of one person cover: of the spread, and of the miss."""
    times, counts = np.array(course.weeks), np.array(course.shots, dtype=float)
    design = trend_design(times, np.array(list(course.bags), object) if course.bags else None)
    sds = np.exp(course.slope * times)
    cells = [rng.normal(0, sd, (logs, n)) for sd, n in zip(sds, course.shots, strict=True)]
    squares = np.column_stack([cell.var(axis=1, ddof=1) * (cell.shape[1] - 1) for cell in cells])
    slopes = variance_slope(squares, counts - 1, design)
    errors = slope_errors(counts - 1, design, rng=np.random.default_rng(SEED))
    low, high = np.quantile(errors, [0.025, 0.975])
    reached = (slopes - high <= 2 * course.slope) & (2 * course.slope <= slopes - low)
    n_shots = sum(course.shots)
    yield Tally(course.name, n_shots, "SD a week", "coverage", int(reached.sum()), logs)
    alarms = (slopes - high > 0) | (slopes - low < 0)
    if course.slope == 0:
        yield Tally(course.name, n_shots, "progress told", "false alarms", int(alarms.sum()), logs)
    if course.slope == 0 and len(times) - design.shape[1] >= LEAST_MISS_DF:
        misses = np.column_stack([np.abs(cell).mean(axis=1) for cell in cells])
        told = [mean_trend(row, design, counts) for row in misses]
        covered = sum(low <= 0 <= high for _, low, high, _, _ in told)
        yield Tally(course.name, n_shots, "miss a week", "coverage", covered, logs)
        of_misses = np.array([p_value for *_, p_value in told])
        yield counted(course, design, squares, of_misses)


def counted(course: Course, design: Array, squares: Array, of_misses: Array) -> Tally:
    """Return how often a class of three in which nobody changes is told of any change."""
    dfs, rng = np.array(course.shots) - 1.0, np.random.default_rng(SEED)
    of_spreads = [variance_trend(row, dfs, design, rng=rng).p_value for row in squares]
    together = np.column_stack([of_spreads, of_misses])
    classes = together[: len(together) // CLASS * CLASS].reshape(-1, 2 * CLASS)
    alarms = sum(bool((holm(row) < 0.05).any()) for row in classes)
    n_shots = CLASS * sum(course.shots)
    return Tally(course.name, n_shots, "change in a class", "false alarms", alarms, len(classes))


def study(
    logs: int,
    seed: int,
    *,
    scenarios: Iterable[Scenario] = SCENARIOS,
    courses: Iterable[Course] = COURSES,
) -> Iterator[list[Tally]]:
    """Yield the tallies of each scenario and course, each from a stream of its own."""
    chosen, taken = tuple(scenarios), tuple(courses)
    streams = np.random.SeedSequence(seed).spawn(len(chosen) + len(taken))
    for scenario, stream in zip(chosen, streams, strict=False):
        yield list(pulled(scenario, logs, np.random.default_rng(stream)))
    for course, stream in zip(taken, streams[len(chosen) :], strict=True):
        yield list(followed(course, logs, np.random.default_rng(stream)))


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies: list[Tally] = []
    for found in study(logs, seed):
        print(report(found) if not tallies else report(found).partition("\n")[2], flush=True)
        tallies += found
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
