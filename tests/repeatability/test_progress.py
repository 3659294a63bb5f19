"""One person over the weeks: a trend with its interval, or the coffee that stands in the way."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from tests.repeatability.class_logs import BENCH, course_shots, in_bags, in_set
from yieldwright.errors import UnknownNameError
from yieldwright.repeatability import Progress, progress, steady
from yieldwright.repeatability.persons.progress_counted import counted_together
from yieldwright.repeatability.persons.progress_words import not_followed
from yieldwright.shotlog import read_log


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
    away = (
        7 - week + week.map(dict(zip(range(1, 7), (0.1, -0.2, 0.0, 0.1, 0.1, -0.1), strict=True)))
    )
    found = followed(shots.assign(beverage_g=36 + side * away))
    row = found.misses.set_index("column").loc["beverage_g"]
    line = stats.linregress(range(6), away.groupby(week).first())
    reach = stats.t.ppf(0.975, 4) * line.stderr
    assert row["change"] == pytest.approx(line.slope)
    assert (row["ci_low"], row["ci_high"]) == pytest.approx(
        (line.slope - reach, line.slope + reach)
    )
    assert (row["df"], row["p_value"]) == pytest.approx((4, line.pvalue))
    assert any("mean miss of the beverage mass fell by 1.0" in each for each in found.sentences)


def test_misses_that_do_not_scatter_give_no_interval_of_no_width() -> None:
    shots = course_shots(6)
    week = shots["session"].str.removeprefix("day ").astype(float)
    found = followed(shots.assign(beverage_g=43 - week))
    assert "do not scatter" in found.misses.set_index("column")["missing"]["beverage_g"]


def test_a_miss_needs_five_sessions_and_one_more_for_each_further_bag() -> None:
    # Three beyond the levels and the slope: a chi-square of one degree of freedom falls below
    # a hundredth of its mean in 8.0 % of cases, one of three in 0.14 %.
    assert stats.chi2.cdf(0.01, 1) == pytest.approx(0.080, abs=5e-4)
    assert stats.chi2.cdf(0.03, 3) == pytest.approx(0.0014, abs=5e-5)
    shots = course_shots(4)
    assert followed(course_shots(5)).misses["change"].notna().all()
    short = followed(shots)
    assert short.misses["change"].isna().all()
    assert (
        "No trend of the mean miss of the shot time is told: 5 sessions are needed, and it is "
        "known of 4." in short.sentences
    )
    two = followed(course_shots(5, bags="aaabb", each=6))
    assert "6 sessions of 2 bags or grinders are needed" in two.misses["missing"].iloc[0]


def test_a_week_of_fewer_than_five_shots_has_no_mean_miss() -> None:
    short, enough = (
        followed(course_shots(6, each=4)).weeks,
        followed(course_shots(6, each=5)).weeks,
    )
    names = ["miss:time_s", "miss_low:time_s", "miss_high:time_s"]
    assert short[names].isna().all(axis=None)
    assert enough[names].notna().all(axis=None)


def test_a_miss_that_stays_the_same_has_no_interval_of_no_width() -> None:
    found = followed(course_shots(6).assign(beverage_g=36.5))
    row = found.misses.set_index("column").loc["beverage_g"]
    assert math.isnan(row["ci_low"])
    assert row["missing"] == "it was the same in all sessions"


def test_p_values_count_the_spread_and_the_misses_of_everybody() -> None:
    one, two = (followed(course_shots(6, seed=seed)) for seed in (4, 5))
    assert (one.n_tests, two.n_tests) == (2, 2)
    together = counted_together([one, two])
    raw = [value for each in (one, two) for value in (each.p_value, *each.misses["p_value"])]
    told = [value for each in together for value in (each.p_holm, *each.misses["p_holm"])]
    least = int(np.argmin(raw))
    assert [each.n_tests for each in together] == [4, 4]
    assert told[least] == pytest.approx(min(4 * raw[least], 1.0))
    assert (together[0].change_low, together[0].change_high) == (one.change_low, one.change_high)
    assert together[1].sentences[-1].startswith("4 changes over the weeks were tested")


def test_a_change_that_many_tests_would_show_by_chance_is_not_told_as_one() -> None:
    plain = followed(course_shots(8, each=8, falling=0.2))
    found = replace(plain, p_value=0.01, misses=plain.misses[:0])
    (alone,) = counted_together([found])
    assert alone.sentences[0].startswith("s1’s SD in shot time fell by ")
    others = [replace(found, p_value=p_value) for p_value in (0.2, 0.4, 0.5, 0.6, 0.9)]
    among, *_ = counted_together([found, *others])
    assert among.sentences[0].startswith(
        "No change of s1’s SD in shot time is clear among 6 tests (p = 0.060 by Holm): "
    )
    assert among.change_high < 0
    assert among.verdict.endswith(", not clear among 6 tests")
    assert alone.verdict.endswith(" %)")


def test_nine_even_tests_leave_out_zero_in_37_of_100_logs() -> None:
    # The figure given in the notes: 1 − 0.95⁹.
    assert "37 of 100 logs" in str(counted_together.__doc__)
    assert pytest.approx(0.37, abs=0.005) == 1 - 0.95**9


def test_whoever_cannot_be_followed_is_named_with_the_first_reason() -> None:
    short = [replace(followed(course_shots(2)), barista=code) for code in ("c1", "c2", "c3")]
    assert not_followed(short[:1]) == short[0].missing
    assert not_followed(short).endswith("Nor can c2 and c3 be followed.")
    assert not_followed([]) == ""


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


def test_a_class_is_judged_as_one_over_all_its_people(tmp_path: Path) -> None:
    rng = np.random.default_rng(8)
    days = pd.date_range("2026-03-01", periods=6, freq="7D")
    rows = [(code, f"e{at}", day, 36 + rng.normal()) for at, day in enumerate(days)
            for code in ("c1", "c2", "c3") for _ in range(4)]  # fmt: skip
    shots = pd.DataFrame(rows, columns=["barista", "session", "pulled_at", "time_s"])
    few = shots[:2].assign(barista="c4")
    log = pd.concat([shots, few]).assign(bag="b", grinder="m", grind_setting=11, stage="counted")
    log.insert(0, "shot", [f"s{n}" for n in range(len(log))])
    log.assign(time_s=log["time_s"].round(1)).to_csv(tmp_path / "shots.csv", index=False)
    found = steady(read_log(tmp_path / "shots.csv"), of=["time_s"])
    assert [each.barista for each in found.progress] == ["c1", "c2", "c3"]
    assert {each.n_tests for each in found.progress} == {6}
    raw = [p for each in found.progress for p in (each.p_value, *each.misses["p_value"])]
    told = [p for each in found.progress for p in (each.p_holm, *each.misses["p_holm"])]
    assert min(told) == pytest.approx(min(6 * min(raw), 1.0))
    assert sum("6 changes over the weeks were tested" in each for each in found.sentences) == 1
    assert any("fewer than 3 usable shots: c4 (2)." in each for each in found.sentences)


def test_times_of_another_start_are_left_out_of_a_trend_and_counted() -> None:
    shots = course_shots(6, each=5)
    usual = shots.index % 5 != 0
    mixed = shots.assign(time_from=np.where(usual, "lever", "first_drip"))
    mixed.loc[~usual, "time_s"] -= 9
    found, alone = followed(mixed), followed(shots[usual])
    assert found.change == pytest.approx(alone.change)
    assert [str(each) for each in found.dropped] == ["6 shots timed from another start than lever"]
    assert (
        "Left out of what is told of s1: 6 shots timed from another start than lever."
        in found.sentences
    )


def test_bags_whose_names_read_alike_stay_two() -> None:
    shots = course_shots(6, bags="aaabbb", each=5)
    named = shots.assign(bag=shots["bag"].map({"a": "22", "b": "bag 22"}))
    found, plain = followed(named), followed(shots)
    assert found.change == pytest.approx(plain.change)
    assert "coffee-changed" in codes(found)
