"""Single cells: numbers in either decimal mark, units by exact factors, any text at all."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.glossary import SHOT_QUANTITIES, Quantity, quantity
from yieldwright.shotlog import read_log, score_table
from yieldwright.shotlog.cells import read_cells
from yieldwright.shotlog.dialect import Decimal
from yieldwright.shotlog.numerals import read_number
from yieldwright.shotlog.units import convert

EXAMPLES = {entry.name: entry.example for entry in SHOT_QUANTITIES} | {
    "tds_1_pct": "9.2",
    "tds_2_pct": "9.4",
    "overall": "6",
}
marks = st.sampled_from(["point", "comma"])
words = st.text(alphabet="0123456789.,:-–~±/ xgsm%°FC\u2212\u00a0inf", max_size=10)


@given(st.floats(-1e9, 1e9, allow_subnormal=False), marks)
def test_a_number_comes_back_in_either_mark(value: float, decimal: Decimal) -> None:
    text = f"{value:.6f}" if decimal == "point" else f"{value:.6f}".replace(".", ",")
    cell = read_number(text, quantity("grind_setting"), decimal)
    assert cell.value == float(f"{value:.6f}")
    assert cell.refusal == cell.flag == ""


@given(st.one_of(words, st.text(max_size=12)), st.sampled_from(SHOT_QUANTITIES), marks)
def test_any_text_is_a_value_or_missing_or_refused(
    text: str, entry: Quantity, decimal: Decimal
) -> None:
    cell = read_cells([text], entry, decimal=decimal)[text]
    if cell.refusal:
        assert cell.value is None
        assert cell.suggestion
    elif isinstance(cell.value, float):
        assert math.isfinite(cell.value)


@given(st.text(max_size=12))
def test_a_missing_number_is_empty_or_flagged(text: str) -> None:
    cell = read_number(text, quantity("dose_g"), "point")
    if cell.value is None and not cell.refusal:
        assert cell.flag or not text.strip()


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "expected"),
    [
        # NIST SP 811 (2008), appendix B.8, printed factors
        (1, "oz", "g", 28.34952),
        (1, "psi", "bar", 0.06894757),
        (1, "atm", "bar", 1.01325),
        # exact by definition
        (212, "°F", "°C", 100.0),
        (273.15, "K", "°C", 0.0),
        (900, "kPa", "bar", 9.0),
        (0.9, "MPa", "bar", 9.0),
        (2, "min", "s", 120.0),
        (2, "weeks", "d", 14.0),
        (1.5, "h", "min", 90.0),
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
    [("mL", "g"), ("ml.", "g"), ("°Bx", "% by mass"), ("C", "g"), ("g", "°C"), ("G", "bar")],
)
def test_units_of_another_kind_are_refused(unit: str, wanted: str) -> None:
    assert convert(36.0, unit, wanted).refusal


def test_a_reading_in_brix_names_the_range_of_its_factor() -> None:
    # common practice, no source: 0.85 give or take 5 %
    assert "between 9.5 and 10.5 %" in convert(11.76, "°Bx", "% by mass").suggestion


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where a log is written again and again."""
    return tmp_path_factory.mktemp("columns") / "shots.csv"


@settings(max_examples=60)
@given(
    st.lists(st.sampled_from(sorted(EXAMPLES)), min_size=1, max_size=9, unique=True),
    st.lists(st.lists(st.booleans(), min_size=9, max_size=9), max_size=3),
)
def test_any_columns_filled_or_not_make_a_log(
    path: Path, names: list[str], filled: list[list[bool]]
) -> None:
    rows = [
        "\t".join(
            EXAMPLES[name] if is_filled else ""
            for name, is_filled in zip(names, row, strict=False)
        )
        for row in filled
    ]
    path.write_text("\n".join(["\t".join(names), *rows]) + "\n", encoding="utf-8")
    log = read_log(path)
    assert log.reading.adds_up
    assert len(score_table(log)) == len(log.shots)
