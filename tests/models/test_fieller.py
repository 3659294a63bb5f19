"""Turning points and ratios, against R (Fieller 1954; Lind and Mehlum 2010)."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.models.published import data, expected
from yieldwright.models.contrasts.effects import curvature, vertex
from yieldwright.models.contrasts.means import mean_at
from yieldwright.models.intervals.fieller import FiellerSet, fieller_ratio
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric

FOLDER = "vertex_ci_quadratic"

#: Data set, file, predictor, response.
CURVES = {
    "temp": ("data.csv", "t", "Temp"),
    "ozone": ("data.csv", "t", "Ozone"),
    "cars": ("cars.csv", "speed", "dist"),
    "publicschools": ("publicschools.csv", "Income", "Expenditure"),
}
KINDS = {"bounded": "bounded", "exclusive_unbounded": "complement"}


def curve(reference: Path, name: str) -> tuple[LinearFit, str]:
    file, predictor, response = CURVES[name]
    frame = data(reference, FOLDER, file).dropna(subset=[predictor, response])
    design = build_design(frame, [Numeric(predictor, power=2)])
    return fit_least_squares(design, frame[response]), predictor


def figures(reference: Path, name: str, errors: str) -> dict[str, Any]:
    whole = expected(reference, FOLDER)[name]
    return whole["HC3"] if errors == "hc3" else whole


@pytest.mark.parametrize("errors", ["equal", "hc3"])
@pytest.mark.parametrize("name", CURVES)
def test_place_of_the_vertex(reference: Path, name: str, errors: str) -> None:
    fit, predictor = curve(reference, name)
    found = vertex(fit, predictor, errors=errors)
    assert found.estimate == pytest.approx(figures(reference, name, errors)["vertex"], rel=1e-8)


@pytest.mark.parametrize("errors", ["equal", "hc3"])
@pytest.mark.parametrize("name", CURVES)
def test_kind_of_the_set(reference: Path, name: str, errors: str) -> None:
    fit, predictor = curve(reference, name)
    printed = figures(reference, name, errors)["fieller"]["type"]
    assert vertex(fit, predictor, errors=errors).kind == KINDS[printed]


@pytest.mark.parametrize("errors", ["equal", "hc3"])
@pytest.mark.parametrize("name", CURVES)
def test_limits_of_the_set(reference: Path, name: str, errors: str) -> None:
    fit, predictor = curve(reference, name)
    found = vertex(fit, predictor, errors=errors)
    roots = figures(reference, name, errors)["fieller"]["roots"]
    assert [found.low, found.high] == pytest.approx(roots, rel=1e-6)


def test_the_vertex_of_the_cars_is_unbounded(reference: Path) -> None:
    fit, predictor = curve(reference, "cars")
    found = vertex(fit, predictor)
    assert found.kind == "complement"
    assert found.holds(found.estimate)
    assert not found.holds((found.low + found.high) / 2)


@pytest.mark.parametrize("name", CURVES)
def test_the_bend_has_the_printed_statistic(reference: Path, name: str) -> None:
    fit, predictor = curve(reference, name)
    printed = figures(reference, name, "equal")["t_quad"]
    assert curvature(fit, predictor).statistic == pytest.approx(printed, rel=1e-8)


def test_the_mean_at_the_vertex(reference: Path) -> None:
    fit, predictor = curve(reference, "temp")
    printed = figures(reference, "temp", "equal")
    found = mean_at(fit, {predictor: printed["vertex"]})
    assert found.estimate == pytest.approx(printed["value_at_vertex"]["est"], rel=1e-9)
    assert found.std_error == pytest.approx(printed["value_at_vertex"]["se_fixed_x"], rel=1e-7)


def test_a_hopeless_ratio_may_be_anything() -> None:
    found = fieller_ratio(0.1, 0.1, variances=(1.0, 1.0), covariance=0.0, df=10)
    assert found.kind == "everything"
    assert found.holds(-1e9)
    assert found.holds(1e9)


def test_a_certain_ratio_is_a_point() -> None:
    found = fieller_ratio(3.0, 2.0, variances=(0.0, 0.0), covariance=0.0, df=5)
    assert (found.kind, found.low, found.high) == ("bounded", 1.5, 1.5)


def test_a_certain_denominator_gives_the_t_interval() -> None:
    # t(0.975; 10) = 2.228139 (any table); (3 ± 2.228139 × 0.5) / 2.
    found = fieller_ratio(3.0, 2.0, variances=(0.25, 0.0), covariance=0.0, df=10)
    assert [found.low, found.high] == pytest.approx([0.942965, 2.057035], abs=1e-6)


def test_a_ratio_over_zero_has_no_estimate() -> None:
    found = fieller_ratio(1.0, 0.0, variances=(1e-4, 1e-4), covariance=0.0, df=10)
    assert found.kind == "complement"
    assert math.isnan(found.estimate)


@given(
    numerator=st.floats(-10, 10),
    denominator=st.floats(0.01, 10),
    errors=st.tuples(st.floats(0.01, 3), st.floats(0.01, 3)),
    correlation=st.floats(-0.95, 0.95),
    df=st.integers(1, 60),
)
def test_the_set_is_what_a_t_test_would_not_reject(
    numerator: float,
    denominator: float,
    errors: tuple[float, float],
    correlation: float,
    df: int,
) -> None:
    covariance = correlation * errors[0] * errors[1]
    variances = (errors[0] ** 2, errors[1] ** 2)
    found = fieller_ratio(
        numerator, denominator, variances=variances, covariance=covariance, df=df
    )
    reach = stats.t.ppf(0.975, df)
    for ratio in (-7.3, -1.1, -0.2, 0.0, 0.4, 2.7, 9.9):
        spread = variances[0] - 2 * ratio * covariance + ratio**2 * variances[1]
        margin = abs(numerator - ratio * denominator) / math.sqrt(spread) / reach
        if abs(margin - 1) > 1e-6:
            assert found.holds(ratio) == (margin < 1)


@given(ratio=st.floats(-100, 100))
def test_the_estimate_is_always_in_the_set(ratio: float) -> None:
    found = fieller_ratio(ratio, 1.0, variances=(2.0, 0.5), covariance=0.3, df=7)
    assert found.holds(found.estimate)


def test_shifting_moves_every_limit() -> None:
    moved = FiellerSet("bounded", -1.0, 2.0, 0.5).shifted(origin=10.0, unit=2.0)
    assert moved == FiellerSet("bounded", 8.0, 14.0, 11.0)


def test_the_vertex_moves_with_its_variable() -> None:
    frame = pd.DataFrame({"x": np.arange(1.0, 7.0), "y": [2.0, 5.1, 6.9, 7.2, 5.8, 4.1]})
    fits = [
        fit_least_squares(build_design(each, [Numeric("x", power=2)]), each["y"])
        for each in (frame, frame.assign(x=frame["x"] * 10 + 100))
    ]
    first, second = (vertex(fit, "x") for fit in fits)
    moved = first.shifted(origin=100.0, unit=10.0)
    assert [second.low, second.high] == pytest.approx([moved.low, moved.high], rel=1e-9)
