"""Records of column formats: made when asked for, numbers told by their file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.shotlog.formats.grids import ColumnRecords, refuse_unknown_names
from yieldwright.shotlog.formats.records import Record
from yieldwright.shotlog.formats.rows import Rows
from yieldwright.shotlog.formats.texts import TextColumn


def rows_of_column(*cells: str) -> Rows:
    """Return rows of one column."""
    lines = np.arange(1, len(cells) + 1)
    return Rows(
        lines, np.ones_like(lines), [TextColumn.of(cells)], lambda line, _: cells[line - 1]
    )


def test_records_come_in_the_order_of_their_lines() -> None:
    rows = rows_of_column("a", "b", "c").take(np.array([0, 2]))
    records = ColumnRecords(rows, [Record(2, 1, "b", [], "damaged")])
    assert [(each.first_line, each.kind) for each in records] == [
        (1, "row"),
        (2, "damaged"),
        (3, "row"),
    ]
    assert (len(records), records[-1].cells, records[1:2][0].raw) == (3, ["c"], "b")


def test_a_column_of_no_rows_has_no_records() -> None:
    assert list(ColumnRecords(rows_of_column(), [])) == []


def test_one_known_name_is_enough() -> None:
    refuse_unknown_names(["mood", "shot"], [False, True], "shots.jsonl")


def test_names_without_a_known_one_are_shown() -> None:
    names = [f"n{at}" for at in range(7)]
    with pytest.raises(UnreadableLogError, match=r"“n0”, “n1”, .*“n4” and 2 more; use the names"):
        refuse_unknown_names(names, [False] * 7, "shots.jsonl")


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str], ShotLog]:
    """Return a function that reads a text as a log of JSON lines."""

    def read_lines(text: str) -> ShotLog:
        path = tmp_path / "shots.jsonl"
        path.write_text(text, encoding="utf-8")
        return read_log(path)

    return read_lines


def test_a_log_with_both_kinds_of_numbers_is_read(read: Callable[[str], ShotLog]) -> None:
    log = read('{"shot": 1, "dose_g": "18,1"}\n{"shot": 2, "dose_g": 18.1}\n')
    assert log.shots["dose_g"].tolist() == [18.1, 18.1]


def test_names_that_the_file_stores_as_numbers_keep_their_point(
    read: Callable[[str], ShotLog],
) -> None:
    log = read('{"shot": 1.5, "bag": 2.5, "dose_g": "18,1", "mood": 0.5}\n')
    assert log.shots[["shot", "bag", "dose_g"]].loc[0].tolist() == ["1.5", "2.5", 18.1]
    assert log.extras["mood"].tolist() == ["0.5"]


@pytest.mark.parametrize("mark", ["comma", "point"])
def test_a_stored_number_has_a_point_whatever_the_bench_says(mark: str, tmp_path: Path) -> None:
    (tmp_path / "bench.toml").write_text(f'[reading]\ndecimal = "{mark}"\n', encoding="utf-8")
    (tmp_path / "shots.jsonl").write_text('{"shot": 1, "dose_g": 18.25}\n', encoding="utf-8")
    assert read_log(tmp_path).shots["dose_g"].tolist() == [18.25]


def test_a_text_with_the_other_mark_is_set_aside_though_a_number_reads_like_it(
    read: Callable[[str], ShotLog],
) -> None:
    log = read(
        '{"shot": 1, "dose_g": "18,1"}\n{"shot": 2, "dose_g": "18,2"}\n'
        '{"shot": 3, "dose_g": 18.5}\n{"shot": 4, "dose_g": "18.5"}\n'
    )
    assert log.shots["dose_g"].tolist() == [18.1, 18.2, 18.5]
    assert log.set_aside["line"].tolist() == [4]


def test_a_file_without_a_known_name_is_refused(read: Callable[[str], ShotLog]) -> None:
    with pytest.raises(UnreadableLogError, match=r"^shots\.jsonl names no column we know: “x”;"):
        read('{"x": 1}\n')
