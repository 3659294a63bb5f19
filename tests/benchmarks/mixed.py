"""Mixed models of many scores, against statsmodels and R, and how cost and memory grow."""

from __future__ import annotations

import tracemalloc
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

from tests.benchmarks.engines import Task, against_r
from tests.benchmarks.ratios import Finding, at_least, at_most, in_turns
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed

SCORES, TASTERS, SESSIONS = 3_000, 120, 150
TIMES = 64
IN_A_ROW = 20
SEED = 20_260_304

#: Lines of R before a fit by lme4, and one by lmerTest, which prepares degrees of freedom.
FACTORS = "scores$taster <- factor(scores$taster); scores$session <- factor(scores$session)"
LME4, LMER_TEST = (
    f"suppressMessages(library({name}))\n{FACTORS}" for name in ("lme4", "lmerTest")
)


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

    def task(self, prepared: str, groups: str) -> Task:
        """Return the same for R."""
        columns = {"grind": self.columns[:, 1], "low": self.columns[:, 2]}
        frame = self.groups.assign(score=self.response, **columns)
        return Task(frame, prepared, f"lmer(score ~ grind + low + {groups}, scores)", IN_A_ROW)

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


def with_degrees_of_freedom(scores: Scores) -> MixedFit:
    """Return our fit once its degrees of freedom are known, as lmerTest prepares them."""
    fit = scores.by_taster()
    return fit if np.isfinite(fit.df).all() else scores.by_taster()


def beside_r(scores: Scores) -> list[Finding]:
    """Return the comparisons with lme4 and lmerTest, where R is here."""
    taster, both = "(1 | taster)", "(1 | taster) + (1 | session)"
    size = f"{SCORES:,} scores × {TASTERS} tasters"
    crossed = f"{size} crossed with {SESSIONS} sessions"
    return [
        *against_r(
            f"lme4 / ours, {size}",
            scores.by_taster,
            scores.task(LME4, taster),
            bound=10,
            rounds=7,
        ),
        *against_r(
            f"lmerTest / ours with degrees of freedom, {size}",
            lambda: with_degrees_of_freedom(scores),
            scores.task(LMER_TEST, taster),
            bound=None,
            rounds=3,
        ),
        *against_r(
            f"lme4 / ours, {crossed}",
            scores.crossed,
            scores.task(LME4, both),
            bound=None,
            rounds=3,
        ),
    ]


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
        *beside_r(scores),
        at_most(f"mixed model by taster, {TIMES} × the scores / one", growth, TIMES),
        peak_share(many),
    ]
