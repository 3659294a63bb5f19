"""Guards refuse the impossible and nothing else."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from yieldwright import checks
from yieldwright.errors import MisalignedError, OutOfRangeError, UnknownNameError, YieldwrightError


def test_gaps_pass():
    checks.require_possible(dose_g=pd.Series([18.0, math.nan]))


def test_a_value_beside_a_gap_is_still_checked():
    with pytest.raises(OutOfRangeError, match="2 of 3 rows do not, first -1 at row 1"):
        checks.require_possible(tds_pct=pd.Series([math.nan, -1.0, 101.0]))


def test_a_remedy_is_offered_where_a_slip_of_the_decimal_mark_explains_the_value():
    with pytest.raises(OutOfRangeError, match=r"divide by 100\?"):
        checks.require_possible(tds_pct=950.0)
    with pytest.raises(OutOfRangeError, match="mistyped, or another unit"):
        checks.require_possible(tds_pct=-9.5)


def test_an_unknown_quantity_is_refused_by_name():
    with pytest.raises(UnknownNameError, match="no quantity named 'sparkle'"):
        checks.require_possible(sparkle=1.0)


def test_our_errors_are_also_the_built_in_kind():
    assert issubclass(OutOfRangeError, ValueError)
    assert issubclass(UnknownNameError, KeyError)
    assert issubclass(OutOfRangeError, YieldwrightError)


def test_a_number_stays_a_number_and_a_column_a_column():
    like = pd.Series([1.0, 2.0], index=["a", "b"])
    assert isinstance(checks.same_kind(1.0, np.array(2.0)), float)
    assert list(checks.same_kind(like, np.array([3.0, 4.0])).index) == ["a", "b"]


def test_one_number_cannot_stand_for_a_column():
    with pytest.raises(MisalignedError, match="make tds_pct a Series with the same index"):
        checks.require_comparable(tds_pct=9.0, dose_g=pd.Series([18.0, 18.1]))


@pytest.mark.parametrize("rows", [1, 8_191, 8_192, 8_193, 20_000])
def test_blocks_make_no_difference_to_a_formula(rows):
    column = pd.Series(np.random.default_rng(4).normal(size=rows))
    worked = checks.in_blocks(lambda a, b: a * b + a, column, 2.0)
    np.testing.assert_array_equal(worked, column.to_numpy() * 2.0 + column.to_numpy())
