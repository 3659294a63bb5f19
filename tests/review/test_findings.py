from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from tests.review.logs import full_marks_rows, read, rows, two_camps
from tests.review.markup import parsed
from yieldwright.errors import UnknownNameError
from yieldwright.review import WeekendReview, review_weekend
from yieldwright.review.findings import MOST_SETS


def two_bags() -> list[str]:
    old = rows(24)
    new = [line.replace("s", "t", 1) for line in rows(48, bag="bag-8", seed=8)[24:]]
    return [*old, *new]


@pytest.fixture(scope="module")
def review(tmp_path_factory: pytest.TempPathFactory) -> WeekendReview:
    """Return the review of a log of two bags."""
    return review_weekend(read(tmp_path_factory.mktemp("two"), two_bags()))


def test_fits_reach_back_beyond_the_reviewed_days(tmp_path: Path) -> None:
    found = review_weekend(read(tmp_path, rows(96)))
    assert found.n_shots < 96
    assert found.main is not None
    assert len(found.main.comparable.shots) > found.n_shots


def test_the_bag_with_most_reviewed_shots_leads(review: WeekendReview) -> None:
    counts = [each.n_reviewed for each in review.sets]
    assert counts == sorted(counts, reverse=True)
    assert review.main is not None
    assert review.main.comparable.bag == "bag-8"


def test_bags_are_fitted_apart_and_the_second_is_told_in_one_line(review: WeekendReview) -> None:
    assert [each.comparable.bag for each in review.sets] == ["bag-8", "bag-7"]
    (line,) = review.sheet.others
    assert line.startswith("For bag-7 on mill-1: ")


def test_one_bag_may_be_asked_for(tmp_path: Path) -> None:
    found = review_weekend(read(tmp_path, two_bags()), bag="bag-7")
    assert [each.comparable.bag for each in found.sets] == ["bag-7"]
    assert set(found.reviewed.shots["bag"]) == {"bag-7"}


def test_an_unknown_bag_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnknownNameError, match="bag-9"):
        review_weekend(read(tmp_path, two_bags()), bag="bag-9")


def test_bags_beyond_the_most_are_counted_and_not_fitted(tmp_path: Path) -> None:
    lines = [line.replace("bag-7", f"bag-{n % 5}") for n, line in enumerate(rows(20))]
    found = review_weekend(read(tmp_path, lines))
    assert (len(found.sets), found.n_sets) == (MOST_SETS, 5)
    assert found.sheet.others[-1].startswith("2 further pairs of bag and grinder not fitted")


def test_a_review_of_days_without_shots_says_so(tmp_path: Path) -> None:
    found = review_weekend(read(tmp_path, rows(8)), since=dt.date(2027, 1, 1))
    assert found.n_shots == 0
    assert found.sheet.no_shots == "No shot is under review."
    assert str(found.dropped[0]) == "8 shots before 2027-01-01"


def test_the_table_holds_every_reviewed_shot_at_full_precision(review: WeekendReview) -> None:
    table = review.to_frame()
    assert len(table) == review.n_shots
    assert {"recipe", "region", "p_region", "overall", "ey_pct"} <= set(table)
    assert table["shot"].is_unique


def test_the_summary_keeps_to_eighty_columns(review: WeekendReview) -> None:
    text = review.summary()
    assert max(map(len, text.splitlines())) <= 80
    assert " ".join(review.conclusion.sentence.split()) in " ".join(text.split())


def test_the_notebook_shows_the_same_findings(review: WeekendReview) -> None:
    shown = parsed(review._repr_html_())
    assert shown.unclosed == shown.wrongly_closed == []
    for text in (review.sheet.conclusion, review.sheet.lines_sentence, *review.sheet.next_steps):
        assert text in shown.text
    assert shown.count("script") == shown.count("style") == 0


