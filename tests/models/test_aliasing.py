"""Columns that cannot be told apart are named, never answered."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.errors import AliasedColumnsError
from yieldwright.models.linear.aliasing import aliased_groups
from yieldwright.models.linear.model import fit_least_squares, fit_polynomial
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Factor, Numeric


def log(**columns: object) -> pd.DataFrame:
    rng = np.random.default_rng(4)
    base = {"grind": rng.uniform(8, 12, 12), "dose": rng.normal(18, 0.2, 12)}
    return pd.DataFrame({**base, "y": rng.normal(size=12), **columns})


def test_a_multiple_of_another_column_is_named() -> None:
    frame = log()
    frame["age"] = 3 * frame["grind"] + 40
    design = build_design(frame, [Numeric("grind"), Numeric("dose"), Numeric("age")])
    with pytest.raises(AliasedColumnsError, match="'grind' and 'age' cannot be told") as refusal:
        fit_least_squares(design, frame["y"])
    assert refusal.value.columns == ("grind", "age")


def test_a_sum_of_columns_names_all_of_them() -> None:
    frame = log()
    frame["sum"] = frame["grind"] + frame["dose"]
    design = build_design(frame, [Numeric("grind"), Numeric("dose"), Numeric("sum")])
    assert aliased_groups(design) == (("grind", "dose", "sum"),)


def test_two_pairs_are_two_groups() -> None:
    frame = log(band=list("ab") * 6, roast=["dark", "light"] * 6)
    frame["age"] = -frame["grind"]
    terms = [Numeric("grind"), Factor("band"), Numeric("age"), Factor("roast"), Numeric("dose")]
    groups = aliased_groups(build_design(frame, terms))
    assert sorted(groups) == [("band", "roast"), ("grind", "age")]


def test_a_setting_constant_in_each_session_is_named_with_it() -> None:
    frame = log(day=np.repeat(list("wxyz"), 3), band=np.repeat(["low", "high", "low", "high"], 3))
    design = build_design(frame, [Factor("band"), Blocks("day"), Numeric("grind")])
    with pytest.raises(AliasedColumnsError, match="'band' and 'day' cannot be") as refusal:
        fit_least_squares(design, frame["y"])
    assert refusal.value.columns == ("band", "day")


def test_a_curve_through_two_values_is_named_alone() -> None:
    frame = log(age=[0.1, 0.3] * 6)
    design = build_design(frame, [Numeric("age", power=2), Numeric("grind")])
    with pytest.raises(AliasedColumnsError, match="'age' has too few different values") as refusal:
        fit_least_squares(design, frame["y"])
    assert refusal.value.columns == ("age",)


def test_columns_that_differ_by_rounding_are_aliased() -> None:
    frame = log()
    frame["hold"], frame["end"] = frame["grind"] - 2, frame["dose"] - 12
    frame["taper"] = (frame["hold"] - frame["end"]).round(14)
    design = build_design(frame, [Numeric("hold"), Numeric("end"), Numeric("taper")])
    assert aliased_groups(design) == (("hold", "end", "taper"),)


def test_columns_that_nearly_agree_are_still_fitted() -> None:
    frame = log()
    frame["age"] = frame["grind"] + np.random.default_rng(1).normal(0, 1e-3, 12)
    design = build_design(frame, [Numeric("grind"), Numeric("age")])
    fit = fit_least_squares(design, frame["y"])
    assert aliased_groups(design) == ()
    assert fit.term_vif["grind"] > 1e5


def test_a_plain_matrix_reports_its_names() -> None:
    column = np.arange(6.0)
    matrix = np.column_stack([np.ones(6), column, 2 * column, column**2])
    with pytest.raises(AliasedColumnsError, match="'p' and 'q' cannot be told") as refusal:
        fit_least_squares(matrix, np.arange(6.0) ** 3, names=["one", "p", "q", "r"])
    assert refusal.value.columns == ("p", "q")


def test_a_constant_column_of_a_plain_matrix_is_named() -> None:
    matrix = np.column_stack([np.ones(6), np.full(6, 3.1), np.arange(6.0)])
    with pytest.raises(AliasedColumnsError, match="'x1' has too few") as refusal:
        fit_least_squares(matrix, np.arange(6.0) ** 2)
    assert refusal.value.columns == ("x1",)


def test_a_polynomial_through_too_few_places_is_refused() -> None:
    with pytest.raises(AliasedColumnsError, match="cannot be told apart"):
        fit_polynomial(np.array([1.0, 2.0, 3.0] * 3), np.arange(9.0), 3)


@settings(max_examples=25)
@given(
    scale=st.floats(1e-6, 1e6),
    shift=st.floats(-1e3, 1e3),
    sign=st.sampled_from([-1, 1]),
)
def test_units_never_hide_an_alias(scale: float, shift: float, sign: int) -> None:
    frame = log()
    frame["age"] = sign * scale * (frame["grind"] + shift)
    design = build_design(frame, [Numeric("grind"), Numeric("age"), Numeric("dose")])
    assert aliased_groups(design) == (("grind", "age"),)


def test_independent_columns_form_no_group() -> None:
    design = build_design(log(), [Numeric("grind", power=2), Numeric("dose")])
    assert aliased_groups(design) == ()
