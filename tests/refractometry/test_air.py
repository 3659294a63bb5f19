"""Index relative to vacuum and to air: the gap that is worth a fifth of a percent."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.errors import OutOfRangeError
from yieldwright.refractometry import (
    brix_of_index,
    index_in_air,
    index_in_vacuum,
    strength_of_brix,
)


def test_water_has_the_published_index_in_air(reference) -> None:
    # IAPWS R9-97 at 589.3 nm and 1 atm, six decimals in both columns
    water = pd.read_csv(reference / "iapws_water_properties.csv")
    index_air = index_in_air(water["nD_589p3nm_1atm"])
    assert len(water) > 10
    np.testing.assert_allclose(index_air, water["nD_rel_air"], rtol=0, atol=1.01e-6)


@pytest.mark.parametrize(
    ("index_vacuum", "index_air"),
    # IAPWS R9-97 at 15, 20, 25 and 30 °C
    [
        (1.333754, 1.333391),
        (1.333349, 1.332986),
        (1.332858, 1.332496),
        (1.332290, 1.331928),
    ],
)
def test_printed_indices_of_water(index_vacuum: float, index_air: float) -> None:
    assert index_in_air(index_vacuum) == pytest.approx(index_air, abs=1e-6)
    assert index_in_vacuum(index_air) == pytest.approx(index_vacuum, abs=1e-6)


@given(st.floats(1, 1.9))
def test_there_and_back(index: float) -> None:
    assert index_in_air(index_in_vacuum(index)) == pytest.approx(index, rel=1e-15)


def test_one_kind_read_as_the_other_is_wrong_by_a_fifth_of_a_percent() -> None:
    # computed from the two published figures: 0.24 °Bx, about 0.21 % by mass
    misread = brix_of_index(index_in_vacuum(1.34782)) - brix_of_index(1.34782)
    assert misread == pytest.approx(0.24, abs=0.01)
    assert strength_of_brix(misread) == pytest.approx(0.21, abs=0.01)


def test_vacuum_itself_has_no_index_in_air() -> None:
    with pytest.raises(OutOfRangeError, match="index_vacuum must lie in 1–2"):
        index_in_air(0.99)


def test_an_index_no_liquid_has_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match=r"1 of 2 rows does not, first 2\.4 at row 1"):
        index_in_vacuum(pd.Series([1.34, 2.4]))
