"""The lesson on one bag answers for logs of one's own, and says what to log where it cannot."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import ROOT
from tests.notebooks.conftest import Run
from tests.notebooks.own import DEMO, opened_on, printed, with_columns

NOTEBOOK = ROOT / "notebooks" / "04-one-bag.ipynb"

#: What the last section asks for, by the beginning of its sentence.
NO_AGE, NO_SCORE, NO_TIME = "roasted_on and the day", "Scores, by two people", "time_s: the grind"
ONE_BAG, NO_SERVICE = "bag, a code for each", "serviced, on the first shot after"

pytestmark = pytest.mark.notebook


def followed(path: Path, bags: tuple[str, ...]) -> Path:
    """Write six sessions of two shots of each bag, drifting by a second each, and return them."""
    rows = [
        f"{bag},{bag} {day},counted,{4 + 3 * day},{setting},"
        f"{40 - day - 2 * (setting - 10) + 0.4 * (-1) ** (day * setting):.1f},"
        f"{6 + day * setting % 4 / 2}"
        for bag in bags
        for day in range(6)
        for setting in (10, 11)
    ]
    header = "bag,session,stage,roast_age_d,grind_setting,time_s,overall"
    path.write_text("\n".join([header, *rows]), encoding="utf-8")
    return path


def test_the_evening_class_is_told_what_it_lacks(run: Run) -> None:
    told = printed(run(opened_on(DEMO, NOTEBOOK), NOTEBOOK.parent))
    assert "shots of bag-18 have a roast age, 6 to 22 days" in told
    assert "Nothing dated lies between these shots" in told
    assert "No comparison of bag-17 with bag-18" in told
    assert NO_SERVICE in told
    assert not any(each in told for each in (NO_AGE, NO_SCORE, NO_TIME, ONE_BAG))


def test_a_log_without_roast_dates(tmp_path: Path, run: Run) -> None:
    columns = ("shot", "session", "bag", "dose_g", "beverage_g", "time_s", "grind_setting")
    log = with_columns(tmp_path / "own.csv", columns)
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "No roast age is known of bag-18" in told
    assert "The log cannot tell how the bag drifts: no shot has a roast age." in told
    assert all(each in told for each in (NO_AGE, NO_SCORE))
    assert NO_TIME not in told


def test_one_bag_of_twelve_shots(tmp_path: Path, run: Run) -> None:
    log = followed(tmp_path / "own.csv", ("one",))
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "All 12 shots of one have a roast age, 4 to 19 days" in told
    assert "At one setting shots run 0.3" in told
    assert "There is one bag of this grinder, and nothing to compare it with" in told
    assert ONE_BAG in told


def test_bags_named_in_markup_are_shown_as_text(tmp_path: Path, run: Run) -> None:
    bags = ("<script>1</script>", "=1+1 $^$", "**x** `y`")
    book = run(opened_on(followed(tmp_path / "own.csv", bags), NOTEBOOK), NOTEBOOK.parent)
    told = printed(book)
    assert all(f"All 12 shots of {bag} have a roast age" in told for bag in bags)
    assert ONE_BAG not in told
    pages = [
        output.data.get("text/html", "")
        for cell in book.cells
        for output in cell.get("outputs", [])
        if "data" in output
    ]
    assert any("&lt;script&gt;" in page for page in pages)
    assert not any("<script>" in page for page in pages)


def test_scores_at_one_setting_without_times(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    rows = [
        f"d{day},counted,{4 + 3 * day},{score}" for day in range(8) for score in (6, 5 + day % 3)
    ]
    log.write_text("\n".join(["session,stage,roast_age_d,overall", *rows]), encoding="utf-8")
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "With nothing else to allow for" in told
    assert "Log time_s and grind_setting; pull two settings a session" in told
    assert all(each in told for each in (NO_TIME, ONE_BAG, NO_SERVICE))
    assert NO_AGE not in told


def test_a_log_of_nothing_is_told_what_to_log(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    log.write_text("shot,dose_g\n1,180\n", encoding="utf-8")
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "this log holds no shot" in told
    assert "Log the day of the roast, and pull on three days at least" in told
    assert all(each in told for each in (NO_AGE, NO_SCORE, NO_TIME, ONE_BAG, NO_SERVICE))
