"""Ranges and give-or-take: the middle is kept, flagged, with the half-width it states."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.glossary import quantity
from yieldwright.shotlog.cells.numerals import Writing, read_number

TEMP, DOSE, TIME = map(quantity, ("temp_c", "dose_g", "time_s"))


@pytest.mark.parametrize(
    "text",
    [
        *("90-92", "90–92", "90 — 92", "90 to 92", "90 TO 92 °C", "90..92", "90…92", "90~92"),
        *("92-90", "90-92 °C", "90 °C – 92 °C", "90 °C to 92", "91 ± 1", "91±1 °C", "91 +/- 1"),
        *("91 °C ± 1 °C", "91 +- 1", "90\u221292", "\uff19\uff10-\uff19\uff12"),
    ],
)
def test_the_middle_and_its_half_width_are_kept(text: str) -> None:
    cell = read_number(text, TEMP, Writing())
    assert (cell.value, cell.half_width) == (91.0, 1.0)
    assert cell.flag.startswith("taken as 91")
    assert "half-width 1" in cell.flag


@given(st.integers(50, 300), st.integers(0, 60))
def test_decimal_ends_have_a_decimal_middle(low: int, more: int) -> None:
    text = f"{low / 10} to {(low + 2 * more) / 10}"
    cell = read_number(text, DOSE, Writing())
    assert cell.value == (low + more) / 10
    assert cell.half_width == more / 10


@given(st.floats(60, 100), st.floats(0.1, 5))
def test_ends_in_another_unit_convert_like_the_middle(middle: float, half: float) -> None:
    ends = [f"{(middle + side * half) * 1.8 + 32:.12f} °F" for side in (-1, 1)]
    cell = read_number(" – ".join(ends), TEMP, Writing())
    assert cell.value == pytest.approx(middle, rel=1e-12)
    assert cell.half_width == pytest.approx(half, rel=1e-9)
    assert cell.unit == "°F"


@given(st.floats(1, 300), st.floats(0.001, 1))
def test_give_or_take_keeps_the_value_as_typed(value: float, half: float) -> None:
    cell = read_number(f"{value!r} ± {half!r}", DOSE, Writing())
    assert cell.value == value
    assert cell.half_width == pytest.approx(half, rel=1e-9)


def test_a_share_of_a_mass_is_a_half_width_too() -> None:
    cell = read_number("18 g ± 1 %", DOSE, Writing())
    assert (cell.value, cell.half_width) == (18.0, 0.18)


def test_a_percentage_give_or_take_is_in_its_own_unit() -> None:
    cell = read_number("9.4 ± 0.1 %", quantity("tds_pct"), Writing())
    assert (cell.value, cell.half_width) == (9.4, 0.1)


def test_two_spreads_of_one_reading_add_as_variances() -> None:
    # JCGM 100:2008, 5.1.2: 0.85 × 0.2 and 5 % of 0.85 × 11.8
    cell = read_number("11.8 ± 0.2 °Bx", quantity("tds_pct"), Writing())
    assert cell.half_width == pytest.approx((0.17**2 + 0.5015**2) ** 0.5)


@pytest.mark.parametrize("text", ["18±0", "18-18", "18 to 18.0"])
def test_no_spread_is_no_half_width(text: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert (cell.value, cell.half_width) == (18.0, 0.0)
    assert cell.flag == "taken as 18; its spread is none"


@pytest.mark.parametrize(
    "text", ["34-38 s", "0:34-0:38", "0:34 – 38", "34 s to 38 s", "36 s ± 2 s"]
)
def test_times_may_be_ranges(text: str) -> None:
    cell = read_number(text, TIME, Writing())
    assert (cell.value, cell.half_width) == (36.0, 2.0)


@pytest.mark.parametrize("text", ["1:2-1:2.5", "1:2 to 2.5", "2-2.5"])
def test_ratios_may_be_ranges(text: str) -> None:
    cell = read_number(text, quantity("brew_ratio"), Writing())
    assert (cell.value, cell.half_width) == (2.25, 0.25)


def test_the_unit_of_a_column_is_that_of_both_ends() -> None:
    cell = read_number("194-203", TEMP, Writing(unit="°F"))
    assert (cell.value, cell.half_width) == (92.5, 2.5)
    assert cell.flag == "taken as 198.5 °F, half-width 4.5 °F"


def test_an_approximate_range_says_both() -> None:
    cell = read_number("~18-19", DOSE, Writing())
    assert (cell.value, cell.half_width) == (18.5, 0.5)
    assert cell.flag == "taken as 18.5, half-width 0.5; said to be approximate"


@pytest.mark.parametrize("text", ["-2–3", "-2 to 3"])
def test_a_negative_end_keeps_its_sign(text: str) -> None:
    cell = read_number(text, quantity("room_c"), Writing())
    assert (cell.value, cell.half_width) == (0.5, 2.5)


@pytest.mark.parametrize(
    ("text", "suggestion"),
    [
        ("18-5", "18.5, or 5-18?"),
        ("18..5", "18.5, or 5-18?"),
        ("18..25", "18.25, or 18-25?"),
        ("05-18", "write a range without zeros before its ends"),
    ],
)
def test_a_range_that_may_be_a_slip_is_refused_with_both(text: str, suggestion: str) -> None:
    cell = read_number(text, DOSE, Writing())
    assert "may be" in cell.refusal
    assert cell.suggestion == suggestion


@pytest.mark.parametrize(
    "text",
    [
        *("18-19-20", "18-", "18--19", "18–-19", "18 to", "±0.1", "18 ± -0.1", "18 ± ± 1"),
        *("18 ± 100 mg ± 1", "18 g ± 100 mg", "18-19 mL", "18 g - 19 °C", "18 and 19"),
    ],
)
def test_no_other_pair_is_a_range(text: str) -> None:
    assert read_number(text, DOSE, Writing()).refusal
