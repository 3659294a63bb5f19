"""Shots as they happen and as they are read."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given

from tests.simulate.made import TRUTH, few, plan, seeds
from yieldwright.extraction import extraction_yield
from yieldwright.glossary import SHOT_QUANTITIES, quantity
from yieldwright.simulate import (
    default_plan,
    expected_time,
    expected_yield,
    log_shots,
    pull_shots,
    simulate_shots,
    step_effects,
)

STILL = TRUTH.without_noise()
MANY = 4000


def pulled(seed: int) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    return pull_shots(TRUTH, default_plan(rng), rng)


def share(shots: pd.DataFrame, fate: str) -> float:
    return float((shots["fate"] == fate).mean())


def four_errors(probability: float) -> float:
    return 4 * math.sqrt(probability * (1 - probability) / MANY)


@few
@given(seeds)
def test_strength_yield_and_masses_balance(seed: int) -> None:
    shots = pulled(seed).dropna(subset="ey_pct")
    balanced = extraction_yield(shots["tds_pct"], shots["beverage_g"], shots["dose_g"])
    np.testing.assert_allclose(shots["ey_pct"], balanced, rtol=1e-12)


@few
@given(seeds)
def test_held_less_end_is_the_taper(seed: int) -> None:
    shots = pulled(seed).dropna(subset="end_bar")
    taper = shots["hold_bar"] - shots["end_bar"]
    np.testing.assert_allclose(taper, shots["taper_bar"], atol=1e-12)


def test_without_noise_shots_are_what_the_laws_expect() -> None:
    asked = default_plan(np.random.default_rng(1))
    shots = pull_shots(STILL, asked, np.random.default_rng(2))
    ran = shots["fate"] == "pulled"
    np.testing.assert_allclose(shots["time_s"][ran], expected_time(STILL, asked)[ran])
    np.testing.assert_allclose(shots["ey_pct"][ran], expected_yield(STILL, asked)[ran])


def test_without_noise_the_log_gives_back_the_yield_to_its_displays() -> None:
    rng = np.random.default_rng(3)
    shots = pull_shots(STILL, default_plan(rng), rng).query("fate == 'pulled'")
    read = log_shots(STILL, shots, rng)
    ey_pct = extraction_yield(read["tds_pct"], read["beverage_g"], read["dose_g"])
    # Half a step of each display: 0.005 of 10 %, 0.05 of 36 g, 0.05 of 18 g.
    assert (ey_pct / shots["ey_pct"] - 1).abs().max() <= 0.0005 + 0.0014 + 0.0028


@few
@given(seeds)
def test_the_same_seed_pulls_the_same_shots(seed: int) -> None:
    logs = [
        simulate_shots(TRUTH, default_plan(rng), rng)
        for rng in (np.random.default_rng(seed), np.random.default_rng(seed))
    ]
    pd.testing.assert_frame_equal(logs[0][0], logs[1][0])
    pd.testing.assert_frame_equal(logs[0][1], logs[1][1])


def test_half_of_the_shots_choke_where_the_law_says_half() -> None:
    setting = TRUTH.bags[0].needs_setting + TRUTH.failure.choked_at
    shots = pull_shots(TRUTH, plan(grind_setting=[setting] * MANY), np.random.default_rng(4))
    assert share(shots, "choked") == pytest.approx(0.5, abs=four_errors(0.5))


def test_half_of_the_shots_gush_where_the_law_says_half() -> None:
    setting = TRUTH.bags[0].needs_setting + TRUTH.failure.gushed_at
    shots = pull_shots(TRUTH, plan(grind_setting=[setting] * MANY), np.random.default_rng(5))
    assert share(shots, "gushed") == pytest.approx(0.5, abs=four_errors(0.5))


@pytest.mark.parametrize(("distribution", "times"), [("stir", 1.0), ("tap", 4.0)])
def test_careless_pucks_channel_more_often(distribution: str, times: float) -> None:
    shots = pull_shots(TRUTH, plan(distribution=[distribution] * MANY), np.random.default_rng(6))
    expected = TRUTH.failure.channelled_share * times
    assert share(shots, "channelled") == pytest.approx(expected, abs=four_errors(expected))


def test_a_few_shots_in_a_hundred_fail() -> None:
    fates = pd.concat([pulled(seed)["fate"] for seed in range(60)])
    assert 0.04 < (fates != "pulled").mean() < 0.09


def test_a_choked_shot_has_no_cup() -> None:
    shots = pull_shots(TRUTH, plan(grind_setting=[0.0]), np.random.default_rng(7))
    assert shots["fate"].item() == "choked"
    assert shots[["beverage_g", "time_s", "tds_pct", "ey_pct"]].isna().all(axis=None)


def test_a_channelled_shot_is_faster_and_weaker() -> None:
    leaky = dataclasses.replace(
        STILL, failure=dataclasses.replace(STILL.failure, channelled_share=1.0)
    )
    asked = plan(temp_c=[91.0])
    sound, leaked = (pull_shots(each, asked, np.random.default_rng(8)) for each in (STILL, leaky))
    assert leaked["time_s"].item() < sound["time_s"].item()
    assert leaked["tds_pct"].item() < sound["tds_pct"].item()


def test_spread_between_shots_is_the_one_stated() -> None:
    shots = pull_shots(
        TRUTH, plan(session=["e1"] * MANY, position=list(range(MANY))), np.random.default_rng(9)
    ).query("fate == 'pulled'")
    left = shots["ey_pct"] - expected_yield(TRUTH, shots)
    # Relative standard error of an SD of n shots: 1 / sqrt(2 n).
    assert left.std() == pytest.approx(TRUTH.extraction.shot_sd_pct, rel=4 / math.sqrt(2 * MANY))


@few
@given(seeds)
def test_readings_of_good_shots_look_usual(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shots, _ = simulate_shots(TRUTH, default_plan(rng), rng)
    good = shots[shots["fate"] == "pulled"]
    for name in good.select_dtypes("number"):
        unusual = ~good[name].dropna().map(quantity(name).soft.holds)
        assert unusual.sum() <= 1, name  # a shot that nearly choked may run over a minute


def test_columns_stand_in_the_order_of_the_glossary() -> None:
    rng = np.random.default_rng(10)
    shots, _ = simulate_shots(TRUTH, default_plan(rng), rng)
    order = [entry.name for entry in SHOT_QUANTITIES if entry.name in shots]
    assert list(shots.columns) == order


def test_a_step_of_a_linear_law_is_its_coefficient() -> None:
    effects = step_effects(TRUTH, pulled(11)).set_index(["response", "term"])["effect"]
    law = TRUTH.taste
    assert effects["ey_pct", "temp_c"].to_numpy() == pytest.approx(TRUTH.extraction.per_c_pct)
    assert effects["score:overall", "taper_bar"].to_numpy() == pytest.approx(law.per_taper_bar)
    assert effects["score:bitter", "taper_bar"].to_numpy() == pytest.approx(
        law.bitter_per_taper_bar
    )


def test_one_step_coarser_is_faster_and_extracts_less() -> None:
    effects = step_effects(TRUTH, pulled(12)).set_index(["response", "term"])["effect"]
    assert (effects["time_s", "grind_setting"] < 0).all()
    assert (effects["ey_pct", "grind_setting"] < 0).all()
