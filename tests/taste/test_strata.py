"""Where each column is judged, and what has to be true for it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.taste.logs import BENCH, comparable, log
from yieldwright.taste.columns.predictors import Prepared, Question, prepare
from yieldwright.taste.strata.strata import group_means, laid_out, linked_levels


def prepared(shots: pd.DataFrame, *settings: str) -> Prepared:
    columns = settings or ("grind_setting", "temp_band", "taper_bar")
    return prepare(
        comparable(shots), Question("ey_pct", BENCH, columns, ("roast_age_d", "position"))
    )


def names(predictors: tuple) -> set[str]:
    return {each.column for each in predictors}


def test_what_varies_inside_sessions_is_judged_there() -> None:
    layout = laid_out(prepared(log()))
    assert layout.blocked
    assert names(layout.between) == {"roast_age_d"}
    assert names(layout.inside) == {"grind_setting", "temp_band", "taper_bar", "position"}


def test_one_session_needs_no_blocks() -> None:
    layout = laid_out(prepared(log(sessions=1, shots=9)))
    assert not layout.blocked
    assert layout.between == ()


@pytest.mark.parametrize(
    ("sessions", "shots", "stratum"), [(6, 1, "pooled"), (6, 2, "within sessions")]
)
def test_two_shots_a_session_are_the_least_for_blocks(
    sessions: int, shots: int, stratum: str
) -> None:
    assert laid_out(prepared(log(sessions, shots))).stratum == stratum


def test_a_column_that_differs_by_rounding_is_constant_inside() -> None:
    shots = log()
    shots["dose_g"] = np.where(shots["position"] % 2 == 0, 18.1, 18.1 + 2e-15)
    shots["dose_g"] += 0.5 * shots["session"].factorize()[0]
    layout = laid_out(
        prepare(comparable(shots), Question("ey_pct", BENCH, ("grind_setting",), ("dose_g",)))
    )
    assert "dose_g" in names(layout.between)


def test_levels_linked_through_a_third_belong_together() -> None:
    rows = pd.DataFrame(
        {"session": list("aabb"), "temp_band": ["low", "medium", "medium", "high"]}
    )
    assert linked_levels(rows, "temp_band") == (frozenset({"low", "medium", "high"}),)


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=30))
def test_groups_of_levels_part_them(pairs: list[tuple[int, int]]) -> None:
    rows = pd.DataFrame(pairs, columns=["session", "temp_band"])
    groups = linked_levels(rows, "temp_band")
    levels = [level for group in groups for level in group]
    assert sorted(levels) == sorted(rows["temp_band"].unique())
    for _, inside in rows.groupby("session")["temp_band"]:
        assert sum(bool(group & set(inside)) for group in groups) == 1


@given(st.lists(st.tuples(st.integers(0, 4), st.floats(-100, 100)), min_size=1, max_size=30))
def test_group_means_are_those_of_a_table(pairs: list[tuple[int, float]]) -> None:
    codes = pd.Series([code for code, _ in pairs]).factorize()[0]
    values = np.array([value for _, value in pairs])
    expected = pd.Series(values).groupby(codes).mean().to_numpy()
    assert group_means(values, codes) == pytest.approx(expected)


def test_two_islands_of_levels_keep_the_larger_and_count_the_rest() -> None:
    shots = log(sessions=5)
    far = shots["session"] == "day 5"
    shots.loc[far, "temp_band"] = ["very high", "hottest"] * 3
    layout = laid_out(prepared(shots))
    assert len(layout.frame) == 24
    assert layout.left_out[0][1] == (
        "hottest and very high never stood in one session with low, medium or high"
    )
