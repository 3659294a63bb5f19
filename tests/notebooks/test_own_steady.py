"""The lesson on steadiness answers for logs of one's own, and says what they lack."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import nbformat
import pytest

from tests.conftest import ROOT
from tests.notebooks.conftest import Run
from tests.notebooks.own import DEMO, opened_on, printed, with_columns

NOTEBOOK = ROOT / "notebooks" / "05-how-steady-am-i.ipynb"

#: Twelve shots of one evening, in the order pulled.
TIMES = (36, 38, 35, 37, 40, 36, 34, 37, 36, 39, 35, 37)

pytestmark = pytest.mark.notebook


def written(path: Path, header: str, rows: Sequence[str]) -> Path:
    """Write a log of one file, and return it."""
    path.write_text("\n".join([header, *rows]), encoding="utf-8")
    return path


def pages(book: nbformat.NotebookNode) -> str:
    """Return the tables that the cells show, as markup."""
    shown = [output for cell in book.cells for output in cell.get("outputs", [])]
    return "".join(output.data.get("text/html", "") for output in shown if "data" in output)


def test_twelve_shots_at_one_setting_tell_their_spread_and_what_is_lacking(
    tmp_path: Path, run: Run
) -> None:
    rows = [f"{number},e1,counted,11,{time}" for number, time in enumerate(TIMES)]
    log = written(tmp_path / "own.csv", "shot,session,stage,grind_setting,time_s", rows)
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    # The SD of these twelve whole numbers is 1.73; √(11 / 21.92) and √(11 / 3.816), from
    # a printed table of χ² with 11 degrees of freedom, make its limits 1.2 and 2.9.
    assert "1.7 s" in told
    assert "95 % interval 1.2 to 2.9" in told
    assert "Shot time of 12 shots in the order pulled" in told
    assert "The log names no barista" in told
    assert "add a column fate" in told
    assert "barista, a code and no name" in told
    assert "six shots at one setting" not in told


def test_a_log_without_times_and_baristas_is_told_what_to_log(tmp_path: Path, run: Run) -> None:
    columns = ("shot", "session", "stage", "fate", "dose_g", "beverage_g", "grind_setting")
    log = with_columns(tmp_path / "own.csv", columns)
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "differ in beverage mass" in told
    assert "The log names no barista" in told
    assert "time_s, and tds_pct if you can" in told
    assert "No taste was scored" in told


def test_three_shots_bear_neither_chart_nor_spread(tmp_path: Path, run: Run) -> None:
    log = written(tmp_path / "own.csv", "shot,time_s", ["1,36", "2,38", "3,35"])
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "3 shots have a shot time to chart, and 10 are needed" in told


def test_a_log_in_which_nothing_was_measured_goes_through(tmp_path: Path, run: Run) -> None:
    log = written(tmp_path / "own.csv", "shot,grind_setting", ["1,10", "2,11", "3,10"])
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "Nothing was measured that people could be compared in" in told


def test_hostile_codes_of_baristas_are_shown_as_text(tmp_path: Path, run: Run) -> None:
    codes = ("<script>x</script>", "=1+1 $^$")
    rows = [
        f"{number},e1,counted,pulled,11,{time + 3 * (number % 2)},{codes[number % 2]}"
        for number, time in enumerate(TIMES)
    ]
    header = "shot,session,stage,fate,grind_setting,time_s,barista"
    log = written(tmp_path / "own.csv", header, rows)
    book = run(opened_on(log, NOTEBOOK), NOTEBOOK.parent)
    told = printed(book)
    assert all(f"{code} (6 shots)" in told for code in codes)
    assert "<script" not in pages(book)


def test_the_evening_class_is_not_ranked(run: Run) -> None:
    told = printed(run(opened_on(DEMO, NOTEBOOK), NOTEBOOK.parent))
    assert "How steady this bench is: bag-18 on mill-1" in told
    assert "is steadier" not in told
