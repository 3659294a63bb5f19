"""Curves are tried only where the log can bear it, and kept only where needed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste import Curvature, fit_effects


def curve(shots: pd.DataFrame, column: str = "grind_setting") -> Curvature:
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
    return next(each for each in found.curvature if each.column == column)


def test_two_settings_cannot_show_a_curve() -> None:
    assert curve(log(grinds=(10.0, 11.0))).reason == "only 2 different values"


def test_a_short_log_is_not_asked_for_a_curve() -> None:
    # 12 shots in one session: intercept, grind, two bands, taper, dose and position leave 5.
    found = curve(log(sessions=1, shots=12))
    assert not found.tried
    assert found.reason == "it would leave 4 degrees of freedom, and needs 6"


def test_a_strong_bend_is_kept() -> None:
    found = curve(log(sessions=6, bend=-1.5))
    assert found.kept
    assert found.p_value < 0.001


def test_of_straight_lines_five_in_a_hundred_bend_by_chance() -> None:
    # 4 binomial standard errors over 100 logs, simulated by us.
    kept = sum(curve(log(sessions=5, seed=seed, noise=0.8)).kept for seed in range(100))
    assert kept / 100 <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / 100)


def test_a_bend_kept_leaves_the_average_slope_over_the_values_tried() -> None:
    # Identity: the slope of a parabola in the middle of its range is its average over it.
    shots = log(sessions=8, noise=1e-6, grind=-0.5, bend=-0.5, grinds=(9.0, 10, 11, 12, 13))
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
    row = found.effects.iloc[0]
    assert any(each.kept for each in found.curvature)
    assert row["estimate"] == pytest.approx(-0.5, abs=1e-4)


def test_sessions_of_one_pair_of_settings_each_can_still_bend() -> None:
    shots = log(sessions=9, shots=4, noise=0.05)
    pairs = np.array([[9.0, 10.0], [10.0, 11.0], [11.0, 12.0]])[np.arange(9) % 3]
    shots["grind_setting"] = np.repeat(pairs, 2, axis=1)[:, [0, 2, 3, 1]].ravel()
    shots["ey_pct"] = 19 - 0.5 * (shots["grind_setting"] - 10.5) ** 2 + 0.01 * shots["position"]
    assert curve(shots).kept


def test_age_bends_on_session_means_where_there_are_enough() -> None:
    shots = log(sessions=12, shots=4, noise=0.05, age=0.0)
    shots["ey_pct"] -= 0.01 * (shots["roast_age_d"] - 20) ** 2
    found = curve(shots, "roast_age_d")
    assert found.kept


def test_few_sessions_are_not_asked_whether_age_bends() -> None:
    assert not curve(log(sessions=5), "roast_age_d").tried
