"""A row is shown as it stands in the file, its doubtful cell in sight and marked."""

from __future__ import annotations

import csv

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.cli.excerpts import cell_places, excerpt, places_in_question

NAMES = ["shot", "dose_g", "overall", "notes"]


def marked(raw: str, reason: str, delimiter: str | None = "comma") -> list[str]:
    """Return what is marked of a row."""
    places = places_in_question(raw, reason, NAMES, delimiter)
    return [raw[begin:end] for begin, end in places]


def test_the_cell_of_the_column_is_marked_and_no_other() -> None:
    assert marked("18,18,5,18", "dose_g is 18 g, outside 19–30 g") == ["18"]
    assert places_in_question("18,18,5,18", "dose_g is 18 g", NAMES, "comma") == [(3, 5)]


def test_each_column_of_several_reasons_is_marked() -> None:
    reason = "dose_g is 180 g, outside 5–30 g; score:overall is 15, outside 0–10"
    assert marked("1,180,15,", reason) == ["180", "15"]


def test_a_computed_column_marks_nothing() -> None:
    assert marked("1,18,5,", "ey_pct comes to 105 % by mass, outside 0–100 % by mass") == []


def test_cells_beyond_the_header_are_marked_with_their_delimiter() -> None:
    assert marked("1,18,5,sweet, long", "5 cells where the header has 4") == [", long"]
    assert marked("1,18,5,sweet,", "5 cells where the header has 4") == [","]


def test_a_short_row_marks_nothing() -> None:
    assert marked("1,18", "2 cells where the header has 4") == []


def test_an_open_quote_is_marked_to_the_end() -> None:
    raw = '1,"18",5,"sweet, long'
    assert marked(raw, "a cell opens a quote that is not properly closed") == ['"sweet, long']


def test_without_columns_the_cited_text_is_marked_where_it_stands_once() -> None:
    reason = "the object has “dose” twice"
    assert places_in_question('{"dose": 18}', reason, [], None) == [(2, 6)]
    assert places_in_question('{"dose": "dose"}', reason, [], None) == []


def test_an_object_has_its_figure_marked_where_it_stands_once() -> None:
    raw = '{"shot": "2", "dose_g": 180, "time_s": 30}'
    assert marked(raw, "dose_g is 180 g, outside 5–30 g", None) == ["180"]


def test_a_row_of_a_table_of_values_has_its_cells_between_commas() -> None:
    assert places_in_question("18,18,5,", "dose_g is 18 g", NAMES, None) == [(3, 5)]


def test_a_row_of_a_workbook_has_its_cells_between_tabs() -> None:
    assert marked("1\t180\t5\t", "dose_g is 180 g", None) == ["180"]


@given(st.lists(st.text(st.sampled_from('ab,;" é'), max_size=6), min_size=1, max_size=6))
def test_cells_stand_where_a_writer_of_csv_puts_them(cells: list[str]) -> None:
    """Python's csv module writes the row: what stands at each place reads as the cell."""
    import io

    written = io.StringIO()
    csv.writer(written, quoting=csv.QUOTE_ALL).writerow(cells)
    raw = written.getvalue().rstrip("\r\n")
    read = [raw[begin:end][1:-1].replace('""', '"') for begin, end in cell_places(raw, ",")]
    assert read == cells


def test_a_row_that_fits_is_whole() -> None:
    assert excerpt("1,180,5,", [(2, 5)], 8) == ("1,180,5,", "  ^^^")


def test_a_long_row_is_cut_at_the_end() -> None:
    assert excerpt("1,180," + "x" * 30, [(2, 5)], 40) == ("1,180," + "x" * 30, "  ^^^")
    shown = excerpt("1,180," + "x" * 300, [(2, 5)], 40)
    assert shown == ("1,180," + "x" * 33 + "…", "  ^^^")


def test_a_cell_far_to_the_right_is_brought_into_sight() -> None:
    shown = excerpt("x" * 300 + ",180,5", [(301, 304)], 40)
    assert len(shown.text) == 40
    assert shown.text.startswith("…x")
    assert shown.text[shown.marks.index("^") :] == "180,5"


@given(
    st.text(st.sampled_from("ab,\t\x1b\n豆é\u202e"), min_size=1, max_size=120),
    st.integers(0, 119),
    st.integers(20, 80),
)
def test_no_row_breaks_its_line_or_steers_the_terminal(raw: str, at: int, width: int) -> None:
    from rich.cells import cell_len

    shown = excerpt(raw, [(at, at + 1)], width)
    assert cell_len(shown.text) <= width
    assert not set("\x1b\n\t\u202e") & set(shown.text)


@pytest.mark.parametrize("before", ["", "豆", "\x1b[31m"])
def test_marks_stand_below_what_a_terminal_shows(before: str) -> None:
    from rich.cells import cell_len

    shown = excerpt(f"{before},180", [(len(before) + 1, len(before) + 4)], 60)
    assert cell_len(shown.text) == len(shown.marks)
    assert shown.marks.endswith("^^^")
