"""Numbers as people write them: read exactly, or refused with what may be meant."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.glossary import quantity
from yieldwright.shotlog.cells.numerals import Cell, Writing, read_number
from yieldwright.shotlog.formats.source import Decimal

DOSE, TIME, RATIO, PEAK = map(quantity, ("dose_g", "time_s", "brew_ratio", "peak_bar"))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *(("18", 18.0), ("+18.5", 18.5), ("\u221218.5", -18.5), ("\uff0d5", -5.0), ("-5", -5.0)),
        *((".5", 0.5), ("18.", 18.0), ("1.8e1", 18.0), ("0e-400", 0.0), ("007", 7.0)),
        *(("\uff11\uff18\uff0e\uff15", 18.5), ("\u0661\u0668\u066b\u0665", 18.5)),
        *(("\u06f1\u06f8", 18.0), ("\u0967\u096e g", 18.0), ("18\u200b.5\u200e", 18.5)),
        *(("1 234", 1234.0), ("1\u202f234.5", 1234.5), ("1\u00a0234\u00a0567", 1234567.0)),
        *(("1'234", 1234.0), ("1\u2019234.5", 1234.5), ("1,234.5", 1234.5)),
        *(("1,234,567", 1234567.0), ("'18.5", 18.5), ("18 g.", 18.0), ("18 [g]", 18.0)),
        *(("18\u00a0g", 18.0), ("18g", 18.0), ("18\tg", 18.0)),
    ],
)
def test_usual_ways_to_write_a_number_are_read_exactly(text: str, value: float) -> None:
    assert read_number(text, DOSE, Writing()) == Cell(value)


@pytest.mark.parametrize(
    ("text", "value"),
    [("18,5", 18.5), ("1.234,5", 1234.5), ("1 234,5", 1234.5), ("1.234.567", 1234567.0)],
)
def test_a_comma_may_stand_before_decimals(text: str, value: float) -> None:
    assert read_number(text, DOSE, Writing("comma")) == Cell(value)


@pytest.mark.parametrize(
    "text",
    [
        *("1 8", "18 20", "18.5 200", "1 234 5", "0 123", "1\n234", "1_000", "0x12", "18.2.1"),
        *("18,2.1", "1.234,5", "1,23,456", "- 5", "--5", "5-", "18(3)", "(18)", "<18", "\u00b2"),
        *("18\u00b2", "7\u00bd", "7 1/2", "1/2", "eighteen", "\u2167", "18 x 2", "18 g 36 g"),
        *("18 18.2", "9" * 201 + "x", "18 \u202e5", "18 200 300 4", "\u2460"),
    ],
)
def test_what_is_not_clearly_one_number_is_refused(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert cell.value is None
    assert cell.refusal
    assert cell.suggestion


@pytest.mark.parametrize(
    ("text", "decimal", "suggestion"),
    [
        ("18,5", "point", "18,5 → 18.5?"),
        ("18,5 g", "point", "18,5 g → 18.5 g?"),
        ("17,5-18,5", "point", "17,5-18,5 → 17.5-18.5?"),
        ("18.5", "comma", "18.5 → 18,5?"),
        ("1,234", "point", "1,234 → 1.234 or 1234?"),
        ("1.234", "comma", "1.234 → 1,234 or 1234?"),
    ],
)
def test_the_other_mark_is_refused_with_both_readings(
    text: str, decimal: Decimal, suggestion: str
) -> None:
    cell = read_number(text, DOSE, Writing(decimal))
    assert "has a decimal" in cell.refusal
    assert cell.suggestion == suggestion


@pytest.mark.parametrize(("text", "meant"), [("7\u00bd", "7.5?"), ("18 crowns", "18?")])
def test_a_number_inside_is_asked_for(text: str, meant: str) -> None:
    assert read_number(text, DOSE, Writing()).suggestion == meant


@pytest.mark.parametrize("text", ["1e400", "-1e400", "9" * 400, "1e308 kg", "9" * 400 + " g"])
def test_a_number_beyond_all_floats_is_missing_and_said(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert cell == Cell(flag="too large to be a number; taken as missing")


def test_a_number_too_small_for_a_float_is_not_zero() -> None:
    cell = read_number("1e-400", DOSE, Writing())
    assert cell == Cell(flag="too small to be a number; taken as missing")


@pytest.mark.parametrize("text", ["-", "–", "n/a", "NA", "NaN", "None", "null", "inf", "-∞", "?"])
def test_words_for_no_value_are_missing_and_said(text: str) -> None:
    assert read_number(text, DOSE, Writing()) == Cell(flag="taken as missing")


@pytest.mark.parametrize("text", ["", " ", "\u00a0", "\t"])
def test_blanks_are_missing_without_a_word(text: str) -> None:
    assert read_number(text, DOSE, Writing()) == Cell()


@pytest.mark.parametrize(
    "text",
    [
        *("~18", "≈ 18 g", "ca. 18", "ca 18", "c. 18 g", "about 18", "About 18 g", "approx. 18"),
        *("around 18", "18?", "18 g ?", "18-ish", "18 or so", "approximately 18"),
    ],
)
def test_about_is_flagged_and_states_no_half_width(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert cell == Cell(18.0, flag="said to be approximate; taken as it stands")


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        *(("0:36", 36.0), ("1:02", 62.0), ("00:36", 36.0), ("0:36.5", 36.5), ("36 sec.", 36.0)),
        *(("1 min 2 s", 62.0), ("1m02s", 62.0), ("1 minute 2 seconds", 62.0), ("0:07", 7.0)),
        *(("1\u20322\u2033", 62.0), ("1'02\"", 62.0), ("36\u2033", 36.0), ('36"', 36.0)),
        *(("1min 2.5s", 62.5), ("36000 ms", 36.0), ("0.6 min", 36.0)),
    ],
)
def test_times_are_read_in_minutes_and_seconds(text: str, seconds: float) -> None:
    cell = read_number(text, TIME, Writing())
    assert (cell.value, cell.refusal, cell.flag) == (seconds, "", "")


@given(st.integers(0, 59), st.integers(0, 59))
def test_any_minutes_and_seconds_count_sixty_to_one(minutes: int, seconds: int) -> None:
    cell = read_number(f"{minutes}:{seconds:02}", TIME, Writing())
    assert cell.value == 60 * minutes + seconds


@pytest.mark.parametrize("text", ["0:75", "1:2", "1'02", "5 m", "1:2:3:4"])
def test_half_written_times_are_refused(text: str) -> None:
    assert read_number(text, TIME, Writing()).refusal


def test_hours_and_minutes_in_words_are_minutes() -> None:
    assert read_number("1 h 5 min", quantity("preheat_min"), Writing()).value == 65.0


def test_a_colon_in_minutes_may_be_two_things() -> None:
    cell = read_number("0:15", quantity("gap_min"), Writing())
    assert "may be hours and minutes or minutes and seconds" in cell.refusal
    assert cell.suggestion == "0:15 → 15?"


@pytest.mark.parametrize(
    ("text", "r"),
    [
        *(("1:2", 2.0), ("1 : 2.5", 2.5), ("1/2", 2.0), ("2.0x", 2.0), ("2 \u00d7", 2.0)),
        *(("x2", 2.0), ("2", 2.0), ("1:15", 15.0), ("1:2.05", 2.05), ("\uff11\uff1a\uff12", 2.0)),
    ],
)
def test_ratios_are_read_as_beverage_for_one_of_dose(text: str, r: float) -> None:
    assert read_number(text, RATIO, Writing()) == Cell(r)


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [("2:1", "2:1 → 1:2?"), ("18:36", "18:36 → 1:2?"), ("1-2", "1:2?"), ("50%", "50?")],
)
def test_ratios_that_may_run_either_way_are_refused(text: str, suggestion: str) -> None:
    cell = read_number(text, RATIO, Writing())
    assert cell.refusal
    assert cell.suggestion == suggestion


@pytest.mark.parametrize(("text", "value"), [("3", 3.0), ("3.0", 3.0), ("3-5", 4.0)])
def test_a_running_number_is_whole(text: str, value: float) -> None:
    assert read_number(text, quantity("position"), Writing()).value == value


@pytest.mark.parametrize("text", ["2.5", "3-4"])
def test_a_running_number_that_is_not_whole_is_refused(text: str) -> None:
    assert read_number(text, quantity("position"), Writing()).refusal


def test_a_sign_before_a_number_is_no_range() -> None:
    assert read_number("-5", PEAK, Writing()) == Cell(-5.0)
    assert read_number("1e-5", PEAK, Writing()) == Cell(1e-5)
