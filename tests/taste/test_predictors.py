"""Which rows and columns a question can be answered with."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.models.terms.terms import Factor, Numeric
from yieldwright.taste.columns.one_start import shots_of_one_start
from yieldwright.taste.columns.predictors import (
    Predictor,
    Prepared,
    Question,
    prepare,
    response_values,
)
from yieldwright.taste.columns.sufficiency import affordable

CELSIUS = {"low": 86.0, "medium": 90.0, "high": 94.0}
QUESTION = Question("ey_pct", BENCH, ("grind_setting", "temp_band"), ("dose_g",))


def prepared(shots: pd.DataFrame) -> Prepared:
    return prepare(comparable(shots), QUESTION)


def predictor(found: Prepared, column: str) -> Predictor:
    return next(each for each in found.predictors if each.column == column)


def test_bands_stand_in_the_order_of_the_bench() -> None:
    shots = log()
    assert predictor(prepared(shots[::-1]), "temp_band").levels == ("low", "medium", "high")


def test_levels_nobody_pulled_do_not_appear() -> None:
    shots = log()
    found = prepared(shots[shots["temp_band"] != "medium"])
    assert predictor(found, "temp_band").levels == ("low", "high")


@pytest.mark.parametrize(("tried", "step"), [(3.0, 1.0), (1.0, 1.0), (0.4, 0.1), (0.04, 0.01)])
def test_a_step_never_exceeds_what_was_tried(tried: float, step: float) -> None:
    shots = log().assign(dose_g=lambda frame: 18 + tried * (frame["position"] - 1) / 5)
    assert predictor(prepared(shots), "dose_g").step == pytest.approx(step)


def test_every_shot_is_used_or_counted_out() -> None:
    shots = log()
    rng = np.random.default_rng(2)
    for column in ("ey_pct", "grind_setting", "temp_band", "dose_g"):
        shots[column] = shots[column].mask(rng.random(24) < 0.15)
    found = prepared(shots)
    assert len(found.frame) + sum(each.count for each in found.dropped) == 24


def test_a_third_of_gaps_is_the_most_a_column_may_have() -> None:
    nine = log(sessions=3, shots=3)
    for missing, logged in ((3, True), (4, False)):
        shots = nine.assign(dose_g=nine["dose_g"].mask(nine.index < missing))
        assert ("dose_g" not in dict(prepared(shots).left_out)) == logged


def test_a_number_enters_as_a_line_or_a_curve_and_words_as_levels() -> None:
    grind = Predictor("grind_setting", "setting", step=-0.5)
    assert grind.term(curved=True) == Numeric("grind_setting", step=-0.5, power=2)
    band = Predictor("temp_band", "setting", levels=("low", "high"))
    assert band.term() == Factor("temp_band", ("low", "high"))
    assert (grind.width, band.width) == (1, 1)


def test_scores_best_in_the_middle_become_distances() -> None:
    shots = pd.DataFrame({"score:body": [5.0, 3.0, 8.0], "score:bitter": [1.0, 2.0, 3.0]})
    assert response_values(shots, "score:body", BENCH).tolist() == [0.0, -2.0, -3.0]
    assert response_values(shots, "score:bitter", BENCH).tolist() == [1.0, 2.0, 3.0]


def test_adjusters_go_in_the_stated_order() -> None:
    grind = Predictor("grind_setting", "setting")
    adjusters = [Predictor(name, "adjuster") for name in ("roast_age_d", "dose_g", "position")]
    gone = [
        [each.column for each in affordable([grind, *adjusters], df=df, stratum="pooled").dropped]
        for df in (8, 7, 6, 5)
    ]
    assert gone == [
        [],
        ["dose_g"],
        ["dose_g", "position"],
        ["dose_g", "position", "roast_age_d"],
    ]


def test_an_unnamed_adjuster_goes_before_the_named_ones() -> None:
    adjusters = [Predictor(name, "adjuster") for name in ("dose_g", "gap_min")]
    assert affordable(adjusters, df=5, stratum="pooled").dropped[0].column == "gap_min"


def test_the_room_goes_before_the_puck_and_the_puck_before_the_gap() -> None:
    grind = Predictor("grind_setting", "setting")
    names = ("gap_min", "puck_screen", "room_c")
    adjusters = [Predictor(name, "adjuster") for name in names]
    found = affordable([grind, *adjusters], df=5, stratum="pooled").dropped
    assert [each.column for each in found] == ["room_c", "puck_screen", "gap_min"]


def test_the_band_stands_for_a_temperature_that_it_follows_from() -> None:
    shots = log().assign(temp_c=lambda frame: frame["temp_band"].map(CELSIUS))
    both = Question("ey_pct", BENCH, ("temp_band", "temp_c"), ())
    found = prepare(comparable(shots), both)
    assert dict(found.left_out) == {"temp_c": "the temperature band stands for it"}
    one_band = prepare(comparable(shots.assign(temp_band="low")), both)
    assert [each.column for each in one_band.predictors] == ["temp_c"]
    apart = prepare(comparable(shots.assign(temp_c=90 + shots["position"] % 2)), both)
    assert [each.column for each in apart.predictors] == ["temp_band", "temp_c"]


def test_a_shot_alone_at_a_level_is_counted_out_by_name() -> None:
    shots = log().assign(paper=["top"] * 11 + ["both"] + ["bottom"] * 12)
    found = prepare(comparable(shots), Question("ey_pct", BENCH, ("paper",), ()))
    assert [str(each) for each in found.dropped] == ["1 shot that alone had paper “both”"]
    assert predictor(found, "paper").levels == ("bottom", "top")


def test_a_screen_used_always_is_left_out_with_what_to_pull() -> None:
    shots = log().assign(puck_screen=pd.Series([True] * 24, dtype="boolean"))
    found = prepare(comparable(shots), Question("ey_pct", BENCH, ("puck_screen",), ()))
    assert dict(found.left_out)["puck_screen"] == (
        "used in all 24 shots; pull some without in the same session"
    )


@pytest.mark.parametrize(
    ("column", "tried", "step"),
    [
        ("brew_ratio", 0.6, 0.1),
        ("brew_ratio", 0.05, 0.01),
        ("preheat_min", 30.0, 5.0),
        ("preheat_min", 3.0, 1.0),
        ("temp_c", 8.0, 1.0),
        ("hold_bar", 0.5, 0.1),
    ],
)
def test_a_step_is_one_that_a_hand_would_take(column: str, tried: float, step: float) -> None:
    shots = log()
    shots[column] = 2 + tried * (shots["position"] - 1) / 5
    found = prepare(comparable(shots), Question("ey_pct", BENCH, (column,), ()))
    assert predictor(found, column).step == pytest.approx(step)


def test_settings_never_go_and_tell_how_many_shots_they_lack() -> None:
    settings = [Predictor(name, "setting") for name in ("grind_setting", "taper_bar", "prewet_s")]
    found = affordable(settings, df=4, stratum="within sessions")
    assert found.kept == tuple(settings)
    assert found.lacking == 2


def test_session_means_may_run_down_to_two_degrees_of_freedom() -> None:
    band = Predictor("temp_band", "setting", levels=("low", "medium", "high"))
    assert affordable([band], df=4, stratum="between sessions").lacking == 0
    assert affordable([band], df=3, stratum="between sessions").lacking == 1


def test_times_counted_from_another_start_are_left_out_of_what_the_clock_measures() -> None:
    starts = ["lever", "lever", "first_drip", None]
    shots = pd.DataFrame(
        {"time_from": starts, "time_s": [36.0, 35, 27, 30], "taper_start_s": 20.0, "ey_pct": 20.0}
    )
    for column in ("time_s", "taper_start_s"):
        kept, dropped = shots_of_one_start(shots, column)
        assert kept.index.tolist() == [0, 1]
        assert [str(each) for each in dropped] == ["2 shots timed from another start than lever"]
    assert shots_of_one_start(shots, "ey_pct")[1] == ()


def test_the_usual_start_is_that_of_shots_with_a_time() -> None:
    starts = ["lever"] * 3 + ["first_drip"] * 2
    shots = pd.DataFrame({"time_from": starts, "time_s": [36.0, None, None, 27, 28]})
    kept, (lost,) = shots_of_one_start(shots, "time_s")
    assert lost.count == 1
    assert kept["time_s"].dropna().tolist() == [27, 28]
