"""Sugar scale to strength: a factor, and how far it may be off."""

from __future__ import annotations

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import OutOfRangeError
from yieldwright.extraction import extraction_yield
from yieldwright.refractometry import strength_half_width, strength_of_brix


def test_a_degree_typed_as_strength_would_overstate_the_yield() -> None:
    # computed: 11.76 °Bx typed as strength gives 23.5 % instead of 20.0 % at 1:2
    assert extraction_yield(11.76, 36.0, 18.0) == pytest.approx(23.5, abs=0.05)
    assert extraction_yield(strength_of_brix(11.76), 36.0, 18.0) == pytest.approx(20.0, abs=0.05)


@given(st.floats(0, 30), st.floats(0.5, 1.5))
def test_strength_is_proportional_to_the_factor(sugar_brix: float, factor: float) -> None:
    strength = strength_of_brix(sugar_brix, tds_per_brix=factor)
    assert strength == pytest.approx(factor * strength_of_brix(sugar_brix, tds_per_brix=1.0))


@given(st.floats(0, 25))
def test_the_usual_spread_is_a_twentieth(tds_pct: float) -> None:
    # common practice, no source: give or take 5 %
    assert strength_half_width(tds_pct) == pytest.approx(tds_pct / 20)


def test_a_known_factor_has_no_spread() -> None:
    assert strength_half_width(10.0, spread=0.0) == 0.0


def test_a_column_stays_a_column() -> None:
    strength = strength_of_brix(pd.Series([10.0, math.nan], index=[3, 7]))
    assert strength.name == "tds_pct"
    assert strength[3] == 8.5
    assert math.isnan(strength[7])


@pytest.mark.parametrize("factor", [0.0, -1.0, math.nan])
def test_a_factor_of_nothing_is_refused(factor: float) -> None:
    with pytest.raises(OutOfRangeError, match="tds_per_brix must be above 0"):
        strength_of_brix(10.0, tds_per_brix=factor)


def test_a_spread_beyond_the_factor_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"spread must lie in 0–1; 5 does not"):
        strength_half_width(10.0, spread=5.0)


def test_an_impossible_reading_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="sugar_brix must lie in 0–100 °Bx"):
        strength_of_brix(-3.0)
