"""Does what is told of two bags in the same sessions hold, and does nothing seem to help?

Every log goes the way of a reader's: sessions both bags share, what is held equal, the
difference, its change from day to day, and the drift of the control by itself.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from tests.evidence.ageing import Counts
from tests.evidence.paired_logs import (
    BENCH,
    CASES,
    FIRST,
    SCORE,
    SECOND,
    PairedCase,
    paired_log,
)
from tests.evidence.tally import Promise, Tally, report
from yieldwright.ageing.compared.paired import pair_bags_of

if TYPE_CHECKING:
    from yieldwright.models.contrasts.contrasts import Estimate

#: Logs a portion of work holds.
PORTION = 250

DIFFERENCE, CHANGE, CONTROL = "difference", "its change per day", "control per day"
ALARM, TOGETHER = "said to differ", "told as bag and grind together"


def counted(case: PairedCase, rng: np.random.Generator, counts: Counts) -> None:
    """Count what is told of one log."""
    found = pair_bags_of(paired_log(case, rng), SCORE, bags=(FIRST, SECOND), bench=BENCH)
    if case.finer:
        named = any(each.code == "bag-with-setting" for each in found.cautions)
        counts.add(TOGETHER, found.together == ("grind_setting",) and named)
        return
    if found.difference is None:
        raise AssertionError(f"{case.name}: {found.missing}")
    counts.add(DIFFERENCE, _holds(found.difference, case.difference))
    if not case.difference:
        counts.add(ALARM, "no difference" not in " ".join(found.sentences))
    if found.per_day is not None:
        counts.add(CHANGE, _holds(found.per_day, case.per_day))
    if found.own[1] is not None:
        counts.add(CONTROL, _holds(found.own[1].per_day, case.control_per_day))


def _holds(found: Estimate, truth: float) -> bool:
    return found.ci_low <= truth <= found.ci_high


def promise_of(case: PairedCase, quantity: str) -> Promise:
    """Return what is promised of a quantity in a case."""
    if quantity == ALARM:
        return "false alarms"
    if quantity == TOGETHER:
        return "found"
    # A mean over a difference that moves takes its movement for spread.
    moves = bool(case.per_day) and quantity == DIFFERENCE
    return "coverage" if case.exact and quantity != CONTROL and not moves else "at least"


def told(case: PairedCase, logs: int, stream: np.random.SeedSequence) -> Counts:
    """Return what is told of many logs of one case."""
    rng, counts = np.random.default_rng(stream), Counts()
    for _ in range(logs):
        counted(case, rng, counts)
    return counts


def tallied(case: PairedCase, counts: Counts) -> Iterator[Tally]:
    """Yield a tally for each quantity."""
    rows = case.sessions * sum(case.each)
    for quantity, held in counts.found.items():
        promise = promise_of(case, quantity)
        yield Tally(case.name, rows, quantity, promise, sum(held), len(held))


def study(logs: int, seed: int, *, cases: Iterable[PairedCase] = CASES) -> Iterator[Tally]:
    """Yield every tally, each case from a stream of its own."""
    chosen = list(cases)
    streams = np.random.SeedSequence(seed).spawn(len(chosen))
    for case, stream in zip(chosen, streams, strict=True):
        yield from tallied(case, told(case, logs, stream))


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    began = time.perf_counter()
    kept = True
    streams = np.random.SeedSequence(seed).spawn(len(CASES))
    with ProcessPoolExecutor() as pool:
        for place, (case, stream) in enumerate(zip(CASES, streams, strict=True)):
            portions = stream.spawn(-(-logs // PORTION))
            sizes = [min(PORTION, logs - PORTION * n) for n in range(len(portions))]
            found = Counts()
            for each in pool.map(partial(told, case), sizes, portions):
                found = found.joined(each)
            tallies = list(tallied(case, found))
            kept &= all(each.kept() for each in tallies)
            table = report(tallies)
            print(table if not place else table.partition("\n")[2], flush=True)
    print(f"{logs} logs a case, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not kept)
