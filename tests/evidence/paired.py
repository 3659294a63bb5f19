"""Does what is told of two bags in the same sessions hold, and does nothing seem to help?

Every log goes the way of a reader's: sessions both bags share, what is held equal, the
difference, its change from day to day, and the drift of the control by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from tests.evidence.paired_logs import (
    BENCH,
    CASES,
    FIRST,
    SCORE,
    SECOND,
    PairedCase,
    paired_log,
)
from tests.evidence.portions import Counts, each_case, print_cases
from tests.evidence.tally import Promise, Tally
from yieldwright.ageing.compared.paired import pair_bags_of

if TYPE_CHECKING:
    from yieldwright.models.contrasts.contrasts import Estimate

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
    return each_case(cases, told, tallied, logs=logs, seed=seed)


def run(logs: int, seed: int) -> int:
    """Print the study and return 0 where every promise was kept."""
    return print_cases(CASES, told, tallied, logs=logs, seed=seed)
