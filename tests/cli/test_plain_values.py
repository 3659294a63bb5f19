"""Plain values keep every digit, and say of a number that is none why it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
import pytest

from yieldwright.cli.plain_values import NO_LOWER_END, NO_UPPER_END, UNKNOWN, plain


@dataclass(frozen=True)
class Limits:
    """An interval as a part may hold it."""

    low: float
    high: float


@pytest.mark.parametrize(
    ("number", "why"),
    [
        (math.nan, UNKNOWN),
        (np.float64("nan"), UNKNOWN),
        (pd.NA, UNKNOWN),
        (pd.NaT, UNKNOWN),
        (math.inf, NO_UPPER_END),
        (np.float64("-inf"), NO_LOWER_END),
    ],
)
def test_a_number_that_is_none_is_none_with_its_reason_right_behind(
    number: object, why: str
) -> None:
    told = plain({"n": number, "beside": 1.0})
    assert list(told.items()) == [("n", None), ("n_why", why), ("beside", 1.0)]


def test_a_table_becomes_rows_each_with_its_own_reasons() -> None:
    table = pd.DataFrame({"name": ["a", "b"], "high": [math.inf, 2.5]})
    assert plain(table) == [
        {"name": "a", "high": None, "high_why": NO_UPPER_END},
        {"name": "b", "high": 2.5},
    ]


def test_a_value_with_fields_becomes_an_object_however_deep_it_lies() -> None:
    told = plain({"grind": [Limits(-math.inf, 1.0)]})
    assert told == {"grind": [{"low": None, "low_why": NO_LOWER_END, "high": 1.0}]}


def test_a_list_of_numbers_has_a_list_of_reasons_where_one_is_none() -> None:
    told = plain({"spans": ((math.nan, 2.0), (1.0, 2.0)), "levels": np.array([1.0, 2.0])})
    assert told == {
        "spans": [[None, 2.0], [1.0, 2.0]],
        "spans_why": [[UNKNOWN, None], None],
        "levels": [1.0, 2.0],
    }


def test_what_there_is_nothing_of_has_no_reason() -> None:
    assert plain({"peak": None}) == {"peak": None}


def test_a_closer_reason_stands_for_what_is_not_known_alone() -> None:
    why = {"p_holm": "is shared among settings"}
    assert plain({"p_holm": math.nan}, why_missing=why)["p_holm_why"] == "is shared among settings"
    assert plain({"p_holm": math.inf}, why_missing=why)["p_holm_why"] == NO_UPPER_END


@pytest.mark.parametrize("names", [("t1", "t1_why"), ("t1_why", "t1")])
def test_a_code_of_a_log_is_never_replaced_by_a_reason(names: tuple[str, str]) -> None:
    values = {"t1": math.nan, "t1_why": 3.0}
    assert plain({name: values[name] for name in names}) == {"t1": None, "t1_why": 3.0}


def test_days_flags_and_counts_stay_what_they_are() -> None:
    told = plain({"day": date(2026, 3, 8), "n": np.int64(3), "sure": np.bool_(True), "unit": "s"})
    assert told == {"day": "2026-03-08", "n": 3, "sure": True, "unit": "s"}
    assert type(told["n"]) is int
    assert told["sure"] is True
