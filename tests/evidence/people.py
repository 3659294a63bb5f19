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
from yieldwright.bench import Bench
from yieldwright.repeatability.people_figures import Figures, figures_of
from yieldwright.repeatability.people_footing import Footing, footing_of
from yieldwright.repeatability.people_misses import misses_of_people
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


def outcome(scenario: Scenario, shots: pd.DataFrame, rng: np.random.Generator) -> Array:
    """Return the shot times of one log: nobody is slower than anybody."""
    sds = np.array([scenario.sds[int(code[1:]) - 1] for code in shots["barista"]])
    noise = rng.exponential(size=len(shots)) - 1 if scenario.skewed else rng.normal(size=len(sds))
    days = rng.normal(0, SESSION_SD if scenario.sessions > 1 else 0.0, scenario.sessions)
    moved = days[shots["session"].str.removeprefix("day ").astype(int) - 1]
    grind = GRIND * (shots["grind_setting"].to_numpy() - 11)
    return LEVEL + grind + moved + sds * noise


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


def missed(scenario: Scenario, shots: pd.DataFrame, values: Array) -> Iterator[tuple[str, bool]]:
    """Yield whether the mean miss of a recipe at the mean of the shots is covered."""
    table = misses_of_people(shots.assign(time_s=values), bench=Bench())
    for row, sd in zip(table.itertuples(), scenario.sds, strict=True):
        yield "mean miss", bool(row.ci_low <= sd * math.sqrt(2 / math.pi) <= row.ci_high)


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
    for _ in range(logs):
        values = outcome(scenario, found.shots, rng)
        told = list(judged(scenario, sds, figures_of(found, values)))
        if scenario.sessions == 1 and not scenario.skewed:
            told += missed(scenario, found.shots, values)
        for quantity, kept in told:
            asked[quantity] += 1
            held[quantity] += kept
    for quantity, cases in asked.items():
        kind = promise(scenario, quantity, found)
        yield Tally(scenario.name, sum(scenario.shots), quantity, kind, held[quantity], cases)


def study(logs: int, seed: int, *, scenarios: Iterable[Scenario] = SCENARIOS) -> Iterator[Tally]:
    """Yield every tally, each scenario from a stream of its own."""
    chosen = tuple(scenarios)
    streams = np.random.SeedSequence(seed).spawn(len(chosen))
    for scenario, stream in zip(chosen, streams, strict=True):
        yield from pulled(scenario, logs, np.random.default_rng(stream))


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies: list[Tally] = []
    streams = np.random.SeedSequence(seed).spawn(len(SCENARIOS))
    for scenario, stream in zip(SCENARIOS, streams, strict=True):
        found = list(pulled(scenario, logs, np.random.default_rng(stream)))
        print(report(found) if not tallies else report(found).partition("\n")[2], flush=True)
        tallies += found
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
