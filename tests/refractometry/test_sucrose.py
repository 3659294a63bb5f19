"""Sugar scale against refractive index: the printed table, both ways, and its ends."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import OutOfRangeError
from yieldwright.refractometry import brix_of_index, index_of_brix

# ICUMSA, nD at 20 °C relative to air, five decimals; quoted from memory
PRINTED = {
    0: 1.33299,
    5: 1.34026,
    10: 1.34782,
    15: 1.35568,
    20: 1.36384,
    25: 1.37233,
    30: 1.38115,
}
# further figures of the same table, which the curve has not seen; quoted from memory
BETWEEN = {
    1: 1.33442,
    2: 1.33586,
    3: 1.33732,
    4: 1.33879,
    7: 1.34325,
    8: 1.34476,
    12: 1.35093,
    13: 1.35250,
    17: 1.35891,
    18: 1.36054,
}
ERROR_BRIX = 0.005  # as the docstring promises


@pytest.mark.parametrize(("sugar_brix", "index_air"), PRINTED.items())
def test_the_curve_meets_the_printed_figures_within_their_rounding(
    sugar_brix: float, index_air: float
) -> None:
    assert index_of_brix(sugar_brix) == pytest.approx(index_air, abs=5e-6)


@pytest.mark.parametrize(("sugar_brix", "index_air"), BETWEEN.items())
def test_figures_between_are_met_within_the_stated_error(
    sugar_brix: float, index_air: float
) -> None:
    assert brix_of_index(index_air) == pytest.approx(sugar_brix, abs=ERROR_BRIX)


@given(st.floats(0.001, 29.99))
def test_scale_and_index_are_inverses(sugar_brix: float) -> None:
    assert brix_of_index(index_of_brix(sugar_brix)) == pytest.approx(sugar_brix, abs=1e-10)


@given(st.floats(1.33299, 1.3811), st.floats(1e-6, 1e-3))
def test_more_bending_is_more_sugar(index_air: float, more: float) -> None:
    assert brix_of_index(min(index_air + more, 1.38115)) > brix_of_index(index_air)


def test_the_slope_in_a_drink_is_known() -> None:
    # common practice, no source: about 0.0015 of index a degree
    assert brix_of_index(1.3500) - brix_of_index(1.3485) == pytest.approx(1.0, abs=0.05)


def test_water_is_no_sugar() -> None:
    assert brix_of_index(1.33299) == pytest.approx(0.0, abs=ERROR_BRIX)


def test_a_column_keeps_index_name_and_gaps() -> None:
    index_air = pd.Series([1.34026, math.nan], index=["a", "b"])
    sugar_brix = brix_of_index(index_air)
    assert sugar_brix.name == "sugar_brix"
    np.testing.assert_allclose(sugar_brix, [5.0, math.nan], atol=ERROR_BRIX)
    assert sugar_brix.index.equals(index_air.index)


def test_a_long_column_is_read_as_its_single_values_are() -> None:
    index_air = pd.Series(np.linspace(1.333, 1.381, 20_001))
    assert brix_of_index(index_air)[12_345] == brix_of_index(float(index_air[12_345]))


@pytest.mark.parametrize("index_air", [1.3329, 1.3812, 1.0, math.inf])
def test_an_index_beyond_the_table_is_refused(index_air: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"index_air must lie in 1.33299–1.38115"):
        brix_of_index(index_air)


@pytest.mark.parametrize("sugar_brix", [-0.1, 30.1])
def test_a_reading_beyond_the_table_is_refused(sugar_brix: float) -> None:
    with pytest.raises(OutOfRangeError, match="sugar_brix must lie in 0–30 °Bx"):
        index_of_brix(sugar_brix)
