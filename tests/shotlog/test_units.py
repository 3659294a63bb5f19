"""Units behind numbers: exact factors, other spellings, and what is no such unit."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.bench import Refractometer
from yieldwright.glossary import quantity
from yieldwright.shotlog import read_log
from yieldwright.shotlog.cells.numerals import Writing, read_number
from yieldwright.shotlog.cells.units import conversion_basis, convert, is_unit_word

GRAMS_PER_OUNCE = 28.349523125  # exact: 0.45359237 kg a pound, NIST SP 811
BAR_PER_PSI = 0.06894757293168  # 6894.757293168 Pa, NIST SP 811


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "expected"),
    [
        # NIST SP 811 (2008), appendix B.8, printed factors
        (1, "oz", "g", 28.34952),
        (1, "lb", "g", 453.5924),
        (1, "psi", "bar", 0.06894757),
        (1, "atm", "bar", 1.01325),
        (1, "kgf/cm²", "bar", 0.980665),
        # exact by definition
        (212, "°F", "°C", 100.0),
        (-40, "°F", "°C", -40.0),
        (273.15, "K", "°C", 0.0),
        (900, "kPa", "bar", 9.0),
        (0.9, "MPa", "bar", 9.0),
        (9000, "mbar", "bar", 9.0),
        (18000, "mg", "g", 18.0),
        (0.018, "kg", "g", 18.0),
        (2, "min", "s", 120.0),
        (0.01, "h", "s", 36.0),
        (2, "weeks", "d", 14.0),
        (1.5, "h", "min", 90.0),
        (90, "s", "min", 1.5),
        (94, "g/kg", "% by mass", 9.4),
        (94, "‰", "% by mass", 9.4),
    ],
)
def test_units_convert_by_published_factors(
    value: float, unit: str, wanted: str, expected: float
) -> None:
    turned = convert(value, unit, wanted)
    assert turned.value == pytest.approx(expected, rel=2e-7, abs=1e-9)
    assert turned.is_changed


@pytest.mark.parametrize(
    ("unit", "wanted"),
    [
        *(("g.", "g"), ("[g]", "g"), ("(g)", "g"), ("Gram", "g"), ("sec.", "s"), ("″", "s")),
        *(("° C", "°C"), ("ºC", "°C"), ("℃", "°C"), ("deg. C", "°C"), ("Celsius", "°C")),
        *(("% w/w", "% by mass"), ("wt%", "% by mass"), ("g/100 g", "% by mass"), ("BAR", "bar")),
    ],
)
def test_other_spellings_of_the_same_unit_change_nothing(unit: str, wanted: str) -> None:
    assert convert(9.0, unit, wanted).value == 9.0
    assert not convert(9.0, unit, wanted).is_changed


@given(st.floats(5, 120))
def test_grams_agree_with_ounces_to_twelve_digits(grams: float) -> None:
    ounces = f"{grams / GRAMS_PER_OUNCE!r} oz"
    cell = read_number(ounces, quantity("beverage_g"), Writing())
    assert cell.value == pytest.approx(grams, rel=1e-12)


@given(st.floats(20, 110))
def test_celsius_agrees_with_fahrenheit_to_twelve_digits(celsius: float) -> None:
    cell = read_number(f"{celsius * 9 / 5 + 32!r} °F", quantity("temp_c"), Writing())
    assert cell.value == pytest.approx(celsius, rel=1e-12)


@given(st.floats(0.1, 16))
def test_bar_agrees_with_psi_to_twelve_digits(bar: float) -> None:
    cell = read_number(f"{bar / BAR_PER_PSI!r}", quantity("peak_bar"), Writing(unit="psi"))
    assert cell.value == pytest.approx(bar, rel=1e-12)
    assert cell.unit == "psi"


@pytest.mark.parametrize(
    ("unit", "wanted"),
    [
        *(("mL", "g"), ("ml.", "g"), ("fl. oz.", "g"), ("cm³", "g"), ("C", "g"), ("g", "°C")),
        *(("°Bx", "% by mass"), ("nD", "% by mass"), ("G", "bar"), ("%", "g"), ("%", "1")),
        *(("s", "g"), ("m", "s"), ("bara", "bar"), ("mPa", "bar"), ("Mg", "g"), ("clicks", "1")),
    ],
)
def test_units_of_another_kind_are_refused(unit: str, wanted: str) -> None:
    turned = convert(36.0, unit, wanted)
    assert turned.refusal
    assert turned.suggestion


def test_a_prefix_that_differs_by_its_case_alone_is_asked_for() -> None:
    turned = convert(0.9, "mPa", "bar")
    assert turned.refusal == "has a unit that means mPa or MPa"
    assert turned.suggestion == "write 0.9 MPa?"


def test_a_volume_is_a_mass_only_by_a_stated_density() -> None:
    beverage = quantity("beverage_g")
    assert "is a volume" in read_number("36 mL", beverage, Writing()).refusal
    cell = read_number("36 mL", beverage, Writing(density_g_per_ml=0.95))
    assert cell.value == pytest.approx(34.2)
    assert cell.unit == "mL"


def test_ounces_of_fluid_are_two_and_never_guessed() -> None:
    cell = read_number("1 fl oz", quantity("beverage_g"), Writing(density_g_per_ml=0.95))
    assert "is a volume" in cell.refusal


def test_the_density_of_a_beverage_says_nothing_of_grounds() -> None:
    cell = read_number("18 mL", quantity("dose_g"), Writing(density_g_per_ml=0.95))
    assert "is a volume" in cell.refusal


def test_a_sugar_scale_reading_becomes_strength_with_the_spread_of_its_factor() -> None:
    # common practice, no source: 0.85 give or take 5 %
    cell = read_number("11.76 °Bx", quantity("tds_pct"), Writing())
    assert cell.value == pytest.approx(0.85 * 11.76)
    assert cell.half_width == pytest.approx(0.05 * 0.85 * 11.76)
    assert (cell.unit, cell.flag) == ("°Bx", "")


def test_what_a_conversion_rests_on_is_said_once(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("shot,tds_1_pct,tds_2_pct\n1,11.8 °Bx,1.35 nD\n", "utf-8")
    said = read_log(tmp_path).reading.remarks
    assert sum("A degree on the sugar scale counts 0.85 % by mass" in each for each in said) == 1


def test_definitions_need_no_word() -> None:
    assert conversion_basis("oz", density_g_per_ml=0.95, refractometer=Refractometer()) == ""


def test_the_factor_is_that_of_the_bench() -> None:
    own = Writing(refractometer=Refractometer(tds_per_brix=0.9, tds_per_brix_spread=0.0))
    cell = read_number("10 Brix", quantity("tds_1_pct"), own)
    assert (cell.value, cell.half_width) == (9.0, 0.0)


@pytest.mark.parametrize("text", ["1.34782 nD", "nD 1.34782", "n_D = 1.34782", "nD20: 1.34782"])
def test_an_index_becomes_strength(text: str) -> None:
    # ICUMSA: nD 1.34782 is 10 °Bx, quoted from memory; good to 0.005 °Bx
    cell = read_number(text, quantity("tds_pct"), Writing())
    assert cell.value == pytest.approx(8.5, abs=0.005)


def test_an_index_in_vacuum_is_another_one() -> None:
    # computed: the gap between the two kinds is 0.24 °Bx, about 0.21 % by mass
    strength = quantity("tds_pct")
    air = read_number("1.34782 nD", strength, Writing()).value
    vacuum = read_number("1.34782 nD vac", strength, Writing()).value
    assert isinstance(air, float)
    assert vacuum == pytest.approx(air - 0.21, abs=0.01)


@pytest.mark.parametrize("text", ["1.2 nD", "11.8 nD", "1.45 nD", "-3 °Bx"])
def test_no_drink_bends_light_like_that(text: str) -> None:
    cell = read_number(text, quantity("tds_pct"), Writing())
    assert "is no index of a drink" in cell.refusal or "no reading of a sugar" in cell.refusal


def test_a_yield_is_never_read_on_a_sugar_scale() -> None:
    assert read_number("20 °Bx", quantity("ey_pct"), Writing()).refusal


@pytest.mark.parametrize(
    ("text", "value"),
    [("199.4", 93.0), ("199.4°", 93.0), ("93 °C", 93.0), ("366.15 K", 93.0)],
)
def test_the_unit_of_a_cell_wins_over_that_of_its_column(text: str, value: float) -> None:
    cell = read_number(text, quantity("temp_c"), Writing(unit="°F"))
    assert cell.value == pytest.approx(value)


def test_minutes_and_seconds_need_no_unit_of_their_column() -> None:
    assert read_number("1:02", quantity("time_s"), Writing(unit="min")).value == 62.0


@pytest.mark.parametrize("text", ["g", "[°C]", "(psi)", "% w/w", "nD", "°Bx", "mL", "min."])
def test_unit_words_are_known(text: str) -> None:
    assert is_unit_word(text)


@pytest.mark.parametrize("text", ["", "18 g", "dose", "x", "NA"])
def test_other_words_are_no_units(text: str) -> None:
    assert not is_unit_word(text)
