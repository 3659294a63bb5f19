"""The studentised range against its published table, scipy and exact special cases."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special
from scipy.stats import studentized_range

from yieldwright.errors import OutOfRangeError
from yieldwright.models.contrasts.studentized_range import range_quantile, range_tail

# Upper 5 % points from the table of Harter (1960), Ann. Math. Stat. 31, 1122, as reprinted
# in every textbook: means, degrees of freedom, range.
TABLE = [(2, 10, 3.151), (3, 10, 3.877), (5, 20, 4.232), (10, 60, 4.646), (3, np.inf, 3.314)]


@pytest.mark.parametrize(("n_means", "df", "printed"), TABLE)
def test_quantiles_are_those_of_the_table(n_means: int, df: float, printed: float) -> None:
    assert range_quantile(0.95, n_means, df) == pytest.approx(printed, abs=5e-4)


@pytest.mark.parametrize(("statistic", "n_means", "df"), [(3.5, 3, 11), (3.5, 6, 65), (5, 4, 7.3)])
def test_the_tail_agrees_with_scipy(statistic: float, n_means: int, df: float) -> None:
    target = studentized_range.sf(statistic, n_means, df)
    assert range_tail(statistic, n_means, df) == pytest.approx(target, rel=1e-10)


@given(statistic=st.floats(0.01, 30), df=st.floats(0.7, 500))
def test_two_means_have_the_tail_of_t(statistic: float, df: float) -> None:
    target = 2 * special.stdtr(df, -statistic / np.sqrt(2))
    assert range_tail(statistic, 2, df) == pytest.approx(target, rel=1e-9)


@given(level=st.floats(0.5, 0.999), n_means=st.integers(2, 8), df=st.floats(1, 300))
def test_a_quantile_is_exceeded_as_often_as_stated(level: float, n_means: int, df: float) -> None:
    reached = range_tail(range_quantile(level, n_means, df), n_means, df)
    assert reached == pytest.approx(1 - level, rel=1e-8)


@given(statistic=st.floats(0.5, 8), n_means=st.integers(2, 8), df=st.floats(1, 300))
def test_more_means_reach_farther_but_no_farther_than_all_pairs_summed(
    statistic: float, n_means: int, df: float
) -> None:
    one = range_tail(statistic, 2, df)
    several = range_tail(statistic, n_means, df)
    assert one * (1 - 1e-9) <= several <= one * n_means * (n_means - 1) / 2 * (1 + 1e-9)


def test_a_missing_statistic_has_no_tail() -> None:
    assert np.isnan(range_tail(np.nan, 3, 10))
    assert range_tail(0.0, 3, 10) == 1.0
    assert range_tail(np.inf, 3, 10) == 0.0


def test_a_single_mean_has_no_range() -> None:
    with pytest.raises(OutOfRangeError, match="at least two means"):
        range_tail(1.0, 1, 10)


def test_no_quantile_without_degrees_of_freedom() -> None:
    with pytest.raises(OutOfRangeError, match="must lie above 0"):
        range_quantile(0.95, 3, 0.0)
