"""The page of the demo, whose truth is known: it settles nothing that is not so."""

from __future__ import annotations

import json
import re

import pytest

from tests.conftest import ROOT
from tests.review.markup import Page, parsed
from yieldwright.review import WeekendReview, render_page, review_weekend
from yieldwright.review.looks import Look
from yieldwright.shotlog import read_log

DEMO = ROOT / "datasets" / "evening-class"


@pytest.fixture(scope="module")
def review() -> WeekendReview:
    """Return the review of the demo."""
    return review_weekend(read_log(DEMO))


@pytest.fixture(scope="module")
def page(review: WeekendReview) -> Page:
    """Return its page."""
    return parsed(render_page(review))


@pytest.fixture(scope="module")
def truth() -> dict[tuple[str, str, str], float]:
    """Return the effects the demo was made with, by bag, response and setting."""
    told = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
    return {
        (each["bag"], each["response"], each["term"]): each["effect"] for each in told["effects"]
    }


def settled(review: WeekendReview) -> list[tuple[str, Look]]:
    return [
        (each.comparable.bag, look)
        for each in review.sets
        for look in each.looks
        if look.settled and " → " not in look.step
    ]


def test_something_is_settled_for_each_coffee(review: WeekendReview) -> None:
    assert {each.conclusion.verdict for each in review.sets} == {"settled"}


def test_every_settled_effect_has_the_sign_of_the_truth(
    review: WeekendReview, truth: dict[tuple[str, str, str], float]
) -> None:
    wrong = [
        (bag, look.fit.response, look.term)
        for bag, look in settled(review)
        if look.estimate * truth[bag, look.fit.response, look.term] <= 0
    ]
    assert wrong == []


def test_the_interval_of_the_headline_holds_the_truth(
    review: WeekendReview, truth: dict[tuple[str, str, str], float]
) -> None:
    for each in review.sets:
        own = [look for bag, look in settled(review) if bag == each.comparable.bag]
        told = [look for look in own if look.fit.response == each.conclusion.response]
        look = max(told, key=lambda look: look.weight)
        effect = truth[each.comparable.bag, look.fit.response, look.term]
        assert look.ci_low <= effect <= look.ci_high


def test_both_bags_and_the_rows_set_aside_are_on_the_page(page: Page) -> None:
    assert "bag-17; also bag-18" in page.text
    assert re.search(r"Set aside: .*line \d+ \(", page.text)
