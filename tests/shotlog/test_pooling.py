"""Several files of one folder are one log."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from yieldwright.shotlog import read_log

HEAD = "shot,pulled_at,dose_g,notes\n"
FIRST = HEAD + "1,2026-03-07T10:00,18.1,sweet\n2,2026-03-07T10:08,18.0,\n"


def write(folder: Path, **files: str) -> Path:
    """Return a folder with these files in it."""
    for name, content in files.items():
        (folder / f"{name.replace('_', '-')}.csv").write_text(content, encoding="utf-8")
    return folder


def test_each_file_keeps_its_own_dialect(tmp_path: Path) -> None:
    log = read_log(write(tmp_path, shots_a=FIRST, shots_b="shot;dose_g\n3;17,9\n"))
    assert log.shots["dose_g"].tolist() == [18.1, 18.0, 17.9]
    assert [file.delimiter for file in log.reading.files] == ["comma", "semicolon"]
    assert log.shots["file"].tolist() == ["shots-a.csv", "shots-a.csv", "shots-b.csv"]
    assert log.shots["line"].tolist() == [2, 3, 2]


def test_a_column_that_one_file_lacks_is_empty_there(tmp_path: Path) -> None:
    shots = read_log(write(tmp_path, shots_a=FIRST, shots_b="shot,filtered\n3,yes\n")).shots
    assert shots["notes"].isna().tolist() == [False, True, True]
    assert shots["filtered"].isna().tolist() == [True, True, False]
    assert shots["pulled_at"].isna().tolist() == [False, False, True]
    assert str(shots["filtered"].dtype) == "boolean"
    assert isinstance(shots["pulled_at"].dtype, pd.DatetimeTZDtype)


def test_a_copy_in_another_file_is_set_aside_by_line_and_file(tmp_path: Path) -> None:
    again = "dose_g,shot,notes,pulled_at\n18.1,1,sweet,2026-03-07T10:00\n"
    log = read_log(write(tmp_path, shots_a=FIRST, shots_b=again))
    aside = log.set_aside.iloc[0]
    assert (aside["file"], aside["line"]) == ("shots-b.csv", 2)
    assert aside["reason"] == "an exact copy of the row at line 2 of shots-a.csv"


def test_a_name_that_another_file_uses_is_set_aside(tmp_path: Path) -> None:
    log = read_log(write(tmp_path, shots_a=FIRST, shots_b="shot,dose_g\n1,17.5\n"))
    assert "already the row at line 2 of shots-a.csv" in log.set_aside["reason"].item()


def test_every_file_adds_up_by_itself(tmp_path: Path) -> None:
    spoilt = HEAD + "\n4,2026-03-08T10:00,180,\n5,2026-03-08T10:06,18,a,b\n"
    log = read_log(write(tmp_path, shots_a=FIRST, shots_b=spoilt))
    assert [file.lines_read for file in log.reading.files] == [3, 4]
    assert [file.lines_set_aside for file in log.reading.files] == [0, 2]
    assert all(file.adds_up for file in log.reading.files)


def test_flags_name_the_shot_whichever_file_it_is_in(tmp_path: Path) -> None:
    later = HEAD + "9,2026-03-09T10:00,~18,\n"
    log = read_log(write(tmp_path, shots_a=FIRST, shots_b=later))
    assert log.flags[["shot", "value"]].to_numpy().tolist() == [["9", "~18"]]


def test_shots_without_names_are_numbered_through_all_files(tmp_path: Path) -> None:
    log = read_log(write(tmp_path, shots_a="dose_g\n18\n180\n", shots_b="dose_g\n17\n"))
    assert log.shots["shot"].tolist() == ["1", "3"]


def test_tastings_of_two_files_are_one_table(tmp_path: Path) -> None:
    write(tmp_path, shots=FIRST, tastings_1="shot,taster,score\n1,t1,6\n")
    log = read_log(write(tmp_path, tastings_2="shot,taster,score\n2,t1,7\n8,t1,5\n"))
    assert log.tastings["score"].tolist() == [6.0, 7.0]
    assert log.set_aside["file"].tolist() == ["tastings-2.csv"]


@pytest.mark.parametrize("order", [("a", "b"), ("b", "a")])
def test_two_files_say_the_same_as_one(order: tuple[str, str], tmp_path: Path) -> None:
    rows = FIRST.removeprefix(HEAD).splitlines(keepends=True)
    parts = dict(zip(order, rows, strict=True))
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    one = read_log(write(tmp_path / "one", shots=FIRST)).shots.set_index("shot")
    files = {f"shots_{name}": HEAD + row for name, row in parts.items()}
    two = read_log(write(tmp_path / "two", **files)).shots.set_index("shot").loc[one.index]
    apart = ["file", "line"]
    pd.testing.assert_frame_equal(two.drop(columns=apart), one.drop(columns=apart))
