"""Mixed models of many scores, against statsmodels, and how cost and memory grow."""

from __future__ import annotations

import tracemalloc
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

from tests.benchmarks.ratios import Finding, at_least, at_most, in_turns
from yieldwright.models.mixed import MixedFit, fit_mixed
from yieldwright.models.mixed_groups import grouping

SCORES, TASTERS, SESSIONS = 3_000, 120, 150
TIMES = 64
IN_A_ROW = 20
SEED = 20_260_304


class Scores:
    """Scores by tasters in sessions, at a setting that varies and in two bands."""

    def __init__(self, count: int) -> None:
        rng = np.random.default_rng(SEED)
        taster, session = rng.integers(0, TASTERS, count), rng.integers(0, SESSIONS, count)
        grind, low = rng.uniform(-1, 1, count), rng.random(count) < 0.5
        lifts = rng.normal(0, 0.5, TASTERS)[taster] + rng.normal(0, 0.4, SESSIONS)[session]
        self.groups = pd.DataFrame({"taster": taster, "session": session})
        self.columns = np.column_stack([np.ones(count), grind, low]).astype(float)
        self.response = self.columns @ [6, 0.3, -0.2] + lifts + rng.normal(0, 1, count)

    def by_taster(self) -> MixedFit:
        """Return our fit with one random intercept."""
        return fit_mixed(self.columns, self.response, [grouping(self.groups, "taster")])

    def crossed(self) -> MixedFit:
        """Return our fit with crossed random intercepts."""
        groups = [grouping(self.groups, name) for name in ("taster", "session")]
        return fit_mixed(self.columns, self.response, groups)

    def by_taster_there(self) -> Any:
        """Return the fit of statsmodels with one random intercept."""
        return MixedLM(self.response, self.columns, groups=self.groups["taster"]).fit()

    def crossed_there(self) -> Any:
        """Return the fit of statsmodels with crossed groups, which takes one dense block."""
        names = ["taster", "session"]
        parts = [np.eye(int(self.groups[name].max()) + 1)[self.groups[name]] for name in names]
        labels = [[str(level) for level in range(part.shape[1])] for part in parts]
        model = MixedLM(
            self.response,
            self.columns,
            groups=np.zeros(len(self.response)),
            exog_re=np.zeros((len(self.response), 0)),
            exog_vc=VCSpec(names, [[each] for each in labels], [[part] for part in parts]),
        )
        return model.fit()


def quietly(act: Callable[[], Any]) -> Callable[[], Any]:
    """Return the same act without what it warns of."""

    def silent() -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return act()

    return silent


def same_problem(scores: Scores) -> Finding:
    """Return by how much the log-likelihoods of both differ."""
    apart = max(
        abs(scores.by_taster().log_likelihood - quietly(scores.by_taster_there)().llf),
        abs(scores.crossed().log_likelihood - quietly(scores.crossed_there)().llf),
    )
    words = f"{apart:.1g} apart"
    return Finding(
        "log-likelihoods of ours and statsmodels", words, "at most 1e-4", bool(apart <= 1e-4)
    )


def peak_share(scores: Scores) -> Finding:
    """Return peak memory of a fit, against one dense matrix of scores × groups."""
    scores.crossed()
    tracemalloc.start()
    scores.crossed()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    count = len(scores.response)
    share = peak / (count * (TASTERS + SESSIONS) * 8)
    words = f"{peak / 1e6:.0f} MB, {share:.2f} of a dense matrix of scores × groups"
    return Finding(
        f"peak memory, mixed model of {count:,} scores", words, "at most 0.25", share <= 0.25
    )


def findings() -> list[Finding]:
    """Return the comparisons, then how cost and memory grow."""
    scores, many = Scores(SCORES), Scores(SCORES * TIMES)
    ours, theirs = in_turns(
        lambda: [scores.by_taster() for _ in range(IN_A_ROW)],
        quietly(scores.by_taster_there),
        rounds=9,
    )
    crossed = in_turns(scores.crossed, quietly(scores.crossed_there), rounds=3)
    growth = in_turns(many.by_taster, scores.by_taster, rounds=9)
    name = f"statsmodels MixedLM / ours, {SCORES:,} scores × {TASTERS} tasters"
    return [
        at_least(name, (ours / IN_A_ROW, theirs), 100),
        at_least(f"{name} crossed with {SESSIONS} sessions", crossed, 50),
        same_problem(scores),
        at_most(f"mixed model by taster, {TIMES} × the scores / one", growth, TIMES),
        peak_share(many),
    ]
