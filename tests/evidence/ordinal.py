"""Do odds of scores taken as steps, and effects taster by taster, hold what they promise?

The odds are those of the latent logistic: a score is a step of a line on which a setting
moves every cup by so many log odds, a taster by an amount of their own, and chance by a
logistic amount that tasters of one shot share in part.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from tests.evidence.tally import Promise, Tally, report
from yieldwright.bench import Attribute, Bench
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.findings import Findings
from yieldwright.taste.steps.scored_steps import ScoredStep, scored_steps
from yieldwright.taste.strata.judging import judge_strata
from yieldwright.taste.tasters.by_taster import TasterEffects, taste_by_taster

Array = npt.NDArray[np.float64]
Generator = np.random.Generator

BENCH = Bench(attributes=(Attribute("overall", stated=True),))
RESPONSE = "score:overall"
SETTINGS = ("grind_setting", "temp_band", "taper_bar")
BANDS = ("low", "medium", "high")

#: Code of the caution that odds are not the same all along the scale.
UNEVEN = "odds-differ-along-scale"

#: Sessions and shots a session behind 12, 16, 24 and 40 shots.
SIZES = {12: (2, 6), 16: (4, 4), 24: (4, 6), 40: (5, 8)}

#: The step that does nothing.
TAPER = "1 bar more taper"

#: Points of the scale that one log odds is worth.
POINTS = 0.6


@dataclass(frozen=True)
class Scenario:
    """A way of scoring. Effects are in log odds per step; the taper does nothing."""

    name: str
    tasters: int = 1
    centre: float = 6.0
    grind: float = -0.8
    band: float = 0.6
    session_sd: float = 0.7
    taster_sd: float = 0.8
    shared: float = 0.3

    def truth(self, step: ScoredStep) -> float:
        """Return the true log odds of a step."""
        column = step.predictor.column
        return {"grind_setting": self.grind, "temp_band": self.band}.get(column, 0.0)


SCENARIOS = (
    Scenario("middle"),
    Scenario("ends", centre=9.3),
    Scenario("crossed tasters", tasters=3),
    Scenario("tasters, ends", tasters=3, centre=9.0),
    Scenario("tasters agree", tasters=3, shared=0.7),
    Scenario("strong", grind=-1.6),
)

#: Four tasters of whom two want the opposite: log odds per setting, either way.
CAMPS = Scenario("two camps", tasters=4, grind=1.5)
PANEL = Scenario("one mind", tasters=4)


def settings(size: int, rng: Generator) -> pd.DataFrame:
    """Return shots whose settings are shuffled inside sessions, every one as often."""
    sessions, shots = SIZES[size]
    shape = (sessions, shots)
    grind = rng.permuted(np.resize(rng.permutation([10.0, 11.0, 12.0]), shape), axis=1)
    band = rng.permutation(np.resize(np.arange(3), size))
    session = np.repeat(np.arange(sessions), shots)
    return pd.DataFrame(
        {
            "shot": np.arange(size).astype(str),
            "session": session.astype(str),
            "position": np.tile(np.arange(1.0, shots + 1), sessions),
            "grind_setting": grind.ravel(),
            "temp_band": [BANDS[place] for place in band],
            "taper_bar": rng.uniform(0.5, 4.0, size).round(1),
        }
    )


def scored(
    shots: pd.DataFrame, scenario: Scenario, rng: Generator, *, signs: Array | None = None
) -> ComparableSet:
    """Return a log of these shots as tasters would score them."""
    size, tasters = len(shots), scenario.tasters
    session = shots["session"].astype(int).to_numpy()
    moved = scenario.grind * (shots["grind_setting"].to_numpy() - 11)
    wanted = np.outer(moved, np.ones(tasters) if signs is None else signs)
    band = shots["temp_band"].map(BANDS.index).to_numpy(dtype=float)
    common = scenario.band * band + rng.normal(0, scenario.session_sd, session.max() + 1)[session]
    alike = np.sqrt(scenario.shared) * rng.normal(size=(size, 1))
    own = np.sqrt(1 - scenario.shared) * rng.normal(size=(size, tasters))
    chance = special.logit(special.ndtr(alike + own))
    harsh = rng.normal(0, scenario.taster_sd, tasters) * (tasters > 1)
    line = scenario.centre + POINTS * (wanted + common[:, None] + chance + harsh)
    scores = np.clip(np.round(2 * line) / 2, 0.0, 10.0)
    tastings = pd.DataFrame(
        {
            "shot": np.repeat(shots["shot"].to_numpy(), tasters),
            "taster": np.tile([f"t{place}" for place in range(tasters)], size),
            "attribute": "overall",
            "score": scores.ravel(),
        }
    )
    means = shots.assign(**{RESPONSE: scores.mean(axis=1)})
    return ComparableSet("bag", "grinder", means, tastings=tastings)


def found(comparable: ComparableSet) -> Findings:
    """Return what a fit is told from: position is allowed for."""
    question = Question(RESPONSE, BENCH, SETTINGS, ("position",))
    prepared = prepare(comparable, question)
    return Findings(question, comparable, prepared, judge_strata(prepared))


def odds(scenario: Scenario, size: int, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield the coverage of odds, how often they are one-sided, and false alarms."""
    counts: dict[tuple[str, Promise], list[bool]] = {}

    def count(quantity: str, promise: Promise, held: object) -> None:
        counts.setdefault((quantity, promise), []).append(bool(held))

    for _ in range(logs):
        steps = scored_steps(found(scored(settings(size, rng), scenario, rng)), rng=rng)
        count("told", "no promise", steps is not None and not steps.missing)
        uneven = any(each.code == UNEVEN for each in (steps.cautions if steps else ()))
        count("any effect said to be uneven", "false alarms", uneven)
        for step in steps.steps if steps else ():
            estimate, truth = step.estimate, scenario.truth(step)
            name = step.words.step
            held = not (estimate.ci_low > truth or estimate.ci_high < truth)
            count(f"odds, {name}", promised(scenario, size), held)
            if step.predictor.column == "taper_bar":
                count("taper called clear", "false alarms", step.verdict != 0)
                count(f"taper, p by {step.p_from}", "false alarms", estimate.p_value <= 0.05)
            if step.predictor.column == "grind_setting":
                one_sided = not np.isfinite([estimate.ci_low, estimate.ci_high]).all()
                count("grind, one-sided", "no promise", one_sided)
                count("grind called clear", "no promise", step.verdict == -1)
    for (quantity, promise), held in counts.items():
        yield Tally(scenario.name, size, quantity, promise, sum(held), len(held))


