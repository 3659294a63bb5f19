"""Two things timed in turns, so that what disturbs one disturbs the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter


@dataclass(frozen=True)
class Finding:
    """What was measured, in words, and whether it keeps its bound."""

    name: str
    measured: str
    bound: str
    kept: bool


def seconds(act: Callable[[], object]) -> float:
    """Return how long one call takes."""
    began = perf_counter()
    act()
    return perf_counter() - began


def in_turns(
    ours: Callable[[], object], theirs: Callable[[], object], *, rounds: int
) -> tuple[float, float]:
    """Return the least time of each, taken in turns after one call that warms up."""
    ours(), theirs()
    times = [(seconds(ours), seconds(theirs)) for _ in range(rounds)]
    return min(t for t, _ in times), min(t for _, t in times)


def at_most(name: str, times: tuple[float, float], bound: float) -> Finding:
    """Return the finding that ours takes no more than so many times theirs."""
    ratio = times[0] / times[1]
    words = f"{ratio:.2f} x ({times[0]:.3g} s against {times[1]:.3g} s)"
    return Finding(name, words, f"at most {bound:g} x", ratio <= bound)


def at_least(name: str, times: tuple[float, float], bound: float | None) -> Finding:
    """Return the finding that theirs takes at least so many times ours."""
    ratio = times[1] / times[0]
    words = f"{ratio:,.0f} x ({times[1]:.3g} s against {times[0]:.3g} s)"
    if bound is None:
        return Finding(name, words, "no bound", kept=True)
    return Finding(name, words, f"at least {bound:,g} x", ratio >= bound)
