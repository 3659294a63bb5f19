"""One inflation serves age and whatever is asked beside it."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.outliers_influence import variance_inflation_factor

from yieldwright.ageing.trend.entangled import inflation_beside
from yieldwright.ageing.trend.rows import AGE, BagRows, bag_rows
from yieldwright.bench import Bench
from yieldwright.taste.columns.comparable import ComparableSet
from yieldwright.taste.columns.predictors import Predictor

AGED, GRIND, DOSE = (Predictor(name, "adjuster") for name in (AGE, "grind_setting", "dose_g"))


def rows_of(per_session: int, seed: int = 3) -> BagRows:
    """Return shots whose grind followed their age, but not quite."""
    rng = np.random.default_rng(seed)
    n = 12 * per_session
    age = np.repeat(np.arange(4.0, 28.0, 2.0), per_session)
    shots = pd.DataFrame({"session": np.repeat(list("abcdefghijkl"), per_session)})
    shots[AGE], shots["time_s"] = age, rng.normal(36.0, 1.0, n)
    shots["grind_setting"] = 12 - age / 10 + rng.normal(0.0, 0.5, n)
    shots["dose_g"] = 18 + age / 50 + rng.normal(0.0, 0.2, n)
    return bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())


def printed_inflation(rows: BagRows, columns: list[str]) -> float:
    """Return the inflation of the first column beside the others, by statsmodels."""
    matrix = rows.prepared.frame[columns].to_numpy(dtype=float)
    return float(variance_inflation_factor(np.column_stack([np.ones(len(matrix)), matrix]), 1))


def test_beside_one_column_it_is_the_inflation_of_least_squares() -> None:
    rows = rows_of(3)
    found = inflation_beside(rows, AGED, GRIND, sessions_shift=False)
    assert found == pytest.approx(printed_inflation(rows, [AGE, "grind_setting"]), rel=1e-9)


def test_what_stands_beside_both_is_not_laid_at_the_door_of_one() -> None:
    rows = rows_of(3)
    both = printed_inflation(rows, [AGE, "grind_setting", "dose_g"])
    without = printed_inflation(rows, [AGE, "dose_g"])
    found = inflation_beside(rows, AGED, GRIND, [DOSE], sessions_shift=False)
    assert found == pytest.approx(both / without, rel=1e-9)


def test_with_one_shot_a_session_sessions_that_shift_change_nothing() -> None:
    rows = rows_of(1)
    apart, together = (
        inflation_beside(rows, AGED, GRIND, sessions_shift=shift) for shift in (True, False)
    )
    assert apart == pytest.approx(together, rel=1e-9)


def test_what_varies_inside_sessions_is_told_apart_from_age_the_better() -> None:
    rows = rows_of(4)
    apart, together = (
        inflation_beside(rows, AGED, GRIND, sessions_shift=shift) for shift in (True, False)
    )
    assert 1 < apart < together


def test_what_follows_from_the_other_has_no_inflation_to_tell() -> None:
    rows = rows_of(3)
    rows.prepared.frame["grind_setting"] = 12 - rows.prepared.frame[AGE] / 4
    assert math.isinf(inflation_beside(rows, AGED, GRIND, sessions_shift=True))
    assert math.isinf(inflation_beside(rows, AGED, GRIND, sessions_shift=False))
    # Where what stands beside both explains age already, the grind costs nothing more.
    rows.prepared.frame["dose_g"] = 18 + rows.prepared.frame[AGE]
    assert inflation_beside(rows, AGED, GRIND, [DOSE], sessions_shift=False) == 1.0
