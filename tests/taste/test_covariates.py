"""How single columns are read before they enter a fit."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH
from yieldwright.taste.columns.covariates import (
    LONGEST_GAP_MIN,
    absence,
    level_order,
    lone_levels,
    readable,
    sameness,
)


def words(*said: object) -> np.ndarray:
    return np.array(said, dtype=object)


def test_a_longer_rest_than_the_longest_counts_as_the_longest() -> None:
    shots = pd.DataFrame({"position": [2, 3], "gap_min": [60.0, 4.0]})
    assert readable(shots, "gap_min").tolist() == [LONGEST_GAP_MIN, 4.0]


def test_the_first_shot_of_a_session_is_allowed_for_as_rested() -> None:
    shots = pd.DataFrame({"position": [1, 2, 3], "gap_min": [None, 4.0, None]})
    gaps = readable(shots, "gap_min").tolist()
    assert gaps[:2] == [LONGEST_GAP_MIN, 4.0]
    assert math.isnan(gaps[2])


def test_the_first_shot_of_a_session_says_nothing_about_waiting() -> None:
    shots = pd.DataFrame({"position": [1, 2], "gap_min": [None, 4.0]})
    assert np.isnan(readable(shots, "gap_min", as_setting=True)).tolist() == [True, False]


def test_gaps_nobody_logged_are_not_made_up() -> None:
    shots = pd.DataFrame({"position": [1, 2], "gap_min": [math.nan, math.nan]})
    assert np.isnan(readable(shots, "gap_min")).all()


@pytest.mark.parametrize(
    ("gaps", "refused"), [([4, 8, 4, 8], True), ([4, 8, 6], False), ([4, 4, 4], False)]
)
def test_how_long_to_wait_takes_three_different_gaps(gaps: list[float], refused: bool) -> None:
    reason = absence(np.array(gaps, dtype=float), "gap_min", is_setting=True)
    assert reason.startswith("only 2 different gaps") == refused
    assert absence(np.array(gaps, dtype=float), "gap_min", is_setting=False) == ""


def test_temperatures_of_another_place_are_not_put_on_one_line() -> None:
    shots = pd.DataFrame(
        {"temp_c": [92.0, 93.0, 104.0], "temp_where": ["group", "group", "boiler"]}
    )
    assert np.isnan(readable(shots, "temp_c")).tolist() == [False, False, True]


def test_temperatures_without_a_place_stay_as_they_are() -> None:
    shots = pd.DataFrame({"temp_c": [92.0, 93.0], "temp_where": [None, None]})
    assert readable(shots, "temp_c").tolist() == [92.0, 93.0]


def test_a_word_in_capitals_is_the_same_word() -> None:
    shots = pd.DataFrame({"tamp": ["Level", "level", "LEVEL", "tilted"]})
    assert readable(shots, "tamp").tolist() == ["Level", "Level", "Level", "tilted"]


def test_codes_keep_their_capitals_apart() -> None:
    shots = pd.DataFrame({"barista": ["B1", "b1"]})
    assert readable(shots, "barista").tolist() == ["B1", "b1"]


def test_words_of_a_log_cannot_steer_a_terminal_or_pass_for_a_step() -> None:
    shots = pd.DataFrame({"paper": ["top → low\x1b[31m"]})
    assert readable(shots, "paper").tolist() == ["top -> low\\x1b[31m"]


@pytest.mark.parametrize("kind", ["bool", "boolean", "object"])
def test_a_flag_is_read_as_yes_and_no(kind: str) -> None:
    shots = pd.DataFrame({"puck_screen": pd.Series([True, False], dtype=kind)})
    assert readable(shots, "puck_screen").tolist() == ["yes", "no"]


def test_a_level_of_one_shot_stands_alone() -> None:
    assert lone_levels(words("a", "b", "a", "c", "b"), "barista") == ("c",)


def test_numbers_and_bands_have_no_lone_levels() -> None:
    assert lone_levels(np.array([1.0, 2.0]), "temp_c") == ()
    assert lone_levels(words("low", "high"), "temp_band") == ()


def test_a_column_of_remarks_that_never_repeat_is_left_out() -> None:
    said = words(*(f"way {row}" for row in range(12)))
    reason = absence(said, "distribution", is_setting=False)
    assert reason == "12 of 12 entries stand for one shot each"


def test_one_shot_in_ten_may_be_lost_to_lone_levels() -> None:
    twenty = ["a", "b"] * 9
    assert absence(words(*twenty, "c", "d"), "paper", is_setting=False) == ""
    assert absence(words(*twenty, "c", "d", "e"), "paper", is_setting=False) != ""


def test_a_puck_without_comes_before_a_puck_with() -> None:
    shots = pd.DataFrame({"paper": ["bottom", "No", "both"]})
    assert level_order(shots, "paper", BENCH) == ["No"]


def test_stretches_come_in_the_order_of_their_categories() -> None:
    stretch = pd.Categorical(["since b", "before a"], ["before a", "since b"], ordered=True)
    shots = pd.DataFrame({"service_stretch": stretch})
    assert level_order(shots, "service_stretch", BENCH) == ["before a", "since b"]
    assert readable(shots, "service_stretch").tolist() == ["since b", "before a"]


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("yes", "used in all 3 shots; pull some without"),
        ("bottom", "used in all 3 shots; pull some without"),
        ("no", "used in none of 3 shots; pull some with it"),
        ("None", "used in none of 3 shots; pull some with it"),
    ],
)
def test_a_paper_used_always_or_never_says_what_to_pull(value: str, told: str) -> None:
    assert sameness(pd.Series([value] * 3), "paper").startswith(told)
