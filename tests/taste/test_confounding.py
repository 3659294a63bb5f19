"""Variance inflation, and limits that suit the size of a log."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.aliases import separable
from yieldwright.taste.confounding.confounding import (
    SweptColumns,
    entanglements,
    inflation_limits,
    sweep,
)


def numbers(*names: str) -> list[Predictor]:
    return [Predictor(name, "setting") for name in names]


def swept(frame: pd.DataFrame, *, session: str | None = None):
    codes = frame[session].factorize()[0] if session else np.zeros(len(frame), dtype=int)
    return sweep(frame, numbers(*[name for name in frame if name != session]), codes)


def test_inflation_equals_the_reference_on_longley(reference: Path) -> None:
    # NIST StRD Longley, vif() of R's car 3.1-1; tolerance as stated with the values.
    folder = reference / "stats" / "ols_vif_longley"
    expected = json.loads((folder / "expected.json").read_text())["expected"]["vif"]
    columns = swept(pd.read_csv(folder / "data.csv").drop(columns="y"))
    found = {name: columns.inflation(name, list(columns.columns)) for name in columns.columns}
    assert found == pytest.approx(expected, rel=1e-6)


@given(st.floats(min_value=-0.99, max_value=0.99))
def test_inflation_of_a_pair_is_one_over_what_the_other_leaves(correlation: float) -> None:
    # Identity: VIF = 1 / (1 − r²), with columns built to have exactly this correlation.
    first = np.array([1.0, 1.0, -1.0, -1.0])
    second = np.array([1.0, -1.0, 1.0, -1.0])
    mixed = correlation * first + math.sqrt(1 - correlation**2) * second
    columns = swept(pd.DataFrame({"grind_setting": first, "taper_bar": mixed}))
    found = columns.inflation("grind_setting", ["taper_bar"])
    assert found == pytest.approx(1 / (1 - correlation**2))


def test_what_follows_session_means_inflates_nothing_inside_sessions() -> None:
    frame = pd.DataFrame(
        {
            "day": list("aabbcc"),
            "grind_setting": [10.0, 11.0, 20.0, 21.0, 30.0, 31.0],
            "dose_g": [1.0, 1.0, 2.0, 2.0, 3.0, 3.1],
        }
    )
    assert swept(frame[["grind_setting", "dose_g"]]).inflation("grind_setting", ["dose_g"]) > 50
    inside = swept(frame, session="day").inflation("grind_setting", ["dose_g"])
    assert inside == pytest.approx(1.5)


def test_rounding_never_takes_inflation_below_one() -> None:
    rng = np.random.default_rng(2)
    found = []
    for _ in range(300):
        # Orthogonal but for rounding: 1 less a hair would have no square root of 1 − 1/vif.
        basis = np.linalg.qr(rng.normal(size=(12, 4)))[0]
        swept = SweptColumns({"a": basis[:, :1], "b": basis[:, 1:]}, 11)
        found.append(swept.inflation("a", ["b"]))
    assert min(found) >= 1.0
    assert max(found) == pytest.approx(1.0)


def test_a_column_that_follows_from_another_is_infinitely_inflated() -> None:
    columns = swept(pd.DataFrame({"a": [1.0, 2.0, 4.0], "b": [3.0, 5.0, 9.0]}))
    assert columns.inflation("a", ["b"]) == math.inf


def test_a_column_alone_is_not_inflated() -> None:
    columns = swept(pd.DataFrame({"a": [1.0, 2.0, 4.0]}))
    assert columns.inflation("a", ["a"]) == 1.0


def test_levels_count_as_one_term() -> None:
    # Balanced two-way layout: orthogonal, so no inflation whatever the number of levels.
    frame = pd.DataFrame({"temp_band": list("aabbcc"), "grind_setting": [1.0, 2.0] * 3})
    predictors = [
        Predictor("temp_band", "setting", levels=("a", "b", "c")),
        *numbers("grind_setting"),
    ]
    columns = sweep(frame, predictors, np.zeros(6, dtype=int))
    assert columns.inflation("temp_band", ["grind_setting"]) == pytest.approx(1.0)


def test_the_column_that_follows_and_those_it_follows_from_are_named() -> None:
    rng = np.random.default_rng(3)
    frame = pd.DataFrame(rng.normal(size=(12, 3)), columns=["a", "b", "c"])
    frame["d"] = frame["a"] - frame["c"]
    kept, aliased = separable(swept(frame), ["a", "b", "c", "d"])
    assert kept == ("a", "b", "c")
    assert aliased == {"d": ("a", "c")}


def test_the_partner_is_the_column_whose_absence_helps_most() -> None:
    rng = np.random.default_rng(4)
    frame = pd.DataFrame(rng.normal(size=(40, 3)), columns=["a", "b", "c"])
    frame["c"] = frame["a"] + 0.1 * frame["c"]
    found = entanglements(swept(frame), ["a", "b", "c"])
    assert found["a"].partner == "c"
    assert found["a"].colour == "red"
    assert found["b"].colour == "green"


@given(
    seed=st.integers(0, 10_000),
    near=st.sampled_from([1.0, 0.1, 0.02, 1e-3, 1e-5, 0.0]),
    bands=st.integers(2, 3),
)
def test_all_inflations_together_are_those_of_one_term_after_another(
    seed: int, near: float, bands: int
) -> None:
    rng = np.random.default_rng(seed)
    frame = pd.DataFrame(rng.normal(size=(14, 3)), columns=["a", "b", "c"])
    frame["b"] = frame["a"] + near * frame["b"]
    frame["band"] = rng.permutation(np.resize(list("xyz"[:bands]), 14))
    predictors = [
        *numbers("a", "b", "c"),
        Predictor("band", "setting", levels=tuple("xyz"[:bands])),
    ]
    columns = sweep(frame, predictors, np.zeros(14, dtype=int))
    together = columns.inflations(list(columns.columns))
    for name, found in together.items():
        assert found == pytest.approx(columns.inflation(name, list(together)), rel=1e-9)


@pytest.mark.parametrize("df", [23, 29, 53])
def test_limits_are_the_agreed_constants_from_24_shots_on(df: int) -> None:
    # Policy: amber 2.5 and red 5 with 24 shots or more; five terms, one a band of two columns.
    for width in (1, 2):
        limits = inflation_limits(width=width, others=5, df=df, n_terms=5)
        assert (limits.amber, limits.red) == (2.5, 5.0)


def test_the_limit_of_one_column_is_the_quantile_of_f() -> None:
    # F tables: upper 2.5 % of F(1, 4) is 12.22; two terms share 5 %.
    limits = inflation_limits(width=1, others=1, df=5, n_terms=2)
    assert limits.amber == pytest.approx(1 + 12.22 / 4, abs=0.002)
    assert limits.red == 5.0


@given(
    df=st.integers(min_value=6, max_value=60),
    others=st.integers(min_value=1, max_value=8),
    width=st.integers(min_value=1, max_value=3),
)
def test_limits_never_fall_below_the_constants_and_never_rise_with_more_shots(
    df: int, others: int, width: int
) -> None:
    small = inflation_limits(width=width, others=others, df=df, n_terms=others + 1)
    large = inflation_limits(width=width, others=others, df=df + 10, n_terms=others + 1)
    assert 2.5 <= large.amber <= small.amber <= small.red
    assert 5.0 <= large.red <= small.red


def test_a_log_with_fewer_rows_than_terms_gives_no_limit_at_all() -> None:
    assert inflation_limits(width=2, others=5, df=5, n_terms=6).amber == math.inf


def test_a_single_term_is_held_against_the_constants() -> None:
    assert inflation_limits(width=1, others=0, df=3, n_terms=1).amber == 2.5


@pytest.mark.parametrize("width", [1, 2])
def test_five_in_a_hundred_random_designs_cross_the_limit(width: int) -> None:
    # Columns of pure chance, one term tested: 4 binomial standard errors about 5 %.
    rng = np.random.default_rng(11)
    limits = inflation_limits(width=width, others=4, df=9, n_terms=1)
    crossed = 0
    logs = 1500
    for _ in range(logs):
        columns = rng.normal(size=(10, width + 4))
        correlation = np.corrcoef(columns, rowvar=False)
        own, rest = slice(0, width), slice(width, width + 4)
        logs_of = [
            np.linalg.slogdet(np.atleast_2d(correlation[part, part])) for part in (own, rest)
        ]
        whole = np.linalg.slogdet(correlation)
        vif = np.exp((logs_of[0][1] + logs_of[1][1] - whole[1]) / width)
        crossed += vif > limits.amber
    assert crossed / logs == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / logs))
