"""Rows of a bag: what may stand beside the age, decided by the layout alone."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.evidence.bags import BENCH, bag_logs
from yieldwright.ageing.trend.rows import AGE, BagRows, bag_rows
from yieldwright.errors import UnknownNameError
from yieldwright.taste.columns.comparable import set_of


def rows_of(shots: pd.DataFrame, response: str = "time_s", **asked: object) -> BagRows:
    """Return the rows of a table."""
    return bag_rows(set_of(shots), response, bench=BENCH, **asked)  # type: ignore[arg-type]


@pytest.fixture
def shots() -> pd.DataFrame:
    """Return a bag pulled in twelve sessions of three."""
    return bag_logs("line", 1, np.random.default_rng(2))[0]


def test_a_grind_and_a_dose_that_differ_stand_beside_the_age(shots: pd.DataFrame) -> None:
    found = rows_of(shots)
    assert [each.column for each in found.beside] == ["grind_setting", "dose_g"]
    assert found.has_age
    assert found.grouped
    assert found.declined == ()


def test_a_column_that_never_differs_does_not_enter(shots: pd.DataFrame) -> None:
    found = rows_of(shots.assign(grind_setting=11.0))
    assert found.predictor("grind_setting") is None
    assert dict(found.prepared.left_out)["grind_setting"]


def test_a_band_of_whole_sessions_needs_sessions_left_over(shots: pd.DataFrame) -> None:
    few = shots[shots["session"].isin(shots["session"].unique()[:4])]
    band = np.where(few["roast_age_d"] > few["roast_age_d"].median(), "high", "low")
    assert dict(rows_of(few.assign(temp_band=band)).declined)["temp_band"] == "too few sessions"


def test_columns_beside_the_age_need_five_rows_each(shots: pd.DataFrame) -> None:
    few = shots.groupby("session").head(1).head(7)
    found = rows_of(few)
    assert [each.column for each in found.beside] == ["grind_setting"]
    assert dict(found.declined) == {"dose_g": "too few shots"}


def test_a_service_needs_four_shots_on_either_side(shots: pd.DataFrame) -> None:
    late = ["before it"] * (len(shots) - 3) + ["since it"] * 3
    found = rows_of(shots.assign(service_stretch=late))
    assert dict(found.declined)["service_stretch"].startswith("fewer than 4 shots")
    middle = ["before it"] * 18 + ["since it"] * (len(shots) - 18)
    assert rows_of(shots.assign(service_stretch=middle)).predictor("service_stretch") is not None


def test_one_shot_a_session_leaves_no_session_to_shift_them(shots: pd.DataFrame) -> None:
    assert not rows_of(shots.groupby("session").head(1)).grouped


def test_what_is_the_same_all_through_each_session_is_known(shots: pd.DataFrame) -> None:
    found = rows_of(shots)
    assert found.same_in_sessions(AGE)
    assert not found.same_in_sessions("grind_setting")


def test_a_column_can_be_let_go(shots: pd.DataFrame) -> None:
    assert rows_of(shots).without("grind_setting").predictor("grind_setting") is None


def test_shots_without_an_age_have_none_and_none_is_a_zero(shots: pd.DataFrame) -> None:
    found = rows_of(shots.drop(columns="roast_age_d"))
    assert not found.has_age
    assert np.isnan(found.ages).all()


def test_the_response_never_decides_what_enters(shots: pd.DataFrame) -> None:
    shuffled = shots.assign(time_s=shots["time_s"].to_numpy()[::-1] ** 2)
    assert rows_of(shuffled).beside == rows_of(shots).beside


def test_a_column_that_is_not_in_the_glossary_is_refused(shots: pd.DataFrame) -> None:
    with pytest.raises(UnknownNameError, match="grid_setting"):
        rows_of(shots, beside=["grid_setting"])
