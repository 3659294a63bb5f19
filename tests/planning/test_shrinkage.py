"""How much of the best shot's lead is luck."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import OutOfRangeError
from yieldwright.planning import best_of, shrunk_lead


@pytest.mark.parametrize(
    ("shots", "expected"),
    [(1, 0.0), (2, 0.5642), (3, 0.8463), (5, 1.1630), (8, 1.4236), (10, 1.5388), (12, 1.6292)],
)
def test_the_best_of_like_shots_equals_the_printed_order_statistic(
    shots: int, expected: float
) -> None:
    # Harter 1961, table 1: expected largest of n normal deviates, to the four digits shown.
    assert best_of(shots) == pytest.approx(expected, abs=5e-5)


def test_the_best_of_two_and_three_have_closed_forms() -> None:
    # 1/√π and 3/(2√π).
    assert best_of(2) == pytest.approx(1 / math.sqrt(math.pi), rel=1e-9)
    assert best_of(3) == pytest.approx(1.5 / math.sqrt(math.pi), rel=1e-9)


@given(st.integers(1, 400))
def test_more_shots_mean_more_luck(shots: int) -> None:
    assert best_of(shots) < best_of(shots + 1)


@given(st.floats(0, 10), st.floats(0, 5), st.integers(1, 50))
def test_a_lead_never_grows_and_never_turns_negative(lead: float, sd: float, shots: int) -> None:
    assert 0 <= shrunk_lead(lead, sd=sd, shots=shots) <= lead + 1e-12


def test_without_spread_a_lead_is_real() -> None:
    assert shrunk_lead(1.5, sd=0.0, shots=12) == 1.5


def test_no_shot_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="at least 1 shot; got 0"):
        best_of(0)


def test_a_negative_spread_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="at least 0; got -1"):
        shrunk_lead(1.0, sd=-1.0, shots=3)
