"""Uncompensated readings of warm samples: the printed shifts, their slope and their ends."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.refractometry import index_of_brix, strength_at_20, warm_shift

# computed from indices of sucrose solutions quoted from memory, two decimals
READS_LOW = {25: 0.28, 30: 0.60, 40: 1.36, 50: 2.26}


@pytest.mark.parametrize(("sample_c", "low_pct"), READS_LOW.items())
def test_printed_shifts(sample_c: float, low_pct: float) -> None:
    assert warm_shift(sample_c) == pytest.approx(-low_pct, abs=0.005)


def test_between_20_and_25_degrees_a_kelvin_costs_a_known_share() -> None:
    # computed: −0.056 % by mass per kelvin
    assert warm_shift(23.0) - warm_shift(22.0) == pytest.approx(-0.056, abs=0.0005)


def test_water_loses_as_much_by_its_own_published_index(reference) -> None:
    # IAPWS R9-97 relative to air, turned by the slope of the sugar table at 10 °Bx and 0.85;
    # water bends a little less with warmth than a drink: 0.04 % by mass up to 40 °C
    water = pd.read_csv(reference / "iapws_water_properties.csv").set_index("t_C")["nD_rel_air"]
    slope = (index_of_brix(10.5) - index_of_brix(9.5)) / 0.85
    for sample_c in (25, 30, 40):
        lost = (water[sample_c] - water[20]) / slope
        assert warm_shift(float(sample_c)) == pytest.approx(lost, abs=0.04)


@given(st.floats(20, 49), st.floats(0.01, 1))
def test_the_loss_grows_with_warmth(sample_c: float, more: float) -> None:
    assert warm_shift(sample_c + more) < warm_shift(sample_c)


def test_a_sample_at_20_degrees_needs_nothing() -> None:
    assert warm_shift(20.0) == 0.0
    assert strength_at_20(9.4, sample_c=20.0) == 9.4


@given(st.floats(5, 15), st.floats(20, 50))
def test_correcting_takes_the_shift_back(tds_pct: float, sample_c: float) -> None:
    reading = tds_pct + warm_shift(sample_c)
    assert strength_at_20(reading, sample_c) == pytest.approx(tds_pct, rel=1e-12)


def test_columns_keep_their_gaps() -> None:
    corrected = strength_at_20(pd.Series([9.4, 9.4]), pd.Series([30.0, math.nan]))
    np.testing.assert_allclose(corrected, [10.0, math.nan])


@pytest.mark.parametrize("sample_c", [19.0, 51.0, 93.0])
def test_no_figure_no_correction(sample_c: float) -> None:
    with pytest.raises(OutOfRangeError, match="sample_c must lie in 20–50 °C"):
        strength_at_20(9.4, sample_c)


def test_columns_of_different_rows_are_refused() -> None:
    with pytest.raises(MisalignedError, match="indexes differ"):
        strength_at_20(pd.Series([9.4], index=[1]), pd.Series([25.0], index=[2]))
