"""No prediction outside the values tried, nor among combinations never tried together."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import Delaunay

from yieldwright.errors import OutOfRangeError
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.terms.design import Design, build_design
from yieldwright.models.terms.terms import Factor, Numeric
from yieldwright.models.terms.tried_combinations import (
    leverage_at,
    nearest_combination,
    require_combined,
    require_tried,
)

#: Finer the older: the corners "old and coarse", "young and fine" were never tried.
FINER_WITH_AGE = pd.DataFrame(
    {"grind": [12.0, 11.5, 11, 10.5, 10, 9.5, 9, 8.5], "age": [5.0, 8, 9, 12, 13, 16, 17, 20]}
)


def numbers(frame: pd.DataFrame) -> Design:
    return build_design(frame, [Numeric(name, step=0.5) for name in frame.columns])


def refusal(design: Design, **at: object) -> str:
    with pytest.raises(OutOfRangeError, match=r"lies outside|lies farther") as caught:
        require_combined(design, design.row(at), at)
    return str(caught.value)


def test_an_edge_is_inside() -> None:
    design = numbers(FINER_WITH_AGE)
    at = {"grind": 12.0, "age": 5.0}
    require_combined(design, design.row(at), at)


def test_beyond_an_edge_the_next_step_is_named() -> None:
    text = refusal(numbers(FINER_WITH_AGE), grind=14)
    assert "'grind' was tried from 8.5 to 12; 14 lies outside" in text
    assert "the next to try is 12.5" in text


def test_below_an_edge_the_next_step_lies_below() -> None:
    assert "the next to try is 8)" in refusal(numbers(FINER_WITH_AGE), grind=2)


def test_values_never_tried_together_are_named_together() -> None:
    text = refusal(numbers(FINER_WITH_AGE), grind=12, age=20)
    assert "'grind' 12 with 'age' 20 lies outside what was tried together" in text


def test_the_nearest_inside_is_not_refused() -> None:
    design = numbers(FINER_WITH_AGE)
    text = refusal(design, grind=12, age=20)
    inside = re.search(r"nearest inside is 'grind' ([\d.]+) with 'age' ([\d.]+)", text)
    assert inside is not None
    near = {"grind": float(inside[1]), "age": float(inside[2])}
    require_combined(design, design.row(near), near)


def test_each_value_alone_is_inside() -> None:
    design = numbers(FINER_WITH_AGE)
    for at in ({"grind": 12}, {"age": 20}):
        require_tried(design, design.row(at), at)


@given(x=st.floats(-1, 1), y=st.floats(-1, 1), seed=st.integers(0, 50))
def test_the_hull_is_that_of_a_triangulation(x: float, y: float, seed: int) -> None:
    frame = pd.DataFrame(np.random.default_rng(seed).uniform(size=(8, 2)), columns=["a", "b"])
    design = numbers(frame)
    row = np.array([1.0, x, y])
    oracle = Delaunay(design.matrix[:, 1:]).find_simplex([x, y], tol=1e-7) >= 0
    inside = nearest_combination(design, row, ["a", "b"])
    moved = abs(inside["a"] - x) + abs(inside["b"] - y)
    assert (moved < 1e-6) == oracle


def test_levels_never_met_with_such_numbers_are_seen_by_their_leverage() -> None:
    frame = pd.DataFrame(
        {"grind": [8.0, 8.5, 9, 9.5, 11, 11.5, 12, 12.5], "band": list("llllhhhh")}
    )
    design = build_design(frame, [Numeric("grind"), Factor("band")])
    text = refusal(design, grind=12.5, band="l")
    assert "'grind' 12.5 with 'band' 'l' lies farther out than any row fitted" in text
    assert "the nearest row has 'grind' 12.5 with 'band' 'h'" in text


def test_leverage_is_that_of_the_fit() -> None:
    frame = FINER_WITH_AGE.assign(y=np.arange(8.0) ** 2)
    design = numbers(FINER_WITH_AGE)
    fit = fit_least_squares(design, frame["y"])
    found = [leverage_at(design, row) for row in design.matrix]
    assert found == pytest.approx(fit.leverage.tolist())


@given(seed=st.integers(0, 200))
def test_rows_fitted_are_never_refused(seed: int) -> None:
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame(rng.uniform(size=(9, 3)), columns=["a", "b", "c"]).assign(
        band=rng.permutation(list("lllmmmhhh"))
    )
    terms = [*(Numeric(name) for name in "abc"), Factor("band")]
    design = build_design(frame, terms)
    for at in frame.to_dict("records"):
        require_combined(design, design.row(at), at)


@pytest.mark.parametrize("text", ["$x$", "<b>", "a\nb"])
def test_names_from_a_log_are_shown_on_one_line(text: str) -> None:
    design = build_design(pd.DataFrame({text: [1.0, 2.0, 3.0]}), [Numeric(text)])
    assert "\n" not in refusal(design, **{text: 9.0})
