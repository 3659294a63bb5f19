"""Single cells and whole rows of them: any text at all, in any column."""

from __future__ import annotations

import math
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.formatting import visible
from yieldwright.glossary import SHOT_QUANTITIES, Quantity, quantity
from yieldwright.shotlog import read_log, score_table
from yieldwright.shotlog.cells.cells import read_cells
from yieldwright.shotlog.cells.numerals import Cell, Writing, read_number
from yieldwright.shotlog.formats.source import Decimal
from yieldwright.shotlog.formats.texts import TextColumn

EXAMPLES = {entry.name: entry.example for entry in SHOT_QUANTITIES} | {
    "tds_1_pct": "9.2",
    "tds_2_pct": "9.4",
    "overall": "6",
}
marks = st.sampled_from(["point", "comma"])
NUMBERS = [entry for entry in SHOT_QUANTITIES if entry.is_numeric]
units = st.sampled_from(["", "oz", "°F", "psi", "mL", "nD", "°Bx", "min", "%", "clicks", "mPa"])
densities = st.sampled_from([None, 0.95])
writings = st.builds(Writing, marks, units, densities)
#: The signs that numbers, units, ranges, clocks and days are made of.
signs = st.sampled_from([*"0123456789.,:-–~±/ x'\"=#", "\u2212", "\u00a0", "\u0661", "\uff11"])
pieces = st.sampled_from(
    [
        "g",
        "oz",
        "mL",
        "°F",
        "K",
        "%",
        "s",
        "min",
        "nD",
        "1.34",
        "°Bx",
        "to",
        "..",
        "1:",
        "18",
        "May",
    ]
)
words = st.lists(st.one_of(signs, pieces), max_size=8).map("".join)


@given(st.floats(-1e9, 1e9, allow_subnormal=False), marks)
def test_a_number_comes_back_in_either_mark(value: float, decimal: Decimal) -> None:
    text = f"{value:.6f}" if decimal == "point" else f"{value:.6f}".replace(".", ",")
    cell = read_number(text, quantity("grind_setting"), Writing(decimal))
    assert cell == Cell(float(f"{value:.6f}"))


@given(st.one_of(words, st.text(max_size=12)), st.sampled_from(NUMBERS), writings)
def test_any_text_is_a_number_or_missing_or_refused(
    text: str, entry: Quantity, writing: Writing
) -> None:
    cell = read_number(text, entry, writing)
    if cell.refusal:
        assert cell == Cell(refusal=cell.refusal, suggestion=cell.suggestion)
        assert cell.suggestion
    elif cell.value is None:
        assert cell.flag or not text.strip()
    else:
        assert isinstance(cell.value, float)
        assert math.isfinite(cell.value)
        assert any(unicodedata.decimal(sign, None) is not None for sign in text)
    assert 0 <= cell.half_width < math.inf


@given(st.one_of(words, st.text(max_size=12)), st.sampled_from(NUMBERS), writings)
def test_outer_blanks_change_nothing(text: str, entry: Quantity, writing: Writing) -> None:
    plain, padded = text.strip(), f"  {text.strip()}\u00a0"
    assert read_number(padded, entry, writing) == read_number(plain, entry, writing)


@given(st.one_of(words, st.text(max_size=12)), st.sampled_from(NUMBERS))
def test_what_is_said_of_a_cell_can_be_printed(text: str, entry: Quantity) -> None:
    cell = read_number(text, entry, Writing())
    assert visible(cell.refusal + cell.flag + cell.suggestion) == (
        cell.refusal + cell.flag + cell.suggestion
    )


@given(st.text(max_size=12), st.sampled_from(SHOT_QUANTITIES), marks)
def test_any_column_takes_any_text(text: str, entry: Quantity, decimal: Decimal) -> None:
    cells = read_cells(TextColumn.of([text]), entry, Writing(decimal))
    assert len(cells.held) == 1
    for cell in cells.odd.values():
        assert cell.refusal or cell.flag or cell.unit or cell.half_width


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
