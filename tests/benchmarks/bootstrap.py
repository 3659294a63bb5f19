"""Two thousand refits in one pass, against a loop over statsmodels."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
from statsmodels.regression.linear_model import OLS
from statsmodels.regression.mixed_linear_model import MixedLM

from tests.benchmarks.mixed import quietly
from tests.benchmarks.ratios import Finding, at_least, in_turns, seconds
from yieldwright.models.linear.bootstrap import Scheme, bootstrap
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.linear.resampled import Resampled
from yieldwright.models.mixed.bootstrap import bootstrap_mixed
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Factor, Numeric

ROWS, SESSIONS, REFITS = 24, 6, 2_000
SEED = 20_260_307

#: Refits of the slow loop that are timed; the rest take as long each.
TIMED = 40


class Log:
    """A log of six sessions of four shots, and the fits to be resampled."""

    def __init__(self) -> None:
        rng = np.random.default_rng(SEED)
        session = np.repeat(np.arange(SESSIONS), ROWS // SESSIONS)
        grind = rng.choice([9.0, 10.0, 11.0], ROWS)
        band = rng.permuted(np.resize(["low", "high"], ROWS))
        lift = rng.normal(0, 0.6, SESSIONS)[session]
        response = 20 - 0.4 * grind + lift + rng.normal(0, 0.5, ROWS)
        self.frame = pd.DataFrame(
            {"grind": grind, "band": band, "session": session, "y": response}
        )
        self.design = build_design(self.frame, [Numeric("grind"), Factor("band")])
        self.fit = fit_least_squares(self.design, self.frame["y"])
        self.mixed = fit_mixed(self.design, self.frame["y"], [grouping(self.frame, "session")])

    def ours(self, scheme: Scheme) -> Resampled:
        """Return our refits of the line."""
        return bootstrap(self.fit, rng=np.random.default_rng(1), scheme=scheme, times=REFITS)

    def ours_mixed(self) -> Resampled:
        """Return our refits of the mixed model."""
        return bootstrap_mixed(self.mixed, rng=np.random.default_rng(1), times=REFITS)

    def theirs(self, scheme: Scheme) -> list[Any]:
        """Return the same by a loop over statsmodels OLS."""
        rng, response = np.random.default_rng(1), self.frame["y"].to_numpy()
        matrix, rows = self.design.matrix, rng.integers(0, ROWS, (REFITS, ROWS))
        if scheme == "case":
            return [OLS(response[each], matrix[each]).fit().params for each in rows]
        drawn = self.fit.fitted + self.fit.residuals[rows]
        return [OLS(each, matrix).fit().params for each in drawn]

    def theirs_mixed(self) -> list[Any]:
        """Return the first refits of a loop over statsmodels MixedLM."""
        rng, groups = np.random.default_rng(1), self.frame["session"].to_numpy()
        middle = self.design.matrix @ self.mixed.params
        drawn = middle + rng.normal(0, 0.6, (TIMED, SESSIONS))[:, groups]
        drawn = drawn + rng.normal(0, 0.5, (TIMED, ROWS))
        return [MixedLM(each, self.design.matrix, groups=groups).fit().params for each in drawn]


def against_mixed(log: Log) -> tuple[float, float]:
    """Return our time and theirs, theirs reckoned from the refits that were timed."""
    loop: Callable[[], Any] = quietly(log.theirs_mixed)
    log.ours_mixed(), loop()
    theirs = min(seconds(loop) for _ in range(3)) * REFITS / TIMED
    return min(seconds(log.ours_mixed) for _ in range(5)), theirs


def findings() -> list[Finding]:
    """Return the comparisons."""
    log = Log()
    what = f"{REFITS:,} refits of {ROWS} rows"
    schemes: tuple[Scheme, ...] = ("residual", "case")
    lines = [
        at_least(
            f"loop over statsmodels OLS / ours, {what}, drawn by {scheme}",
            in_turns(partial(log.ours, scheme), partial(log.theirs, scheme), rounds=5),
            30,
        )
        for scheme in schemes
    ]
    name = f"loop over statsmodels MixedLM (reckoned from {TIMED}) / ours, {what}"
    return [*lines, at_least(name, against_mixed(log), 100)]
