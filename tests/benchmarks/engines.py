"""R as something to compare with where it is installed, timed inside, without its start."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Protocol

import pandas as pd

from tests.benchmarks.ratios import Finding, at_least, seconds

#: Furthest apart that log-likelihoods of one answer may be.
SAME = 1e-4

#: Reads table and packages; then, for each line of input, tells how long one fit took, and its
#: log-likelihood.
TURNS = """
scores <- read.csv(commandArgs(TRUE)[1])
{prepared}
fit <- function() {call}
found <- fit()
cat("ready\\n")
turns <- file("stdin", "r")
while (length(readLines(turns, n = 1))) {{
  took <- system.time(for (each in seq_len({in_a_row})) found <- fit())[["elapsed"]] / {in_a_row}
  cat(took, format(as.numeric(logLik(found)), digits = 15), "\\n")
}}
"""


class Likely(Protocol):
    """A fit that knows how likely it is."""

    @property
    def log_likelihood(self) -> float:
        """Log-likelihood at the estimates."""


@dataclass(frozen=True)
class Task:
    """A fit in R.

    Attributes
    ----------
    frame : DataFrame
        What is fitted, called `scores` in R.
    prepared : str
        Lines of R that load packages and make factors.
    call : str
        The fit, in R.
    in_a_row : int
        Fits of one turn, by R and by us.
    """

    frame: pd.DataFrame
    prepared: str
    call: str
    in_a_row: int = 1


class Engine:
    """An R that has read a table and fits it whenever it is its turn."""

    def __init__(self, task: Task) -> None:
        self._folder = tempfile.TemporaryDirectory()
        table, script = (Path(self._folder.name) / name for name in ("scores.csv", "turns.R"))
        task.frame.to_csv(table, index=False)
        script.write_text(
            TURNS.format(prepared=task.prepared, call=task.call, in_a_row=task.in_a_row)
        )
        self._r = subprocess.Popen(
            ["Rscript", "--vanilla", script, table],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.is_ready = self._line() == "ready"

    def turn(self) -> tuple[float, float]:
        """Return the time of one fit, and its log-likelihood."""
        assert self._r.stdin
        print(file=self._r.stdin, flush=True)
        took, log_likelihood = self._line().split()
        return float(took), float(log_likelihood)

    def __enter__(self) -> Engine:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        # Without further lines it ends by itself.
        self._r.communicate()
        self._folder.cleanup()

    def _line(self) -> str:
        assert self._r.stdout
        return self._r.stdout.readline().strip()


def against_r(
    name: str, ours: Callable[[], Likely], task: Task, *, bound: float | None, rounds: int
) -> list[Finding]:
    """Return how much longer R takes, in turns with us, and how far apart the answers are."""
    absent = [Finding(name, "R or its package is not installed here", "no bound", kept=True)]
    if shutil.which("Rscript") is None:
        return absent
    with Engine(task) as engine:
        if not engine.is_ready:
            return absent
        answer = ours().log_likelihood
        times, turns = [], []
        for _ in range(rounds):
            times.append(seconds(lambda: [ours() for _ in range(task.in_a_row)]) / task.in_a_row)
            turns.append(engine.turn())
    best = min(times), min(took for took, _ in turns)
    apart = abs(answer - turns[-1][1])
    return [
        at_least(name, best, bound),
        Finding(
            f"{name}: log-likelihoods", f"{apart:.1g} apart", f"at most {SAME:g}", apart <= SAME
        ),
    ]
