"""What the laws expect before chance: limits, directions and identities."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.simulate.made import TRUTH, plan
from yieldwright.bench import Grinder
from yieldwright.simulate import (
    Truth,
    expected_score,
    expected_time,
    expected_yield,
    heat_left,
    settings_from_need,
)

NEEDS = TRUTH.bags[0].needs_setting
settings = st.floats(NEEDS - 6, NEEDS + 10)


def without_retention(**changes: object) -> Truth:
    return dataclasses.replace(TRUTH, grinder=Grinder("mill-1", retained_g=0.0, **changes))


@given(settings, settings)
def test_finer_is_never_faster(one: float, other: float) -> None:
    finer, coarser = sorted((one, other))
    time = expected_time(TRUTH, plan(grind_setting=[finer, coarser]))
    assert time[0] >= time[1]


def test_at_the_needed_setting_the_time_is_the_one_stated() -> None:
    assert expected_time(TRUTH, plan(grind_setting=[NEEDS]))[0] == pytest.approx(36.0)


def test_a_degree_changes_the_time_as_it_changes_the_viscosity_of_water() -> None:
    # IAPWS R12-08 at 1 MPa: 314.42 µPa·s at 90 °C, 300.61 at 94 °C; two digits of the share.
    assert TRUTH.flow.per_c == pytest.approx(math.log(314.42 / 300.61) / 4, abs=5e-4)


@given(settings, settings)
def test_yield_falls_away_on_both_sides_of_the_turn(one: float, other: float) -> None:
    turn = NEEDS + TRUTH.extraction.turns_at
    nearer, farther = sorted((one, other), key=lambda setting: abs(setting - turn))
    same_side = (nearer - turn) * (farther - turn) >= 0
    ey_pct = expected_yield(TRUTH, plan(grind_setting=[nearer, farther]))
    assert not same_side or ey_pct[0] >= ey_pct[1]


def test_at_the_turn_the_yield_is_the_highest_stated() -> None:
    turn = NEEDS + TRUTH.extraction.turns_at
    ey_pct = expected_yield(TRUTH, plan(grind_setting=[turn]))
    assert ey_pct[0] == pytest.approx(TRUTH.bags[0].most_ey_pct)


def test_the_fine_side_is_the_steeper_one() -> None:
    turn = NEEDS + TRUTH.extraction.turns_at
    fine, coarse = expected_yield(TRUTH, plan(grind_setting=[turn - 2, turn + 2]))
    assert fine < coarse


def test_far_on_the_coarse_side_a_setting_costs_what_the_law_says() -> None:
    ey_pct = expected_yield(TRUTH, plan(grind_setting=[NEEDS + 9, NEEDS + 10]))
    assert ey_pct.diff()[1] == pytest.approx(-TRUTH.extraction.per_setting_pct, rel=1e-3)


def test_the_band_acts_on_yield_by_its_degrees() -> None:
    ey_pct = expected_yield(TRUTH, plan(temp_c=[87.0, 91.0]))
    assert ey_pct.diff()[1] == pytest.approx(4 * TRUTH.extraction.per_c_pct)


def test_no_more_dissolves_than_water_can_dissolve() -> None:
    assert expected_yield(TRUTH, plan(temp_c=[500.0]))[0] == 30.0


def test_the_first_shot_finds_no_heat() -> None:
    assert heat_left(TRUTH, plan(temp_c=[91.0, 91.0])).tolist() == [0.0, 0.0]


@given(st.integers(2, 12), st.integers(1, 60))
def test_heat_of_shots_at_even_gaps_is_a_geometric_series(n: int, gap_min: int) -> None:
    starts = pd.Timestamp("2026-10-27T18:30+01:00")
    moments = [starts + pd.Timedelta(minutes=gap_min * place) for place in range(n)]
    heat = heat_left(TRUTH, plan(session=["e1"] * n, pulled_at=moments))
    keeps = math.exp(-gap_min / TRUTH.heat.fades_min)
    series = keeps * (1 - keeps ** (n - 1)) / (1 - keeps)
    assert heat.iloc[-1] == pytest.approx(TRUTH.heat.rise_c * series)


@pytest.mark.parametrize(
    ("retained_g", "share_pct"), [(0.3, 1.7), (1.0, 5.6), (2.0, 11.1), (4.0, 22.2)]
)
def test_old_grounds_count_with_their_share_of_the_dose(
    retained_g: float, share_pct: float
) -> None:
    # Grams retained over an 18 g dose, by hand; tolerance from the printed digit.
    truth = dataclasses.replace(TRUTH, grinder=Grinder("mill-1", retained_g=retained_g))
    moments = pd.to_datetime(["2026-10-25T18:30+01:00", "2026-10-25T19:30+01:00"])
    shots = plan(session=["e1", "e1"], pulled_at=moments, grind_setting=[NEEDS + 1, NEEDS])
    assert settings_from_need(truth, shots)[1] == pytest.approx(share_pct / 100, abs=5e-4)


def test_a_long_purge_leaves_no_old_grounds() -> None:
    moments = pd.to_datetime(["2026-10-25T18:30+01:00", "2026-10-25T19:30+01:00"])
    shots = plan(
        session=["e1", "e1"], pulled_at=moments, grind_setting=[NEEDS + 1, NEEDS], purged_g=50.0
    )
    assert settings_from_need(TRUTH, shots)[1] == pytest.approx(0.0, abs=1e-12)


def test_a_rested_bag_runs_slowest() -> None:
    rested = pd.Timestamp("2026-10-25T18:30+01:00")
    days = [rested + pd.Timedelta(days=day) for day in (-5, 0, 20)]
    fresh, best, old = expected_time(TRUTH, plan(pulled_at=days))
    assert best > max(fresh, old)


@given(st.floats(-3, 3))
def test_a_grinder_numbered_the_other_way_is_a_mirror(steps: float) -> None:
    up = settings_from_need(without_retention(), plan(grind_setting=[NEEDS + steps]))
    down = settings_from_need(
        without_retention(coarser="down"), plan(grind_setting=[NEEDS - steps])
    )
    assert up[0] == pytest.approx(down[0])


@given(st.floats(15, 25), st.floats(7, 13))
def test_no_cup_scores_above_the_peak(ey_pct: float, tds_pct: float) -> None:
    law = TRUTH.taste
    cups = [pd.Series([value]) for value in (tds_pct, ey_pct, law.usual_taper_bar)]
    assert expected_score(TRUTH, *cups)["overall"].item() <= law.peak_score


def test_shots_of_an_empty_plan_are_none() -> None:
    empty = plan(temp_c=[91.0]).iloc[:0]
    assert len(expected_time(TRUTH, empty)) == len(expected_yield(TRUTH, empty)) == 0
    assert np.array_equal(heat_left(TRUTH, empty), [])
