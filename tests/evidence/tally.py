"""Counting how often a promise held, and judging the count."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Promise = Literal[
    "coverage", "at least", "false alarms", "power", "found", "clean alarms", "no promise"
]

#: Lowest and highest share that counts as kept, by kind of promise.
BOUNDS: dict[Promise, tuple[float, float]] = {
    "coverage": (0.93, 0.97),
    "at least": (0.93, 1.0),  # robust and discrete intervals may cover more than they say
    "false alarms": (0.0, 0.065),
    "power": (0.764, 0.836),  # four binomial standard errors of 2,000 logs about 0.8
    "found": (0.95, 1.0),  # a mistake that was planted
    "clean alarms": (0.0, 0.05),  # a check on logs without any mistake
    "no promise": (0.0, 1.0),  # shown so that a known limit stays in sight; never printed
}

#: What each promise says, before any allowance.
SAID: dict[Promise, float] = {
    "coverage": 0.95,
    "at least": 0.95,
    "false alarms": 0.05,
    "power": 0.8,
    "found": 0.95,
    "clean alarms": 0.05,
    "no promise": 0.95,
}


@dataclass(frozen=True, slots=True)
class Tally:
    """How often one promise held over many simulated logs."""

    scenario: str
    rows: int
    quantity: str
    promise: Promise
    held: int
    logs: int

    @property
    def share(self) -> float:
        """Share of logs in which it held."""
        return self.held / self.logs

    @property
    def four_errors(self) -> float:
        """Four binomial standard errors at what the promise says."""
        said = SAID[self.promise]
        return 4 * math.sqrt(said * (1 - said) / self.logs)

    def kept(self) -> bool:
        """Return whether the share lies within the policy's bounds."""
        low, high = BOUNDS[self.promise]
        return low <= self.share <= high

    def credible(self) -> bool:
        """Return whether the share lies within four standard errors of what was said."""
        said = SAID[self.promise]
        allowed = {
            "at least": self.share > said,
            "false alarms": self.share < said,
            "found": self.share > said,
            "clean alarms": self.share < said,
            "no promise": True,
        }
        return allowed.get(self.promise, False) or abs(self.share - said) <= self.four_errors


def report(tallies: Iterable[Tally]) -> str:
    """Return a table, one line per promise."""
    rows = list(tallies)
    wide = max([16, *(len(each.scenario) + 1 for each in rows)])
    lines = [f"{'scenario':<{wide}}{'rows':>5}  {'quantity':<33}{'promise':<14}{'share':>6}"]
    for each in rows:
        verdict = "" if each.kept() else "  NOT KEPT"
        lines.append(
            f"{each.scenario:<{wide}}{each.rows:>5}  {each.quantity:<33}{each.promise:<14}"
            f"{each.share:>6.3f}{verdict}"
        )
    return "\n".join(lines)
