"""Curves are tried wherever the log can bear it, and only there."""

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


def test_a_strong_bend_is_found() -> None:
    found = curve(log(sessions=6, bend=-1.5))
    assert found.bends
    assert found.p_value < 0.001


def test_of_straight_lines_five_in_a_hundred_bend_by_chance() -> None:
    # 4 binomial standard errors over 100 logs, simulated by us.
    bent = sum(curve(log(sessions=5, seed=seed, noise=0.8)).bends for seed in range(100))
    assert bent / 100 <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / 100)


def test_a_curve_that_does_not_show_is_allowed_for_all_the_same() -> None:
    # Identity: four settings, 40 shots, 5 sessions; intercept and blocks 5, grind and its
    # square, two steps of band, taper, dose and position leave 40 − 12.
    shots = log(sessions=5, shots=8, noise=0.8, seed=3)
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
    (grind,) = (each for each in found.curvature if each.column == "grind_setting")
    assert not grind.bends
    assert any("allowed for; none shows" in sentence for sentence in found.sentences)
    straight = fit_effects(
        comparable(shots[shots["grind_setting"].isin([10.0, 11.0])]), "ey_pct", bench=BENCH
    )
    assert not any(each.tried for each in straight.curvature)


def test_sessions_of_one_pair_of_settings_each_can_still_bend() -> None:
    shots = log(sessions=9, shots=4, noise=0.05)
    pairs = np.array([[9.0, 10.0], [10.0, 11.0], [11.0, 12.0]])[np.arange(9) % 3]
    shots["grind_setting"] = np.repeat(pairs, 2, axis=1)[:, [0, 2, 3, 1]].ravel()
    shots["ey_pct"] = 19 - 0.5 * (shots["grind_setting"] - 10.5) ** 2 + 0.01 * shots["position"]
    assert curve(shots).bends


def test_age_bends_on_session_means_where_there_are_enough() -> None:
    shots = log(sessions=12, shots=4, noise=0.05, age=0.0)
    shots["ey_pct"] -= 0.01 * (shots["roast_age_d"] - 20) ** 2
    found = curve(shots, "roast_age_d")
    assert found.bends


def test_few_sessions_are_not_asked_whether_age_bends() -> None:
    assert not curve(log(sessions=5), "roast_age_d").tried


def test_of_settings_tried_unequally_often_the_average_is_over_the_shots() -> None:
    # Identity: the slope of 19 − 0.5 g − 0.5 (g − 11)² averaged over shots at 10, 11 and 13.
    grinds = (10.0, 10.0, 11.0, 13.0)
    shots = log(sessions=8, noise=1e-6, grind=-0.5, bend=-0.5, grinds=grinds)
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
    centre = float(np.mean(grinds))  # of the parabola that the log is made from
    assert any(each.bends for each in found.curvature)
    slopes = -0.5 - 2 * 0.5 * (shots["grind_setting"] - centre)
    assert found.effects.iloc[0]["estimate"] == pytest.approx(slopes.mean(), abs=1e-3)
