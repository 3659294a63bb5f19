"""An empty workbook takes what the bench can mean, as it was typed, and nothing else."""

from __future__ import annotations

import dataclasses
import io
import re
import sys
import zipfile
from typing import Any

import pytest

from yieldwright.bench import Attribute, Band, Bench, Grinder, WidenedRange
from yieldwright.glossary import SHOT_QUANTITIES, TASTING_QUANTITIES, Span, find_quantity
from yieldwright.safety import DEFERENCE, NOTICES
from yieldwright.shotlog.starting.cell_rules import (
    AS_TEXT,
    LONGEST_ERROR,
    LONGEST_PROMPT,
    cell_rule,
)
from yieldwright.shotlog.starting.columns import StartingColumn, starting_columns, tasting_columns
from yieldwright.shotlog.starting.dictionary import dictionary_rows
from yieldwright.shotlog.starting.workbook_template import workbook_template

openpyxl = pytest.importorskip("openpyxl", reason="openpyxl is the judge of the workbook")

SHEETS = ["shots", "tastings", "read me", "dictionary", "example", "lists"]
HOSTILE_WORDS = ("=cmd|' /C calc'!A1", '+1, "two"', "@SUM(1)", "-2", "\ttab", "a" * 300)
CROWDED = Bench(
    name="crowded",
    grinders=tuple(Grinder(word) for word in HOSTILE_WORDS),
    bands=tuple(Band(f"a band of long name {n}", 80 + n, 81 + n) for n in range(20)),
    attributes=(
        Attribute("=1+1"),
        *(Attribute(f"attribute {n} of a long name") for n in range(9)),
    ),
    columns={"=Dose": "dose_g", "The time, as I call it in my own log": "time_s"},
    shot_id=("=day", "brew"),
    ranges={"dose_g": WidenedRange(hard=Span(5, 300.125), soft=Span(13.25, 22))},
    stated=frozenset({"bands", "grinders"}),
)
BENCHES = pytest.mark.parametrize("bench", [Bench(), CROWDED], ids=["plain", "crowded"])
#: What spreadsheets store for the days of this century.
DAY_NUMBERS = Span(36526, 73050)


MADE: dict[str, bytes] = {}


def made(bench: Bench) -> bytes:
    """Return the workbook of a bench, made once for all tests."""
    if bench.name not in MADE:
        MADE[bench.name] = workbook_template(bench)
    return MADE[bench.name]


def opened(bench: Bench) -> Any:
    return openpyxl.load_workbook(io.BytesIO(made(bench)))


def rules_of(sheet: Any) -> dict[str, Any]:
    """Return the validation of the cells below each header."""
    below = {
        re.match(r"[A-Z]+", str(rule.sqref))[0]: rule  # type: ignore[index]
        for rule in sheet.data_validations.dataValidation
        if str(rule.sqref).endswith("1048576")
    }
    return {cell.value: below[cell.column_letter] for cell in sheet[1]}


def formats_of(sheet: Any) -> dict[str, str]:
    return {
        cell.value: sheet.column_dimensions[cell.column_letter].number_format for cell in sheet[1]
    }


def offered(book: Any, rule: Any) -> list[str]:
    """Return the words of the list that a validation points at."""
    sheet, cells = rule.formula1.split("!")
    return [row[0].value for row in book[sheet][cells.replace("$", "")]]


def number_column(name: str) -> StartingColumn:
    entry = Bench().quantity(name)
    return StartingColumn(name, entry, entry.example, "")


@BENCHES
def test_the_log_has_no_row_below_its_headers(bench: Bench) -> None:
    book = opened(bench)
    assert book.sheetnames == SHEETS
    assert (book["shots"].max_row, book["tastings"].max_row) == (1, 1)


def test_the_log_is_what_one_sees_first() -> None:
    assert opened(Bench()).active.title == "shots"


@BENCHES
def test_headers_are_those_of_the_bench(bench: Bench) -> None:
    book = opened(bench)
    for name, columns in (("shots", starting_columns), ("tastings", tasting_columns)):
        assert [cell.value for cell in book[name][1]] == [c.header for c in columns(bench)]


def test_headers_are_names_of_the_glossary_where_the_bench_has_no_others() -> None:
    names = [cell.value for sheet in ("shots", "tastings") for cell in opened(Bench())[sheet][1]]
    known = {entry.name for entry in (*SHOT_QUANTITIES, *TASTING_QUANTITIES)}
    assert set(names) - known == {"overall"}


