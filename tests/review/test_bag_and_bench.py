"""The page on the bag across its age and on how steady the bench is."""

from __future__ import annotations

from pathlib import Path

import pytest

from yieldwright.formatting import percent
from yieldwright.repeatability import steadiness
from yieldwright.repeatability.spread.steadiness_words import limit_sentence, quantity_sentences
from yieldwright.review import WeekendReview, render_page, review_weekend
from yieldwright.shotlog import read_log
from yieldwright.taste.asking import named_set


@pytest.fixture(scope="module")
def one_bag(root: Path) -> WeekendReview:
    """Return the review of the demo that follows one bag."""
    return review_weekend(read_log(root / "datasets" / "one-bag"))


@pytest.fixture(scope="module")
def class_log(root: Path) -> WeekendReview:
    """Return the review of the demo of an evening class."""
    return review_weekend(read_log(root / "datasets" / "evening-class"))


def test_the_page_tells_drift_best_day_and_the_grind_that_follows(one_bag: WeekendReview) -> None:
    said = one_bag.sheet.bag
    assert "no steady drift of the overall score" in said[0]
    assert "highest about day 18" in said[1]
    assert said[2].startswith("To hold 36 s the grind has to go")
    assert all(line in render_page(one_bag) for line in said[1:3])


def test_what_went_along_with_age_is_told_first_and_nothing_is_split(
    class_log: WeekendReview,
) -> None:
    first = class_log.sheet.bag[0]
    assert first.startswith("Temperature band and roast age went together")
    assert "today's roast age" in first


def test_a_log_without_ages_has_no_section_on_the_bag(tmp_path: Path) -> None:
    rows = ["shot,session,grind_setting,time_s", *(f"{n},e{n // 3},{n % 3},30" for n in range(9))]
    (tmp_path / "shots.csv").write_text("\n".join(rows), encoding="utf-8")
    review = review_weekend(read_log(tmp_path / "shots.csv"))
    assert review.sheet.bag == ()
    assert "The bag across its age" not in render_page(review)


def test_spread_instruments_and_charts_stand_under_steadiness(one_bag: WeekendReview) -> None:
    sheet = one_bag.sheet
    told = " ".join((*sheet.spread, *sheet.steady_on_screen))
    assert "shots differ in extraction yield by" in told
    assert "The instruments" in told
    assert "show no alarm" in told or "in the order pulled" in told
    assert "<h2>How steady the bench is</h2>" in render_page(one_bag)


def test_page_and_command_tell_one_spread_one_limit_and_one_share(
    one_bag: WeekendReview,
) -> None:
    log = one_bag.log
    found = steadiness(named_set(log, bag="bag-21"), bench=log.bench, of=["ey_pct", "time_s"])
    told = " ".join(one_bag.sheet.spread)
    for each in found.quantities:
        _, differ, said = quantity_sentences(each)[0].partition("differ in ")
        assert differ + said in told
    of_yield = found.quantities[0]
    assert of_yield.instrument is not None
    assert limit_sentence(of_yield) in told
    assert f"cause {percent(of_yield.instrument.share)} (95 % interval" in told


def test_fewer_than_five_repeats_give_the_page_an_interval_alone(tmp_path: Path) -> None:
    # SD 4.743 of 30, 33 … 42; χ² tables, 4 degrees of freedom: 11.143 and 0.484.
    rows = [f"{n},e1,11,{30 + 3 * n}" for n in range(5)]
    lines = ["shot,session,grind_setting,time_s", *rows]
    (tmp_path / "shots.csv").write_text("\n".join(lines), encoding="utf-8")
    said = review_weekend(read_log(tmp_path / "shots.csv")).sheet.spread
    assert "4 repeats cannot tell: its SD lies somewhere in 2.8 to 14 s" in " ".join(said)
    assert not any("standard deviation" in each for each in said)


def test_times_of_another_start_stand_neither_in_means_nor_in_spreads(tmp_path: Path) -> None:
    starts = ["lever"] * 8 + ["first_drip"] * 6
    rows = [
        f"{n},e1,11,{36 + n % 3 - 9 * (start != 'lever')},{start},pulled"
        for n, start in enumerate(starts)
    ]
    lines = ["shot,session,grind_setting,time_s,time_from,fate", *rows]
    (tmp_path / "shots.csv").write_text("\n".join(lines), encoding="utf-8")
    sheet = review_weekend(read_log(tmp_path / "shots.csv")).sheet
    assert "6 shots timed from another start than lever are left out of shot time." in sheet.spread
    assert sheet.settings is not None
    (times,) = [each for each in sheet.settings.columns if each.head == "Time [s]"]
    # By hand: 36, 37, 38, 36, 37, 38, 36, 37.
    assert times.cells[0].startswith("36.9")


def test_a_chart_that_alarms_says_that_the_coffee_aged_meanwhile(tmp_path: Path) -> None:
    times = [36 - 5 * (n >= 14) + n % 3 for n in range(28)]
    rows = [f"{n},2026-05-{1 + n // 4:02d},{n % 4 + 1},{times[n]}" for n in range(28)]
    lines = ["shot,pulled_on,position,time_s", *rows]
    (tmp_path / "shots.csv").write_text("\n".join(lines), encoding="utf-8")
    said = review_weekend(read_log(tmp_path / "shots.csv")).sheet.spread[-1]
    assert said.startswith("Shot time in the order pulled: ")
    assert said.endswith("What age did to the coffee is in that.")


def test_people_on_the_page_are_named_with_their_shots_before_they_are_compared(
    one_bag: WeekendReview,
) -> None:
    said = one_bag.sheet.steady_on_screen
    who = next(n for n, each in enumerate(said) if "p1 (21 shots) and p2 (19 shots)" in each)
    levels = next(n for n, each in enumerate(said) if "No difference in level shows" in each)
    assert who < levels


def test_the_page_says_why_people_of_different_starts_are_not_compared(tmp_path: Path) -> None:
    people = (("p1", "lever", 36), ("p2", "first_drip", 27))
    rows = [f"{who}{n},2026-05-01,{who},{start},{time + n % 3}"
            for who, start, time in people for n in range(8)]  # fmt: skip
    lines = ["shot,pulled_on,barista,time_from,time_s", *rows]
    (tmp_path / "shots.csv").write_text("\n".join(lines), encoding="utf-8")
    review = review_weekend(read_log(tmp_path / "shots.csv"))
    said = " ".join(review.sheet.steady_on_screen)
    assert "Nobody can be compared in shot time, with 8 shots timed from another start" in said
    assert "start the clock at the same moment for all" in render_page(review)


def test_the_page_has_no_word_on_people_where_one_alone_pulled(tmp_path: Path) -> None:
    rows = [f"{n},2026-05-0{1 + n // 4},p1,36" for n in range(8)]
    (tmp_path / "shots.csv").write_text(
        "\n".join(["shot,pulled_on,barista,time_s", *rows]), encoding="utf-8"
    )
    review = review_weekend(read_log(tmp_path / "shots.csv"))
    assert review.main is not None
    assert (review.main.people, review.main.why_no_people) == (None, "")


def test_people_are_compared_on_screen_and_not_ranked(one_bag: WeekendReview) -> None:
    said = " ".join(one_bag.sheet.steady_on_screen)
    assert "p1 0.26" in said
    assert "neither is ranked" in said


def test_paper_keeps_a_line_on_the_bag_and_three_on_spread(one_bag: WeekendReview) -> None:
    sheet = one_bag.sheet
    assert sheet.bag_printed is not None
    assert sheet.spread_printed is not None
    assert sheet.bag_printed >= 1
    assert sheet.spread_printed >= 3
