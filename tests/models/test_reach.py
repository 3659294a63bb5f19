"""How far out a place lies from the points that were tried."""

from __future__ import annotations

import numpy as np
import pytest

from yieldwright.errors import MisalignedError, TooFewShotsError
from yieldwright.models.terms.reach import leverage_at

SQUARE = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]])


def test_the_leverages_of_the_points_themselves_add_up_to_the_coefficients() -> None:
    # Identity: the trace of a projection is its rank, here a mean and two slopes.
    points = np.random.default_rng(1).normal(size=(15, 2))
    assert leverage_at(points, points).sum() == pytest.approx(3.0)


def test_the_middle_has_the_least_leverage_and_it_is_one_in_n() -> None:
    assert leverage_at(SQUARE, np.array([[0.5, 0.5]]))[0] == pytest.approx(0.25)


def test_units_change_no_leverage() -> None:
    points = np.random.default_rng(2).normal(size=(9, 2))
    scaled = points * [1000.0, 0.01] + [5.0, -3.0]
    assert leverage_at(scaled, scaled) == pytest.approx(leverage_at(points, points))


def test_a_direction_that_was_never_tried_counts_as_none() -> None:
    line = np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]])
    assert leverage_at(line, np.array([[1.0, 0.0]]))[0] == pytest.approx(1 / 3)


def test_no_points_span_nothing() -> None:
    with pytest.raises(TooFewShotsError, match="give at least one"):
        leverage_at(np.empty((0, 2)), np.zeros((1, 2)))


def test_places_need_the_columns_of_the_points() -> None:
    with pytest.raises(MisalignedError, match="same columns"):
        leverage_at(SQUARE, np.zeros((1, 3)))
