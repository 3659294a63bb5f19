"""Power and numbers of shots, against R pwr 1.3-0 and the printed tables of the trade."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from tests.models.published import data, expected
from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.power import (
    detectable_effect,
    detection_power,
    difference_half_width,
    shots_per_setting,
)

FOLDER = "power_analysis"


def test_power_of_two_samples(reference: Path) -> None:
    table = data(reference, FOLDER, "power_t_tests.csv")
    found = [
        detection_power(d, math.sqrt(2 / n), 2 * n - 2)
        for d, n in zip(table["d"], table["n"], strict=True)
    ]
    assert found == pytest.approx(table["power_two_sample"].tolist(), rel=1e-9)


def test_power_of_pairs(reference: Path) -> None:
    table = data(reference, FOLDER, "power_t_tests.csv")
    found = [
        detection_power(d, math.sqrt(1 / n), n - 1)
        for d, n in zip(table["d"], table["n"], strict=True)
    ]
    assert found == pytest.approx(table["power_paired"].tolist(), rel=1e-9)


def test_shots_per_setting_are_the_next_whole_number(reference: Path) -> None:
    table = data(reference, FOLDER, "n_t_tests.csv")
    found = [
        shots_per_setting(row.d, 1.0, power=row.power, alpha=row.alpha)
        for row in table.itertuples()
    ]
    assert found == [max(2, math.ceil(n)) for n in table["n_per_group_two_sided"]]


def test_the_detectable_effect_inverts_the_number_of_shots(reference: Path) -> None:
    table = data(reference, FOLDER, "n_t_tests.csv")
    found = [
        detectable_effect(
            math.sqrt(2 / row.n_per_group_two_sided),
            2 * row.n_per_group_two_sided - 2,
            power=row.power,
            alpha=row.alpha,
        )
        for row in table.itertuples()
    ]
    assert found == pytest.approx(table["d"].tolist(), rel=1e-8)


@pytest.mark.parametrize(
    ("case", "places"),
    [
        ("case1", np.arange(15.0)),
        ("case2", np.repeat([9.0, 9.5, 10.0], 4)),
        ("case3", np.arange(15.0)),
    ],
)
def test_power_of_a_slope(reference: Path, case: str, places: np.ndarray) -> None:
    known = expected(reference, FOLDER)["slope_fixed_x"][case]
    std_error = known["sigma"] / math.sqrt(np.sum((places - places.mean()) ** 2))
    found = detection_power(known["beta"], std_error, len(places) - 2)
    assert found == pytest.approx(known["power"], rel=1e-9)


@pytest.mark.parametrize(
    ("difference", "sd", "shots"), [(0.5, 0.3, 7), (0.5, 0.5, 17), (0.5, 0.8, 42), (1.0, 0.5, 6)]
)
def test_shots_for_a_difference_of_yield(difference: float, sd: float, shots: int) -> None:
    # The trade's table of shots per setting, 80 % power, two-sided 5 % (computed, non-central t).
    assert shots_per_setting(difference, sd) == shots


@pytest.mark.parametrize(
    ("shots", "half_width"), [(2, 2.15), (3, 1.13), (4, 0.87), (6, 0.64), (8, 0.54), (12, 0.42)]
)
def test_half_width_of_a_difference(shots: int, half_width: float) -> None:
    # The trade's table of half-widths at a spread of 0.5, printed to two decimals.
    assert difference_half_width(0.5, shots) == pytest.approx(half_width, abs=0.005)


@pytest.mark.parametrize(("effect", "group"), [(0.2, 393), (0.5, 64), (0.8, 26)])
def test_shots_of_the_primer(effect: float, group: int) -> None:
    # Cohen (1992), Psychol. Bull. 112, 155, table 2; he rounds to the nearest: one is allowed.
    assert shots_per_setting(effect, 1.0) == pytest.approx(group, abs=1)


@pytest.mark.parametrize("df", [1, 2, 5, 30, 1000, 40_000])
def test_no_effect_is_found_as_often_as_a_false_alarm(df: int) -> None:
    assert detection_power(0.0, 1.0, df) == pytest.approx(0.05, rel=1e-9)


@pytest.mark.parametrize("df", [1, 2, 5, 38, 1000, 40_000])
def test_a_huge_effect_is_always_found(df: int) -> None:
    found = detection_power(np.array([37.0, 38.0, 60.0, 500.0, 1e6]) * 40, 1.0, df)
    assert found.tolist() == pytest.approx([1.0] * 5)


def test_a_probability_that_scipy_cannot_give_counts_as_nought() -> None:
    # The wrong tail of 20,000 shots a group at d = 0.2; the right tail alone is 1.
    assert np.isnan(special.nctdtr(39_998, 20.0, -1.96))
    assert detection_power(0.2, 0.01, 39_998) == pytest.approx(1.0)


def test_power_rises_with_the_effect_at_any_number_of_shots() -> None:
    for df in (1, 2, 3, 8, 20, 58, 500, 20_000):
        power = detection_power(np.linspace(0.0, 45.0, 901), 1.0, df)
        assert np.isfinite(power).all()
        assert (np.diff(power) > -1e-9).all()


def test_power_agrees_with_simulation() -> None:
    rng = np.random.default_rng(11)
    first, second = rng.normal(size=(2, 40_000, 5))
    p_values = stats.ttest_ind(first + 1.5, second, axis=1).pvalue
    found = detection_power(1.5, math.sqrt(2 / 5), 8)
    # Four binomial standard errors of 40,000 logs.
    assert found == pytest.approx((p_values < 0.05).mean(), abs=4 * math.sqrt(0.25 / 40_000))


@given(
    std_error=st.floats(1e-3, 1e3),
    df=st.integers(1, 500),
    power=st.floats(0.2, 0.99),
)
def test_what_is_detectable_is_detected_so_often(std_error: float, df: int, power: float) -> None:
    effect = detectable_effect(std_error, df, power=power)
    assert detection_power(effect, std_error, df) == pytest.approx(power, abs=1e-9)


@given(scale=st.floats(1e-3, 1e3), df=st.integers(1, 200))
def test_the_detectable_effect_has_the_unit_of_its_error(scale: float, df: int) -> None:
    found = detectable_effect(np.array([1.0, 2.0]) * scale, df)
    assert found == pytest.approx(detectable_effect(1.0, df) * np.array([scale, 2 * scale]))


@given(difference=st.floats(0.05, 5), sd=st.floats(0.1, 2))
def test_one_shot_fewer_would_not_do(difference: float, sd: float) -> None:
    shots = shots_per_setting(difference, sd)
    power = [
        detection_power(difference, sd * math.sqrt(2 / n), 2 * n - 2)
        for n in (shots, max(2, shots - 1))
    ]
    assert power[0] >= 0.8
    assert power[1] < 0.8 or shots == 2


def test_the_sign_of_a_difference_does_not_matter() -> None:
    assert shots_per_setting(-0.5, 0.5) == shots_per_setting(0.5, 0.5)
    assert detection_power(-2.0, 1.0, 9) == detection_power(2.0, 1.0, 9)


@pytest.mark.parametrize(("difference", "sd"), [(0.0, 0.5), (0.5, 0.0), (0.5, -1.0)])
def test_a_difference_of_nothing_is_refused(difference: float, sd: float) -> None:
    with pytest.raises(OutOfRangeError, match="must lie above 0"):
        shots_per_setting(difference, sd)


def test_a_difference_beyond_any_log_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="beyond any log"):
        shots_per_setting(1e-6, 1.0)


@pytest.mark.parametrize(("power", "alpha"), [(1.0, 0.05), (0.04, 0.05), (0.8, 0.0)])
def test_impossible_chances_are_refused(power: float, alpha: float) -> None:
    with pytest.raises(OutOfRangeError, match="0 < alpha < power < 1"):
        detectable_effect(1.0, 10, power=power, alpha=alpha)


def test_no_degrees_of_freedom_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="degrees of freedom must lie above 0"):
        difference_half_width(0.5, 1)


def test_a_column_in_gives_a_column_out() -> None:
    spreads = pd.Series([0.3, 0.5]).to_numpy()
    assert difference_half_width(spreads, 4).shape == (2,)
