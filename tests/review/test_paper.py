from __future__ import annotations

import dataclasses
import html
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.review.logs import long_winded_rows, read, rows
from yieldwright.review import render_page, review_weekend
from yieldwright.review.paper import (
    chart_height_mm,
    parted,
    rows_on_paper,
    section_heights,
    spills_over,
)
from yieldwright.review.sheet import Sheet


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Sheet:
    """Return the texts of an ordinary page."""
    return review_weekend(read(tmp_path_factory.mktemp("paper"), rows(40))).sheet


HEIGHTS = st.dictionaries(st.sampled_from("abcde"), st.floats(1, 100), min_size=1)


@given(HEIGHTS)
def test_every_section_stands_in_exactly_one_column(heights: dict[str, float]) -> None:
    left, right = parted(heights)
    assert sorted([*left, *right]) == sorted(heights)
    assert left[0] == next(iter(heights))


@given(HEIGHTS)
def test_columns_differ_by_no_more_than_the_tallest_section(heights: dict[str, float]) -> None:
    left, right = (sum(heights[name] for name in names) for names in parted(heights))
    assert abs(left - right) <= max(heights.values()) + 1e-9


def test_more_words_leave_less_room_for_the_chart(sheet: Sheet) -> None:
    wordy = dataclasses.replace(sheet, read_sentences=(*sheet.read_sentences, "word " * 200))
    assert chart_height_mm(wordy) < chart_height_mm(sheet)


def test_more_words_leave_fewer_rows(sheet: Sheet) -> None:
    wordy = dataclasses.replace(sheet, how_read=(*sheet.how_read, "word " * 120))
    assert rows_on_paper(wordy) < rows_on_paper(sheet)


def test_a_full_second_side_prints_fewer_notes_and_shows_them_all_on_screen(
    tmp_path: Path,
) -> None:
    wordy = review_weekend(read(tmp_path, long_winded_rows()), everything=True)
    assert wordy.sheet.notes_printed is not None
    assert wordy.sheet.notes_printed < len(wordy.sheet.effect_notes)
    page = render_page(wordy)
    assert page.count('class="note on-screen"') >= 1
    shown = html.unescape(page)
    assert [note for note in wordy.sheet.effect_notes if note not in shown] == []


def test_a_sheet_without_cautions_has_no_section_for_them(sheet: Sheet) -> None:
    assert "care" not in section_heights(dataclasses.replace(sheet, cautions=()))


def test_printed_rows_are_the_newest_that_fit(sheet: Sheet) -> None:
    assert sheet.shots is not None
    printed = len(sheet.shots.rows) - sheet.shots.first_printed
    assert printed == min(rows_on_paper(sheet), len(sheet.shots.rows))


def test_a_side_that_would_spill_over_prints_less_of_the_spread(
    sheet: Sheet, tmp_path: Path
) -> None:
    full = review_weekend(read(tmp_path, long_winded_rows()), everything=True).sheet
    assert not spills_over(sheet)
    assert full.spread_printed == 2 < len(full.spread)
    assert spills_over(dataclasses.replace(full, spread_printed=3))
