"""Scores: on the scale, around the law, from people who sip and spit."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest
from hypothesis import given

from tests.simulate.made import TRUTH, few, plan, seeds
from yieldwright.bench import Attribute
from yieldwright.simulate import default_plan, pull_shots, simulate_shots, taste_shots


def tastings(seed: int) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    return simulate_shots(TRUTH, default_plan(rng), rng)[1]


@few
@given(seeds)
def test_scores_stand_on_the_steps_of_the_scale(seed: int) -> None:
    scale = TRUTH.attributes[0]
    scores = tastings(seed)["score"]
    assert scores.between(scale.low, scale.high).all()
    assert ((scores - scale.low) % scale.step == 0).all()


def test_a_narrow_scale_clips() -> None:
    narrow = (Attribute("overall", 1, 3, 1), Attribute("bitter", 1, 3, 1))
    truth = dataclasses.replace(TRUTH, attributes=narrow)
    rng = np.random.default_rng(1)
    scores = taste_shots(truth, pull_shots(truth, default_plan(rng), rng), rng)["score"]
    assert set(scores) <= {1.0, 2.0, 3.0}


def test_without_noise_tasters_differ_by_their_offsets() -> None:
    still = TRUTH.without_noise()
    fine = dataclasses.replace(
        still, attributes=tuple(dataclasses.replace(a, step=0.001) for a in still.attributes)
    )
    rng = np.random.default_rng(2)
    cups = taste_shots(fine, pull_shots(fine, plan(temp_c=[91.0]), rng), rng)
    overall = cups[cups["attribute"] == "overall"].set_index("taster")["score"]
    offsets = pd.Series({each.taster: each.offset for each in TRUTH.taste.tasters})
    # Two roundings to 0.001.
    np.testing.assert_allclose(overall - overall["t3"], offsets - offsets["t3"], atol=1e-3)


def test_nobody_tastes_more_than_six_cups_an_evening() -> None:
    # At most six cups a sitting: common practice, no source.
    assert tastings(3)["tasting_order"].max() <= 6


@few
@given(seeds)
def test_each_taster_numbers_the_cups_without_a_gap(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shots, cups = simulate_shots(TRUTH, default_plan(rng), rng)
    evening = cups["shot"].map(shots.set_index("shot")["session"])
    orders = cups[cups["attribute"] == "overall"].groupby([evening, "taster"])["tasting_order"]
    assert orders.apply(lambda order: list(order) == list(range(1, len(order) + 1))).all()


def test_a_shot_without_a_cup_is_not_tasted() -> None:
    rng = np.random.default_rng(4)
    choked = pull_shots(TRUTH, plan(grind_setting=[0.0, 12.0]), rng)
    assert set(taste_shots(TRUTH, choked, rng)["shot"]) == {"s1"}


@few
@given(seeds)
def test_blind_codes_are_three_digits_and_differ_between_shots(seed: int) -> None:
    codes = tastings(seed).groupby("shot")["blind_code"].unique().explode()
    assert codes.str.fullmatch(r"[1-9]\d\d").all()
    assert codes.is_unique


def test_warm_ups_are_not_tasted() -> None:
    rng = np.random.default_rng(5)
    shots, cups = simulate_shots(TRUTH, default_plan(rng), rng)
    warm_ups = shots.loc[shots["stage"] == "warm_up", "shot"]
    assert not cups["shot"].isin(warm_ups).any()


def test_mean_of_many_scores_is_what_the_law_expects() -> None:
    n = 2000
    taste = dataclasses.replace(TRUTH.taste, session_sd=0.0)
    truth = dataclasses.replace(TRUTH.without_noise(), taste=taste)
    rng = np.random.default_rng(6)
    at_peak = plan(temp_c=[91.0] * n, tasters="t3")
    cups = taste_shots(truth, pull_shots(truth, at_peak, rng), rng)
    overall = cups.loc[cups["attribute"] == "overall", "score"]
    still = taste_shots(TRUTH.without_noise(), pull_shots(truth, at_peak[:1], rng), rng)
    # The still score is rounded to half a point; four standard errors on top.
    assert overall.mean() == pytest.approx(still["score"].iloc[0], abs=0.25 + 4 * 0.67 / n**0.5)
