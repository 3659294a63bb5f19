"""Asking a table about its columns before anything is fitted."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from yieldwright.errors import AliasedColumnsError, OutOfRangeError, UnknownNameError
from yieldwright.models.terms.columns import (
    column_numbers,
    column_values,
    complete_rows,
    constant_columns,
    levels_present,
)


def test_one_value_is_constant_and_two_are_not() -> None:
    frame = pd.DataFrame({"a": [1, 1, 1], "b": [1, 1, 2], "c": ["x", "x", "x"]})
    assert constant_columns(frame, ["a", "b", "c"]) == ("a", "c")


def test_gaps_do_not_make_a_column_vary() -> None:
    frame = pd.DataFrame({"a": [1.0, np.nan, 1.0], "b": [np.nan] * 3, "c": ["x", None, "x"]})
    assert constant_columns(frame, ["a", "b", "c"]) == ("a", "b", "c")


def test_rounding_of_decimals_does_not_make_a_column_vary() -> None:
    # Hold less end pressure: 3.1 bar each time, but not in binary.
    frame = pd.DataFrame({"taper": [8.5 - 5.4, 8.4 - 5.3, 9.1 - 6.0]})
    assert len(set(frame["taper"])) > 1
    assert constant_columns(frame, ["taper"]) == ("taper",)


def test_a_small_change_of_a_large_number_varies() -> None:
    frame = pd.DataFrame({"seconds": [1.7e9, 1.7e9 + 1]})
    assert constant_columns(frame, ["seconds"]) == ()


def test_flags_can_be_constant() -> None:
    frame = pd.DataFrame({"paper": pd.array([True, True, None], dtype="boolean")})
    assert constant_columns(frame, ["paper"]) == ("paper",)


def test_an_empty_table_varies_in_nothing() -> None:
    assert constant_columns(pd.DataFrame({"a": pd.Series(dtype=float)}), ["a"]) == ("a",)


def test_rows_are_complete_where_every_column_is() -> None:
    frame = pd.DataFrame({"a": [1.0, np.nan, 2.0], "b": ["x", "y", None]}, index=[7, 8, 9])
    pd.testing.assert_series_equal(
        complete_rows(frame, ["a", "b"]), pd.Series([True, False, False], index=[7, 8, 9])
    )


def test_levels_keep_a_stated_order_and_lose_those_without_rows() -> None:
    frame = pd.DataFrame({"band": ["high", "low", "odd", None]})
    assert levels_present(frame, "band", order=["low", "medium", "high"]) == ("low", "high", "odd")


def test_numbers_sort_before_texts() -> None:
    frame = pd.DataFrame({"level": ["b", 10, "a", 9]})
    assert levels_present(frame, "level") == (9, 10, "a", "b")


def test_an_unknown_header_is_answered_with_the_nearest() -> None:
    frame = pd.DataFrame({"grind_setting": [1]})
    with pytest.raises(UnknownNameError, match=r"no column 'grind_seting'; did you mean 'grind_"):
        column_values(frame, "grind_seting")


def test_a_header_that_stands_twice_is_refused_by_name() -> None:
    frame = pd.DataFrame([[1, 2]], columns=["a", "a"])
    with pytest.raises(AliasedColumnsError, match="2 columns carry the header 'a'") as refusal:
        column_values(frame, "a")
    assert refusal.value.columns == ("a",)


def test_text_is_no_number() -> None:
    with pytest.raises(OutOfRangeError, match="'a' must hold numbers"):
        column_numbers(pd.DataFrame({"a": ["1", "2"]}), "a")


@pytest.mark.parametrize("gap", [np.nan, np.inf, -np.inf])
def test_a_gap_is_counted_and_placed(gap: float) -> None:
    frame = pd.DataFrame({"a": [1.0, gap, gap]}, index=["s1", "s2", "s3"])
    with pytest.raises(OutOfRangeError, match="2 of 3 rows do not, first at row 's2'"):
        column_numbers(frame, "a")


@pytest.mark.parametrize("dtype", ["Int64", "Float64", "boolean", "int8", "bool"])
def test_every_numeric_kind_is_read(dtype: str) -> None:
    frame = pd.DataFrame({"a": pd.array([0, 1, 1], dtype="Int64").astype(dtype)})
    assert column_numbers(frame, "a").tolist() == [0.0, 1.0, 1.0]
