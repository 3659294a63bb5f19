"""What lies among the points tried: hull and leverage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import MisalignedError, TooFewShotsError
from yieldwright.models.reach import inside_hull, leverage_at

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


@given(weights=st.lists(st.floats(0, 1), min_size=4, max_size=4).filter(lambda w: sum(w) > 0.1))
def test_every_mean_of_points_lies_in_their_hull(weights: list[float]) -> None:
    share = np.array(weights) / sum(weights)
    assert inside_hull(SQUARE, (share @ SQUARE)[None, :])[0]


@given(x=st.floats(-3, 4), y=st.floats(-3, 4))
def test_the_hull_of_a_square_is_the_square(x: float, y: float) -> None:
    inside = 0 <= x <= 1 and 0 <= y <= 1
    edge = min(abs(x), abs(x - 1), abs(y), abs(y - 1)) < 1e-6
    assert edge or inside_hull(SQUARE, np.array([[x, y]]))[0] == inside


def test_a_corner_may_lie_in_every_range_and_outside_the_hull() -> None:
    points = np.array([[0.0, 1.0], [0.5, 0.5], [1.0, 0.0]])
    assert not inside_hull(points, np.array([[0.9, 0.9]]))[0]


@pytest.mark.parametrize("asked", [leverage_at, inside_hull])
def test_nothing_lies_among_no_points(asked) -> None:
    with pytest.raises(TooFewShotsError, match="give at least one"):
        asked(np.empty((0, 2)), np.zeros((1, 2)))


@pytest.mark.parametrize("asked", [leverage_at, inside_hull])
def test_places_need_the_columns_of_the_points(asked) -> None:
    with pytest.raises(MisalignedError, match="same columns"):
        asked(SQUARE, np.zeros((1, 3)))
