"""A bench with known truth: laws, a plan, and the shots and scores that come of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.simulate.brewing import (
    expected_score,
    expected_time,
    expected_yield,
    heat_left,
    settings_from_need,
)
from yieldwright.simulate.demo import DEMO_SEED, write_demo
from yieldwright.simulate.demo_truth import DemoTruth, read_demo_truth
from yieldwright.simulate.effects import step_effects
from yieldwright.simulate.one_bag import ONE_BAG_SEED, one_bag_truth, write_one_bag
from yieldwright.simulate.plan import BAND_C, EVENINGS, Evening, default_plan, plan_shots
from yieldwright.simulate.pulling import log_shots, pull_shots
from yieldwright.simulate.tasting import taste_shots
from yieldwright.simulate.truth import Truth
from yieldwright.simulate.two_halves import (
    TWO_HALVES_SEED,
    two_halves_truth,
    write_two_halves,
)

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

__all__ = [
    "BAND_C",
    "DEMO_SEED",
    "EVENINGS",
    "ONE_BAG_SEED",
    "TWO_HALVES_SEED",
    "DemoTruth",
    "Evening",
    "Truth",
    "default_plan",
    "expected_score",
    "expected_time",
    "expected_yield",
    "heat_left",
    "log_shots",
    "one_bag_truth",
    "plan_shots",
    "pull_shots",
    "read_demo_truth",
    "settings_from_need",
    "simulate_shots",
    "step_effects",
    "taste_shots",
    "two_halves_truth",
    "write_demo",
    "write_one_bag",
    "write_two_halves",
]


def simulate_shots(
    truth: Truth, plan: pd.DataFrame, rng: np.random.Generator
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the shots and the tastings that a plan would bring into a log.

    Parameters
    ----------
    truth : Truth
        The laws and instruments.
    plan : DataFrame
        One row per shot, as `plan_shots` makes it.
    rng : Generator
        Source of chance.

    Returns
    -------
    shots : DataFrame
        One row per shot, as `log_shots` makes it.
    tastings : DataFrame
        One row per shot, taster and attribute, as `taste_shots` makes it.

    Examples
    --------
    >>> import numpy as np
    >>> rng = np.random.default_rng(1)
    >>> shots, tastings = simulate_shots(Truth(), default_plan(rng), rng)
    >>> len(shots), set(tastings["shot"]) <= set(shots["shot"])
    (60, True)
    """
    pulled = pull_shots(truth, plan, rng)
    return log_shots(truth, pulled, rng), taste_shots(truth, pulled, rng)
