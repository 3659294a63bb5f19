"""Do the effects we print cover what they say, on logs whose truth is known?

Logs are judged by the same steps as `fit_effects` takes, short of tables and sentences.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from tests.evidence.tally import Promise, Tally, report
from yieldwright.bench import Bench
from yieldwright.models.contrasts.effects import vertex
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.fitting import ADJUSTERS, SETTINGS
from yieldwright.taste.strata.judging import Judged, judge_strata
from yieldwright.taste.tables import Effect, effects_of

Array = npt.NDArray[np.float64]
Generator = np.random.Generator

#: Names of effects in the table.
SHORT = {
    "grind_setting": "grind",
    "taper_bar": "taper",
    "roast_age_d": "roast age",
    "dose_g": "dose",
    "position": "position",
}

BANDS = ("low", "medium", "high")
BENCH = Bench()


@dataclass(frozen=True)
class Scenario:
    """A way of pulling shots, and what is true of them.

    Effects are in points of yield per setting, band, day or place. The taper does
    nothing: how often it is called clear is the rate of false alarms.
    """

    name: str
    sessions: int = 6
    shots: int = 6
    grinds: tuple[float, ...] = (10.0, 11.0, 12.0)
    grind: float = -0.4
    band: float = 0.3
    age: float = 0.05
    drift: float = 0.0
    bend: float = 0.0
    session_sd: float = 0.4
    shot_sd: float = 0.5
    band_by_session: bool = False
    grind_follows_age: bool = False
    grind_in_order: bool = False
    spread_grows: float = 0.0
    score_step: float = 0.0
    adjusters: tuple[str, ...] = ADJUSTERS

    def truth(self, effect: Effect) -> float:
        """Return the true size of an effect that the fit reports."""
        per_unit = {
            "grind_setting": self.grind,
            "temp_band": self.band,
            "roast_age_d": self.age,
            "position": self.drift,
        }
        return per_unit.get(effect.predictor.column, 0.0) * effect.predictor.step


SCENARIOS = (
    Scenario("clean", session_sd=0.0),
    Scenario("sessions differ", session_sd=0.6),
    Scenario("drift", drift=0.15),
    Scenario("drift, in order", drift=0.15, grind_in_order=True),
    Scenario("band a session", 9, 4, band_by_session=True),
    Scenario("grind with age", 7, 5, grind_follows_age=True),
    Scenario("12 in 2", 2, 6),
    Scenario("16 in 4", 4, 4),
    Scenario("24 in 4", 4, 6),
    Scenario("60 in 10", 10, 6),
    Scenario("12 in 1", 1, 12),
    Scenario("one a session", 18, 1),
    Scenario("half points", shot_sd=0.8, score_step=0.5),
    Scenario("uneven spread", spread_grows=0.5),
)

#: Sessions and shots a session of the clean logs that limits of inflation are tried on.
SIZES = ((1, 12), (2, 6), (12, 1), (1, 16), (4, 4), (4, 6), (6, 6), (10, 6))

#: A curve with its top inside the settings tried, strong enough to show nearly always.
CURVED = Scenario("curved", 6, 8, grinds=(9.0, 10.0, 11.0, 12.0), grind=0.0, bend=-0.5)
TOP = 10.5

#: What happens to those who leave position out while the group warms up: for the lesson,
#: never printed.
UNGUARDED = Scenario(
    "no position term", drift=0.15, grind_in_order=True, grind=0.0, adjusters=("roast_age_d",)
)


def pull(scenario: Scenario, rng: Generator) -> ComparableSet:
    """Return one log of a scenario."""
    n_shots = scenario.sessions * scenario.shots
    session = np.repeat(np.arange(scenario.sessions), scenario.shots)
    position = np.tile(np.arange(1.0, scenario.shots + 1), scenario.sessions)
    age = 6.0 + 2 * session + (rng.uniform(0, 4, scenario.sessions).round()[session])
    grind, band = _grinds(scenario, rng), _bands(scenario, rng)
    middle = grind - np.mean(scenario.grinds)
    spread = scenario.shot_sd * np.clip(1 + scenario.spread_grows * middle, 0.2, None)
    response = (
        19.0
        + scenario.grind * middle
        + scenario.bend * middle**2
        + scenario.band * band
        + scenario.age * age
        + scenario.drift * position
        + rng.normal(0, scenario.session_sd, scenario.sessions)[session]
        + rng.normal(0, spread)
    )
    if scenario.score_step:
        response = np.round(response / scenario.score_step) * scenario.score_step
    return ComparableSet(
        "bag",
        "grinder",
        pd.DataFrame(
            {
                "shot": np.arange(n_shots).astype(str),
                "session": session.astype(str),
                "position": position,
                "grind_setting": grind,
                "temp_band": [BANDS[number] for number in band],
                "taper_bar": rng.uniform(0.5, 4.0, n_shots).round(1),
                "roast_age_d": age,
                "dose_g": 18 + rng.normal(0, 0.15, n_shots).round(1),
                "ey_pct": response,
            }
        ),
    )


def _grinds(scenario: Scenario, rng: Generator) -> Array:
    """Return grind settings, each as often as the others, shuffled inside sessions or in order."""
    shape = (scenario.sessions, scenario.shots)
    spread = np.resize(rng.permutation(scenario.grinds), shape)
    grind = np.sort(spread) if scenario.grind_in_order else rng.permuted(spread, axis=1)
    if scenario.shots == 1:
        grind = rng.permuted(spread, axis=0)
    if scenario.grind_follows_age:
        grind = grind - np.arange(scenario.sessions)[:, None] // 2
    return grind.ravel()


def _bands(scenario: Scenario, rng: Generator) -> npt.NDArray[np.intp]:
    """Return bands, each as often as the others, in random order."""
    if scenario.band_by_session:
        by_session = rng.permutation(np.resize(np.arange(3), scenario.sessions))
        return np.repeat(by_session, scenario.shots)
    return rng.permutation(np.resize(np.arange(3), scenario.sessions * scenario.shots))


def judge(comparable: ComparableSet, scenario: Scenario) -> tuple[Judged, ...]:
    """Return the verdicts that a fit makes its tables and sentences of."""
    question = Question("ey_pct", BENCH, SETTINGS, scenario.adjusters)
    return judge_strata(prepare(comparable, question))


def covered(scenario: Scenario, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield the coverage of each effect, plain and robust, and the rate of false alarms."""
    counts: dict[tuple[str, Promise], list[bool]] = {}
    uneven = scenario.spread_grows > 0
    for _ in range(logs):
        for judged in judge(pull(scenario, rng), scenario):
            for effect in effects_of(judged):
                _count(counts, effect, scenario.truth(effect), plain=not uneven)
    rows = scenario.sessions * scenario.shots
    for (quantity, promise), held in counts.items():
        yield Tally(scenario.name, rows, quantity, promise, sum(held), len(held))


