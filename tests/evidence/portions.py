"""Counting over many logs, case by case, in portions that several processors share."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

import numpy as np

from tests.evidence.tally import Tally, report

Case = TypeVar("Case")

#: Logs a portion of work holds.
PORTION = 250


@dataclass(slots=True)
class Counts:
    """How often each thing was so, and in how many logs it could have been."""

    found: dict[str, list[bool]] = field(default_factory=dict)

    def add(self, quantity: str, held: bool) -> None:
        """Count one log."""
        self.found.setdefault(quantity, []).append(bool(held))

    def joined(self, other: Counts) -> Counts:
        """Return the counts of both."""
        names = dict.fromkeys((*self.found, *other.found))
        return Counts({n: self.found.get(n, []) + other.found.get(n, []) for n in names})


def each_case(
    cases: Iterable[Case],
    counted: Callable[[Case, int, np.random.SeedSequence], Counts],
    tallied: Callable[[Case, Counts], Iterator[Tally]],
    *,
    logs: int,
    seed: int,
) -> Iterator[Tally]:
    """Yield every tally, each case from a stream of its own."""
    chosen = list(cases)
    streams = np.random.SeedSequence(seed).spawn(len(chosen))
    for case, stream in zip(chosen, streams, strict=True):
        yield from tallied(case, counted(case, logs, stream))


def portions_of(
    logs: int, stream: np.random.SeedSequence
) -> tuple[list[int], list[np.random.SeedSequence]]:
    """Return how many logs each portion holds, and a stream for each."""
    streams = stream.spawn(-(-logs // PORTION))
    return [min(PORTION, logs - PORTION * n) for n in range(len(streams))], streams


def print_cases(
    cases: Iterable[Case],
    counted: Callable[[Case, int, np.random.SeedSequence], Counts],
    tallied: Callable[[Case, Counts], Iterator[Tally]],
    *,
    logs: int,
    seed: int,
) -> int:
    """Print every tally, each case once it is known; return 0 where every promise was kept."""
    began = time.perf_counter()
    kept, chosen = True, list(cases)
    streams = np.random.SeedSequence(seed).spawn(len(chosen))
    with ProcessPoolExecutor() as pool:
        for place, (case, stream) in enumerate(zip(chosen, streams, strict=True)):
            found = Counts()
            for each in pool.map(partial(counted, case), *portions_of(logs, stream)):
                found = found.joined(each)
            tallies = list(tallied(case, found))
            kept &= all(each.kept() for each in tallies)
            table = report(tallies)
            print(table if not place else table.partition("\n")[2], flush=True)
    print(f"{logs} logs a case, seed {seed}, {time.perf_counter() - began:.0f} s")
    return int(not kept)
