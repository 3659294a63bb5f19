"""Many lines at once end as they do one by one."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.shotlog.formats import bulk
from yieldwright.shotlog.formats.bulk import split_rows
from yieldwright.shotlog.formats.records import Record, split_records

PIECES = ["a", "18.5", "", " ", ",", ",", ",", '"', '""', '","', "#", "\0", "\x0b", "é", "a,b,c"]
WIDTH = 3

lines_of_a_file = st.lists(st.lists(st.sampled_from(PIECES), max_size=7).map("".join), max_size=30)


def one_by_one(lines: list[str], width: int) -> list[Record]:
    """Return the records by the rules for single lines, in the order of the file."""
    return list(split_records(lines, ",", width=width))


def at_once(lines: list[str], width: int) -> list[Record]:
    """Return the records as they come out of many lines at once, in the order of the file."""
    split = split_rows(lines, ",", width)
    rows = [split.rows.record(row) for row in range(len(split.rows))]
    return sorted([*rows, *split.others], key=lambda record: record.first_line)


@settings(max_examples=600)
@given(lines_of_a_file)
def test_a_text_splits_at_once_as_it_does_line_by_line(lines: list[str]) -> None:
    assert at_once(lines, WIDTH) == one_by_one(lines, WIDTH)


@given(lines_of_a_file)
def test_a_text_of_one_column_does_too(lines: list[str]) -> None:
    assert at_once(lines, 1) == one_by_one(lines, 1)


@settings(max_examples=200)
@given(lines=lines_of_a_file, block=st.integers(1, 5))
def test_where_a_block_ends_makes_no_difference(lines: list[str], block: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bulk, "_BLOCK", block)
        assert at_once(lines, WIDTH) == one_by_one(lines, WIDTH)


def test_a_column_that_rarely_repeats_itself_is_kept_whole() -> None:
    lines = [f"s{number},18,{number % 3}" for number in range(5000)]
    columns = split_rows(lines, ",", WIDTH).rows.columns
    assert list(columns[0]) == [f"s{number}" for number in range(5000)]
    assert len(columns[1].texts) == 1
    assert len(columns[2].texts) == 3


def test_progress_ends_at_the_last_line() -> None:
    told: list[float] = []
    split_rows([f"{number},18,1" for number in range(50_000)], ",", WIDTH, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1
    assert len(told) == 3
