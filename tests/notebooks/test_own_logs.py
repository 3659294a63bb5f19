"""Notebooks answer for the reader's own log once their one path is changed."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.conftest import ROOT
from tests.notebooks.conftest import Run
from tests.notebooks.own import DEMO, opened_on, printed, with_columns

NOTEBOOK = ROOT / "notebooks" / "01-weekend-review.ipynb"
READING = ROOT / "notebooks" / "00-read-any-log.ipynb"
BREWS_BENCH = ROOT / "tests" / "shotlog" / "benches" / "brews.toml"

pytestmark = pytest.mark.notebook


def test_a_log_without_tastings(tmp_path: Path, run: Run) -> None:
    for name in ("bench.toml", "shots.csv"):
        shutil.copy(DEMO / name, tmp_path)
    told = printed(run(opened_on(tmp_path, NOTEBOOK), NOTEBOOK.parent))
    assert "No shot can be used for the overall score" in told
    assert "One setting coarser took" in told


def test_a_single_file_without_strength(tmp_path: Path, run: Run) -> None:
    columns = ("shot", "session", "bag", "dose_g", "beverage_g", "time_s", "grind_setting")
    log = with_columns(tmp_path / "own.csv", columns)
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "0 shots of 60 under review with a yield" in told
    assert "No shot can be used for the extraction yield" in told
    assert "One setting coarser took" in told


def test_a_single_file_with_only_masses(tmp_path: Path, run: Run) -> None:
    log = with_columns(tmp_path / "own.csv", ("shot", "dose_g", "beverage_g"))
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "No shot can be used for the shot time" in told


def test_a_log_whose_every_row_is_set_aside(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    log.write_text("shot,dose_g\n1,180\n2,190\n", encoding="utf-8")
    told = printed(run(opened_on(log, NOTEBOOK), NOTEBOOK.parent))
    assert "Of 0 shots 0 failed" in told


def test_the_published_batch_brews(tmp_path: Path, run: Run, reference: Path) -> None:
    shutil.copy(BREWS_BENCH, tmp_path / "bench.toml")
    shutil.copy(reference / "brews" / "cotter_162_brews.csv", tmp_path / "shots.csv")
    told = printed(run(opened_on(tmp_path, NOTEBOOK), NOTEBOOK.parent))
    assert "162 shots of 162 under review with a yield" in told
    assert "left out: 1 shot with a yield above what water can dissolve" in told


def test_one_shot_with_hostile_text_is_shown_as_text(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    log.write_text(
        "shot,dose_g,beverage_g,tds_pct,notes\n<script>alert(1)</script>,18,36,9,$^$ =1+1\n",
        encoding="utf-8",
    )
    book = run(opened_on(log, NOTEBOOK), NOTEBOOK.parent)
    assert "1 shot of 1 under review with a yield" in printed(book)
    pages = [
        output.data.get("text/html", "")
        for cell in book.cells
        for output in cell.get("outputs", [])
        if "data" in output
    ]
    assert any("&lt;script&gt;" in page for page in pages)
    assert not any("<script>" in page for page in pages)


def test_reading_a_folder_of_several_formats(tmp_path: Path, run: Run) -> None:
    (tmp_path / "shots-march.csv").write_text("shot;dose\n1;18,1\n2;180\n", encoding="utf-8")
    lines = '{"shot": 3, "dose_g": 17.9, "barista": "mia"}\n\n{"shot": 4, "dose_g": "17.8 g"}\n'
    (tmp_path / "shots-april.jsonl").write_text(lines, encoding="utf-8")
    told = printed(run(opened_on(tmp_path, READING), READING.parent))
    assert "“dose” is read as dose_g" in told


def test_reading_a_log_of_which_nothing_stands(tmp_path: Path, run: Run) -> None:
    log = tmp_path / "own.csv"
    log.write_text("shot,dose_g\n1,180\n", encoding="utf-8")
    run(opened_on(log, READING), READING.parent)


def test_reading_the_published_batch_brews(tmp_path: Path, run: Run, reference: Path) -> None:
    shutil.copy(BREWS_BENCH, tmp_path / "bench.toml")
    shutil.copy(reference / "brews" / "cotter_162_brews.csv", tmp_path / "shots.csv")
    run(opened_on(tmp_path, READING), READING.parent)
