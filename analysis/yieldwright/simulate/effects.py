"""What one practical step truly does, averaged over the shots of a log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.simulate.ages import roast_age
from yieldwright.simulate.brewing import expected_score, expected_time, expected_yield

if TYPE_CHECKING:
    from yieldwright.simulate.truth import Truth

__all__ = ["step_effects"]


def step_effects(truth: Truth, pulled: pd.DataFrame) -> pd.DataFrame:
    """Return the true effect of one step of each setting on time, yield and score.

    Parameters
    ----------
    truth : Truth
        The laws.
    pulled : DataFrame
        One row per shot, as `pull_shots` makes it.

    Returns
    -------
    DataFrame
        One row per bag, response and term: `effect` is the expected response half a
        step above each counted, pulled shot less that half a step below, averaged.
        Steps are one setting coarser, one degree, and one bar more taper.

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.simulate import Truth, default_plan, pull_shots
    >>> rng = np.random.default_rng(1)
    >>> effects = step_effects(Truth(), pull_shots(Truth(), default_plan(rng), rng))
    >>> sorted(effects["term"].unique())
    ['grind_setting', 'taper_bar', 'temp_c']
    """
    usable = (pulled["fate"] == "pulled") & (pulled["stage"] == "counted")
    coarser = truth.grinder.coarser_sign * truth.grinder.step
    steps = {"grind_setting": coarser, "temp_c": 1.0, "taper_bar": 1.0}
    tables = []
    for term, step in steps.items():
        above = _expected(truth, pulled.assign(**{term: pulled[term] + step / 2}))
        below = _expected(truth, pulled.assign(**{term: pulled[term] - step / 2}))
        effect = (above - below)[usable].groupby(pulled["bag"]).mean()
        tables.append(
            effect.melt(var_name="response", value_name="effect", ignore_index=False).assign(
                term=term
            )
        )
    return pd.concat(tables).reset_index()[["bag", "response", "term", "effect"]]


def _expected(truth: Truth, shots: pd.DataFrame) -> pd.DataFrame:
    """Return the responses that the laws expect, strength following from yield."""
    ey_pct = expected_yield(truth, shots)
    tds_pct = ey_pct * shots["dose_g"] / shots["beverage_g"]
    age_d = roast_age(truth, shots)
    scores = expected_score(truth, tds_pct, ey_pct, shots["taper_bar"], age_d=age_d)
    responses = pd.DataFrame({"time_s": expected_time(truth, shots), "ey_pct": ey_pct})
    return responses.join(scores.add_prefix("score:"))
