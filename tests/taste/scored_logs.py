"""Small scored logs of known truth for the tests of this room."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from tests.evidence.ordinal import RESPONSE, SIZES, Scenario, found, scored, settings
from yieldwright.taste import ComparableSet
from yieldwright.taste.findings import Findings

__all__ = ["RESPONSE", "SIZES", "Scenario", "found", "log_of", "with_scores"]


def log_of(
    size: int = 24, *, seed: int = 1, signs: tuple[float, ...] = (), **truth: float
) -> ComparableSet:
    """Return a scored log; `truth` changes the scenario, `signs` turn tasters around."""
    rng = np.random.default_rng(seed)
    scenario = replace(Scenario("test"), **truth)
    turned = np.array(signs) if signs else None
    return scored(settings(size, rng), scenario, rng, signs=turned)


def with_scores(comparable: ComparableSet, tastings: pd.DataFrame) -> ComparableSet:
    """Return a log with other single scores, and means that go with them."""
    means = tastings.groupby("shot")["score"].mean()
    shots = comparable.shots.assign(**{RESPONSE: comparable.shots["shot"].map(means)})
    return replace(comparable, shots=shots, tastings=tastings)


def findings(comparable: ComparableSet) -> Findings:
    """Return what a fit of the overall score is told from."""
    return found(comparable)
