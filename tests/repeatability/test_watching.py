"""Whether the bench stays as it is: what is charted, what alarms, and what is said of it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.models.published import data, expected
from yieldwright.bench import Bench
from yieldwright.errors import RoleError, TooFewShotsError, UnknownNameError
from yieldwright.models.charts.run_rules import ISO_7870, NELSON, ONE_BEYOND_3S
from yieldwright.repeatability import Watch, watch
from yieldwright.repeatability.charts.charting import charts_of
from yieldwright.repeatability.charts.watched_series import WatchedSeries, watched_series
from yieldwright.taste.columns.comparable import ComparableSet, set_of


def log(n: int = 36, *, seed: int = 2, move: float = 0.0, at: int = 20) -> pd.DataFrame:
    """Return shots of one setting in sessions of six, moved from one shot on."""
    session = np.arange(n) // 6
    days = pd.Timestamp("2026-05-01") + pd.to_timedelta(2 * session, unit="D")
    times = np.random.default_rng(seed).normal(36.0, 1.8, n)
    times[at:] += move
    return pd.DataFrame(
        {
            "shot": [f"s{number:02d}" for number in range(1, n + 1)],
            "session": [f"e{number + 1}" for number in session],
            "position": np.arange(n) % 6 + 1.0,
            "pulled_on": days,
            "time_s": times.round(1),
            "notes": np.array([None] * n, dtype=object),
            "serviced": np.array([None] * n, dtype=object),
        }
    )


def watched(frame: pd.DataFrame, of: str = "time_s", **how: Any) -> Watch:
    return watch(set_of(frame), of, bench=Bench(), **how)


def codes(found: Watch) -> set[str]:
    return {caution.code for caution in found.cautions}


def about(found: Watch, words: str) -> str:
    (sentence,) = [each for each in found.sentences if words in each]
    return sentence


def test_the_chart_is_that_of_the_handbook(reference: Any) -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2, flow rate of 10 batches.
    values = expected(reference, "spc_imr_nist_flowrate")
    flow = data(reference, "spc_imr_nist_flowrate")["flow"]
    found = watch(ComparableSet("", "", pd.DataFrame({"time_s": flow})), "time_s", bench=Bench())
    assert found.center == pytest.approx(values["center"], rel=1e-12)
    assert found.sigma == pytest.approx(values["sigma"], rel=1e-12)
    assert (found.lower, found.upper) == pytest.approx((values["lcl"], values["ucl"]), rel=1e-12)
    assert found.range_upper == pytest.approx(values["mr_ucl"], rel=1e-12)
    assert found.alarms == ()


def test_shots_stand_in_the_order_they_were_pulled() -> None:
    frame = log()
    found = watched(frame.sample(frac=1, random_state=1))
    assert found.table["shot"].tolist() == frame["shot"].tolist()
    assert "order-of-file" not in codes(found)


def test_times_of_day_order_shots_before_days_do() -> None:
    frame = log().drop(columns="position")
    stamps = pd.Timestamp("2026-05-01", tz="UTC") + pd.to_timedelta(np.arange(36)[::-1], unit="h")
    found = watched(frame.assign(pulled_at=stamps))
    assert found.table["shot"].tolist() == frame["shot"].tolist()[::-1]


@pytest.mark.parametrize("lost", [["position"], ["pulled_on"]])
def test_without_times_the_order_of_the_file_is_said(lost: list[str]) -> None:
    found = watched(log().drop(columns=lost))
    assert "order-of-file" in codes(found)
    assert "they stand in the order of the file" in " ".join(found.sentences)


def test_a_lone_shot_beyond_the_limit_is_named_with_day_note_and_chance() -> None:
    frame = log()
    frame.loc[7, ["time_s", "notes"]] = [52.0, "spilled\x1b[31m"]
    found = watched(frame)
    told = about(found, "Shot s08 (2026-05-03)")
    assert "above the limit of" in told
    assert "at 52.0 s" in told
    assert r"Its note: “spilled\x1b[31m”" in told
    assert "of steady logs of 36 shots" in told
    assert found.table["alarm"].iloc[7].startswith("one_beyond_3s")


def test_a_lasting_move_is_dated_by_the_sums() -> None:
    found = watched(log(move=4.0, at=20))
    (alarm,) = [each for each in found.alarms if each.by == "cusum" and each.side > 0]
    assert abs(alarm.begins - 20) <= 2
    assert "date a lasting move up from shot s" in " ".join(found.sentences)


def test_a_move_down_is_told_as_down() -> None:
    found = watched(log(move=-5.0, at=22))
    assert {each.side for each in found.alarms if each.first >= 22} == {-1}
    assert "date a lasting move down" in " ".join(found.sentences)


def test_one_move_that_explains_alarms_on_both_sides_is_named() -> None:
    frame = log(move=5.0, at=18)
    frame.loc[18, "serviced"] = "new burrs"
    told = about(watched(frame), "explain alarms on both sides")
    assert "Shots before shot s19 (2026-05-07) lie low and those from it on high" in told
    assert "“new burrs” stands at shot s19" in told
    assert "both sides" not in " ".join(watched(log()).sentences)


def test_what_was_serviced_where_an_alarm_began_is_named() -> None:
    frame = log(move=6.0, at=18)
    frame.loc[18, "serviced"] = "burrs <b>brushed"
    told = about(watched(frame), "date a lasting move up")
    assert "“burrs <b>brushed” stands at shot s19 (2026-05-07), where this began" in told


def test_a_service_at_a_shot_that_was_left_out_is_named_by_its_stretch() -> None:
    frame = log(move=6.0, at=18)
    stretch = np.where(np.arange(36) < 18, "before 2026-05-07", "since 2026-05-07")
    told = about(watched(frame.assign(service_stretch=stretch)), "date a lasting move up")
    assert "something was cleaned or changed before shot s19" in told


def test_an_entry_that_says_nothing_was_done_is_no_service() -> None:
    frame = log(move=6.0, at=18)
    frame["serviced"] = "No"
    assert "The log says" not in " ".join(watched(frame).sentences)


def test_steady_logs_are_told_how_often_they_alarm_and_what_they_could_show() -> None:
    found = watched(log())
    assert found.chances is not None
    assert 0.05 < found.chances.of_any < 0.25
    assert "In 36 shots of a bench where nothing changes" in " ".join(found.sentences)
    assert "begun halfway, would show in at least 80 %" in found.sentences[-1]


def test_more_rules_alarm_in_more_steady_logs() -> None:
    few, many = watched(log()), watched(log(), rules=NELSON)
    assert few.chances is not None
    assert many.chances is not None
    assert many.chances.of_any > few.chances.of_any + 0.1
    assert "alarms-expected" in codes(many) - codes(few)


def test_rules_of_another_source_are_looked_for() -> None:
    frame = log(seed=5)
    frame["time_s"] = 36 + 0.4 * np.arange(36) % 3.0 + np.linspace(0, 9, 36)
    found = watched(frame, rules=ISO_7870)
    assert set(found.chances.of_each) == {  # type: ignore[union-attr]
        "one_beyond_3s", "seven_same_side", "seven_trend", "ewma", "cusum",
    }  # fmt: skip
    assert any(each.by == "seven_same_side" for each in found.alarms)


def test_the_same_log_gives_the_same_chances() -> None:
    assert watched(log()).chances == watched(log()).chances


def test_settings_are_taken_out_by_least_squares() -> None:
    frame = log()
    frame["grind_setting"] = np.tile([11.0, 12.0, 13.0], 12)
    frame["time_s"] -= 3.0 * (frame["grind_setting"] - 12)
    found = watched(frame)
    line = np.polyval(
        np.polyfit(frame["grind_setting"], frame["time_s"], 1), frame["grind_setting"]
    )
    left = frame["time_s"] - line + frame["time_s"].mean()
    assert found.allowed_for == ("grind_setting",)
    assert found.table["adjusted"].to_numpy() == pytest.approx(left.to_numpy(), abs=1e-9)
    assert "What grind setting did was taken out first" in " ".join(found.sentences)
    assert "put-down-to-settings" in codes(found)


def test_settings_that_did_something_raise_no_alarm_once_taken_out() -> None:
    frame = log()
    frame["grind_setting"] = np.repeat([11.0, 13.0, 12.0], 12)
    frame["time_s"] -= 6.0 * (frame["grind_setting"] - 12)
    assert watched(frame).alarms == ()
    assert watched(frame.drop(columns="grind_setting")).alarms != ()


def test_one_dominant_setting_is_charted_alone_and_said() -> None:
    frame = log()
    frame["grind_setting"] = np.where(np.arange(36) % 9 == 0, 13.0, 12.0)
    found = watched(frame)
    assert (found.n_shots, found.allowed_for) == (32, ())
    assert "32 shots of 36 had setting 12" in " ".join(found.sentences)
    assert "4 shots pulled at another setting" in {str(each) for each in found.dropped}


def test_what_too_few_shots_cannot_allow_for_is_said() -> None:
    frame = log(12)
    frame["grind_setting"] = np.tile([11.0, 12.0, 13.0], 4)
    frame["taper_bar"] = np.random.default_rng(1).uniform(1, 4, 12)
    frame["prewet_s"] = np.tile([3.0, 5.0], 6)
    found = watched(frame)
    assert found.allowed_for == ("grind_setting", "taper_bar")
    (caution,) = [each for each in found.cautions if each.code == "chart-not-adjusted"]
    assert caution.about == ("prewet_s",)


def test_a_gap_in_what_is_not_allowed_for_costs_no_shot() -> None:
    frame = log(12)
    frame["grind_setting"] = np.tile([11.0, 12.0, 13.0], 4)
    frame["taper_bar"] = np.tile([1.0, 2.5], 6)
    frame["prewet_s"] = np.append(np.nan, np.linspace(3, 6, 11))
    assert watched(frame).n_shots == 12


def test_age_is_taken_out_as_a_line_and_its_price_is_told() -> None:
    frame = log()
    age = 10.0 + (frame["pulled_on"] - frame["pulled_on"].min()).dt.days
    found = watched(frame.assign(roast_age_d=age))
    assert found.allowed_for == ("roast_age_d",)
    assert "put-down-to-age" in codes(found)
    assert "age-not-taken-out" in codes(watched(frame))
    assert found.visible_move > watched(frame).visible_move or np.isnan(found.visible_move)


def test_age_left_in_is_a_note_on_a_quiet_chart_and_a_care_beside_an_alarm() -> None:
    quiet, moved = watched(log()), watched(log(move=8.0))
    assert (len(quiet.alarms), len(moved.alarms) > 0) == (0, True)
    told = [
        next(each.severity for each in found.cautions if each.code == "age-not-taken-out")
        for found in (quiet, moved)
    ]
    assert told == ["note", "care"]


def test_what_lies_between_neighbours_is_told_apart_from_what_like_shots_differ_by() -> None:
    assert "spread from one shot to the next, days included, " in watched(log()).sentences[0]
    both = watched(log().assign(barista=["p1", "p2"] * 18)).sentences[0]
    assert "spread from one shot to the next, days and hands included, " in both
    one_day = log().assign(session="m", pulled_on=pd.Timestamp("2026-05-01"))
    one_day["position"] = np.arange(36) + 1.0
    assert "spread from one shot to the next 1." in watched(one_day).sentences[0]


def test_times_counted_from_another_start_are_not_charted_and_that_is_said() -> None:
    frame = log().assign(time_from=["lever", "lever", "first_drip"] * 12)
    frame.loc[frame["time_from"] == "first_drip", "time_s"] -= 9
    found = watched(frame)
    assert found.n_shots == 24
    assert "(12 shots timed from another start than lever left out)" in found.sentences[0]
    few = watched(frame.iloc[:12])
    assert few.missing.startswith("8 shots have a shot time to chart, and 10 are needed")
    assert "(4 shots timed from another start than lever left out)" in few.missing


def test_shots_of_one_kind_are_counted_among_those_of_one_start() -> None:
    frame = log().assign(time_from=["lever"] * 20 + ["first_drip"] * 16, grind_setting=11.0)
    frame.loc[[3, 9], "grind_setting"] = 12.0
    found = watched(frame)
    assert "18 shots of 20 had setting 11" in about(found, "the chart is of these alone")


@pytest.mark.parametrize(("code", "called"), [("bag-7", "bag-7"), ("7", "bag 7")])
def test_the_bag_of_most_shots_is_called_as_everywhere(code: str, called: str) -> None:
    frame = log().assign(bag=[code] * 30 + ["bag-8"] * 6, grind_setting=11.0)
    assert f"had {called}: " in about(watched(frame), "the chart is of these alone")


def test_a_setting_that_moved_together_with_time_hides_what_moved_halfway() -> None:
    frame = log()
    frame["grind_setting"] = np.where(np.arange(36) < 18, 11.0, 12.0)
    found = watched(frame)
    assert np.isnan(found.visible_move)
    assert "Not even a lasting move" in found.sentences[-1]


def test_several_bags_are_charted_within_bags() -> None:
    frame = log()
    frame["bag"] = np.repeat(["a", "b"], 18)
    frame.loc[18:, "time_s"] += 20
    found = watched(frame)
    assert found.allowed_for[0] == "bag"
    assert found.alarms == ()


@pytest.mark.parametrize(("n", "more"), [(9, 1), (4, 6), (1, 9)])
def test_too_few_shots_are_refused_with_how_many_more(n: int, more: int) -> None:
    found = watched(log(n))
    assert found.missing.endswith("Limits drawn from fewer would tell chance, not the bench.")
    assert f"pull and log {more} more" in found.missing
    assert (len(found.table), found.chances) == (0, None)


def test_ten_shots_are_enough() -> None:
    assert watched(log(10)).missing == ""


def test_a_column_the_log_does_not_have_is_refused_in_words() -> None:
    assert watched(log(), "tds_pct").missing.startswith("No shot has a strength to chart")


def test_values_that_are_all_the_same_are_refused_in_words() -> None:
    frame = log().assign(time_s=36.0)
    assert "All 36 shots have the same shot time" in watched(frame).missing


def test_values_that_follow_from_settings_are_refused_in_words() -> None:
    frame = log()
    frame["grind_setting"] = np.tile([11.0, 12.0, 13.0], 12)
    frame["time_s"] = 60.1 - 2.1 * frame["grind_setting"]
    assert watched(frame).missing.startswith("Nothing is left of shot time")


def test_a_baseline_of_equal_values_is_refused_in_words() -> None:
    frame = log()
    frame.loc[:14, "time_s"] = 36.0
    assert watched(frame, baseline=12).missing.startswith("Nothing is left of shot time")


def test_an_empty_set_is_refused_in_words() -> None:
    assert watched(log().iloc[:0]).missing.startswith("No shot has a shot time")


def test_unknown_names_and_words_are_refused() -> None:
    with pytest.raises(UnknownNameError, match="tim_s"):
        watched(log(), "tim_s")
    with pytest.raises(RoleError, match="holds words"):
        watched(log().assign(tamp="firm"), "tamp")


@pytest.mark.parametrize("baseline", [9, 37])
def test_a_baseline_that_bears_no_limits_is_refused(baseline: int) -> None:
    with pytest.raises(TooFewShotsError, match="limits must rest on 10 to 36 shots"):
        watched(log(), baseline=baseline)


def test_limits_of_a_baseline_do_not_heed_what_came_later() -> None:
    calm, moved = watched(log(), baseline=20), watched(log(move=8.0, at=20), baseline=20)
    assert (moved.center, moved.upper) == (calm.center, calm.upper)
    assert len(moved.alarms) > len(calm.alarms)
    assert "judged by the first 20" in moved.sentences[0]


def test_coarse_values_are_warned_of() -> None:
    frame = log().assign(time_s=np.tile([35.0, 36.0, 37.0], 12))
    (coarse,) = [each for each in watched(frame).cautions if each.code == "coarse-values"]
    assert coarse.sentence.startswith("The values of shot time come in 3 different figures")
    assert "coarse-values" not in codes(watched(log()))


def test_alarms_that_hang_on_one_wild_shot_are_said_to() -> None:
    times = [36.0, 35.0, 37.0, 36.5, 35.5, 36.0, 36.5, 35.0, 36.0, 37.0, 36.0, 48.0]
    found = watched(pd.DataFrame({"time_s": times}))
    assert {"nine_same_side", "one_beyond_3s"} <= {each.by for each in found.alarms}
    (caution,) = [each for each in found.cautions if each.code == "alarms-hang-on-one"]
    assert "Without shot 12 there would be no alarm by nine values in a row" in caution.sentence


def test_alarms_that_stay_without_the_wild_shot_hang_on_nothing() -> None:
    frame = log(move=8.0, at=20)
    frame.loc[4, "time_s"] = 70.0
    assert "alarms-hang-on-one" not in codes(watched(frame, rules=(ONE_BEYOND_3S,)))


def test_shots_that_were_not_comparable_are_counted_out() -> None:
    frame = log().assign(stage="counted")
    frame.loc[0, "stage"] = "warm_up"
    found = watched(frame)
    assert found.n_shots == 35
    assert "1 shot pulled to warm up" in {str(each) for each in found.dropped}


def test_a_scale_scales_and_a_shift_shifts() -> None:
    frame = log(move=4.0)
    plain, moved = watched(frame), watched(frame.assign(time_s=2 * frame["time_s"] + 5))
    assert moved.upper == pytest.approx(2 * plain.upper + 5)
    assert moved.sigma == pytest.approx(2 * plain.sigma)
    assert moved.alarms == plain.alarms


def test_the_spread_is_free_of_what_settings_took_with_them() -> None:
    rng, found = np.random.default_rng(11), []
    for _ in range(40):
        frame = log(20).assign(time_s=36 + rng.normal(0, 2, 20))
        frame["grind_setting"] = np.tile([10.0, 11, 12, 13, 14], 4)
        frame["taper_bar"] = rng.uniform(1, 4, 20)
        found.append(watched(frame, rng=np.random.default_rng(1)).sigma)
    assert np.mean(found) == pytest.approx(2.0, abs=4 * np.std(found) / np.sqrt(40))


def test_inputs_are_not_changed() -> None:
    frame = log()
    before = frame.copy(deep=True)
    watched(frame)
    pd.testing.assert_frame_equal(frame, before)


def test_the_result_shows_itself() -> None:
    found = watched(log(move=4.0))
    assert found.title == "Whether shot time stays as it is"
    assert "Chance of any on a steady bench" in found.summary()
    assert max(map(len, found.summary().splitlines())) <= 80
    assert list(found.display_frame().columns) == ["Shot", "Day", "Value", "Average", "Alarm"]
    assert "<table>" in found._repr_html_()


def test_a_service_written_at_a_shot_left_out_is_told_in_its_words() -> None:
    frame = log(move=6.0, at=18).assign(stage="counted")
    frame.loc[17, ["stage", "serviced"]] = ["warm_up", "burrs <b>cleaned\x1b"]
    told = about(watched(frame, told_in=frame), "date a lasting move up")
    assert r"“burrs <b>cleaned\x1b” stands at shot s18, before shot s19" in told
    assert "cleaned" not in " ".join(watched(frame).sentences)


def test_a_longer_run_than_the_rule_asks_is_told_as_longer() -> None:
    told = " ".join(watched(log(move=6.0, at=18), baseline=18).sentences)
    assert "nine or more values in a row on one side" in told
    assert "Watched for: one value more than 3 standard deviations from the centre, nine" in told


def test_a_shot_beyond_the_limits_in_a_move_is_no_mishap_of_its_own() -> None:
    moved = watched(log(move=6.0, at=18), baseline=18)
    assert "other charts say that the level moved here" in about(moved, "above the limit of")
    frame = log()
    frame.loc[7, "time_s"] = 60.0
    assert "something befell this one" in about(watched(frame), "above the limit of")


def test_what_was_taken_out_of_a_shot_is_named_beside_its_value() -> None:
    frame = log()
    frame["grind_setting"] = np.tile([11.0, 12.0, 13.0], 12)
    frame.loc[7, "time_s"] = 60.0
    assert "s with grind setting taken out" in about(watched(frame), "above the limit of")


def test_alarms_to_be_expected_are_put_down_to_what_was_carried_on() -> None:
    frame = log()
    frame["roast_age_d"] = 10.0 + np.arange(36) / 3
    found = watched(frame, baseline=12)
    (caution,) = [each for each in found.cautions if each.code == "alarms-expected"]
    assert "Of steady logs of 36 shots judged by the first 12, " in caution.sentence
    assert "limits, and what roast age did, are carried from these" in caution.sentence
    assert "no size of a lasting move can be promised" in found.sentences[-1]
    assert np.isnan(found.visible_move)


def test_the_visible_move_is_seen_in_four_of_five_logs_that_are_quiet_without_it() -> None:
    # Counted the long way: whole charts of drawn logs, with the move and without it.
    found = watched(log())
    size, rng, quiet, seen = found.visible_move / found.sigma, np.random.default_rng(7), 0, 0
    for _ in range(300):
        times = rng.normal(36.0, 1.8, 36)
        late = np.where(np.arange(36) >= 18, size * 1.8, 0.0)
        series = [watched_series_of(times), watched_series_of(times + late)]
        calm, moved = (charts_of(each, found.watchers, baseline=36).alarms for each in series)
        quiet += not calm
        seen += not calm and bool(moved)
    assert 0.8 - 4 * np.sqrt(0.16 / quiet) < seen / quiet < 0.83 + 4 * np.sqrt(0.16 / quiet)


def watched_series_of(times: np.ndarray) -> WatchedSeries:
    frame = log().assign(time_s=times)
    return watched_series(set_of(frame), "time_s", bench=Bench(), baseline=None)


def test_a_quantity_without_a_unit_leaves_no_gap_before_what_follows() -> None:
    frame = log().assign(brew_ratio=lambda each: each["time_s"] / 18)
    frame.loc[7, "brew_ratio"] = 4.0
    found = watched(frame, "brew_ratio")
    assert not any(gap in words for words in found.sentences for gap in (" ,", "  ", " ."))
