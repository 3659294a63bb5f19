"""Yields against published batches, worked values, identities and refusals."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright import extraction as ex
from yieldwright.errors import MisalignedError, OutOfRangeError

doses_g = st.floats(5, 30)
beverages_g = st.floats(5, 120)
strengths_pct = st.floats(0.5, 12)


def test_yield_equals_the_printed_one_on_all_published_batches(reference):
    # Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H: agreement to 5e-9.
    brews = pd.read_csv(reference / "brews" / "cotter_162_brews.csv")
    ey_pct = ex.extraction_yield(brews["tds_pct"], brews["beverage_g"], brews["dose_g"])
    assert len(brews) == 162
    np.testing.assert_allclose(ey_pct, brews["printed_ey_pct"], rtol=0, atol=5e-9 * 100)


@pytest.mark.parametrize(
    ("dose_g", "beverage_g", "tds_pct", "moisture_pct", "printed"),
    [  # hand-worked mass balances, printed to six places
        (18.0, 36.0, 10.0, 3.0, 20.618557),
        (18.0, 36.0, 10.0, 0.0, 20.0),
        (14.0, 28.0, 9.5, 2.0, 19.387755),
        (20.0, 40.0, 8.6, 2.5, 17.641026),
    ],
)
def test_dry_basis_equals_the_worked_values(dose_g, beverage_g, tds_pct, moisture_pct, printed):
    ey_pct = ex.dry_extraction_yield(tds_pct, beverage_g, dose_g, moisture_pct)
    assert ey_pct == pytest.approx(printed, abs=5e-7)


@pytest.mark.parametrize(("liquor_g_per_g", "printed"), [(2.0, 20.833333), (0.0, 18.333333)])
def test_immersion_from_the_cup_equals_the_worked_values(liquor_g_per_g, printed):
    ey_pct = ex.immersion_extraction_yield(1.25, 264.0, 18.0, liquor_g_per_g)
    assert ey_pct == pytest.approx(printed, abs=5e-7)


@pytest.mark.parametrize(
    ("dose_g", "tds_pct", "water_g", "printed"),
    [
        (18.0, 1.25, 300.0, 21.097046),
        (60.0, 1.3, 1000.0, 21.952043),
        (8.25, 1.15, 150.0, 21.152343),
    ],
)
def test_immersion_from_the_water_equals_the_worked_values(dose_g, tds_pct, water_g, printed):
    assert ex.immersion_yield_from_water(tds_pct, water_g, dose_g) == pytest.approx(
        printed, abs=5e-7
    )


def test_a_large_published_style_batch_prints_seventeen_point_nine():
    # 622 g × 1.105 % / 38.5 g, worked by hand to six places.
    assert ex.extraction_yield(1.105, 622.0, 38.5) == pytest.approx(17.852208, abs=5e-7)


@given(strengths_pct, beverages_g, doses_g)
def test_the_inverses_return_what_the_yield_was_made_of(tds_pct, beverage_g, dose_g):
    ey_pct = ex.extraction_yield(tds_pct, beverage_g, dose_g)
    if ey_pct <= 100:
        assert ex.strength_for_yield(ey_pct, beverage_g, dose_g) == pytest.approx(tds_pct)
        assert ex.beverage_for_yield(ey_pct, tds_pct, dose_g) == pytest.approx(beverage_g)


@given(strengths_pct, beverages_g, doses_g, st.floats(0.1, 10))
def test_a_recipe_scaled_as_a_whole_keeps_its_yield(tds_pct, beverage_g, dose_g, factor):
    once = ex.extraction_yield(tds_pct, beverage_g, dose_g)
    scaled = ex.extraction_yield(tds_pct, factor * beverage_g, factor * dose_g)
    assert scaled == pytest.approx(once)


@given(strengths_pct, beverages_g, doses_g, st.floats(0, 50))
def test_yield_is_the_dry_yield_times_the_dry_share(tds_pct, beverage_g, dose_g, moisture_pct):
    dry = ex.dry_extraction_yield(tds_pct, beverage_g, dose_g, moisture_pct)
    assert dry * (1 - moisture_pct / 100) == pytest.approx(
        ex.extraction_yield(tds_pct, beverage_g, dose_g)
    )


@given(strengths_pct, st.floats(50, 500), doses_g, st.floats(0, 3))
def test_the_two_immersion_forms_agree_when_the_water_balance_closes(
    tds_pct, beverage_g, dose_g, liquor_g_per_g
):
    liquid_g = beverage_g + liquor_g_per_g * dose_g
    water_g = liquid_g * (1 - tds_pct / 100)
    assert ex.immersion_yield_from_water(tds_pct, water_g, dose_g) == pytest.approx(
        ex.immersion_extraction_yield(tds_pct, beverage_g, dose_g, liquor_g_per_g)
    )


def test_yield_and_strength_meet_through_the_ratio():
    ratio = ex.brew_ratio(36.0, 18.0)
    assert ex.extraction_yield(9.5, 36.0, 18.0) == pytest.approx(9.5 * ratio)


def test_solids_over_beverage_is_strength():
    assert ex.strength_of_solution(1.8, 36.0) == pytest.approx(5.0)


def test_an_empty_cup_holds_no_yield():
    assert ex.extraction_yield(10.0, 0.0, 18.0) == 0.0


def test_a_missing_input_gives_a_missing_output_and_keeps_the_index():
    tds_pct = pd.Series([10.0, math.nan], index=["a", "b"])
    ey_pct = ex.extraction_yield(tds_pct, 36.0, 18.0)
    assert list(ey_pct.index) == ["a", "b"]
    assert ey_pct.name == "ey_pct"
    assert ey_pct.isna().tolist() == [False, True]


def test_inputs_are_left_as_they_were():
    tds_pct = pd.Series([10.0, 9.0], name="mine")
    ex.extraction_yield(tds_pct, 36.0, 18.0)
    assert tds_pct.name == "mine"
    assert tds_pct.tolist() == [10.0, 9.0]


def test_an_impossible_strength_is_refused_with_row_and_remedy():
    strengths = pd.Series([9.0, 950.0], index=[16, 17])
    with pytest.raises(
        OutOfRangeError,
        match=r"tds_pct must lie in 0–100 % by mass; 1 of 2 rows does not, first 950 at row 17 "
        r"\(divide by 100\?\)",
    ):
        ex.extraction_yield(strengths, 36.0, 18.0)


def test_a_dose_of_nothing_is_refused():
    with pytest.raises(OutOfRangeError, match="dose_g must be above 0 g; 0 is not"):
        ex.extraction_yield(10.0, 36.0, 0.0)


def test_an_infinite_mass_is_refused():
    with pytest.raises(OutOfRangeError, match="beverage_g"):
        ex.brew_ratio(math.inf, 18.0)


def test_columns_of_different_shots_are_refused():
    with pytest.raises(MisalignedError, match="tds_pct and dose_g describe different rows"):
        ex.extraction_yield(pd.Series([9.0]), 36.0, pd.Series([18.0, 18.0]))
