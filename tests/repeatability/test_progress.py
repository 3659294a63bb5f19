"""One person over the weeks: a trend with its interval, or the coffee that stands in the way."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from tests.repeatability.class_logs import BENCH, course_shots, in_bags, in_set
from yieldwright.errors import UnknownNameError
from yieldwright.repeatability import Progress, progress


def followed(shots: pd.DataFrame, of: str = "time_s") -> Progress:
    sets = in_bags(shots) if "bag" in shots else [in_set(shots)]
    found = progress(sets, of, barista="s1", bench=BENCH)
    assert found is not None
    return found


def codes(found: Progress) -> set[str]:
    return {caution.code for caution in found.cautions}


def test_a_spread_that_falls_by_a_fifth_a_week_is_told_so() -> None:
    found = followed(course_shots(8, each=8, falling=0.2))
    assert found.change_low < -0.2 < found.change_high < 0
    assert found.sentences[0].startswith("s1’s SD in shot time fell by ")
    assert "56 repeats of like shots in 8 sessions" in found.sentences[0]


def test_a_spread_that_stays_shows_no_change_and_says_its_interval() -> None:
    found = followed(course_shots(6, each=4))
    assert found.change_low < 0 < found.change_high
    assert found.sentences[0].startswith("No change of s1’s SD in shot time shows: ")
    assert "95 % interval" in found.sentences[0]


def test_each_week_has_the_spread_of_its_shots() -> None:
    shots = course_shots(4, each=5)
    weekly = shots.groupby("session")["time_s"].std()
    weeks = followed(shots).weeks
    assert weeks["week"].tolist() == [1, 2, 3, 4]
    assert weeks["sd"].tolist() == pytest.approx(weekly.tolist())
    assert weeks["df"].tolist() == [4.0] * 4


def test_a_new_level_or_setting_is_no_spread() -> None:
    shots = course_shots(4, each=6)
    shots["grind_setting"] = [10.0, 11.0] * 12
    moved = shots.assign(time_s=shots["time_s"] + 5 * shots["grind_setting"])
    drifted = moved["time_s"] + shots["session"].map({f"day {n + 1}": 4.0 * n for n in range(4)})
    plain, other = followed(shots), followed(moved.assign(time_s=drifted))
    assert other.weeks["sd"].tolist() == pytest.approx(plain.weeks["sd"].tolist())
    assert other.change == pytest.approx(plain.change)


def test_a_larger_unit_changes_no_share() -> None:
    shots = course_shots(5)
    plain, other = followed(shots), followed(shots.assign(time_s=60 * shots["time_s"]))
    assert other.change == pytest.approx(plain.change)
    assert (other.change_low, other.change_high) == pytest.approx(
        (plain.change_low, plain.change_high)
    )


def test_a_new_bag_every_week_is_refused_with_the_control_that_would_tell() -> None:
    found = followed(course_shots(5, bags="abcde"))
    assert math.isnan(found.change)
    assert found.missing.startswith("The coffee changed with the weeks")
    (caution,) = found.cautions
    assert (caution.code, caution.severity) == ("coffee-changed", "stop")
    assert "Freeze part of one bag" in caution.remedy
    assert "3 shots of it every week" in caution.remedy


def test_bags_that_overlap_in_weeks_soften_the_trend() -> None:
    found = followed(course_shots(6, bags="aaabbb"))
    assert not math.isnan(found.change)
    assert "coffee-changed" in codes(found)


def test_a_bag_that_is_wilder_by_itself_makes_no_trend() -> None:
    shots = course_shots(6, bags="aaabbb", each=5)
    wild = 36 + (shots["time_s"] - 36) * np.where(shots["bag"] == "b", 5.0, 1.0)
    assert followed(shots.assign(time_s=wild)).change == pytest.approx(followed(shots).change)


def test_coffee_that_ages_meanwhile_is_said_and_a_frozen_one_is_not() -> None:
    shots = course_shots(5)
    ageing = shots["session"].str.removeprefix("day ").astype(float) * 7
    assert "coffee-aged" in codes(followed(shots.assign(roast_age_d=ageing)))
    assert "coffee-aged" not in codes(followed(shots.assign(roast_age_d=10.0)))


@pytest.mark.parametrize("weeks", [1, 2])
def test_fewer_than_three_sessions_have_no_trend(weeks: int) -> None:
    found = followed(course_shots(weeks))
    assert "A trend needs 3 sessions" in found.missing
    assert found.sentences == (found.missing,)
    assert len(found.weeks) == weeks


def test_single_shots_have_no_like_to_differ_from() -> None:
    found = followed(course_shots(5, each=1))
    assert "pulled at least two shots alike" in found.missing
    assert found.weeks["sd"].isna().all()
    assert "Week" in found.summary()


def test_shots_without_a_date_are_counted_out() -> None:
    shots = course_shots(4)
    shots.loc[0, "pulled_on"] = pd.NaT
    assert [str(each) for each in followed(shots).dropped] == ["1 shot without a date"]
    undated = followed(shots.drop(columns="pulled_on"))
    assert undated.weeks.empty
    assert "A trend needs 3 sessions" in undated.missing


def test_shots_that_read_the_same_have_no_trend() -> None:
    found = followed(course_shots(4).assign(time_s=36.0))
    assert "log one more decimal" in found.missing


def test_misses_have_a_trend_of_their_own() -> None:
    shots = course_shots(6)
    week = shots["session"].str.removeprefix("day ").astype(float)
    side = np.where(np.arange(len(shots)) % 2, 1.0, -1.0)
    found = followed(shots.assign(beverage_g=36 + side * (7 - week)))
    row = found.misses.set_index("column").loc["beverage_g"]
    assert row["change"] == pytest.approx(-1.0)
    assert row["df"] == 4
    assert any("mean miss of the beverage mass fell by 1" in each for each in found.sentences)


def test_nobody_named_is_no_question_and_a_wrong_code_is_refused() -> None:
    shots = course_shots(4)
    nobody = [in_set(shots.drop(columns="barista"))]
    assert progress(nobody, "time_s", barista="s1", bench=BENCH) is None
    with pytest.raises(UnknownNameError, match="there is 's1'"):
        progress([in_set(shots)], "time_s", barista="s2", bench=BENCH)
    with pytest.raises(UnknownNameError, match="no column 'tme_s'"):
        progress([in_set(shots)], "tme_s", barista="s1", bench=BENCH)


def test_the_same_log_gives_the_same_figures() -> None:
    shots = course_shots(5)
    one, two = followed(shots), followed(shots)
    assert (one.change_low, one.change_high) == (two.change_low, two.change_high)


def test_the_result_tells_itself_in_eighty_columns() -> None:
    text = followed(course_shots(6, bags="aaabbb")).summary()
    assert max(map(len, text.splitlines())) <= 80
    assert text.startswith("s1 over the weeks, shot time")


@pytest.mark.parametrize(("weeks", "each", "bears"), [(5, 2, False), (6, 2, True), (3, 3, True)])
def test_fewer_than_six_repeats_bear_no_trend(weeks: int, each: int, bears: bool) -> None:
    found = followed(course_shots(weeks, each=each))
    assert (not found.missing) == bears
    if not bears:
        assert "needs 6 repeats of like shots, and s1 pulled 5 in 5 sessions" in found.missing


def test_each_further_bag_takes_a_repeat_for_its_level() -> None:
    found = followed(course_shots(6, each=2, bags="aaabbb"))
    assert "A trend over 2 bags or grinders needs 7 repeats" in found.missing


def test_weeks_are_told_by_their_numbers() -> None:
    shots = course_shots(6, each=4)
    later = shots[shots["session"] != "day 2"]
    assert "15 repeats of like shots in 5 sessions, week 1 to 6)" in followed(later).sentences[0]


def test_the_coffee_is_doubted_in_words_that_name_nobody() -> None:
    found = followed(course_shots(6, each=5, bags="aaabbb"))
    (caution,) = [each for each in found.cautions if each.code == "coffee-changed"]
    assert caution.sentence.startswith("The coffee was of 2 bags or grinders meanwhile")