@BENCHES
def test_headers_stay_in_view(bench: Bench) -> None:
    assert [opened(bench)[name].freeze_panes for name in ("shots", "tastings")] == ["B2", "B2"]


@BENCHES
def test_no_cell_is_a_formula(bench: Bench) -> None:
    cells = [cell for sheet in opened(bench) for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells if cell.value is not None} == {"s"}


@BENCHES
def test_what_is_told_is_short_enough_to_be_shown(bench: Bench) -> None:
    book = opened(bench)
    rules = [rule for name in ("shots", "tastings") for rule in rules_of(book[name]).values()]
    assert max(len(rule.prompt) for rule in rules) <= LONGEST_PROMPT
    assert max(len(rule.error or "") for rule in rules) <= LONGEST_ERROR
    assert max(len(rule.promptTitle) for rule in rules) <= 32
    assert max(len(rule.formula1 or "") for rule in rules) <= 255


def test_each_prompt_says_meaning_unit_and_ranges() -> None:
    prompt = rules_of(opened(Bench())["shots"])["dose_g"].prompt
    assert prompt == (
        "Mass of ground coffee in the basket, as weighed and not as aimed at. A number in g. "
        "Usually 14–22; outside 5–30 the row is set aside. Example: 18.0"
    )


def test_a_header_tells_the_same_as_the_cells_below() -> None:
    sheet = opened(Bench())["shots"]
    told = {str(rule.sqref): rule.prompt for rule in sheet.data_validations.dataValidation}
    assert told["G1"] == told["G2:G1048576"]


@BENCHES
def test_a_number_outside_its_hard_range_is_stopped(bench: Bench) -> None:
    rules = rules_of(opened(bench)["shots"])
    for column in starting_columns(bench):
        rule = rules[column.header]
        if rule.type == "decimal":
            hard = (column.entry.hard.low, column.entry.hard.high)
            assert (float(rule.formula1), float(rule.formula2)) == hard
            assert rule.operator in (None, "between")  # which is the default of the format


def test_a_failed_pull_may_carry_any_outcome() -> None:
    """The reader keeps 3 g in the cup of a choked shot: so must the workbook."""
    rules = rules_of(opened(Bench())["shots"])
    assert {name: rules[name].errorStyle for name in ("dose_g", "beverage_g", "tds_pct")} == {
        "dose_g": "stop",
        "beverage_g": "warning",
        "tds_pct": "warning",
    }


@BENCHES
def test_a_number_outside_its_usual_range_is_shaded(bench: Bench) -> None:
    sheet = opened(bench)["shots"]
    shaded = {
        str(cells.sqref): cells.rules[0].formula[0] for cells in sheet.conditional_formatting
    }
    dose = next(cell for cell in sheet[1] if cell.value in ("dose_g", "=Dose")).column_letter
    low = {"dose_g": "14", "=Dose": "13.25"}[sheet[f"{dose}1"].value]
    assert (
        shaded[f"{dose}2:{dose}1048576"] == f"AND(ISNUMBER({dose}2),OR({dose}2<{low},{dose}2>22))"
    )


def test_a_day_without_a_time_is_shaded_where_both_are_wanted() -> None:
    shaded = [
        cells.rules[0].formula[0] for cells in opened(Bench())["shots"].conditional_formatting
    ]
    assert "AND(ISNUMBER(B2),MOD(B2,1)=0)" in shaded


def test_choices_are_the_glossarys() -> None:
    book = opened(Bench())
    rules = rules_of(book["shots"])
    for name in ("fate", "stage", "time_from"):
        entry = find_quantity(name)
        assert entry is not None
        assert offered(book, rules[name]) == list(entry.choices)
        assert rules[name].errorStyle == "stop"


def test_bands_and_grinders_are_the_benchs() -> None:
    book = opened(CROWDED)
    rules = rules_of(book["shots"])
    assert offered(book, rules["temp_band"]) == [band.name for band in CROWDED.bands]
    assert offered(book, rules["grinder"]) == list(HOSTILE_WORDS)


def test_attributes_are_offered_to_tasters() -> None:
    book = opened(CROWDED)
    words = offered(book, rules_of(book["tastings"])["attribute"])
    assert words == [attribute.name for attribute in CROWDED.attributes]


