"""Uncertainty against the GUM's printed examples, Monte Carlo and worked budgets."""

from __future__ import annotations

import json
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright import uncertainty as un
from yieldwright.bench import Refractometer, Scale
from yieldwright.errors import OutOfRangeError
from yieldwright.extraction import extraction_yield

SPREADS = {"u_tds_pct": 0.05, "u_beverage_g": 0.06, "u_dose_g": 0.06}


def expected(reference, name):
    return json.loads((reference / "stats" / name / "expected.json").read_text("utf-8"))[
        "expected"
    ]


def test_end_gauge_budget_equals_the_printed_one(reference):
    # JCGM 100:2008, example H.1: u_c = 32 nm printed; closed form to 1e-10.
    case = expected(reference, "gum_h1_end_gauge")
    inputs, answer = case["inputs"], case["with_rounded_inputs_as_printed"]
    names = list(inputs)
    sensitivities = np.array([answer["sensitivity"][name] for name in names])
    covariance = np.diag([inputs[name][1] ** 2 for name in names])
    u_nm = float(un.combined_uncertainty(sensitivities, covariance))
    assert u_nm == pytest.approx(answer["uc_nm"], rel=1e-10)
    assert round(u_nm) == case["published"]["uc_nm"]


def test_correlated_quotient_equals_the_printed_one(reference):
    # JCGM 100:2008, example H.2: resistance 127.732 ohm, u 0.071 printed.
    case = expected(reference, "gum_h2_correlated_quotient")
    readings = pd.read_csv(reference / "stats" / "gum_h2_correlated_quotient" / "data.csv")
    volt, milliampere, phase = readings.mean()
    ampere = milliampere / 1000
    sensitivities = np.array(
        [
            np.cos(phase) / ampere,
            -volt * np.cos(phase) / ampere / milliampere,
            -volt * np.sin(phase) / ampere,
        ]
    )
    covariance = readings.cov().to_numpy() / len(readings)
    u_ohm = float(un.combined_uncertainty(sensitivities, covariance))
    assert u_ohm == pytest.approx(case["u"]["R"], rel=1e-9)
    assert round(u_ohm, 3) == case["published"]["R"][1]


def test_pooled_repeatability_of_published_weighings():
    # Two samples with variances 0.02 (df 1) and 0.5 (df 1), pooled by hand: sqrt(0.26).
    readings = pd.DataFrame({"tds_1_pct": [9.0, 9.0], "tds_2_pct": [9.2, 10.0]})
    assert un.pooled_repeatability(readings) == (pytest.approx(math.sqrt(0.26)), 2)


def test_single_readings_tell_no_repeatability():
    value, df = un.pooled_repeatability(pd.DataFrame({"tds_1_pct": [9.0, 9.4]}))
    assert math.isnan(value)
    assert df == 0


def test_a_usual_shot_has_the_worked_uncertainty():
    # 18 g, 36 g, 10 %, u 0.06 g, 0.06 g, 0.05 %: 0.125, of which strength carries 64 %.
    assert un.yield_uncertainty(10.0, 36.0, 18.0, **SPREADS) == pytest.approx(0.125, abs=5e-4)
    budget = un.yield_budget(10.0, 36.0, 18.0, **SPREADS)
    assert budget.loc["tds_pct", "share"] == pytest.approx(0.64, abs=5e-3)
    assert budget["share"].sum() == pytest.approx(1.0)


def test_a_kitchen_scale_triples_the_uncertainty():
    # 1 g display, resolution only, for both weighings: 0.37 by hand.
    u_g = un.scale_uncertainty(Scale(resolution_g=1.0, repeatability_g=0.0))
    u_ey_pct = un.yield_uncertainty(
        10.0, 36.0, 18.0, u_tds_pct=0.05, u_beverage_g=u_g, u_dose_g=u_g
    )
    assert u_ey_pct == pytest.approx(0.37, abs=5e-3)


def test_propagation_agrees_with_monte_carlo():
    rng = np.random.default_rng(7)
    n = 400_000
    ey_pct = rng.normal(10.0, 0.05, n) * rng.normal(36.0, 0.06, n) / rng.normal(18.0, 0.06, n)
    u_ey_pct = un.yield_uncertainty(10.0, 36.0, 18.0, **SPREADS)
    # standard error of a standard deviation: u / sqrt(2 n); four of them, and second order
    assert ey_pct.std() == pytest.approx(u_ey_pct, rel=4 / math.sqrt(2 * n) + 1e-4)


def test_covariance_with_strength_agrees_with_monte_carlo():
    rng = np.random.default_rng(8)
    n = 400_000
    tds_pct = rng.normal(10.0, 0.05, n)
    ey_pct = tds_pct * rng.normal(36.0, 0.06, n) / rng.normal(18.0, 0.06, n)
    sampled = np.cov(tds_pct, ey_pct)
    cov_tds_ey = un.strength_yield_covariance(36.0, 18.0, u_tds_pct=0.05)
    scatter = math.sqrt((sampled[0, 0] * sampled[1, 1] + sampled[0, 1] ** 2) / n)
    assert abs(sampled[0, 1] - cov_tds_ey) < 4 * scatter


@given(st.floats(6, 14), st.floats(25, 60), st.floats(14, 22))
def test_relative_variances_add_up(tds_pct, beverage_g, dose_g):
    u_ey_pct = un.yield_uncertainty(tds_pct, beverage_g, dose_g, **SPREADS)
    relative = math.sqrt((0.05 / tds_pct) ** 2 + (0.06 / beverage_g) ** 2 + (0.06 / dose_g) ** 2)
    assert u_ey_pct / extraction_yield(tds_pct, beverage_g, dose_g) == pytest.approx(relative)


@given(st.floats(6, 14), st.floats(25, 60), st.floats(14, 22))
def test_an_ellipse_never_leans_beyond_its_ratio_line(tds_pct, beverage_g, dose_g):
    u_ey_pct = un.yield_uncertainty(tds_pct, beverage_g, dose_g, **SPREADS)
    covariance = un.strength_yield_covariance(beverage_g, dose_g, u_tds_pct=0.05)
    assert 0 < covariance < 0.05 * u_ey_pct


def test_readings_shrink_repeatability_but_never_accuracy():
    refractometer = Refractometer(resolution_pct=0.0, repeatability_pct=0.04, accuracy_pct=0.0)
    assert un.tds_uncertainty(refractometer, 4.0) == pytest.approx(0.02)
    biased = Refractometer(resolution_pct=0.0, repeatability_pct=0.0, accuracy_pct=0.09)
    assert un.tds_uncertainty(biased, 400.0) == pytest.approx(0.09 / math.sqrt(3))
    assert un.tds_uncertainty(biased, 1.0, with_accuracy=False) == 0.0


def test_no_reading_has_no_uncertainty():
    counts = pd.Series([0.0, 1.0, math.nan])
    assert un.tds_uncertainty(Refractometer(), counts).isna().tolist() == [True, False, True]


def test_perfect_instruments_leave_none():
    spreads = dict.fromkeys(SPREADS, 0.0)
    assert un.yield_uncertainty(10.0, 36.0, 18.0, **spreads) == 0.0


def test_a_negative_uncertainty_is_refused():
    with pytest.raises(OutOfRangeError, match=r"u_dose_g must be at least 0 g; -0\.06 is not"):
        un.yield_uncertainty(10.0, 36.0, 18.0, **{**SPREADS, "u_dose_g": -0.06})
