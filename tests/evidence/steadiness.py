"""Does what is said of like shots hold: their spread, their next difference, what they could show?

Each log goes the way of the command: which shots are alike is decided by the layout of a
scenario, the figures then come from the shots of each log.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from tests.evidence.tally import Promise, Tally, report
from yieldwright.bench import Bench
from yieldwright.repeatability.spread.quantity_spread import QuantitySpread, quantity_spread
from yieldwright.taste.columns.comparable import ComparableSet

Array = np.ndarray

#: Level and spread of shot times, and what grind, taper, another hand and another band do.
LEVEL, SHOT_SD, GRIND, TAPER, HAND, BAND = 36.0, 2.0, -3.0, 1.5, 2.0, 4.0

BENCH = Bench()

#: Logs of a scenario that promises something for one of a scenario that does not.
UNPROMISED = 4


@dataclass(frozen=True)
class Scenario:
    """Shots of some sessions, what was set in them, and how much sessions differ.

    Along a line no two shots share a grind setting.
    """

    name: str
    sessions: int
    each: int
    session_sd: float = 0.0
    line: bool = False
    tapers: bool = False
    hands: int = 1
    bands: bool = False
    promised: bool = True

    @property
    def rows(self) -> int:
        """Shots of one log."""
        return self.sessions * self.each


SCENARIOS = (
    Scenario("one set", 1, 6),
    Scenario("sessions", 6, 4, 1.5),
    Scenario("band by session", 4, 5, 1.5, bands=True),
    Scenario("line", 4, 6, 1.5, line=True, tapers=True),
    Scenario("line, two hands", 4, 6, 1.5, line=True, hands=2),
    Scenario("hands left in", 4, 3, 1.5, line=True, hands=2, promised=False),
)


def layout(scenario: Scenario) -> pd.DataFrame:
    """Return what was set in each shot, the same in every log."""
    rng = np.random.default_rng(3)
    rows, place = scenario.rows, np.arange(scenario.rows)
    session = place // scenario.each
    frame = pd.DataFrame({"session": [f"day {number + 1}" for number in session]})
    if scenario.line:
        frame["grind_setting"] = 9.0 + rng.permutation(rows) / 4
    if scenario.tapers:
        frame["taper_bar"] = 2.0 + rng.permutation(rows) % 7
    if scenario.hands > 1:
        frame["barista"] = [f"p{1 + hand}" for hand in (place + session) % scenario.hands]
    if scenario.bands:
        frame["temp_band"] = np.where(session % 2, "high", "medium")
    return frame


def outcomes(
    scenario: Scenario, frame: pd.DataFrame, logs: int, rng: np.random.Generator
) -> Array:
    """Return the shot times of many logs, one row each: their mean is the level."""
    level = np.zeros(len(frame))
    if scenario.line:
        level += GRIND * frame["grind_setting"].to_numpy()
    if scenario.tapers:
        level += TAPER * frame["taper_bar"].to_numpy()
    if scenario.hands > 1:
        level += HAND * (frame["barista"] == "p2").to_numpy()
    if scenario.bands:
        level += BAND * (frame["temp_band"] == "high").to_numpy()
    days = rng.normal(0, scenario.session_sd, (logs, scenario.sessions))
    moved = days[:, np.arange(len(frame)) // scenario.each]
    return LEVEL + level - level.mean() + moved + rng.normal(0, SHOT_SD, (logs, len(frame)))


def judged(
    scenario: Scenario, found: QuantitySpread, rng: np.random.Generator
) -> Iterator[tuple[str, bool]]:
    """Yield each promise of one log and whether it held."""
    if not found.firm:
        return
    yield "SD", found.low <= SHOT_SD <= found.high
    low, high = found.variation_limits
    yield "coefficient of variation", low <= SHOT_SD / LEVEL <= high
    one, two = rng.normal(0, SHOT_SD, 2)
    yield "next difference within limit", abs(one - two) <= found.limit_few
    sessions = found.sessions
    if sessions is not None:
        yield "session SD", sessions.low <= scenario.session_sd <= sessions.high
        total = float(np.hypot(scenario.session_sd, SHOT_SD))
        yield "SD over sessions", sessions.total_low <= total <= sessions.total_high
    for each in found.differences:
        if each.n_each in (4, 8):
            yield f"difference seen, {each.n_each} each", seen(found, each.n_each, rng)


def seen(found: QuantitySpread, n_each: int, rng: np.random.Generator) -> bool:
    """Return whether two settings that differ by the difference told are told apart.

    The difference is told at the spread of the log; that of the bench is what shots have.
    """
    told = next(each.size for each in found.differences if each.n_each == n_each)
    shots = rng.normal(0, SHOT_SD, (2, n_each))
    apart = abs(shots[1].mean() - shots[0].mean() + told / found.sd * SHOT_SD)
    error = np.sqrt(shots.var(axis=1, ddof=1).sum() / n_each)
    return bool(apart > stats.t.isf(0.025, 2 * n_each - 2) * error)


def promise(scenario: Scenario, quantity: str) -> Promise:
    """Return what a line of the study is held to."""
    if not scenario.promised:
        return "no promise"
    if quantity.startswith("difference"):
        return "power"
    return "at least" if quantity in ("session SD", "SD over sessions") else "coverage"


def pulled(scenario: Scenario, logs: int, rng: np.random.Generator) -> Iterator[Tally]:
    """Yield every promise of one scenario."""
    frame = layout(scenario)
    held: Counter[str] = Counter()
    asked: Counter[str] = Counter()
    for values in outcomes(scenario, frame, logs, rng):
        shots = ComparableSet("", "", frame.assign(time_s=values))
        for quantity, kept in judged(scenario, quantity_spread(shots, "time_s", bench=BENCH), rng):
            asked[quantity] += 1
            held[quantity] += kept
    for quantity, cases in asked.items():
        kind = promise(scenario, quantity)
        yield Tally(scenario.name, scenario.rows, quantity, kind, held[quantity], cases)


def study(
    logs: int, seed: int, *, scenarios: Iterable[Scenario] = SCENARIOS
) -> Iterator[list[Tally]]:
    """Yield the tallies of each scenario, each from a stream of its own."""
    chosen = tuple(scenarios)
    streams = np.random.SeedSequence(seed).spawn(len(chosen))
    for scenario, stream in zip(chosen, streams, strict=True):
        drawn = logs if scenario.promised else max(logs // UNPROMISED, 1)
        yield list(pulled(scenario, drawn, np.random.default_rng(stream)))


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies: list[Tally] = []
    for found in study(logs, seed):
        print(report(found) if not tallies else report(found).partition("\n")[2], flush=True)
        tallies += found
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
