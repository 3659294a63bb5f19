"""`start` makes a bench one can check at once, and overwrites nothing."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from yieldwright.bench import Bench, read_bench
from yieldwright.cli import main
from yieldwright.shotlog import read_log

FILES = {"bench.toml", "shots.csv", "data-dictionary.md", "bench-sheet.html"}


def test_four_files_are_written(tmp_path: Path) -> None:
    assert main(["start", str(tmp_path / "deep" / "bench")]) == 0
    assert {path.name for path in (tmp_path / "deep" / "bench").iterdir()} == FILES


def test_each_file_is_named_with_its_purpose_and_the_next_step(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    main(["start", "my bench"])
    printed = capsys.readouterr().out
    assert [name for name in FILES if name not in printed] == []
    assert 'yieldwright check "my bench"' in printed


def test_the_bench_it_writes_is_the_bench_of_assumptions(tmp_path: Path) -> None:
    main(["start", str(tmp_path)])
    assert read_bench(tmp_path / "bench.toml") == Bench()


@pytest.mark.parametrize("there", [["shots.csv"], ["bench.toml", "shots.csv"]])
def test_what_is_there_is_listed_and_left_alone(
    there: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in there:
        (tmp_path / name).write_text("mine", "utf-8")
    assert main(["start", str(tmp_path)]) == 4
    printed = capsys.readouterr()
    assert [name for name in there if name not in printed.err] == []
    assert "name another folder" in printed.err
    assert {path.name: path.read_text("utf-8") for path in tmp_path.iterdir()} == dict.fromkeys(
        there, "mine"
    )


def test_a_file_in_the_way_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bench").write_text("a file", "utf-8")
    assert main(["start", str(tmp_path / "bench")]) == 4
    assert "cannot be made" in capsys.readouterr().err


def test_a_workbook_takes_the_place_of_the_text(tmp_path: Path) -> None:
    assert main(["start", str(tmp_path / "bench"), "--workbook"]) == 0
    written = {path.name for path in (tmp_path / "bench").iterdir()}
    assert written == FILES - {"shots.csv"} | {"shots.xlsx"}


def test_the_workbook_is_a_log_without_shots(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["start", str(tmp_path), "--workbook"])
    capsys.readouterr()
    assert main(["check", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {file["file"]: file["lines_listed"] for file in told["files"]} == {
        "shots.xlsx": 1,
        "shots.xlsx (tastings)": 1,
    }
    assert (told["counts"]["shots"], told["counts"]["lines_read"]) == (0, 2)


def test_what_is_typed_into_the_workbook_is_read_as_it_was_typed(tmp_path: Path) -> None:
    """The values are those a spreadsheet stores for what is typed, in a German one too."""
    openpyxl = pytest.importorskip("openpyxl", reason="openpyxl types into the workbook")
    main(["start", str(tmp_path), "--workbook"])
    book = openpyxl.load_workbook(tmp_path / "shots.xlsx")
    shots, tastings = book["shots"], book["tastings"]
    place = {cell.value: cell.column for cell in shots[1]}
    typed = {
        "shot": "007",
        "pulled_at": datetime(2026, 3, 7, 10, 25),  # noqa: DTZ001  # as spreadsheets have it
        "bag": "1E5",
        "dose_g": 18.5,
        "grind_setting": "3.5",
        "time_s": "0:36",
        "notes": "=1+1",
    }
    for name, value in typed.items():
        shots.cell(2, place[name]).value = value
    shots.cell(2, place["notes"]).data_type = "s"
    tastings.append(["007", "t1", 1, "042", "overall", 6.5, "no"])
    book.save(tmp_path / "shots.xlsx")
    log = read_log(tmp_path)
    read = log.shots.loc[0, ["shot", "bag", "dose_g", "grind_setting", "time_s", "notes"]]
    assert read.tolist() == ["007", "1E5", 18.5, 3.5, 36.0, "=1+1"]
    assert log.shots.loc[0, "pulled_at"].isoformat() == "2026-03-07T10:25:00+00:00"
    assert log.tastings.loc[0, ["blind_code", "score"]].tolist() == ["042", 6.5]


@pytest.mark.parametrize(("there", "options"), [("shots.xlsx", []), ("shots.csv", ["--workbook"])])
def test_no_second_log_is_put_beside_one(
    there: str, options: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / there).write_text("mine", "utf-8")
    assert main(["start", str(tmp_path), *options]) == 4
    assert there in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == [there]


def test_a_bench_of_ones_own_is_copied_and_lends_its_words(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text('[columns]\n"coffee in" = "dose_g"\n', "utf-8")
    assert main(["start", str(tmp_path / "bench"), "--bench", str(own)]) == 0
    assert (tmp_path / "bench" / "bench.toml").read_bytes() == own.read_bytes()
    assert "coffee in" in (tmp_path / "bench" / "shots.csv").read_text("utf-8")


def test_a_bench_that_cannot_be_read_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["start", str(tmp_path / "bench"), "--bench", str(tmp_path / "no.toml")]) == 3
    assert "no.toml" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_name_no_system_takes_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "a\0b"]) == 4
    printed = capsys.readouterr().err
    assert "cannot be made" in printed
    assert "\0" not in printed
