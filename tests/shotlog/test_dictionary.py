"""The dictionary says what the glossary says, and nothing more."""

from __future__ import annotations

import re

from yieldwright.bench import Bench, WidenedRange
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES, Span, quantity
from yieldwright.shotlog.starting.dictionary import data_dictionary, dictionary_rows


def cells() -> list[list[str]]:
    lines = [line for line in data_dictionary().splitlines() if line.startswith("| `")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def test_each_column_stands_once_in_the_glossarys_order() -> None:
    names = [entry.name for entry in (*SHOT_QUANTITIES, *TASTING_QUANTITIES)]
    assert [row[0].strip("`") for row in cells()] == names


def test_rows_have_the_cells_their_head_announces() -> None:
    assert {len(row) for row in cells()} == {7}


def test_units_and_ranges_are_the_glossarys() -> None:
    by_name = {row[0].strip("`"): row for row in cells()}
    assert by_name["dose_g"][1] == "g"
    assert by_name["dose_g"][4:6] == ["5–30", "14–22"]


def test_a_range_below_zero_is_not_written_with_a_dash() -> None:
    by_name = {row[0].strip("`"): row for row in cells()}
    assert by_name["taper_bar"][4] == "−16 to 16"


def test_choices_are_listed() -> None:
    assert "pulled, choked, gushed, channelled or discarded" in data_dictionary()


def test_computed_columns_are_marked() -> None:
    marked = {row[0].strip("`") for row in cells() if row[6] == "yes"}
    assert marked == {entry.name for entry in SHOT_QUANTITIES if entry.computed}


def test_published_sources_are_named() -> None:
    assert re.search(r"`dose_g` and `beverage_g`: Cameron", data_dictionary())


def test_ranges_are_those_of_the_bench_where_there_is_one() -> None:
    bench = Bench(ranges={"dose_g": WidenedRange(hard=Span(5, 300))})
    (row,) = dictionary_rows([quantity("dose_g")], bench=bench)
    assert (row.hard, row.soft) == ("5–300", "14–22")


def test_a_source_stands_only_beside_ranges() -> None:
    rows = dictionary_rows([quantity("bag"), quantity("time_s")])
    assert [row.source for row in rows] == ["", "common practice, no source"]


def test_examples_of_writing_are_those_the_reader_understands() -> None:
    lines = data_dictionary().splitlines()
    assert "| “0:36” | `time_s` | 36 s |" in lines
    assert "| “18.0–18.4” | `dose_g` | 18.2 g, give or take 0.2; flagged |" in lines
    assert any(line.startswith("| “36 mL” | `beverage_g` | set aside: ") for line in lines)
