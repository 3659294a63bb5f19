"""The classic trap: grind made finer every day, so that nobody can tell it from the bag's age."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, finer_each_day, log
from yieldwright.taste import EffectsFit, EntangledPair, fit_effects
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.separating import MOST_REPEATS, age_next, repeats_that_separate


def fit(shots: pd.DataFrame, *, as_of: date | None = None) -> EffectsFit:
    return fit_effects(comparable(shots, as_of=as_of), "ey_pct", bench=BENCH)


def pair(found: EffectsFit) -> EntangledPair:
    (only,) = found.confounded
    return only


def test_the_pair_is_named() -> None:
    found = pair(fit(finer_each_day()))
    assert (found.first, found.second) == ("grind_setting", "roast_age_d")
    assert found.stratum == "between sessions"
    assert found.forbids_verdict


def test_the_sentence_says_so_and_shows_the_fit_without_the_other() -> None:
    sentence = pair(fit(finer_each_day())).sentence
    assert sentence.startswith(
        "Grind setting and roast age cannot be told apart in this log: one follows from the other."
    )
    assert "without roast age in the fit, and nothing certain with it" in sentence


def test_the_repeat_is_the_oldest_setting_at_todays_age() -> None:
    found = pair(fit(finer_each_day()))
    assert found.remedy.startswith(
        "Pull setting 15 three times at today's roast age (21 d) in one session with setting 10:"
    )


def test_today_is_the_day_the_log_is_judged_on() -> None:
    found = pair(fit(finer_each_day(), as_of=date(2026, 3, 20)))
    assert "at today's roast age (25 d)" in found.remedy


def test_a_caution_stops_the_reader_and_carries_the_remedy() -> None:
    found = fit(finer_each_day())
    (caution,) = [each for each in found.cautions if each.code == "settings-entangled"]
    assert caution.severity == "stop"
    assert caution.about == ("grind_setting", "roast_age_d")
    assert caution.remedy.startswith("Pull setting 15")


def test_no_sentence_claims_an_effect_of_grind() -> None:
    said = fit(finer_each_day()).sentences
    assert not any(sentence.startswith("One setting coarser") for sentence in said)
    assert not any("Grind setting was not judged" in sentence for sentence in said)


def test_other_settings_are_judged_all_the_same() -> None:
    found = fit(finer_each_day())
    assert {"temp_band", "taper_bar"} <= set(found.effects["term"])


def test_nearly_every_day_finer_is_held_against_the_limit_of_so_few_sessions() -> None:
    shots = finer_each_day()
    day = (shots["roast_age_d"] - 6) / 3
    shots["grind_setting"] = 15 - day + 0.2 * (day % 2)
    found = pair(fit(shots))
    assert 5 <= found.limit < found.vif < math.inf
    assert "no verdict from" in found.sentence


def test_a_pooled_log_falls_into_the_same_trap() -> None:
    found = fit(finer_each_day(sessions=12, shots=1))
    assert any({p.first, p.second} == {"grind_setting", "roast_age_d"} for p in found.confounded)


def test_four_days_are_too_few_to_allow_for_age_and_still_name_it() -> None:
    found = fit(finer_each_day(sessions=4))
    assert any({p.first, p.second} == {"grind_setting", "roast_age_d"} for p in found.confounded)


def test_the_remedy_works() -> None:
    # Three shots at the oldest setting beside the present one, on the day after: now the grind
    # setting is judged inside a session, and no pair is named any more.
    shots = finer_each_day()
    added = log(sessions=1, shots=6, seed=9).assign(
        session="day 7",
        roast_age_d=24.0,
        grind_setting=[15.0, 10, 10, 15, 15, 10],
        pulled_on=pd.Timestamp("2026-03-19"),
    )
    found = fit(pd.concat([shots, added], ignore_index=True))
    assert found.confounded == ()
    (row,) = found.effects[found.effects["term"] == "grind_setting"].to_dict("records")
    assert row["stratum"] == "within sessions"


def test_drift_and_a_setting_in_order_are_named() -> None:
    shots = log(sessions=4, shots=6)
    shots["grind_setting"] = 10 + (shots["position"] - 1) // 2 + 0.1 * (shots["position"] % 2)
    found = fit(shots)
    (named,) = [p for p in found.confounded if p.first == "grind_setting"]
    assert named.second == "position"
    assert "early" in named.remedy
    assert "late" in named.remedy


def test_two_settings_that_went_together_are_named_once() -> None:
    shots = log()
    shots["taper_bar"] = (shots["grind_setting"] - 9 + 0.02 * shots["position"]).round(2)
    found = fit(shots)
    pairs = [{p.first, p.second} for p in found.confounded]
    assert pairs.count({"grind_setting", "taper_bar"}) == 1


def test_a_clean_log_names_nothing() -> None:
    assert fit(log(sessions=6)).confounded == ()


def test_the_search_stops_as_soon_as_the_pair_can_be_told_apart() -> None:
    rng = np.random.default_rng(1)
    frame = pd.DataFrame({"grind_setting": rng.normal(size=30), "taper_bar": rng.normal(size=30)})
    frame["session"] = "a"
    predictors = [Predictor("grind_setting", "setting"), Predictor("taper_bar", "setting")]
    found = repeats_that_separate(frame, predictors, ("grind_setting", "taper_bar"), blocked=False)
    assert found.repeats == 0
    assert found.sentence.startswith("The log tells them apart already")


def test_more_repeats_never_raise_the_inflation() -> None:
    found = fit(finer_each_day()).confounded[0].separation
    assert found is not None
    assert found.vif_after < 2.5 < found.vif_before
    assert 1 <= found.repeats <= MOST_REPEATS


def test_bands_that_followed_the_grind_get_the_missing_combinations() -> None:
    frame = pd.DataFrame(
        {
            "session": ["a"] * 8,
            "temp_band": ["low"] * 4 + ["high"] * 4,
            "grind_setting": [10.0, 10, 10, 10, 12, 12, 12, 12],
        }
    )
    predictors = [
        Predictor("temp_band", "setting", levels=("low", "high")),
        Predictor("grind_setting", "setting"),
    ]
    found = repeats_that_separate(frame, predictors, ("temp_band", "grind_setting"), blocked=True)
    pulled = {(shot["temp_band"], shot["grind_setting"]) for shot in found.shots}
    assert pulled & {("low", 12.0), ("high", 10.0)}
    assert found.vif_before == math.inf
    assert found.vif_after < 2.5


@pytest.mark.parametrize("missing", [["roast_age_d"], ["pulled_on"]])
def test_the_age_today_needs_no_calendar(missing: list[str]) -> None:
    shots = finer_each_day().drop(columns=missing)
    age = age_next(comparable(shots, as_of=date(2026, 4, 1)))
    assert math.isnan(age) if missing == ["roast_age_d"] else age == 21.0
