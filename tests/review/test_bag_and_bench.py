"""The page on the bag across its age and on how steady the bench is."""

from __future__ import annotations

from pathlib import Path

import pytest

from yieldwright.review import WeekendReview, render_page, review_weekend
from yieldwright.shotlog import read_log


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
    assert "Shots pulled alike differ in extraction yield" in told
    assert "The instruments" in told
    assert "show no alarm" in told or "in the order pulled" in told
    assert "<h2>How steady the bench is</h2>" in render_page(one_bag)


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
