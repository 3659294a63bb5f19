"""Published batch brews on a weekend page: no day, no time, no taste, one impossible yield.

Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H. Its 162 batches are ten times an
espresso; session 2, brew 93-1.5-24 prints an extraction of 36.64 %.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.review.markup import Page, parsed
from yieldwright.bench.reading import read_bench
from yieldwright.review import WeekendReview, render_page, review_weekend
from yieldwright.shotlog import read_log

BENCH = Path(__file__).parents[1] / "shotlog" / "benches" / "brews.toml"


@pytest.fixture(scope="module")
def review(reference: Path) -> WeekendReview:
    """Return the review of the published table."""
    brews = reference / "brews" / "cotter_162_brews.csv"
    return review_weekend(read_log(brews, bench=read_bench(BENCH)))


@pytest.fixture(scope="module")
def page(review: WeekendReview) -> Page:
    """Return its page."""
    return parsed(render_page(review))


def test_every_batch_is_reviewed_for_want_of_a_day(review: WeekendReview, page: Page) -> None:
    assert review.n_shots == 162
    assert "The log states no day, so all its shots are reviewed: 162 of 162" in page.text


def test_the_impossible_batch_is_left_out_of_fits_and_counted(page: Page) -> None:
    assert "Fitted are all 161 comparable shots" in page.text
    assert "1 shot with a yield above what water can dissolve" in page.text


def test_the_page_says_that_time_taste_and_fate_are_missing(page: Page) -> None:
    assert "No shot can be used for the shot time" in page.text
    assert "No shot can be used for the overall score" in page.text
    assert "The log does not say how shots ended" in page.text


def test_it_asks_for_what_is_missing(review: WeekendReview) -> None:
    assert any(step.startswith("Time the shots") for step in review.sheet.next_steps)
    assert any(step.startswith("Score every cup") for step in review.sheet.next_steps)


def test_the_page_is_whole(page: Page) -> None:
    assert page.unclosed == page.wrongly_closed == []
    assert page.count("figure") == 3
