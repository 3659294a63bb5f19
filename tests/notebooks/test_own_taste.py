"""The lesson on taste answers for logs of one's own, and says what they are too small for."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from nbclient.exceptions import CellExecutionError

from tests.conftest import ROOT
from tests.notebooks.conftest import Run
from tests.notebooks.own import DEMO, opened_on, printed, with_columns

NOTEBOOK = ROOT / "notebooks" / "02-what-drove-taste.ipynb"

pytestmark = pytest.mark.notebook


def rewrite(path: Path, wanted: Callable[[list[str]], bool]) -> None:
    """Leave out the rows of a table that are not wanted, below its header."""
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([header, *filter(wanted, rows)])


def test_without_scores_it_tells_the_yield(tmp_path: Path, run: Run) -> None:
    for name in ("bench.toml", "shots.csv"):
        shutil.copy(DEMO / name, tmp_path)
    told = printed(run(opened_on(tmp_path, NOTEBOOK), NOTEBOOK.parent))
    assert "What the settings did to the extraction yield" in told
    assert "No scores, no steps." in told


def test_one_taster_of_one_bag(tmp_path: Path, run: Run) -> None:
    shutil.copytree(DEMO, tmp_path, dirs_exist_ok=True)
    rewrite(tmp_path / "shots.csv", lambda row: "bag-18" in row)
    rewrite(tmp_path / "tastings.csv", lambda row: row[1] == "t2")
    told = printed(run(opened_on(tmp_path, NOTEBOOK), NOTEBOOK.parent))
    assert "One taster, or tasters not told apart" in told
    assert "BAG-17" not in told


def test_three_shots_are_told_what_is_missing(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    log.write_text("shot,grind_setting,overall\n1,10,6\n2,11,6.5\n3,10,7\n", encoding="utf-8")
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "an effect needs shots at two settings at least" in told
    assert "Of 0 effects of settings 0 keep clear of zero." in told


def test_scores_at_the_end_of_their_scale_are_told_as_odds(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    day = [(9, 8.5), (9, 9), (10, 9.5), (10, 10), (11, 10), (11, 10), (10, 9), (11, 9.5)]
    rows = [
        f"{session}{number},{session},counted,4,{grind},{score}"
        for session in "abc"
        for number, (grind, score) in enumerate(day)
    ]
    header = "shot,session,stage,purged_g,grind_setting,overall"
    log.write_text("\n".join([header, *rows]), encoding="utf-8")
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "Read the odds" in told
    assert "One setting coarser scored" not in told


def test_a_single_file_with_only_masses(tmp_path: Path, run: Run) -> None:
    log = with_columns(tmp_path / "own.csv", ("shot", "dose_g", "beverage_g"))
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "No shot can be used for the extraction yield" in told


def test_a_log_of_nothing_stops_with_the_reason(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    log.write_text("shot,dose_g\n1,180\n", encoding="utf-8")
    with pytest.raises(CellExecutionError, match="this log holds no shot"):
        run(opened_on(log, NOTEBOOK), NOTEBOOK.parent)


def test_a_bag_named_in_markup_is_shown_as_text(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    bag = "<b>$^$"
    rows = [f"{number},{bag},{10 + number % 2},{30 + number}" for number in range(8)]
    log.write_text("\n".join(["shot,bag,grind_setting,time_s", *rows]), encoding="utf-8")
    book = opened_on(log, NOTEBOOK)
    (asked,) = [cell for cell in book.cells if cell.source.startswith("RESPONSE, BAG = ")]
    asked.source = 'RESPONSE, BAG = "time_s", ""'
    told = printed(run(book, NOTEBOOK.parent))
    assert f"What the settings did to the shot time ({bag})" in told
