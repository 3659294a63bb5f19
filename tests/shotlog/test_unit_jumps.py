"""Numbers of another unit are offered in the column's, and never converted."""

from __future__ import annotations

import pytest

from tests.shotlog.conftest import Reader
from yieldwright.glossary import quantity
from yieldwright.shotlog.checks.unit_jumps import meant_by_unit

# Conversions by hand from the exact factors of NIST SP 811: 1 oz 28.349523125 g,
# 1 psi 6894.757293168 Pa; °F to °C by (x - 32) / 1.8.
OTHER_UNITS = [
    ("dose_g", "0.63", "0.63 → 17.9 g if ounces?"),
    ("beverage_g", "1.27", "1.27 → 36 g if ounces?"),
    ("beverage_g", "0.036", "0.036 → 36 g if kilograms?"),
    ("time_s", "0.6", "0.6 → 36 s if minutes?"),
    ("temp_c", "199", "199 → 92.8 °C if °F?"),
    ("temp_c", "365", "365 → 91.9 °C if kelvin?"),
    ("peak_bar", "130", "130 → 8.96 bar if psi?"),
    ("peak_bar", "900", "900 → 9 bar if kPa?"),
    ("peak_bar", "0.9", "0.9 → 9 bar if MPa?"),
    ("tds_pct", "0.094", "0.094 → 9.4? a fraction in place of %"),
    ("gap_min", "360", "360 → 6 min if seconds?"),
]


@pytest.mark.parametrize(("name", "text", "offer"), OTHER_UNITS)
def test_a_number_of_another_unit_is_offered_in_the_columns(
    name: str, text: str, offer: str
) -> None:
    assert meant_by_unit(text, float(text), quantity(name)) == offer


@pytest.mark.parametrize(
    ("name", "text"), [("tds_pct", "11.1"), ("tds_pct", "30"), ("time_s", "2")]
)
def test_what_no_unit_explains_is_left_alone(name: str, text: str) -> None:
    assert meant_by_unit(text, float(text), quantity(name)) == ""


def test_degrees_brix_lie_too_near_a_strength_to_be_told(read: Reader) -> None:
    rows = "".join(f"{at},{9.2 + at / 10}\n" for at in range(1, 9)) + "9,11.1\n10,11.2\n"
    assert read(f"shot,tds_pct\n{rows}").flags.empty


def test_the_middle_of_the_column_decides_between_units() -> None:
    entry = quantity("peak_bar")
    assert meant_by_unit("130", 130.0, entry, middle=9.0, scale=0.3)
    assert not meant_by_unit("130", 130.0, entry, middle=7.0, scale=0.3)


def log_of(name: str, cells: list[str]) -> str:
    """Return a log with one column of numbers."""
    return f"shot,{name}\n" + "".join(f"{at},{cell}\n" for at, cell in enumerate(cells, 1))


COLUMNS = [
    ("dose_g", ["18.0", "18.1", "17.9", "18.2", "18.0", "17.8", "18.1", "17.9"], ["0.63", "0.64"]),
    ("temp_c", ["92", "91", "92", "93", "92", "91", "92", "93"], ["199", "198", "200"]),
    ("peak_bar", ["9.0", "9.1", "8.9", "9.2", "9.0", "8.8", "9.1", "8.9"], ["130", "131"]),
    ("time_s", ["36", "35", "37", "34", "36", "38", "35", "36"], ["0.6", "0.62"]),
    ("tds_pct", ["9.41", "9.38", "9.52", "9.2", "9.6", "9.4", "9.1", "9.3"], ["0.094", "0.095"]),
]


@pytest.mark.parametrize(("name", "cells", "others"), COLUMNS)
def test_several_cells_of_another_unit_are_told_once(
    name: str, cells: list[str], others: list[str], read: Reader
) -> None:
    flags = read(log_of(name, cells + others)).flags
    told = flags[flags["shot"].isna()]
    assert told["column"].tolist() == [name]
    assert told["reason"].item().startswith(f"{len(others)} of {len(cells + others)} cells look")


@pytest.mark.parametrize(("name", "cells", "others"), COLUMNS)
def test_their_rows_are_set_aside_with_the_value_offered(
    name: str, cells: list[str], others: list[str], read: Reader
) -> None:
    log = read(log_of(name, cells + others))
    assert log.shots[name].tolist() == [float(cell) for cell in cells]
    assert all(" if " in each or "fraction" in each for each in log.set_aside["suggestion"])


def test_a_column_all_in_another_unit_is_told_by_its_usual_range(read: Reader) -> None:
    log = read(log_of("temp_c", ["199", "198", "200", "197", "199", "198", "200", "199"]))
    assert log.shots.empty
    assert set(log.flags["reason"]) == {"8 of 8 cells look like °F, such as 199: 92.8 °C"}


@pytest.mark.parametrize(("name", "cells", "_others"), COLUMNS)
def test_a_column_in_its_own_unit_is_not_doubted(
    name: str, cells: list[str], _others: list[str], read: Reader
) -> None:
    assert read(log_of(name, cells)).flags.empty


def test_keys_explain_a_single_cell_before_units_do(read: Reader) -> None:
    doses = ["18.0", "18.1", "17.9", "18.2", "18.0", "17.8", "18.1", "17.9", "180"]
    assert read(log_of("dose_g", doses)).set_aside["suggestion"].tolist() == ["180 → 18.0?"]