def _count(
    counts: dict[tuple[str, Promise], list[bool]], effect: Effect, truth: float, *, plain: bool
) -> None:
    found = effect.estimate
    name = effect.words.step if effect.predictor.levels else SHORT[effect.predictor.column]
    promise: Promise = "coverage" if plain else "no promise"
    held = found.ci_low <= truth <= found.ci_high
    counts.setdefault((name, promise), []).append(held)
    if math.isfinite(found.hc3_std_error):
        robust = found.hc3_ci_low <= truth <= found.hc3_ci_high
        counts.setdefault((f"{name}, HC3", "at least"), []).append(robust)
    if effect.predictor.column == "taper_bar" and plain:
        counts.setdefault((f"{name}, called clear", "false alarms"), []).append(not held)


def crossed(sessions: int, shots: int, logs: int, rng: Generator) -> Tally:
    """Return how often a clean randomised log is said to hold an entangled term."""
    scenario = Scenario("clean", sessions, shots)
    flagged = sum(_is_flagged(judge(pull(scenario, rng), scenario)) for _ in range(logs))
    rows = sessions * shots
    return Tally("clean", rows, "a setting called entangled", "false alarms", flagged, logs)


def _is_flagged(judged: Iterable[Judged]) -> bool:
    return any(
        found.colour != "green" and stratum.predictor(column).kind == "setting"
        for stratum in judged
        for column, found in stratum.entangled.items()
    )


def peaked(logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield the coverage of the best grind setting, among logs whose curve shows."""
    sets = []
    for _ in range(logs):
        (inside, *_) = judge(pull(CURVED, rng), CURVED)
        if inside.fit is not None and any(each.bends for each in inside.curvature):
            sets.append(vertex(inside.fit.fit, "grind_setting"))
    rows = CURVED.sessions * CURVED.shots
    held = sum(found.holds(TOP) for found in sets)
    yield Tally("curved", rows, "best grind setting", "coverage", held, len(sets))
    yield Tally("curved", rows, "curve shows", "no promise", len(sets), logs)


def misled(logs: int, rng: Generator) -> Tally:
    """Return how often drift is taken for grind where position is left out."""
    alarms = 0
    for _ in range(logs):
        (inside, *_) = judge(pull(UNGUARDED, rng), UNGUARDED)
        (grind,) = [e for e in effects_of(inside) if e.predictor.column == "grind_setting"]
        alarms += grind.is_clear
    rows = UNGUARDED.sessions * UNGUARDED.shots
    return Tally(UNGUARDED.name, rows, "grind called clear", "no promise", alarms, logs)


def study(
    logs: int,
    seed: int,
    *,
    scenarios: Iterable[Scenario] = SCENARIOS,
    sizes: Iterable[tuple[int, int]] = SIZES,
) -> Iterator[Tally]:
    """Yield every tally, each part of the study from a stream of its own."""
    streams = np.random.SeedSequence(seed).spawn(4)
    effects, limits, peaks, lesson = map(np.random.default_rng, streams)
    for scenario in scenarios:
        yield from covered(scenario, logs, effects)
    for sessions, shots in sizes:
        yield crossed(sessions, shots, logs, limits)
    yield from peaked(logs, peaks)
    yield misled(logs, lesson)


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies = list(study(logs, seed))
    print(report(tallies))
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
