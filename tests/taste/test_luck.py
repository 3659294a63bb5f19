"""What chance alone does is said beside every answer."""

from __future__ import annotations

import re

import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.models.intervals.power import shots_per_setting
from yieldwright.taste import EffectsFit, fit_effects


def fit(response: str = "ey_pct", **how) -> EffectsFit:
    shots = log(**how).assign(**{"score:overall": lambda frame: frame["ey_pct"] - 13})
    shots["score:bitter"] = shots["score:overall"]
    shots["time_s"] = 36 - shots["ey_pct"] + 19
    return fit_effects(comparable(shots), response, bench=BENCH)


def said(found: EffectsFit, start: str) -> str:
    (sentence,) = [each for each in found.sentences if each.startswith(start)]
    return sentence


@pytest.mark.parametrize(("looks", "alarms"), [(3, 14), (4, 19)])
def test_many_looks_are_counted_with_what_chance_does_in_so_many(looks: int, alarms: int) -> None:
    # The trade's table: 3 tests, 14 % a false alarm; for 4, 1 − 0.95⁴ = 18.5 %.
    shots = log()
    if looks == 3:
        shots = shots[shots["temp_band"] != "high"]
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
    assert f"in {alarms} % of logs" in said(found, f"{looks} effects of settings were looked at")


def test_one_look_is_one_in_twenty() -> None:
    shots = log().drop(columns=["temp_band", "taper_bar"])
    found = fit_effects(comparable(shots), "ey_pct", bench=BENCH)
    assert "5 % of logs" in said(found, "One effect of a setting was looked at")


def test_the_best_shot_is_named_with_what_luck_does_and_the_advice_to_repeat_it() -> None:
    # Harter's table as the trade quotes it for 12: 1.63 standard deviations.
    found = fit(sessions=2, shots=6, grinds=(10.0, 11.0))
    sentence = said(found, "The best shot, shot ")
    shown = float(re.search(r"about ([\d.]+) points of yield", sentence)[1])
    assert shown == pytest.approx(1.63 * found.residual_sd, rel=0.2)
    assert sentence.endswith("Repeat it twice before changing the recipe.")


def test_where_less_is_better_the_best_shot_has_the_lowest_score() -> None:
    most, least = fit("score:overall"), fit("score:bitter")
    assert said(most, "The best shot, ").split()[4] != said(least, "The best shot, ").split()[4]


def test_a_time_has_no_best() -> None:
    assert not any(each.startswith("The best shot") for each in fit("time_s").sentences)


def test_the_shots_that_a_difference_needs_follow_from_the_spread() -> None:
    found = fit()
    sentence = said(found, "To find a difference of 0.5 points of yield (taken as worth finding)")
    need = int(re.search(r"takes (\d+) shots at each of two settings", sentence)[1])
    assert need == shots_per_setting(0.5, found.residual_sd)


def test_the_least_pulled_setting_is_told_what_it_lacks() -> None:
    found = fit(noise=1.0)
    sentence = said(found, "To find a difference")
    need = int(re.search(r"takes (\d+) shots", sentence)[1])
    has, lacking = map(int, re.search(r"has (\d+) and needs (\d+) more", sentence).groups())
    assert has + lacking == need


def test_of_a_score_one_step_of_the_scale_is_worth_finding() -> None:
    assert said(fit("score:overall"), "To find a difference of 0.5 points (one step of the scale)")


def test_a_hopeless_spread_is_said_to_be_out_of_reach() -> None:
    sentence = said(fit(noise=60.0), "A difference of 0.5 points of yield")
    assert "is out of reach at a spread of" in sentence
