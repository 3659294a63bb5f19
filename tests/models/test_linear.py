"""What least squares must do whatever the data."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.contrasts.contrasts import contrast
from yieldwright.models.contrasts.effects import curvature, step_effects, vertex
from yieldwright.models.contrasts.means import mean_at
from yieldwright.models.linear.model import LinearFit, fit_least_squares, fit_polynomial
from yieldwright.models.terms.design import Design, build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric

N = 14
responses = arrays(
    float, N, elements=st.floats(-50, 50).map(lambda value: round(value, 3)), unique=True
)

#: Each example is one or two whole fits.
few = settings(max_examples=25)


def log(response: np.ndarray) -> pd.DataFrame:
    rng = np.random.default_rng(9)
    return pd.DataFrame(
        {
            "grind": rng.choice([8.0, 9.0, 10.0, 11.0], N),
            "age": rng.uniform(4, 30, N),
            "band": np.resize(["low", "medium", "high"], N),
            "y": response,
        }
    )


def fit(frame: pd.DataFrame, *, step: float = 1.0) -> LinearFit:
    terms = [Numeric("grind", step=step), Numeric("age", power=2), Factor("band")]
    return fit_least_squares(build_design(frame, terms), frame["y"])


@few
@given(response=responses, factor=st.floats(1e-3, 1e3))
def test_rescaling_a_column_rescales_its_effect(response: np.ndarray, factor: float) -> None:
    frame = log(response)
    before = step_effects(fit(frame), "grind")[0]
    after = step_effects(fit(frame.assign(grind=frame["grind"] * factor)), "grind")[0]
    assert after.estimate * factor == pytest.approx(before.estimate, rel=1e-8, abs=1e-8)
    assert after.std_error * factor == pytest.approx(before.std_error, rel=1e-8)
    assert after.p_value == pytest.approx(before.p_value, rel=1e-6, abs=1e-9)


@few
@given(response=responses, step=st.floats(-5, 5).filter(lambda step: abs(step) > 1e-3))
def test_an_effect_is_told_per_step(response: np.ndarray, step: float) -> None:
    frame = log(response)
    one, other = fit(frame), fit(frame, step=step)
    found = step_effects(other, "grind")[0].estimate
    assert found == pytest.approx(step * step_effects(one, "grind")[0].estimate, abs=1e-9)


@few
@given(response=responses, shift=st.floats(-1e3, 1e3))
def test_shifting_a_column_leaves_its_slope(response: np.ndarray, shift: float) -> None:
    frame = log(response)
    before = step_effects(fit(frame), "grind")[0]
    after = step_effects(fit(frame.assign(grind=frame["grind"] + shift)), "grind")[0]
    assert after.estimate == pytest.approx(before.estimate, rel=1e-7, abs=1e-8)


@few
@given(response=responses, shift=st.floats(-1e3, 1e3))
def test_shifting_the_response_shifts_only_the_level(response: np.ndarray, shift: float) -> None:
    before, after = fit(log(response)), fit(log(response + shift))
    assert after.params[1:] == pytest.approx(before.params[1:], rel=1e-7, abs=1e-7)
    assert after.params[0] == pytest.approx(before.params[0] + shift, rel=1e-7, abs=1e-7)
    assert after.sigma == pytest.approx(before.sigma, rel=1e-7, abs=1e-8)


@few
@given(response=responses, seed=st.integers(0, 10_000))
def test_the_order_of_rows_does_not_matter(response: np.ndarray, seed: int) -> None:
    frame = log(response)
    before = fit(frame)
    after = fit(frame.sample(frac=1, random_state=seed))
    assert after.params == pytest.approx(before.params, rel=1e-8, abs=1e-9)
    assert after.hc3_std_error == pytest.approx(before.hc3_std_error, rel=1e-8, abs=1e-9)
    assert after.r_squared == pytest.approx(before.r_squared, rel=1e-8, abs=1e-10)


@few
@given(response=responses)
def test_residuals_are_at_right_angles_to_the_design(response: np.ndarray) -> None:
    found = fit(log(response))
    assert found.design is not None
    assert found.design.matrix.T @ found.residuals == pytest.approx(0, abs=1e-8)


@few
@given(response=responses)
def test_leverages_sum_to_the_number_of_coefficients(response: np.ndarray) -> None:
    found = fit(log(response))
    assert found.leverage.sum() == pytest.approx(len(found.params), abs=1e-9)


@few
@given(response=responses)
def test_everything_agrees_with_another_package(response: np.ndarray) -> None:
    found = fit(log(response))
    assert found.design is not None
    other = sm.OLS(response, found.design.matrix).fit()
    assert found.params == pytest.approx(other.params, rel=1e-7, abs=1e-8)
    assert found.cov == pytest.approx(other.cov_params(), rel=1e-7, abs=1e-9)
    assert found.hc3_cov == pytest.approx(other.cov_HC3, rel=1e-7, abs=1e-9)
    assert found.f_p_value == pytest.approx(other.f_pvalue, rel=1e-6, abs=1e-12)


@few
@given(response=responses)
def test_the_slope_in_the_middle_is_the_mean_of_the_ends(response: np.ndarray) -> None:
    low, middle, high = step_effects(fit(log(response)), "age")
    assert middle.estimate == pytest.approx((low.estimate + high.estimate) / 2, abs=1e-9)


@few
@given(response=responses)
def test_the_bend_is_the_second_difference(response: np.ndarray) -> None:
    found = fit(log(response))
    means = [mean_at(found, {"age": age}).estimate for age in (10.0, 11.0, 12.0)]
    second = means[0] - 2 * means[1] + means[2]
    assert curvature(found, "age").estimate == pytest.approx(second, abs=1e-8)


@few
@given(response=responses)
def test_the_slope_vanishes_at_the_vertex(response: np.ndarray) -> None:
    found = fit(log(response))
    low, _, high = step_effects(found, "age")
    place = vertex(found, "age").estimate
    assert found.design is not None
    term = found.design.term("age")
    assert isinstance(term, Numeric)
    share = (place - term.low) / (term.high - term.low)
    slope = low.estimate + share * (high.estimate - low.estimate)
    assert slope == pytest.approx(0, abs=1e-6 * (1 + abs(share)))


def test_blocks_do_not_depend_on_which_comes_first() -> None:
    rng = np.random.default_rng(3)
    frame = log(rng.normal(size=N)).assign(day=np.resize(["a", "b"], N))
    swapped = frame.assign(day=frame["day"].map({"a": "z", "b": "b"}))
    found = [
        fit_least_squares(build_design(each, [Numeric("grind"), Blocks("day")]), each["y"])
        for each in (frame, swapped)
    ]
    estimates = [mean_at(each, {"grind": 9.0}).estimate for each in found]
    assert estimates[0] == pytest.approx(estimates[1], rel=1e-12)


def test_a_known_line_is_recovered() -> None:
    rng = np.random.default_rng(12)
    frame = log(np.zeros(N))
    truth = 20 - 0.4 * frame["grind"] + 0.7 * (frame["band"] == "high")
    slopes = [
        step_effects(fit(frame.assign(y=truth + rng.normal(0, 0.3, N))), "grind")[0]
        for _ in range(200)
    ]
    mean = np.mean([each.estimate for each in slopes])
    assert mean == pytest.approx(-0.4, abs=4 * slopes[0].std_error / np.sqrt(200) * 1.5)


def test_the_intercept_alone_is_the_mean() -> None:
    frame = log(np.arange(N, dtype=float))
    found = fit_least_squares(build_design(frame, []), frame["y"])
    mean = contrast(found, [1.0])
    assert mean.estimate == pytest.approx(frame["y"].mean())
    assert mean.std_error == pytest.approx(frame["y"].sem())
    assert np.isnan(found.f_statistic)
    assert found.term_vif == {}


def test_an_exact_line_has_no_error() -> None:
    matrix = np.column_stack([np.ones(4), [0.0, 1.0, 2.0, 3.0]])
    found = fit_least_squares(matrix, np.array([1.0, 3.0, 5.0, 7.0]))
    assert found.params == pytest.approx([1.0, 2.0])
    assert found.std_error == pytest.approx([0.0, 0.0], abs=1e-14)
    assert found.r_squared == pytest.approx(1.0)


def test_inputs_are_not_changed() -> None:
    response = np.arange(N, dtype=float) ** 2
    frame = log(response.copy())
    fit(frame)
    pd.testing.assert_frame_equal(frame, log(response))


def small_design() -> Design:
    return build_design(log(np.zeros(N)), [Numeric("grind")])


def test_as_many_coefficients_as_rows_are_refused() -> None:
    matrix = np.column_stack([np.ones(2), [0.0, 1.0]])
    with pytest.raises(TooFewShotsError, match="2 rows cannot carry 2 coefficients"):
        fit_least_squares(matrix, np.array([1.0, 2.0]))


def test_a_response_of_other_rows_is_refused() -> None:
    with pytest.raises(MisalignedError, match="different indexes"):
        fit_least_squares(small_design(), pd.Series(np.arange(N), index=range(1, N + 1)))


def test_a_response_of_another_length_is_refused() -> None:
    with pytest.raises(MisalignedError, match="14 rows of 2 columns do not go with 13"):
        fit_least_squares(small_design(), np.arange(13.0))


@pytest.mark.parametrize("gap", [np.nan, np.inf])
def test_a_gap_in_the_response_is_counted(gap: float) -> None:
    response = np.where(np.arange(N) % 5 == 3, gap, np.arange(N, dtype=float))
    with pytest.raises(OutOfRangeError, match="3 of 14 rows are not, first row 3"):
        fit_least_squares(small_design(), response)


def test_a_gap_in_a_plain_matrix_is_counted() -> None:
    matrix = np.column_stack([np.ones(4), [0.0, np.nan, 2.0, 3.0]])
    with pytest.raises(OutOfRangeError, match="the design must be finite in every row; 1 of 4"):
        fit_least_squares(matrix, np.arange(4.0))


@pytest.mark.parametrize("value", [0.0, 6.3, -1e9])
def test_a_response_that_does_not_vary_is_refused(value: float) -> None:
    with pytest.raises(OutOfRangeError, match="there is nothing to explain"):
        fit_least_squares(small_design(), np.full(N, value))


def test_a_matrix_without_ones_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="the first of them all ones"):
        fit_least_squares(np.arange(8.0).reshape(4, 2), np.arange(4.0))


def test_names_must_be_as_many_as_columns() -> None:
    matrix = np.column_stack([np.ones(4), np.arange(4.0)])
    with pytest.raises(MisalignedError, match="3 names"):
        fit_least_squares(matrix, np.arange(4.0), names=["a", "b", "c"])


@few
@given(
    coefficients=st.lists(st.integers(-9, 9), min_size=2, max_size=5),
    places=st.lists(st.integers(-6, 6), min_size=8, max_size=8, unique=True),
)
def test_exact_polynomials_are_found_exactly(coefficients: list[int], places: list[int]) -> None:
    values = np.array(places, dtype=float)
    response = sum(c * values**k for k, c in enumerate(coefficients))
    if np.ptp(response) > 0:
        found = fit_polynomial(values, np.asarray(response), len(coefficients) - 1)
        assert found.params == pytest.approx(coefficients, abs=1e-12)


def test_a_polynomial_of_degree_one_is_the_line() -> None:
    rng = np.random.default_rng(6)
    values, response = rng.normal(size=(2, 10))
    matrix = np.column_stack([np.ones(10), values])
    line, polynomial = fit_least_squares(matrix, response), fit_polynomial(values, response, 1)
    assert polynomial.params == pytest.approx(line.params, rel=1e-12)
    assert polynomial.cov == pytest.approx(line.cov, rel=1e-12)
    assert polynomial.hc3_cov == pytest.approx(line.hc3_cov, rel=1e-12)


def test_a_polynomial_of_no_degree_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="degree must be at least 1"):
        fit_polynomial(np.arange(5.0), np.arange(5.0), 0)


def test_a_polynomial_at_one_place_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="needs values that vary"):
        fit_polynomial(np.full(5, 2.0), np.arange(5.0), 1)