def promised(scenario: Scenario, size: int) -> Promise:
    """Return what is promised of odds: boundary and few shots may cover more than they say."""
    boundary = "ends" in scenario.name or size < 24 or scenario.tasters == 1
    return "at least" if boundary else "coverage"


def panels(scenario: Scenario, size: int, logs: int, rng: Generator) -> Iterator[Tally]:
    """Yield how often a panel is said to fall into camps, and what its own effects cover.

    Scores stay off the ends of the scale here, and one log odds is worth 0.6 points.
    """
    half = scenario.tasters // 2
    signs = np.repeat([1.0, -1.0], half) if scenario is CAMPS else np.ones(scenario.tasters)
    told, alarms, camps, held = 0, 0, 0, []
    for _ in range(logs):
        log = scored(settings(size, rng), scenario, rng, signs=signs)
        tasters = taste_by_taster(found(log))
        if tasters is None or tasters.missing:
            continue
        told += 1
        alarms += any(step.differ for step in tasters.steps)
        camps += any(
            step.has_camps for step in tasters.steps if step.predictor.column == "grind_setting"
        )
        held += list(_within(tasters, scenario, signs))
    name = scenario.name
    yield Tally(name, size, "told", "no promise", told, logs)
    if scenario is CAMPS:
        yield Tally(name, size, "camps over grind found", "no promise", camps, told)
    else:
        yield Tally(name, size, "any step said to differ", "false alarms", alarms, told)
        yield Tally(name, size, "camps over grind", "false alarms", camps, told)
    yield Tally(name, size, "own effect of grind", "at least", sum(held), len(held))


def _within(tasters: TasterEffects, scenario: Scenario, signs: Array) -> Iterator[bool]:
    """Yield whether each taster's interval holds the truth, in points."""
    for step in tasters.steps:
        if step.predictor.column == "grind_setting":
            for taster, each in step.effects.items():
                truth = POINTS * scenario.grind * signs[int(taster.removeprefix("t"))]
                yield each.ci_low <= truth <= each.ci_high


def misled(size: int, logs: int, rng: Generator) -> Tally:
    """Return how often nothing is called clear where every taste passes for a shot."""
    scenario = next(each for each in SCENARIOS if each.name == "tasters agree")
    alarms = 0
    for _ in range(logs):
        log = scored(settings(size, rng), scenario, rng)
        tastes = log.tastings.merge(log.shots.drop(columns=RESPONSE), on="shot")
        alone = tastes.assign(shot=tastes["shot"] + "-" + tastes["taster"])
        shots = alone.drop(columns=["taster", "attribute"]).rename(columns={"score": RESPONSE})
        columns = ["shot", "taster", "attribute", "score"]
        steps = scored_steps(found(ComparableSet("", "", shots, tastings=alone[columns])), rng=rng)
        alarms += any(
            step.verdict for step in (steps.steps if steps else ()) if step.words.step == TAPER
        )
    quantity = "taper clear, tastes as shots"
    return Tally("tasters agree", size, quantity, "no promise", alarms, logs)


def study(
    logs: int,
    seed: int,
    *,
    scenarios: Iterable[Scenario] = SCENARIOS,
    sizes: Iterable[int] = tuple(SIZES),
) -> Iterator[Tally]:
    """Yield every tally, each line of the study from a stream of its own."""
    for size in sizes:
        for place, scenario in enumerate(scenarios):
            yield from odds(scenario, size, logs, np.random.default_rng([seed, size, place]))
        for place, scenario in enumerate((CAMPS, PANEL), start=100):
            yield from panels(scenario, size, logs, np.random.default_rng([seed, size, place]))
        yield misled(size, logs, np.random.default_rng([seed, size, 200]))


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies = list(study(logs, seed))
    print(report(tallies))
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
