"""Scores of ten levels by tasters who differ, against R, and how cost and memory grow."""

from __future__ import annotations

import tracemalloc
from functools import partial

import numpy as np
import pandas as pd

from tests.benchmarks.engines import Task, against_r
from tests.benchmarks.ratios import Finding, at_most, in_turns
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.ordinal.mixed import NODES, OrdinalMixedFit, fit_ordinal_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric

SCORES, TASTERS, LEVELS = 3_000, 120, 10
TIMES = 10
SEED = 20_260_305

#: Nodes that R is asked for, and what its search for modes must be told to answer to 1e-4:
#: by Laplace's approximation its own setting stops 7e-4 short of the peak.
ASKED = {1: ", control = clmm.control(gradTol = 1e-6)", 7: ""}

PREPARED = """
suppressMessages(library(ordinal))
scores$taster <- factor(scores$taster)
scores$score <- factor(scores$score, ordered = TRUE)
"""


class Scores:
    """Scores of one to ten by tasters, at a setting that varies and in two bands."""

    def __init__(self, count: int) -> None:
        rng = np.random.default_rng(SEED)
        taster = rng.integers(0, TASTERS, count)
        grind, low = rng.uniform(-1, 1, count), (rng.random(count) < 0.5).astype(float)
        line = 0.8 * grind - 0.4 * low + rng.normal(0, 0.8, TASTERS)[taster]
        cuts = np.linspace(-3, 3, LEVELS - 1)
        score = 1 + np.searchsorted(cuts, line + rng.logistic(0, 1, count))
        columns = {"taster": taster, "grind": grind, "low": low, "score": score}
        self.frame = pd.DataFrame(columns)
        self.design = build_design(self.frame, [Numeric("grind"), Numeric("low")])

    def fit(self, nodes: int) -> OrdinalMixedFit:
        """Return our fit with a shift of each taster."""
        groups = grouping(self.frame, "taster")
        return fit_ordinal_mixed(self.design, self.frame["score"], groups, nodes=nodes)

    def task(self, nodes: int, control: str) -> Task:
        """Return the same for R."""
        call = f"clmm(score ~ grind + low + (1 | taster), scores, nAGQ = {nodes}{control})"
        return Task(self.frame, PREPARED, call)


def peak_share(scores: Scores) -> Finding:
    """Return peak memory of a fit, against one dense matrix of scores × tasters."""
    scores.fit(NODES)
    tracemalloc.start()
    scores.fit(NODES)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    count = len(scores.frame)
    share = peak / (count * TASTERS * 8)
    words = f"{peak / 1e6:.1f} MB, {share:.2f} of a dense matrix of scores × tasters"
    name = f"peak memory, cumulative-link model of {count:,} scores, {NODES} nodes"
    return Finding(name, words, "at most 0.75", share <= 0.75)


def findings() -> list[Finding]:
    """Return the comparisons, then how cost and memory grow."""
    scores, many = Scores(SCORES), Scores(SCORES * TIMES)
    size = f"{SCORES:,} scores × {TASTERS} tasters"
    beside = [
        each
        for nodes, control in ASKED.items()
        for each in against_r(
            f"ordinal::clmm / ours, {nodes} nodes, {size}",
            partial(scores.fit, nodes),
            scores.task(nodes, control),
            bound=10,
            rounds=2,
        )
    ]
    growth = {
        n: in_turns(partial(many.fit, n), partial(scores.fit, n), rounds=3) for n in (1, NODES)
    }
    name = f"cumulative-link model by taster, {TIMES} × the scores / one"
    return [
        *beside,
        *(at_most(f"{name}, {n} nodes", times, 1.2 * TIMES) for n, times in growth.items()),
        peak_share(many),
    ]
