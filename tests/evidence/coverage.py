"""Do all printed intervals cover, whatever the structure of a small log?

Each log goes the way of `fit_effects`, short of cautions: model chosen, effects told per
step, entangled pairs named. An effect whose pair forbids a verdict is not printed.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from tests.evidence.policy_logs import BANDS, BENCH, CASES, SIZES, Case, pull
from tests.evidence.tally import Promise, Tally, report
from yieldwright.taste.choosing import Chosen, choose
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.confounding.confounding import RED
from yieldwright.taste.fitting import SETTINGS
from yieldwright.taste.strata.grouped_fit import GroupedFit
from yieldwright.taste.strata.judging import Judged, unadjusted_for
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.tables import Effect, effects_of

Key = tuple[str, Promise]

#: Share of the logs below which what is printed is too rare to be judged by itself.
RARE = 0.1

SHORT = {"grind_setting": "grind", "taper_bar": "taper", "roast_age_d": "roast age"}


def chosen_for(case: Case, n_shots: int, rng: np.random.Generator) -> Chosen:
    """Return one log of a case, judged by the model its structure asks for."""
    comparable = pull(case, n_shots, rng)
    question = Question(case.response, BENCH, SETTINGS, case.adjusters)
    return choose(prepare(comparable, question), comparable, question, model=case.model)


def printed(chosen: Chosen) -> Iterator[Effect]:
    """Yield the effects that are told with a verdict."""
    for judged in chosen.judged:
        for effect in effects_of(judged):
            if not _is_forbidden(judged, effect):
                yield effect


def by_satterthwaite(chosen: Chosen) -> Iterator[Effect]:
    """Yield what a mixed model would tell with plain Satterthwaite degrees of freedom."""
    for judged in chosen.judged:
        if isinstance(judged.fit, GroupedFit):
            plain = replace(judged.fit, approximation="satterthwaite")
            yield from effects_of(replace(judged, fit=plain))


def _is_forbidden(judged: Judged, effect: Effect) -> bool:
    column = effect.predictor.column
    lost = (vif for _, vif in unadjusted_for(judged, column))
    mute = {
        name
        for other, found in judged.entangled.items()
        if found.colour == "red" and judged.predictor(other).kind == "setting"
        for name in (other, found.partner)
    }
    return column in mute or any(vif >= RED for vif in lost)


def covered(case: Case, n_shots: int, logs: int, rng: np.random.Generator) -> Iterator[Tally]:
    """Yield how often each printed interval holds the truth."""
    counts: dict[Key, list[bool]] = {}
    for _ in range(logs):
        chosen = chosen_for(case, n_shots, rng)
        mixed = chosen.kind == "mixed model"
        for effect in printed(chosen):
            edge = mixed or effect.stratum == BETWEEN  # both have a least spread of sessions
            _count(counts, effect, _truth(case, effect), boundary=edge)
        for effect in by_satterthwaite(chosen):
            name: Key = (f"{_name(effect)}, Satterthwaite", "no promise")
            found, truth = effect.estimate, _truth(case, effect)
            counts.setdefault(name, []).append(found.ci_low <= truth <= found.ci_high)
    yield from _tallies(case, n_shots, counts)


def _truth(case: Case, effect: Effect) -> float:
    """Return the true effect of a step; a pair of levels may skip one that no shot has."""
    levels = effect.words.step.split(" → ")
    apart = BANDS.index(levels[1]) - BANDS.index(levels[0]) if len(levels) == 2 else 1
    return case.truth(effect.predictor.column) * effect.predictor.step * apart


def _count(counts: dict[Key, list[bool]], effect: Effect, truth: float, *, boundary: bool) -> None:
    found, name = effect.estimate, _name(effect)
    promise: Promise = "at least" if boundary else "coverage"
    counts.setdefault((name, promise), []).append(found.ci_low <= truth <= found.ci_high)
    if math.isfinite(found.hc3_std_error):
        robust = found.hc3_ci_low <= truth <= found.hc3_ci_high
        counts.setdefault((f"{name}, HC3", "at least"), []).append(robust)


def _name(effect: Effect) -> str:
    column = effect.predictor.column
    name = effect.words.step if effect.predictor.levels else SHORT.get(column, column)
    return f"{name}, means" if effect.stratum == BETWEEN else name


def alarmed(case: Case, n_shots: int, logs: int, rng: np.random.Generator) -> Iterator[Tally]:
    """Yield how often a setting without effect is called clear, one and all together."""
    idle = case.without_effects()
    counts: dict[Key, list[bool]] = {}
    for _ in range(logs):
        effects = [e for e in printed(chosen_for(idle, n_shots, rng)) if _is_setting(e)]
        for effect in effects:
            counts.setdefault((_name(effect), "false alarms"), []).append(effect.is_clear)
        smallest = min((e.estimate.p_value for e in effects), default=1.0)
        any_one = smallest * len(effects) < 0.05
        counts.setdefault(("any, after Holm", "false alarms"), []).append(any_one)
    yield from _tallies(idle, n_shots, counts)


def _is_setting(effect: Effect) -> bool:
    return effect.predictor.kind == "setting"


def _tallies(case: Case, n_shots: int, counts: dict[Key, list[bool]]) -> Iterator[Tally]:
    most = max(map(len, counts.values()))
    rare: list[bool] = []
    for (quantity, promise), held in counts.items():
        if len(held) < RARE * most:
            rare += held
        else:
            yield Tally(case.name, n_shots, quantity, promise, sum(held), len(held))
    if rare:
        yield Tally(case.name, n_shots, "printed rarely", "no promise", sum(rare), len(rare))


def study(
    logs: int,
    seed: int,
    *,
    cases: Iterable[Case] = CASES,
    sizes: Iterable[int] = tuple(SIZES),
    alarms: bool = False,
) -> Iterator[Tally]:
    """Yield every tally, each case and size from a stream of its own."""
    pairs = [(case, n_shots) for case in cases for n_shots in sizes]
    streams = np.random.SeedSequence(seed).spawn(len(pairs))
    ask = alarmed if alarms else covered
    for (case, n_shots), stream in zip(pairs, streams, strict=True):
        yield from ask(case, n_shots, logs, np.random.default_rng(stream))


def run(logs: int, seed: int, *, alarms: bool = False) -> int:
    """Print the study, a case at a time, and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies: list[Tally] = []
    for case in CASES:
        found = list(study(logs, seed, cases=[case], alarms=alarms))
        print(report(found) if not tallies else report(found).partition("\n")[2], flush=True)
        tallies += found
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
