"""Does the next shot fall where it is expected, and do joint limits hold jointly?

Each log goes the way of a fit: model chosen, means compared, one shot predicted in a
session not yet pulled (or the same one, where there is one), then pulled.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator

import numpy as np

from tests.evidence.policy_logs import BANDS, BENCH, CASES, SIZES, Case, pull
from tests.evidence.tally import Promise, Tally, report
from yieldwright.taste.choosing import choose
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.findings import Findings
from yieldwright.taste.means.setting_means import compare_settings
from yieldwright.taste.means.shot_prediction import predict_shot

#: Cases in which the next shot can be pulled from what is known of the last ones.
NAMES = {
    "independent",
    "band a session",
    "within sessions",
    "within, as mixed",
    "unbalanced",
    "unbalanced, mixed",
}
PULLED = tuple(case for case in CASES if case.name in NAMES)

#: Settings asked about, and where the next shot is pulled.
ASKED = ("grind_setting", "temp_band")
AT: dict[str, object] = {"grind_setting": 11.0, "temp_band": "low"}


def found_in(comparable: ComparableSet, case: Case) -> Findings:
    """Return what the log brings to light."""
    question = Question(case.response, BENCH, ASKED, ("roast_age_d",))
    prepared = prepare(comparable, question)
    chosen = choose(prepared, comparable, question, model=case.model)
    return Findings(question, comparable, prepared, chosen.judged, chosen)


def next_shot(comparable: ComparableSet, case: Case, rng: np.random.Generator) -> float:
    """Return the yield of the next shot at the settings asked for."""
    middle = float(comparable.shots["grind_setting"].mean())
    session = rng.normal(0, case.session_sd if case.sessions else 0.0)
    return 19 + case.grind * (11 - middle) + session + float(rng.normal(0, case.shot_sd))


def pulled(case: Case, n_shots: int, logs: int, rng: np.random.Generator) -> Iterator[Tally]:
    """Yield how often the next shot fell within its limits, and all pairs within theirs."""
    fell: list[bool] = []
    held: list[bool] = []
    for _ in range(logs):
        comparable = pull(case, n_shots, rng)
        findings, value = found_in(comparable, case), next_shot(comparable, case, rng)
        shot = predict_shot(findings, AT)
        if shot.answered:
            fell.append(shot.shot_low <= value <= shot.shot_high)
        means = compare_settings(findings)
        if means is not None and len(means.pairs):
            places = {name: float(number) for number, name in enumerate(BANDS)}
            apart = means.pairs["second"].map(places) - means.pairs["first"].map(places)
            low, high = means.pairs["joint_low"], means.pairs["joint_high"]
            held.append(bool(((low <= case.band * apart) & (case.band * apart <= high)).all()))
    joint: Promise = "at least"  # Tukey and Kramer's limits are too wide where shots are uneven
    parts = {"next shot": (fell, "coverage"), "all pairs at once": (held, joint)}
    for quantity, (counts, promise) in parts.items():
        if counts:
            yield Tally(case.name, n_shots, quantity, promise, sum(counts), len(counts))


def study(
    logs: int,
    seed: int,
    *,
    cases: Iterable[Case] = PULLED,
    sizes: Iterable[int] = tuple(SIZES),
) -> Iterator[Tally]:
    """Yield every tally, each case and size from a stream of its own."""
    pairs = [(case, n_shots) for case in cases for n_shots in sizes]
    streams = np.random.SeedSequence(seed).spawn(len(pairs))
    for (case, n_shots), stream in zip(pairs, streams, strict=True):
        yield from pulled(case, n_shots, logs, np.random.default_rng(stream))


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    tallies: list[Tally] = []
    for case in PULLED:
        found = list(study(logs, seed, cases=[case]))
        print(report(found) if not tallies else report(found).partition("\n")[2], flush=True)
        tallies += found
    print(f"{logs} logs a line, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not all(each.kept() for each in tallies))
