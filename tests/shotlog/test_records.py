"""Physical lines to records: quotes resolved, no line lost, no line swallowed."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.shotlog.formats.records import split_cells, split_records

WIDTH = 4


def kinds(lines: list[str]) -> list[tuple[str, int, int]]:
    """Return kind, first line and line count of each record."""
    records = split_records(lines, ",", width=WIDTH)
    return [(record.kind, record.first_line, record.line_count) for record in records]


cells = st.text(st.characters(exclude_characters="\r\n", exclude_categories=["Cs"]), max_size=8)


@given(st.lists(cells, min_size=2, max_size=6), st.sampled_from(",;\t"))
def test_cells_written_by_the_standard_library_come_back(row: list[str], delimiter: str) -> None:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL, lineterminator="").writerow(row)
    assert split_cells(out.getvalue(), delimiter) == (row, False)


@given(st.lists(st.text(alphabet='a",# ', max_size=8), max_size=12))
def test_records_tile_the_lines(lines: list[str]) -> None:
    records = list(split_records(lines, ",", width=WIDTH))
    covered = [
        line
        for record in records
        for line in range(record.first_line, record.first_line + record.line_count)
    ]
    assert covered == list(range(1, len(lines) + 1))


@given(st.lists(st.text(alphabet='a",# ', max_size=8), max_size=12))
def test_raw_texts_put_together_are_the_file(lines: list[str]) -> None:
    records = list(split_records(lines, ",", width=WIDTH))
    assert "\n".join(record.raw for record in records) == "\n".join(lines)


def test_a_quote_that_nothing_closes_damages_its_own_line_only() -> None:
    assert kinds(["1,2,3,4", '5,6,7,"8', "9,0,1,2"]) == [
        ("row", 1, 1),
        ("damaged", 2, 1),
        ("row", 3, 1),
    ]


def test_a_quote_closed_in_the_wrong_column_damages_its_own_line_only() -> None:
    assert kinds(['5,6,7,"8', '9,0",1,2', "3,4,5,6"]) == [
        ("damaged", 1, 1),
        ("row", 2, 1),
        ("row", 3, 1),
    ]


def test_rows_between_two_lone_quotes_are_not_guessed_at() -> None:
    assert kinds(['1,2,3,"4', "5,6,7,8", '9,0,1,2"']) == [("damaged", 1, 3)]


def test_a_note_of_several_lines_is_one_record() -> None:
    assert kinds(['1,2,3,"4', "and, more", 'end"', "5,6,7,8"]) == [("row", 1, 3), ("row", 4, 1)]


def test_a_note_of_several_lines_in_a_short_row_stays_together() -> None:
    (record, _) = split_records(['1,"two', 'lines"', "5,6,7,8"], ",", width=WIDTH)
    assert record.cells == ["1", "two\nlines"]


@pytest.mark.parametrize("line", ["", "   ", ",,,", " , ,\t,"])
def test_lines_without_a_cell_are_blank(line: str) -> None:
    assert kinds([line]) == [("blank", 1, 1)]


def test_a_comment_never_opens_a_quote() -> None:
    assert kinds(['# "', "1,2,3,4"]) == [("comment", 1, 1), ("row", 2, 1)]
