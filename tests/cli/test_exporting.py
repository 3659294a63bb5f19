"""`export` writes what was asked for, says what to do next, and keeps off the log."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from yieldwright.cli import main
from yieldwright.shotlog import read_log

HEAD = "shot,barista,dose_g,beverage_g,notes\n"
ROWS = "1,mia,18,36,sweet\n2,tom,180,36,with Mia\n3,mia,18.2,36,Mia again\n"


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a log of three shots, one of them wrong, in the folder we are in."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "my bench"
    folder.mkdir()
    (folder / "shots.csv").write_text(HEAD + ROWS, "utf-8")
    (folder / "bench.toml").write_text('name = "mine"\n', "utf-8")
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_folder_holds_tables_rows_to_mend_and_the_bench(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(bench), "--out", "copy"]) == 0
    assert set(contents(Path("copy"))) == {"shots.csv", "set-aside-shots.csv", "bench.toml"}
    printed = capsys.readouterr().out
    assert "2 shots" in printed
    assert "1 row set aside" in printed
    assert "yieldwright check copy" in printed


def test_the_copy_is_read_as_the_same_log(bench: Path) -> None:
    main(["export", str(bench), "--out", "copy"])
    assert read_log("copy").shots["dose_g"].tolist() == read_log(bench).shots["dose_g"].tolist()


@pytest.mark.parametrize("out", ["copy.csv", "copy.tsv", "copy.xlsx", "copy.parquet", "copy/"])
def test_the_log_is_never_changed(bench: Path, out: str) -> None:
    before = contents(bench)
    assert main(["export", str(bench), "--out", out]) == 0
    assert contents(bench) == before


@pytest.mark.parametrize("out", ["my bench", "my bench/shots.csv", "my bench/bench.toml"])
def test_the_place_of_the_log_is_refused_even_with_replace(
    bench: Path, out: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = contents(bench)
    assert main(["export", str(bench), "--out", out, "--replace"]) == 4
    assert contents(bench) == before
    printed = capsys.readouterr().err
    assert "log itself" in printed
    assert "choose another" in printed


def test_a_file_that_is_there_is_kept_unless_told_otherwise(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("copy.csv").write_text("mine", "utf-8")
    assert main(["export", str(bench), "--out", "copy.csv"]) == 4
    assert "--replace" in capsys.readouterr().err
    assert Path("copy.csv").read_text("utf-8") == "mine"
    assert main(["export", str(bench), "--out", "copy.csv", "--replace"]) == 0
    assert Path("copy.csv").read_text("utf-8") != "mine"


def test_rows_to_mend_come_with_the_way_back(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", bench.name, "--set-aside", "--out", "mend.csv"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "mend.csv 1 row set aside" in printed
    assert "shots-corrected.csv" in printed
    assert 'yieldwright check "my bench"' in printed


def test_the_way_back_works(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["export", str(bench), "--set-aside", "--out", "mend.csv"])
    mended = Path("mend.csv").read_text("utf-8-sig").replace("tom,180,", "tom,18.0,")
    (bench / "shots-corrected.csv").write_text(mended, "utf-8")
    main(["check", str(bench)])
    assert sorted(read_log(bench).shots["shot"]) == ["1", "2", "3"]


def test_codes_stand_for_names_and_are_the_same_next_time(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(bench), "--anonymous", "--out", "one.csv"]) == 0
    assert main(["export", str(bench), "--anonymous", "--out", "two.csv"]) == 0
    assert Path("one.csv").read_bytes() == Path("two.csv").read_bytes()
    assert ",mia," not in Path("one.csv").read_text("utf-8")
    printed = " ".join(capsys.readouterr().out.split())
    assert ".yieldwright-key" in printed
    assert "A name still stands in notes (1 cell): leave a column out" in printed


def test_no_name_is_left_where_notes_are_left_out(bench: Path) -> None:
    words = ["export", str(bench), "--anonymous", "--without", "notes", "--out", "copy"]
    assert main(words) == 0
    everything = b"".join(contents(Path("copy")).values()).lower()
    assert b"mia" not in everything
    assert b"tom" not in everything
    assert set(contents(Path("copy"))) == {"shots.csv"}


def test_the_key_is_in_no_table(bench: Path) -> None:
    main(["export", str(bench), "--anonymous", "--out", "copy.csv"])
    key = (bench / ".yieldwright-key").read_text("ascii").split()
    assert not [word for word in key if len(word) > 7 and word in Path("copy.csv").read_text()]


def test_a_damaged_key_stops_the_export(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (bench / ".yieldwright-key").write_text("oops", "ascii")
    assert main(["export", str(bench), "--anonymous", "--out", "copy.csv"]) == 3
    assert "is damaged" in capsys.readouterr().err
    assert not Path("copy.csv").exists()


@pytest.mark.parametrize(
    ("words", "code", "reason"),
    [
        (["--out", "copy.ods"], 4, "ends in .ods"),
        (["--out", "nowhere/copy.csv"], 4, "there is no folder"),
        (["--out", "copy.csv", "--without", "nots"], 2, "no column 'nots'"),
        (["--out", "copy.csv", "--set-aside", "--anonymous"], 2, "not allowed with"),
        ([], 2, "--out"),
    ],
)
def test_what_cannot_be_done_is_told(
    bench: Path, words: list[str], code: int, reason: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(bench), *words]) == code
    assert reason in capsys.readouterr().err
    assert not Path("copy.csv").exists()


def test_nothing_to_mend_is_told(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (bench / "shots.csv").write_text(HEAD + "1,mia,18,36,\n", "utf-8")
    assert main(["export", str(bench), "--set-aside", "--out", "mend.csv"]) == 4
    assert "nothing was set aside" in capsys.readouterr().err


def test_an_unreadable_log_is_told(bench: Path) -> None:
    (bench / "shots.csv").write_text("", "utf-8")
    assert main(["export", str(bench), "--out", "copy.csv"]) == 3


def test_the_demo_exports_within_eighty_columns(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    shutil.copytree(root / "datasets" / "evening-class", tmp_path / "demo")
    assert main(["export", "demo", "--out", "copy"]) == 0
    assert main(["export", "demo", "--out", "copy.xlsx", "--anonymous"]) == 0
    assert main(["export", "demo", "--set-aside", "--out", "mend.csv"]) == 0
    assert [line for line in capsys.readouterr().out.splitlines() if len(line) > 80] == []


def test_the_help_fits_eighty_columns(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["export", "--help"]) == 0
    assert [line for line in capsys.readouterr().out.splitlines() if len(line) > 80] == []
