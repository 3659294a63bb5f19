"""Whole columns of plain numbers: the same values as cell by cell, or left alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.glossary import quantity
from yieldwright.shotlog.cells.numerals import Cell, Writing, read_number
from yieldwright.shotlog.cells.plain_numbers import read_plain_numbers
from yieldwright.shotlog.formats.source import Decimal

SETTING = quantity("grind_setting")
marks = st.sampled_from(["point", "comma"])
signs = st.text(alphabet="0123456789.,+-_ \n\r\x00e%gn\u2212\uff11\u0661", max_size=9)


@given(st.lists(st.one_of(signs, st.text(max_size=6))), marks)
def test_a_plain_number_is_what_its_cell_alone_would_be(
    texts: list[str], decimal: Decimal
) -> None:
    values, is_plain = read_plain_numbers(texts, decimal)
    assert len(values) == len(is_plain) == len(texts)
    for text, value, plain in zip(texts, values, is_plain, strict=True):
        if plain:
            assert read_number(text, SETTING, Writing(decimal)) == Cell(float(value))
        else:
            assert math.isnan(value)


@given(st.lists(st.floats(-1e12, 1e12).map(lambda value: f"{value:.6f}")), marks)
def test_numbers_as_people_type_them_are_all_plain(texts: list[str], decimal: Decimal) -> None:
    typed = [text.replace(".", ",") if decimal == "comma" else text for text in texts]
    values, is_plain = read_plain_numbers(typed, decimal)
    assert is_plain.all()
    assert values.tolist() == [float(text) for text in texts]


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", "-", ".", "1.2.3", "1-2", "--5", "1e5", "1_000", "inf", "nan", "18 g"),
        *("0:36", "18\n19", "\uff11\uff18", "9" * 400, "1,5"),
    ],
)
def test_anything_else_is_left_to_the_reader_of_cells(text: str) -> None:
    values, is_plain = read_plain_numbers(["18.5", text, "36"], "point")
    assert is_plain.tolist() == [True, False, True]
    np.testing.assert_array_equal(values, [18.5, np.nan, 36.0])


def test_no_texts_are_no_numbers() -> None:
    values, is_plain = read_plain_numbers([], "point")
    assert values.size == is_plain.size == 0
