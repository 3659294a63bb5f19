"""Two bags in the same sessions: the difference put in, what cancels, what is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.evidence.paired_logs import (
    BENCH,
    FIRST,
    SCORE,
    SECOND,
    PairedCase,
    case_of,
    paired_log,
)
from yieldwright.ageing import PairedBags, pair_bags
from yieldwright.ageing.compared.paired import pair_bags_of
from yieldwright.bench import Bench, Grinder
from yieldwright.errors import OutOfRangeError, UnknownNameError
from yieldwright.shotlog import read_log
from yieldwright.taste.columns.comparable import ComparableSet

UNEQUAL = PairedCase("unequal", sessions=8, each=(1, 3))
EQUAL = PairedCase("equal", sessions=8)


def log_of(case: PairedCase, seed: int = 3) -> ComparableSet:
    return paired_log(case, np.random.default_rng(seed))


def pair(
    comparable: ComparableSet,
    bags: tuple[str, str] = (FIRST, SECOND),
    of: str = SCORE,
    bench: Bench = BENCH,
) -> PairedBags:
    return pair_bags_of(comparable, of, bags=bags, bench=bench)


def changed(comparable: ComparableSet, **columns: object) -> ComparableSet:
    return replace(comparable, shots=comparable.shots.assign(**columns))


def told(found: PairedBags) -> list[float]:
    """Return every figure of the difference and its change."""
    assert found.difference is not None
    assert found.per_day is not None
    return [
        getattr(each, name)
        for each in (found.difference, found.per_day)
        for name in ("estimate", "std_error", "df", "ci_low", "ci_high")
    ]


def codes(found: PairedBags) -> set[str]:
    return {each.code for each in found.cautions}


@pytest.fixture(scope="module")
def equal() -> PairedBags:
    """Return two of each in eight sessions, the first truly 0.4 points better."""
    return pair(log_of(EQUAL))


def test_the_difference_is_the_paired_t_test_of_session_means(equal: PairedBags) -> None:
    shots = log_of(EQUAL).shots
    means = shots.groupby(["bag", "session"])[SCORE].mean()
    apart = (means[FIRST] - means[SECOND]).to_numpy()
    found = equal.difference
    assert found is not None
    assert found.estimate == pytest.approx(apart.mean())
    assert found.std_error == pytest.approx(apart.std(ddof=1) / np.sqrt(8))
    assert found.df == 7


def test_the_change_per_day_is_the_line_through_session_differences(equal: PairedBags) -> None:
    table = equal.sessions
    assert table["day"].tolist() == [4.0 * n for n in range(8)]
    slope = np.polyfit(table["day"], table["difference"], 1)[0]
    assert equal.per_day is not None
    assert equal.per_day.estimate == pytest.approx(slope)
    assert equal.per_day.df == 6


def test_what_the_day_did_to_both_cancels_in_the_difference_and_shows_in_each_bag() -> None:
    log = log_of(UNEQUAL)
    day = (log.shots["pulled_on"] - log.shots["pulled_on"].min()).dt.days
    worse = changed(log, **{SCORE: log.shots[SCORE] - 0.2 * day})
    one, other = pair(log), pair(worse)
    assert told(other) == pytest.approx(told(one), rel=1e-6)
    for before, after in zip(one.own, other.own, strict=True):
        assert before is not None
        assert after is not None
        moved = after.per_day.estimate - before.per_day.estimate
        assert moved == pytest.approx(-0.2, abs=0.02)  # weights of sessions may move a little


@pytest.mark.parametrize("case", [EQUAL, UNEQUAL])
def test_swapping_the_bags_turns_every_sign(case: PairedCase) -> None:
    one, other = pair(log_of(case)), pair(log_of(case), (SECOND, FIRST))
    assert one.difference is not None
    assert other.difference is not None
    turned = (-other.difference.estimate, -other.difference.ci_high, -other.difference.ci_low)
    found = (one.difference.estimate, one.difference.ci_low, one.difference.ci_high)
    assert turned == pytest.approx(found, rel=1e-6)


def test_a_grinder_that_counts_the_other_way_changes_nothing() -> None:
    log = log_of(replace(case_of("two settings, alike"), sessions=8))
    mirrored = changed(log, grind_setting=30 - log.shots["grind_setting"])
    other = Bench(grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    one = pair(log)
    assert one.rows is not None
    assert [each.column for each in one.rows.kept] == ["grind_setting"]
    assert told(pair(mirrored, bench=other)) == pytest.approx(told(one), rel=1e-6)


def test_every_row_written_twice_changes_no_figure_of_equal_cells(equal: PairedBags) -> None:
    shots = log_of(EQUAL).shots
    twice = pd.concat([shots, shots.assign(shot=shots["shot"] + "b")], ignore_index=True)
    found = pair(ComparableSet("", "mill", twice))
    assert told(found) == pytest.approx(told(equal))


def test_the_order_of_rows_changes_no_figure() -> None:
    log = log_of(UNEQUAL)
    mixed = replace(log, shots=log.shots.sample(frac=1.0, random_state=2))
    assert told(pair(mixed)) == pytest.approx(told(pair(log)), rel=1e-6)


def test_ages_have_no_say_in_the_difference() -> None:
    log = log_of(UNEQUAL)
    ageless = replace(log, shots=log.shots.drop(columns=["roast_age_d", "roasted_on"]))
    assert told(pair(ageless)) == pytest.approx(told(pair(log)))


def test_sessions_of_one_bag_alone_are_counted_and_have_no_say(equal: PairedBags) -> None:
    log = log_of(EQUAL)
    alone = log.shots[log.shots["bag"] == SECOND].head(2)
    alone = alone.assign(shot=["x1", "x2"], session="alone", **{SCORE: 1.0})
    more = replace(log, shots=pd.concat([log.shots, alone], ignore_index=True))
    found = pair(more)
    assert told(found) == pytest.approx(told(equal))
    assert [str(each) for each in found.dropped] == ["2 shots in a session without the other bag"]


def written(path: Path, zone: str = "") -> PairedBags:
    """Return what a log file says whose moments are written in a zone."""
    shots = log_of(replace(EQUAL, per_day=0.05)).shots
    at = shots["pulled_at"].dt.tz_convert(zone or "UTC").dt.strftime("%Y-%m-%dT%H:%M:%S%z")
    kept = shots.drop(columns=["pulled_on", "frozen_d", "roast_age_d", "session"])
    kept = kept.rename(columns={SCORE: "overall"}).assign(pulled_at=at)
    frozen = (shots["bag"] == FIRST) & (shots["frozen_d"] > 0)
    days = {"frozen_on": shots["pulled_on"].min(), "thawed_on": shots["pulled_on"]}
    kept = kept.assign(**{name: pd.Series(day, shots.index).where(frozen) for name, day in
                          days.items()})  # fmt: skip
    kept.to_csv(path, index=False, date_format="%Y-%m-%d")
    log = read_log(path)
    return pair_bags(log, "overall", bags=(FIRST, SECOND), bench=log.bench)


def test_another_time_zone_changes_no_figure(tmp_path: Path) -> None:
    here, there = written(tmp_path / "a.csv"), written(tmp_path / "b.csv", "Etc/GMT-2")
    assert here.n_sessions == there.n_sessions == 8
    assert told(there) == pytest.approx(told(here))


def test_halves_are_told_as_such_with_what_differs(tmp_path: Path) -> None:
    found = written(tmp_path / "shots.csv")
    text = " ".join(found.sentences)
    assert found.kind == "two halves"
    assert "bag-7a and bag-7b are halves of one roast, that of 2026-04-24" in text
    assert "bag-7a was 10 days old (frozen for 0 to 28 days before)" in text
    assert "bag-7b was 10 to 38 days old (never frozen)" in text
    assert "differ in the freezing alone" in text


def test_one_day_is_told_as_one() -> None:
    log = log_of(EQUAL)
    frozen = pd.Series(np.where(log.shots["bag"] == FIRST, 1.0, 0.0), log.shots.index)
    text = " ".join(pair(changed(log, frozen_d=frozen)).sentences)
    assert "(frozen for 1 day before" in text


def test_the_bag_that_aged_is_said_to_lose_beside_the_one_that_did_not() -> None:
    found = pair(log_of(replace(EQUAL, per_day=0.06, sessions=10)))
    text = " ".join(found.sentences)
    assert found.per_day is not None
    assert found.per_day.p_value < 0.05
    assert "beside bag-7a, bag-7b lost" in text
    assert "palate, water and weather taken off" in text
    assert "bag-7a stayed the same coffee, no day older after 36 days" in text


def test_a_drift_of_a_coffee_that_stayed_the_same_is_laid_to_the_day() -> None:
    log = log_of(replace(EQUAL, sessions=10))
    day = (log.shots["pulled_on"] - log.shots["pulled_on"].min()).dt.days
    found = pair(changed(log, **{SCORE: log.shots[SCORE] - 0.15 * day}))
    text = " ".join(found.sentences)
    assert "bag-7a stayed the same coffee" in text
    assert "and yet drifted by −0.1" in text


def test_bags_of_other_roasts_are_a_control() -> None:
    log = log_of(EQUAL)
    other = log.shots["roasted_on"].mask(log.shots["bag"] == SECOND, pd.Timestamp("2026-03-01"))
    found = pair(changed(log, roasted_on=other))
    assert found.kind == "two roasts"
    assert "bag-7b is a control coffee beside bag-7a" in found.sentences[0]


def test_an_unknown_roast_day_is_not_taken_for_one() -> None:
    log = log_of(EQUAL)
    found = pair(replace(log, shots=log.shots.drop(columns="roasted_on")))
    assert found.kind == "two bags"
    assert "note roasted_on" in found.sentences[0]


def test_a_bag_always_ground_finer_is_told_as_bag_and_grind_together() -> None:
    found = pair(log_of(case_of("always ground finer")))
    assert found.together == ("grind_setting",)
    (caution,) = [each for each in found.cautions if each.code == "bag-with-setting"]
    assert "(12 and 11)" in caution.sentence
    assert "pull bag-7b at the grind setting of bag-7a (12) too" in caution.remedy
    assert any("bag and grind setting together" in sentence for sentence in found.sentences)


def test_the_shots_named_do_part_bag_and_grind() -> None:
    log = log_of(case_of("always ground finer"))
    second = log.shots[log.shots["bag"] == SECOND]
    more = second.assign(shot=second["shot"] + "x", grind_setting=12.0, **{
        SCORE: second[SCORE] - 0.3 + np.random.default_rng(4).normal(0, 0.3, len(second))
    })  # fmt: skip
    found = pair(replace(log, shots=pd.concat([log.shots, more], ignore_index=True)))
    assert found.together == ()
    assert "at the same grind setting" in " ".join(found.sentences)


def test_a_setting_that_nearly_went_along_is_held_equal_and_said_to_widen() -> None:
    log = log_of(replace(EQUAL, sessions=10))
    finer = (log.shots["bag"] == SECOND) & (log.shots["session"] != "day-03")
    found = pair(changed(log, grind_setting=12.0 - finer))
    assert found.together == ()
    assert found.rows is not None
    assert [each.column for each in found.rows.kept] == ["grind_setting"]
    (caution,) = [each for each in found.cautions if each.code == "bag-with-setting"]
    assert "times as wide" in caution.sentence
    bare = pair(log)
    assert bare.difference is not None
    assert found.difference is not None
    assert found.difference.std_error > 2 * bare.difference.std_error


def test_what_so_few_shots_cannot_hold_equal_is_named() -> None:
    log = log_of(replace(EQUAL, sessions=3))
    dose = 18 + np.random.default_rng(1).normal(0, 0.2, len(log.shots)).round(1)
    grind = 12 + np.arange(len(log.shots)) // 2 % 2
    found = pair(changed(log, dose_g=dose, grind_setting=grind.astype(float)))
    assert found.rows is not None
    (caution,) = [each for each in found.cautions if each.code == "bags-not-held-equal"]
    assert all(name in caution.about for name, _ in found.rows.declined)
    assert "too few shots" in caution.sentence


def test_a_grind_that_followed_the_days_stays_in_the_drift_of_each_bag_and_is_named() -> None:
    log = log_of(replace(EQUAL, sessions=10))
    day = log.shots.groupby("session").ngroup()
    shots = log.shots.assign(grind_setting=15.0 - day, roast_age_d=10.0 + 4 * day)
    one, other = pair(replace(log, shots=shots)), pair(log)
    assert told(one) == pytest.approx(told(other))
    assert one.own[1] is not None
    assert one.own[1].with_it == ("grind_setting",)
    by_itself = [each for each in one.sentences if "by itself" in each]
    assert any("with the grind setting that changed meanwhile" in each for each in by_itself)


def test_a_barista_who_went_along_with_the_bag_is_named() -> None:
    log = log_of(EQUAL)
    people = log.shots["bag"].map({FIRST: "p1", SECOND: "p2"})
    assert pair(changed(log, barista=people)).together == ("barista",)


def test_what_is_the_same_all_through_a_session_is_no_rival() -> None:
    log = log_of(EQUAL)
    by_day = log.shots.groupby("session").ngroup() % 2
    found = pair(changed(log, temp_band=by_day.map({0: "low", 1: "high"})))
    assert found.rows is not None
    assert (found.rows.kept, found.rows.declined, found.together) == ((), (), ())


def test_one_order_in_every_session_is_a_caution_and_turns_are_none() -> None:
    log = log_of(EQUAL)
    assert "bags-in-one-order" not in codes(pair(log))
    second = (log.shots["bag"] == SECOND).astype(int)
    place = second * 2 + log.shots.groupby(["session", "bag"]).cumcount()
    at = log.shots["pulled_on"].dt.tz_localize("UTC") + pd.to_timedelta(600 + place, unit="min")
    found = pair(changed(log, position=place + 1, pulled_at=at))
    (caution,) = [each for each in found.cautions if each.code == "bags-in-one-order"]
    assert "bag-7a came before bag-7b in all 8 sessions" in caution.sentence
    assert "Begin with bag-7b in every other session" in caution.remedy


def test_turns_inside_a_session_put_neither_bag_first() -> None:
    log = log_of(EQUAL)
    turn = log.shots.groupby(["session", "bag"]).cumcount()
    place = pd.Series(np.where(log.shots["bag"] == FIRST, 3 * turn, 1 + turn), log.shots.index)
    at = log.shots["pulled_on"].dt.tz_localize("UTC") + pd.to_timedelta(600 + place, unit="min")
    assert "bags-in-one-order" not in codes(pair(changed(log, position=place + 1, pulled_at=at)))


def test_cups_without_codes_are_a_caution_for_scores_alone() -> None:
    log = log_of(EQUAL)
    assert "cups-not-coded" in codes(pair(log))
    cups = pd.DataFrame({"shot": log.shots["shot"], "taster": "t1", "attribute": "overall",
                         "score": log.shots[SCORE], "blind_code": "417"})  # fmt: skip
    assert "cups-not-coded" not in codes(pair(replace(log, tastings=cups)))
    timed = changed(log, time_s=30 + log.shots[SCORE])
    assert "cups-not-coded" not in codes(pair(timed, of="time_s"))


def test_two_sessions_are_refused_with_what_to_pull() -> None:
    found = pair(log_of(replace(EQUAL, sessions=2)))
    assert found.difference is None
    assert "in 2 sessions only; 3 would do, 5 are better" in found.missing
    assert "Pull two shots of each in the same session" in found.sentences[1]
    assert found.to_frame().empty


def test_three_sessions_are_told_with_a_note() -> None:
    found = pair(log_of(replace(EQUAL, sessions=3)))
    assert found.difference is not None
    assert found.difference.df == 2
    assert found.per_day is None
    assert "4 sessions" in found.why_no_change
    assert "few-shared-sessions" in codes(found)


def test_no_session_with_both_is_refused() -> None:
    log = log_of(EQUAL)
    apart = changed(log, session=log.shots["session"] + log.shots["bag"])
    found = pair(apart)
    assert "no session has both bags" in found.missing
    assert "(bag-7a in 8 sessions and bag-7b in 8 sessions)" in found.missing


def test_a_bag_beside_itself_is_refused() -> None:
    found = pair(log_of(EQUAL), (FIRST, FIRST))
    assert "only be compared with another bag" in found.missing
    assert "a code of its own" in found.sentences[1]


def test_scores_that_never_differ_are_refused_in_words() -> None:
    log = log_of(EQUAL)
    alike = pair(changed(log, **{SCORE: 7.0}))
    assert "the same in all 8 sessions" in alike.missing
    steps = pair(changed(log, **{SCORE: 7.0 + (log.shots["bag"] == FIRST)}))
    assert "the difference is the same in all 8 sessions" in steps.missing


def test_shots_lost_to_a_grind_change_are_told_in_the_refusal(tmp_path: Path) -> None:
    shots = log_of(case_of("always ground finer")).shots
    path = tmp_path / "shots.csv"
    shots.drop(columns=["frozen_d", "roast_age_d"]).rename(columns={SCORE: "overall"}).to_csv(
        path, index=False
    )
    log = read_log(path)
    found = pair_bags(log, "overall", bags=(FIRST, SECOND), bench=log.bench)
    assert "after a grind change" in found.missing
    assert "pull those of one bag in a row" in found.sentences[1]


def test_a_bag_on_another_grinder_is_refused_with_both_named(tmp_path: Path) -> None:
    shots = log_of(EQUAL).shots.drop(columns=["frozen_d", "roast_age_d"])
    shots = shots.assign(grinder=shots["bag"].map({FIRST: "mill-1", SECOND: "mill-2"}))
    path = tmp_path / "shots.csv"
    shots.rename(columns={SCORE: "overall"}).to_csv(path, index=False)
    log = read_log(path)
    found = pair_bags(log, "overall", bags=(FIRST, SECOND), bench=log.bench)
    assert "bag-7a was ground on mill-1 and bag-7b on mill-2" in found.missing


def test_unknown_and_miscounted_bags_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,session,bag,time_s\n1,m,a,36\n2,m,b,35\n", encoding="utf-8")
    log = read_log(path)
    with pytest.raises(UnknownNameError, match="bag"):
        pair_bags(log, "time_s", bags=("a", "c"), bench=log.bench)
    with pytest.raises(OutOfRangeError, match="two bags"):
        pair_bags(log, "time_s", bags=("a",), bench=log.bench)


def test_a_log_without_bags_or_sessions_is_refused_in_words(tmp_path: Path) -> None:
    path = tmp_path / "shots.csv"
    path.write_text("shot,time_s\n1,36\n2,35\n", encoding="utf-8")
    log = read_log(path)
    with pytest.raises(UnknownNameError, match="names no bags"):
        pair_bags(log, "time_s", bags=("", "b"), bench=log.bench)
    bare = log_of(EQUAL)
    found = pair(replace(bare, shots=bare.shots.drop(columns="session")))
    assert "in 1 session only" in found.missing


def test_the_table_holds_every_estimate_told(equal: PairedBags) -> None:
    table = equal.to_frame()
    assert table["term"].tolist() == [
        "bag-7a − bag-7b",
        "that, per day",
        "bag-7a by itself, per day",
        "bag-7b by itself, per day",
    ]
    assert len(equal.display_frame()) == 4
    assert max(map(len, equal.summary().splitlines())) <= 80


def test_days_that_are_not_known_leave_the_difference_and_say_why_no_change() -> None:
    log = log_of(EQUAL)
    found = pair(replace(log, shots=log.shots.drop(columns=["pulled_on", "pulled_at"])))
    assert found.difference is not None
    assert found.per_day is None
    assert "day of a shot is not known" in found.why_no_change
