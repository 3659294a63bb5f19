"""What spreadsheets make of numbers: refused, with what was typed before."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.glossary import SHOT_QUANTITIES, quantity
from yieldwright.shotlog.cells.numerals import Cell, Writing, read_number

DOSE, TIME, RATIO = map(quantity, ("dose_g", "time_s", "brew_ratio"))
NUMBERS = [entry for entry in SHOT_QUANTITIES if entry.is_numeric]


@pytest.mark.parametrize(
    ("text", "typed"),
    [
        *(("18 May", "18.5"), ("18-May", "18.5"), ("18. Mai", "18.5"), ("18 mai", "18.5")),
        *(("18-May-26", "18.5"), ("18 May 2026", "18.5"), ("May 18, 2026", "18.5")),
        *(("2026-05-18", "18.5"), ("2026-05-18T00:00", "18.5"), ("2026-05-18 00:00:00", "18.5")),
        *(("18.05.2026", "18.5"), ("18/05/2026", "18.5"), ("05/18/2026", "18.5")),
        *(("18.05.", "18.5"), ("1-Sep", "1.9"), ("9 janv.", "9.1"), ("2026/01/09", "9.1")),
        *(("May-18", "5.18"), ("Sep-95", "9.95"), ("1995-09-01", "9.95")),
    ],
)
def test_a_day_in_a_number_column_names_the_number_it_was(text: str, typed: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert cell.value is None
    assert "is no number" in cell.refusal
    assert cell.suggestion == f"made a date by a spreadsheet? {text} → {typed}?"


def test_the_number_before_has_the_mark_of_its_column() -> None:
    assert read_number("18. Mai", DOSE, Writing("comma")).suggestion.endswith("→ 18,5?")


@pytest.mark.parametrize("text", ["2026-02-01", "1 Feb", "2-Jan", "01/02/2026", "1/2/26"])
def test_a_day_in_a_ratio_was_a_ratio(text: str) -> None:
    assert read_number(text, RATIO, Writing()).suggestion.endswith("→ 1:2?")


@given(st.dates(), st.sampled_from(NUMBERS))
def test_no_day_is_ever_a_number(day, entry) -> None:
    cell = read_number(day.isoformat(), entry, Writing())
    assert cell.value is None
    assert cell.suggestion


def test_a_moment_in_a_number_column_is_a_shifted_row() -> None:
    cell = read_number("2026-05-18T10:25", DOSE, Writing())
    assert "is a day and a time, not a number" in cell.refusal
    assert cell.suggestion == "are the cells of this row shifted?"


@pytest.mark.parametrize(
    "text",
    [
        *("0:36:00", "00:36:00", "12:36:00 AM", "12:36 am", "1899-12-30T00:36:00"),
        *("1900-01-00 00:36:00", "1899-12-30 00:36", "1904-01-01 00:36:00", "0 days 00:36:00"),
        "36:00:00",
    ],
)
def test_minutes_for_seconds_are_refused_with_the_seconds(text: str) -> None:
    cell = read_number(text, TIME, Writing())
    assert "may be hours or minutes" in cell.refusal
    assert cell.suggestion == f"{text} → 36?"


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("01:02:00", "01:02:00 → 62?"),
        ("0:36:50", "0:36:50 → 36.5?"),
        ("0:03:00", "0:03:00 → 3 or 180?"),
    ],
)
def test_all_likely_times_are_named(text: str, suggestion: str) -> None:
    assert read_number(text, TIME, Writing()).suggestion == suggestion


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("0:00:36", 36.0), ("00:01:02", 62.0), ("0:00:36.5", 36.5), ("0 days 00:00:36", 36.0)],
)
def test_hours_minutes_seconds_without_hours_leave_no_doubt(text: str, seconds: float) -> None:
    cell = read_number(text, TIME, Writing())
    assert cell == Cell(seconds, flag="read as hours:minutes:seconds")


@pytest.mark.parametrize(
    "text", ["01:02", "1:02", "01:02:00", "1:02:00", "1:02 AM", "01:02:00 AM"]
)
def test_a_time_of_day_in_a_ratio_was_a_ratio(text: str) -> None:
    cell = read_number(text, RATIO, Writing())
    assert "is a time of day, not a ratio" in cell.refusal
    assert cell.suggestion == f"{text} → 1:2?"


@pytest.mark.parametrize("text", ["18:30", "18:30:00", "6:30 PM"])
def test_a_time_of_day_elsewhere_was_a_decimal(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert "is a time of day, not a number" in cell.refusal
    assert cell.suggestion == f"made a time by a spreadsheet? {text} → 18.30?"


@pytest.mark.parametrize("text", ["=B2/C2", "=", '="18.2"', "\u00a0=SUM(A1:A9)", "=1+1"])
def test_a_formula_is_missing_and_never_worked_out(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert cell.value is None
    assert not cell.refusal
    assert cell.flag == "a formula without a stored value; taken as missing"
    assert "recalculate, save" in cell.suggestion


@pytest.mark.parametrize(
    "text", ["#DIV/0!", "#VALUE!", "#REF!", "#N/A", "#NAME?", "#NUM!", "#null!", "Err:502"]
)
def test_an_error_of_a_spreadsheet_is_missing_and_said(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert cell == Cell(flag="an error of a spreadsheet; taken as missing")


def test_a_column_too_narrow_to_show_its_numbers_is_missing_and_said() -> None:
    cell = read_number("########", DOSE, Writing())
    assert cell.value is None
    assert "column too narrow" in cell.flag
    assert cell.suggestion == "widen the column and save again"
