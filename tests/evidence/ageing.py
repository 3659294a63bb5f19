"""Does what is told of a bag across its age hold, and is no best day told where there is none?

Every bag goes the way of a log: rows, conditions allowed for, model, drift, best day, grind. A
best day that is refused, or whose set is open on one side, counts as it is told; how often the
days that are printed hold the truth stands beside it. What a bag does on average is the slope of
the straight line that fits its truth best at the ages of its own sessions.

How long a bag lasts is asked of a level that its truth falls below inside the days pulled at, or,
where it never falls, of one that it keeps. The next shot is drawn anew at the last age, at the
usual setting of that log.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import ndtr

from tests.evidence.bags import (
    BENCH,
    CASES,
    RESPONSES,
    USUAL_DOSE_G,
    USUAL_SETTING,
    Case,
    bag_logs,
)
from tests.evidence.portions import Counts, each_case, print_cases
from tests.evidence.tally import Promise, Tally
from yieldwright.ageing.bag_trend import BagTrend
from yieldwright.ageing.following import follow_set
from yieldwright.taste.columns.comparable import ComparableSet, set_of
from yieldwright.taste.columns.servicing import service_stretches

if TYPE_CHECKING:
    from yieldwright.ageing.trend.model import TrendModel
    from yieldwright.ageing.trend.rows import BagRows
    from yieldwright.models.contrasts.contrasts import Estimate

SCORE, TIME = "score:overall", "time_s"

#: Sessions that are like their neighbours: the trend takes them for independent, and warns.
CORRELATED = {"serially correlated sessions", "flat, serially correlated"}

#: Sessions from which on Kenward and Roger's degrees of freedom keep to what they say; on
#: fewer, and where the estimated spread of sessions is often zero, intervals cover more.
MANY_SESSIONS = 12

#: Refusals that must not fail, and no best day where there is none.
FOUND = (
    "no best day",
    "level refused",
    "grind not split from age",
    "shots that would split named",
)


def comparable_of(log: pd.DataFrame) -> ComparableSet:
    """Return the shots of a bag as a log would hand them over."""
    stretches = service_stretches(log)
    return set_of(log if stretches is None else log.assign(service_stretch=stretches))


def average(case: Case, response: str, rows: BagRows) -> float:
    """Return the true change per day on average over the days pulled on."""
    ages = rows.prepared.frame.groupby(rows.codes)["roast_age_d"].first().to_numpy(dtype=float)
    return float(np.polyfit(ages, case.drift(response, ages), 1)[0])


def best_age(case: Case) -> float | None:
    """Return the age at which the score is truly best, None where it has no best inside."""
    return case.break_age_d if case.shape == "break" else case.best_age_d


def usual_level(case: Case, shots: pd.DataFrame, age_d: float) -> float:
    """Return the true mean score at the usual setting of some shots, since the last service."""
    law = RESPONSES[SCORE]
    grind = law.grind * (shots["grind_setting"].mean() - USUAL_SETTING)
    dose = law.dose * (shots["dose_g"].mean() - USUAL_DOSE_G)
    return float(law.level + grind + dose + case.serviced * law.step) + float(
        case.drift(SCORE, age_d)
    )


def kept_level(case: Case, shots: pd.DataFrame) -> float:
    """Return a level that the truth falls below on a known day, or else keeps to the end."""
    if case.falls_d is not None:
        return usual_level(case, shots, case.falls_d)
    return usual_level(case, shots, case.last_d) - RESPONSES[SCORE].shot_sd


def counted(case: Case, log: pd.DataFrame, counts: Counts, rng: np.random.Generator) -> None:
    """Count what is told of one bag."""
    comparable = comparable_of(log)
    level = kept_level(case, comparable.shots)
    scored = follow_set(comparable, SCORE, bench=BENCH, at_least=level)
    if case.follows:
        _count_refusals(scored, counts)
        return
    if scored.drift is not None:
        _count_slope(case, SCORE, scored.drift.average, scored.drift.model, counts)
    if scored.compensation is not None:
        timed = scored.compensation
        _count_slope(case, TIME, timed.seconds_per_day, timed.model, counts)
    _count_grind(case, scored, counts)
    _count_best(case, scored, counts)
    _count_lasting(case, scored, comparable.shots, counts, rng)


def _count_slope(
    case: Case, response: str, found: Estimate, model: TrendModel, counts: Counts
) -> None:
    truth = average(case, response, model.rows)
    counts.add(f"{response} per day", found.ci_low <= truth <= found.ci_high)


def _count_refusals(found: BagTrend, counts: Counts) -> None:
    split = [each for each in found.entwined if each.column == "grind_setting"]
    refused = found.lasting is not None and not found.lasting.answered
    counts.add("level refused", refused)
    counts.add("grind not split from age", bool(split) and found.compensation is None)
    counts.add("no best day", found.best is None)
    named = bool(split) and split[0].separation is not None and bool(split[0].separation.shots)
    counts.add("shots that would split named", named)


def _count_grind(case: Case, found: BagTrend, counts: Counts) -> None:
    grind = found.compensation
    if grind is None or grind.finer_per_day is None:
        counts.add("settings per day told", False)
        return
    truth = average(case, TIME, grind.model.rows) / RESPONSES[TIME].grind
    counts.add("settings per day", grind.finer_per_day.holds(truth))
    counts.add("settings per day told", grind.finer_per_day.kind == "bounded")


def _count_best(case: Case, found: BagTrend, counts: Counts) -> None:
    best, truth = found.best, best_age(case)
    printed = best is not None and best.verdict in ("told", "open")
    if truth is None:
        counts.add("no best day", not printed)
        return
    right = best is None or not printed or best.low <= truth <= best.high
    counts.add("best day, every answer", right)
    counts.add("best day printed", printed)
    if printed:
        counts.add("best day, where printed", right)


def _count_lasting(
    case: Case, found: BagTrend, shots: pd.DataFrame, counts: Counts, rng: np.random.Generator
) -> None:
    """Count the days of falling below a level, one shot more, and the share that reaches it."""
    lasting, truth = found.lasting, case.falls_d
    if lasting is None or not lasting.answered:
        counts.add("level told", False)
        return
    if truth is None:
        counts.add(
            "no fall where there is none", math.isinf(lasting.high) and lasting.verdict != "below"
        )
    else:
        right = lasting.low <= truth <= lasting.high
        counts.add("falls below, every answer", right)
        bounded = math.isfinite(lasting.low) and math.isfinite(lasting.high)
        counts.add("falls below, two limits printed", bounded)
        if bounded:
            counts.add("falls below, where printed", right)
    law, last = RESPONSES[SCORE], lasting.levels.iloc[-1]
    mean, spread = usual_level(case, shots, lasting.last), math.hypot(law.session_sd, law.shot_sd)
    counts.add("one shot", last["shot_low"] <= rng.normal(mean, spread) <= last["shot_high"])
    share = float(ndtr((mean - lasting.at_least) / spread))
    counts.add("share printed", math.isfinite(lasting.share))
    if math.isfinite(lasting.share):
        counts.add("share that reaches", lasting.share_low <= share <= lasting.share_high)


def promise_of(case: Case, quantity: str) -> Promise:
    """Return what is promised of a quantity in a case."""
    if quantity.endswith((" told", " printed")):
        return "no promise"
    if quantity in FOUND:
        return "no promise" if case.name in CORRELATED else "found"
    if case.name in CORRELATED:
        return "no promise"
    if quantity.startswith(("best day", "falls below", "no fall", "share")):
        return "at least"
    exact = case.sessions >= MANY_SESSIONS or case.shots == 1
    return "coverage" if exact and quantity == "settings per day" else "at least"


def followed(case: Case, logs: int, stream: np.random.SeedSequence) -> Counts:
    """Return what is told of many bags of one case."""
    counts = Counts()
    rng = np.random.default_rng(stream)
    for log in bag_logs(case, logs, rng):
        counted(case, log, counts, rng)
    return counts


def tallied(case: Case, counts: Counts) -> Iterator[Tally]:
    """Yield a tally for each quantity."""
    for quantity, held in counts.found.items():
        promise = promise_of(case, quantity)
        yield Tally(case.name, case.n_shots, quantity, promise, sum(held), len(held))


def study(logs: int, seed: int, *, cases: Iterable[Case] = CASES) -> Iterator[Tally]:
    """Yield every tally, each case from a stream of its own."""
    return each_case(cases, followed, tallied, logs=logs, seed=seed)


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    return print_cases(CASES, followed, tallied, logs=logs, seed=seed)
