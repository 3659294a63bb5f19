"""Refits of one bag and trends of many: in one pass, and in time that grows with their number."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from statsmodels.regression.linear_model import OLS

from tests.benchmarks.ratios import Finding, at_least, at_most, in_turns
from yieldwright.models.linear.resampled import Resampled
from yieldwright.models.mixed.bootstrap import bootstrap_mixed
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric
from yieldwright.models.trend.many import trends_of
from yieldwright.models.trend.turning_points import TurningPoints, turning_points

SESSIONS, EACH, REFITS = 10, 6, 2_000
MANY, FEW = 500, 50
SEED = 20_260_308


def season(bags: int) -> pd.DataFrame:
    """Return bags of ten sessions of six shots, with age, grind and a response."""
    rng = np.random.default_rng(SEED)
    rows, sessions = bags * SESSIONS * EACH, bags * SESSIONS
    session = np.repeat(np.arange(sessions), EACH)
    age = rng.uniform(3, 40, sessions)[session]
    grind = rng.choice([9.0, 10.0, 11.0], rows)
    lift = rng.normal(0, 0.5, sessions)[session]
    y = 20 - 0.01 * (age - 18) ** 2 - 0.3 * grind + lift + rng.normal(0, 0.5, rows)
    bag = np.repeat(np.arange(bags), SESSIONS * EACH)
    return pd.DataFrame({"bag": bag, "session": session, "age": age, "grind": grind, "y": y})


class Bag:
    """One bag, a curve in its age refitted in one pass, and by a loop."""

    def __init__(self) -> None:
        self.frame = season(1)
        terms = [Numeric("grind"), Numeric("age", power=2)]
        design = build_design(self.frame, terms)
        self.fit = fit_mixed(design, self.frame["y"], [grouping(self.frame, "session")])
        self.matrix = design.matrix

    def ours(self) -> Resampled:
        """Return our refits, a shift by session among them."""
        return bootstrap_mixed(self.fit, rng=np.random.default_rng(1), times=REFITS)

    def whole(self) -> TurningPoints:
        """Return the best age with its interval, from the rows on."""
        frame = self.frame
        return turning_points(
            frame["age"],
            frame["y"],
            beside=frame[["grind"]],
            groups=frame["session"],
            rng=np.random.default_rng(1),
            times=REFITS,
        )

    def theirs(self) -> list[Any]:
        """Return the same number of refits by a loop over OLS, sessions left out."""
        rng, response = np.random.default_rng(1), self.frame["y"].to_numpy()
        fit = OLS(response, self.matrix).fit()
        places = rng.integers(0, len(response), (REFITS, len(response)))
        drawn = fit.fittedvalues + fit.resid[places]
        return [OLS(each, self.matrix).fit().params for each in drawn]


def trends(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the trends of all bags of a season."""
    return trends_of(
        frame["age"],
        frame["y"],
        frame["bag"],
        beside=frame[["grind"]],
        groups=frame["session"],
    )


def findings() -> list[Finding]:
    """Return the comparisons."""
    bag, rows = Bag(), SESSIONS * EACH
    seasons = {bags: season(bags) for bags in (MANY, FEW)}
    loop = f"loop over statsmodels OLS / ours with sessions, {REFITS:,} refits of a curve in"
    return [
        at_least(f"{loop} {rows} rows", in_turns(bag.ours, bag.theirs, rounds=5), 30),
        at_least(
            f"the same, from rows to the interval of the best age, {rows} rows",
            in_turns(bag.whole, bag.theirs, rounds=5),
            None,
        ),
        at_most(
            f"trends of {MANY} bags of {rows} rows / of {FEW}",
            in_turns(lambda: trends(seasons[MANY]), lambda: trends(seasons[FEW]), rounds=5),
            12,
        ),
    ]