def test_bands_that_are_only_assumed_may_be_others() -> None:
    styles = [
        rules_of(opened(bench)["shots"])["temp_band"].errorStyle for bench in (Bench(), CROWDED)
    ]
    assert styles == ["warning", "stop"]


@BENCHES
def test_texts_and_times_stay_as_they_are_typed(bench: Bench) -> None:
    formats = formats_of(opened(bench)["shots"])
    by_header = {column.header: column.entry for column in starting_columns(bench)}
    for header, entry in by_header.items():
        if entry.kind in ("text", "choice", "flag") or entry.name in ("time_s", "grind_setting"):
            assert formats[header] == AS_TEXT


def test_days_are_shown_year_first() -> None:
    formats = formats_of(opened(Bench())["shots"])
    assert (formats["roasted_on"], formats["pulled_at"]) == ("yyyy-mm-dd", "yyyy-mm-dd hh:mm")


def test_days_are_not_shown_as_a_column_too_narrow() -> None:
    sheet = opened(Bench())["shots"]
    for letter, days in (("B", "2026-03-07 10:25"), ("F", "2026-02-20")):
        assert sheet.column_dimensions[letter].width >= len(days) + 4


NUMBERS = [entry.name for entry in SHOT_QUANTITIES if entry.is_numeric]


@pytest.mark.parametrize("name", NUMBERS)
def test_no_number_can_become_a_day_unseen(name: str) -> None:
    """18.5 is 18 May to a spreadsheet whose mark is a comma: stopped, or kept as text."""
    rule = cell_rule(number_column(name), Bench())
    is_stopped = rule.span.high < DAY_NUMBERS.low and rule.takes in ("number", "whole")
    assert is_stopped or rule.number_format == AS_TEXT


@pytest.mark.parametrize("name", [name for name in NUMBERS if name.endswith(("_s", "_min"))])
def test_no_time_can_become_a_share_of_a_day(name: str) -> None:
    """0:36 is 0.025 to a spreadsheet, which some ranges hold."""
    assert cell_rule(number_column(name), Bench()).number_format == AS_TEXT


def test_every_safety_notice_is_there() -> None:
    texts = {row[0] for row in opened(Bench())["read me"].iter_rows(values_only=True)}
    assert {*(notice.sentence for notice in NOTICES), DEFERENCE} <= texts


@BENCHES
def test_the_dictionary_is_the_glossarys(bench: Bench) -> None:
    head, *rows = opened(bench)["dictionary"].iter_rows(values_only=True)
    assert head[1:4] == ("Column", "Unit", "What to write")
    said = dictionary_rows((*SHOT_QUANTITIES, *TASTING_QUANTITIES), bench=bench)
    told = [tuple(cell or "" for cell in row[1:]) for row in rows]
    assert told == [dataclasses.astuple(each) for each in said]


@BENCHES
def test_the_same_bench_gives_the_same_bytes(bench: Bench) -> None:
    assert workbook_template(bench) == made(bench)


def test_the_bytes_do_not_tell_the_day() -> None:
    with zipfile.ZipFile(io.BytesIO(made(Bench()))) as archive:
        assert {part.date_time for part in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert [name for name in archive.namelist() if name.startswith("docProps")] == []


def test_numbers_kept_as_text_raise_no_warning_in_the_spreadsheet() -> None:
    with zipfile.ZipFile(io.BytesIO(made(Bench()))) as archive:
        sheet = archive.read("xl/worksheets/sheet1.xml").decode()
    (quiet,) = re.findall(r'<ignoredError sqref="([^"]+)" numberStoredAsText="1"/>', sheet)
    assert {"A2:A1048576", "N2:N1048576"} <= set(quiet.split())


def test_no_library_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    assert workbook_template(Bench()) == made(Bench())


def test_signs_that_a_sheet_cannot_hold_are_shown_as_codes() -> None:
    bench = Bench(name="signs", grinders=(Grinder("a\x01b"), Grinder("_x0041_"), Grinder("<&>")))
    book = opened(bench)
    words = [
        openpyxl.utils.escape.unescape(word)
        for word in offered(book, rules_of(book["shots"])["grinder"])
    ]
    assert words == ["a\\x01b", "_x0041_", "<&>"]
