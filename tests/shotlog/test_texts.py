"""A column of texts is a sequence of its rows, however it is kept."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.shotlog.formats.texts import ColumnBuilder, TextColumn, join_columns

texts = st.lists(st.sampled_from(["18", "18.5", "", " ", "NA", "\n", "é"]))


def built(blocks: list[list[str]]) -> TextColumn:
    """Return a column built block by block."""
    builder = ColumnBuilder()
    for block in blocks:
        cells = np.empty(len(block), dtype=object)
        cells[:] = block
        builder.add(cells)
    return builder.finish()


@given(texts)
def test_it_gives_back_what_it_was_made_of(cells: list[str]) -> None:
    assert list(TextColumn.of(cells)) == cells


@given(st.lists(texts.filter(bool)))
def test_blocks_make_one_column(blocks: list[list[str]]) -> None:
    assert list(built(blocks)) == [cell for block in blocks for cell in block]


@given(st.lists(texts, min_size=1))
def test_columns_stand_below_one_another(parts: list[list[str]]) -> None:
    joined = join_columns([TextColumn.of(part) for part in parts])
    assert list(joined) == [cell for part in parts for cell in part]


@given(texts)
def test_each_text_is_kept_once(cells: list[str]) -> None:
    assert len(TextColumn.of(cells).texts) == len(set(cells))


@given(texts)
def test_blank_is_what_holds_nothing_but_blanks(cells: list[str]) -> None:
    assert TextColumn.of(cells).is_blank().tolist() == [not cell.strip() for cell in cells]


@given(texts, st.data())
def test_some_rows_are_a_column_again(cells: list[str], data: st.DataObject) -> None:
    rows = data.draw(st.lists(st.integers(0, len(cells) - 1))) if cells else []
    taken = TextColumn.of(cells).take(np.array(rows, dtype=int))
    assert list(taken) == [cells[row] for row in rows]


def test_a_slice_is_a_column_and_a_row_is_its_text() -> None:
    column = TextColumn.of(["a", "b", "a"])
    assert column[2] == "a"
    assert list(column[1:]) == ["b", "a"]
    assert column == ["a", "b", "a"]
