"""Where cells usually lie: robust, by group, and never from a few cells."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from yieldwright.shotlog.checks.spread import groups_of_rows, levels_of, usual_spread
from yieldwright.shotlog.checks.written import Written

COLUMNS = st.lists(st.integers(100, 400), min_size=8, max_size=40)


def spread_of(values: np.ndarray, groups: np.ndarray | None = None):
    """Return the spread of a column written in tenths."""
    texts = [f"{value:.1f}" for value in values]
    return usual_spread(
        values, texts, np.zeros(len(values), dtype=int) if groups is None else groups, finest=1e-9
    )


@given(COLUMNS)
def test_middle_and_spread_are_median_and_median_distance(tenths: list[int]) -> None:
    values = np.array(tenths) / 10
    spread = spread_of(values)
    oracle = median_abs_deviation(values, scale=1 / 1.4826) * (1 + 5 / len(values))
    assert spread.middle == pytest.approx(np.median(values))
    if oracle > 0:
        assert spread.scale == pytest.approx(np.maximum(oracle, 0.01 * np.median(values)))


@given(COLUMNS, COLUMNS)
def test_each_group_is_as_if_alone(first: list[int], second: list[int]) -> None:
    values = np.array([*first, *second]) / 10
    groups = np.repeat([0, 1], [len(first), len(second)])
    both = spread_of(values, groups)
    assert both.middle[groups == 0] == pytest.approx(spread_of(values[groups == 0]).middle)
    assert both.scale[groups == 1] == pytest.approx(spread_of(values[groups == 1]).scale)


@given(COLUMNS)
def test_one_wrong_cell_hardly_moves_it(tenths: list[int]) -> None:
    values = np.array(tenths) / 10
    wrong = np.append(values[:-1], 1e6)
    assert spread_of(wrong).middle[0] <= np.sort(values)[len(values) // 2 + 1 :].min(initial=40.0)


def test_seven_cells_have_no_middle() -> None:
    assert np.isnan(spread_of(np.full(7, 18.0)).middle).all()


def test_a_small_group_is_held_against_the_whole_column() -> None:
    values = np.array([18.0] * 10 + [36.0] * 3)
    assert spread_of(values, np.repeat([0, 1], [10, 3])).middle[-1] == 18.0


def test_missing_cells_count_nowhere() -> None:
    values = np.array([18.0] * 8 + [np.nan])
    assert spread_of(values).distance(values).tolist() == [0.0] * 9


def test_an_empty_column_has_no_middle() -> None:
    assert np.isnan(spread_of(np.full(9, np.nan)).middle).all()


def test_equal_numbers_written_in_two_ways_are_one_level() -> None:
    levels, codes = levels_of(np.array([18.0, 18.0, np.nan]), ["18", "18.0", ""])
    assert levels.tolist() == [18.0]
    assert codes.tolist() == [0, 0, -1]


def test_rows_without_the_columns_are_one_group() -> None:
    import pandas as pd

    assert groups_of_rows(pd.DataFrame({"dose_g": [1.0, 2.0]}), ["bag"]).tolist() == [0, 0]


@pytest.mark.parametrize(
    ("texts", "usual"),
    [(["18.1", "18", "18.2"], 1), (["18", "18.1"], 1), (["36", "35", ""], 0), (["x"], 0), ([], 0)],
)
def test_decimals_are_those_of_most_cells(texts: list[str], usual: int) -> None:
    assert Written.of(texts).usual == usual