def test_the_notebook_escapes_what_the_log_holds(tmp_path: Path) -> None:
    lines = [line.replace("sweet", "<script>alert(1)</script>") for line in rows(8)]
    shown = parsed(review_weekend(read(tmp_path, lines))._repr_html_())
    assert shown.count("script") == 0


def test_figures_are_drawn_once(review: WeekendReview) -> None:
    assert review.figures is review.figures


def test_a_caution_that_holds_for_one_response_names_it(review: WeekendReview) -> None:
    assert review.main is not None
    own = {fit.response: {each.sentence for each in fit.cautions} for fit in review.main.fits}
    everywhere = set.intersection(*own.values())
    somewhere = set.union(*own.values()) - everywhere
    told = [caution.sentence for caution in review.cautions]
    assert everywhere <= set(told)
    assert not somewhere & set(told)


def test_a_settled_conclusion_says_whether_a_single_session_carries_it(
    review: WeekendReview,
) -> None:
    assert review.main is not None
    assert review.conclusion.verdict == "settled"
    assert review.main.firmness
    assert review.sheet.rests_on.endswith(review.main.firmness)
    assert review.conclusion.clause in review.main.firmness


def test_models_days_and_luck_stand_below_the_effects(review: WeekendReview) -> None:
    notes = " ".join(review.sheet.effect_notes)
    assert "shots compared inside their session" in notes
    assert "Sessions differ by" in notes
    assert "luck alone" in notes
    assert "Four times in five" in notes


@pytest.fixture(scope="module")
def of_full_marks(tmp_path_factory: pytest.TempPathFactory) -> WeekendReview:
    """Return the review of a log whose scores mostly lie at the end of the scale."""
    folder = tmp_path_factory.mktemp("full")
    return review_weekend(read(folder, full_marks_rows(40)), everything=True)


def test_where_scores_are_read_as_steps_the_line_has_no_interval(
    of_full_marks: WeekendReview,
) -> None:
    table = of_full_marks.sheet.effects
    assert table is not None
    taste, others = table.columns[1], table.columns[2]
    assert taste.head.endswith("line alone")
    assert [cell for cell in taste.cells if "(" in cell] == []
    assert all("(" in cell for cell in others.cells)


def test_where_scores_are_read_as_steps_the_odds_stand_with_their_interval(
    of_full_marks: WeekendReview,
) -> None:
    notes = " ".join(of_full_marks.sheet.effect_notes)
    assert "Read the odds" in notes
    assert "odds; 95 %" in notes or "the odds may be" in notes
    assert "on overall for one setting" not in notes


def test_where_scores_are_read_as_steps_the_line_is_not_drawn(
    of_full_marks: WeekendReview,
) -> None:
    assert "Effect of each practical step on yield and time," in of_full_marks.figures["effects"]


def test_where_scores_are_read_as_steps_their_p_values_are_corrected(
    of_full_marks: WeekendReview,
) -> None:
    assert of_full_marks.main is not None
    steps, looks = of_full_marks.main.steps, of_full_marks.main.looks
    assert steps is not None
    told = {step.words.step: step.estimate.p_value for step in steps.steps}
    by_odds = [look for look in looks if look.odds]
    assert {look.step for look in by_odds} == set(told)
    assert all(look.p_page >= told[look.step] for look in by_odds)


def test_two_camps_of_tasters_are_a_caution_of_the_page(tmp_path: Path) -> None:
    found = review_weekend(two_camps(tmp_path), everything=True)
    assert "two-camps" in {caution.code for caution in found.cautions}
    told = " ".join(text for _, text in found.sheet.cautions)
    assert "two camps" in told
    assert re.search(r"lifts the score of A and B and lowers that of C and D", told)


def test_the_page_says_whether_chance_was_used(tmp_path: Path) -> None:
    few = review_weekend(read(tmp_path, rows(20)), everything=True)
    many = review_weekend(read(tmp_path, rows(40)), everything=True)
    assert "seed" in few.sheet.reproducibility
    assert "no random numbers used" in many.sheet.reproducibility
