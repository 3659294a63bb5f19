"""Weighted sums of coefficients, their table, and Holm's correction."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from yieldwright.errors import MisalignedError, OutOfRangeError, RoleError, UnknownNameError
from yieldwright.models.contrasts.contrasts import contrast, estimate_table, holm, independent_sum
from yieldwright.models.contrasts.effects import curvature, step_effects, vertex
from yieldwright.models.contrasts.means import (
    adjusted_means,
    joint_test,
    mean_at,
    pairwise_differences,
)
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric
from yieldwright.results import ESTIMATE_COLUMNS

p_values = st.lists(st.floats(0, 1), min_size=1, max_size=12)


def fit() -> LinearFit:
    rng = np.random.default_rng(7)
    frame = pd.DataFrame(
        {
            "grind": np.resize([8.0, 9.0, 10.0, 12.0], 16),
            "band": np.repeat(["low", "high"], 8),
            "day": np.resize(["mon", "tue", "tue"], 16),
            "y": rng.normal(size=16),
        }
    )
    terms = [Numeric("grind"), Factor("band"), Blocks("day")]
    return fit_least_squares(build_design(frame, terms), frame["y"])


def test_the_columns_are_those_of_every_result() -> None:
    table = estimate_table(step_effects(fit(), "grind"))
    assert tuple(table.columns) == ESTIMATE_COLUMNS


def test_an_empty_table_has_its_columns() -> None:
    assert tuple(estimate_table([]).columns) == ESTIMATE_COLUMNS


def test_weights_by_name_and_by_position_agree() -> None:
    found = fit()
    by_name = contrast(found, {"grind": 2.0, "band = low": -1.0})
    assert by_name == contrast(found, [0.0, 2.0, -1.0, 0.0])


@given(weights=st.lists(st.floats(-5, 5), min_size=4, max_size=4))
def test_the_opposite_contrast_mirrors_its_interval(weights: list[float]) -> None:
    found = fit()
    one, other = contrast(found, weights), contrast(found, [-weight for weight in weights])
    assert (other.ci_low, other.ci_high) == pytest.approx((-one.ci_high, -one.ci_low))
    assert other.p_value == pytest.approx(one.p_value, nan_ok=True)


@given(level=st.floats(0.5, 0.999))
def test_an_interval_excludes_zero_just_where_the_test_rejects(level: float) -> None:
    found = contrast(fit(), {"grind": 1.0}, level=level)
    outside = found.ci_low > 0 or found.ci_high < 0
    assert outside == (found.p_value < 1 - level)


def test_nothing_weighed_has_no_test() -> None:
    found = contrast(fit(), [0.0] * 4)
    assert (found.estimate, found.std_error) == (0.0, 0.0)
    assert np.isnan(found.p_value)


def test_the_robust_table_holds_the_robust_errors() -> None:
    effects = step_effects(fit(), "grind")
    row = estimate_table(effects, errors="hc3").iloc[0]
    assert row["std_error"] == effects[0].hc3_std_error
    assert row["ci_low"] == effects[0].hc3_ci_low


def test_an_unknown_coefficient_is_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="no coefficient is called 'gring'; did you mean"):
        contrast(fit(), {"gring": 1.0})


def test_an_ambiguous_coefficient_is_refused() -> None:
    matrix = np.column_stack([np.ones(5), np.arange(5.0), np.arange(5.0) ** 2])
    found = fit_least_squares(matrix, np.arange(5.0) ** 3, names=["one", "x", "x"])
    with pytest.raises(UnknownNameError, match="2 coefficients are called 'x'"):
        contrast(found, {"x": 1.0})


def test_too_few_weights_are_refused() -> None:
    with pytest.raises(MisalignedError, match="2 weights for 4 coefficients"):
        contrast(fit(), [1.0, 2.0])


@settings(max_examples=15)  # the other package takes 50 ms a call
@given(given_p=p_values)
def test_holm_agrees_with_another_package(given_p: list[float]) -> None:
    assert holm(given_p) == pytest.approx(multipletests(given_p, method="holm")[1], abs=1e-12)


@given(given_p=p_values)
def test_holm_never_lowers_a_p_value(given_p: list[float]) -> None:
    assert (holm(given_p) >= np.array(given_p)).all()


def test_holm_does_not_count_what_was_not_tested() -> None:
    assert holm([0.01, np.nan, 0.03]).tolist() == pytest.approx([0.02, np.nan, 0.03], nan_ok=True)


def test_holm_of_nothing_is_nothing() -> None:
    assert holm([]).tolist() == []


@pytest.mark.parametrize("wrong", [-0.1, 1.1])
def test_holm_refuses_what_is_no_probability(wrong: float) -> None:
    with pytest.raises(OutOfRangeError, match="0–1"):
        holm([0.5, wrong])


def test_levels_have_no_slope() -> None:
    with pytest.raises(RoleError, match="'band' enters as levels"):
        step_effects(fit(), "band")


def test_a_line_has_no_bend() -> None:
    with pytest.raises(RoleError, match="fit it with power=2"):
        curvature(fit(), "grind")


def test_a_line_does_not_turn() -> None:
    with pytest.raises(RoleError, match="enters as a line"):
        vertex(fit(), "grind")


@pytest.mark.parametrize("column", ["grind", "day"])
def test_only_factors_have_levels_to_compare(column: str) -> None:
    with pytest.raises(RoleError, match="does not enter as a factor"):
        pairwise_differences(fit(), column)


def test_no_mean_outside_the_values_tried() -> None:
    with pytest.raises(OutOfRangeError, match="'grind' was tried from 8 to 12; 13 lies outside"):
        mean_at(fit(), {"grind": 13.0})


def test_the_edge_itself_was_tried() -> None:
    assert np.isfinite(mean_at(fit(), {"grind": 12.0, "band": "low"}).estimate)


def test_a_plain_matrix_has_no_columns_of_a_table() -> None:
    matrix = np.column_stack([np.ones(5), np.arange(5.0)])
    with pytest.raises(RoleError, match="plain matrix"):
        adjusted_means(fit_least_squares(matrix, np.arange(5.0) ** 2), "x1")


def test_one_coefficient_has_the_square_of_t() -> None:
    found = fit()
    slope, joint = step_effects(found, "grind")[0], joint_test(found, "grind")
    assert joint.statistic == pytest.approx(slope.statistic**2)
    assert joint.p_value == pytest.approx(slope.p_value)


def test_the_sum_of_equal_and_independent_estimates_doubles_their_variance() -> None:
    one = contrast(fit(), {"grind": 1.0}, term="grind")
    total = independent_sum(one, one)
    assert total.estimate == 2 * one.estimate
    assert total.std_error == pytest.approx(np.sqrt(2) * one.std_error)
    assert total.df == pytest.approx(2 * one.df)


def test_what_is_known_exactly_adds_no_doubt() -> None:
    one, exact = contrast(fit(), {"grind": 1.0}, term="grind"), contrast(fit(), [0.0] * 4)
    total = independent_sum(one, exact)
    fields = ("estimate", "std_error", "df", "ci_low", "ci_high", "p_value")
    assert [getattr(total, name) for name in fields] == pytest.approx(
        [getattr(one, name) for name in fields]
    )
