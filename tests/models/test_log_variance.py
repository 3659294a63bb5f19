"""Trend of a variance: maximum likelihood, and an interval that is exact."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from yieldwright.errors import AliasedColumnsError, OutOfRangeError
from yieldwright.models.spreads.log_variance import (
    slope_errors,
    trend_design,
    variance_slope,
    variance_trend,
)

TIMES = np.array([0.0, 1.0, 2.5, 3.0, 5.0])
DFS = np.array([3.0, 4.0, 2.0, 6.0, 5.0])
SQUARES = np.array([30.0, 21.0, 14.0, 9.0, 4.0])


def test_the_slope_is_that_of_a_gamma_model_with_log_link() -> None:
    # statsmodels, an independent engine: variances as gamma with weights df / 2.
    import statsmodels.api as sm

    design = trend_design(TIMES)
    family = sm.families.Gamma(link=sm.families.links.Log())
    fit = sm.GLM(SQUARES / DFS, design, family=family, var_weights=DFS / 2).fit(tol=1e-12)
    assert variance_slope(SQUARES[None], DFS, design)[0] == pytest.approx(fit.params[-1], rel=1e-8)


def test_two_times_are_a_ratio_of_variances_with_the_limits_of_f() -> None:
    # With two sums the slope is the log ratio of variances, whose interval is that of F.
    dfs, design = np.array([9.0, 14.0]), trend_design(np.array([0.0, 1.0]))
    squares = np.array([9 * 4.0, 14 * 1.0])
    found = variance_trend(squares, dfs, design, rng=np.random.default_rng(8))
    low, high = np.log(1 / 4) + np.log(stats.f.ppf([0.025, 0.975], 9, 14))
    assert found.slope == pytest.approx(np.log(1 / 4))
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.12)


@given(st.floats(-2, 2), st.floats(-1, 1))
def test_tilting_the_variances_tilts_the_slope_by_as_much(level: float, tilt: float) -> None:
    design = trend_design(TIMES)
    plain = variance_slope(SQUARES[None], DFS, design)[0]
    moved = variance_slope(SQUARES[None] * np.exp(level + tilt * TIMES), DFS, design)[0]
    assert moved == pytest.approx(plain + tilt, abs=1e-6)


def test_errors_of_a_slope_do_not_depend_on_the_truth_and_cover_it() -> None:
    rng = np.random.default_rng(5)
    design = trend_design(TIMES)
    errors = slope_errors(DFS, design, rng=rng)
    low, high = np.quantile(errors, [0.025, 0.975])
    squares = rng.chisquare(DFS, size=(4000, 5)) * np.exp(3 - 0.7 * TIMES)
    slopes = variance_slope(squares, DFS, design)
    share = np.mean((slopes - high <= -0.7) & (slopes - low >= -0.7))
    assert share == pytest.approx(0.95, abs=4 * np.sqrt(0.95 * 0.05 / 4000) * np.sqrt(2))


def test_a_level_for_each_group_takes_differences_of_groups_out() -> None:
    groups = np.array(["a", "a", "b", "b", "b"], dtype=object)
    design = trend_design(TIMES, groups)
    loud = np.where(groups == "b", 100.0, 1.0)
    slopes = [variance_slope(each[None], DFS, design)[0] for each in (SQUARES, SQUARES * loud)]
    assert slopes[0] == pytest.approx(slopes[1])


def test_groups_met_once_cannot_be_told_from_time() -> None:
    with pytest.raises(AliasedColumnsError, match="none of them was met at two times"):
        trend_design(TIMES, np.array(list("abcde"), dtype=object))
    with pytest.raises(AliasedColumnsError, match="two times"):
        trend_design(np.ones(3))


def test_sums_of_nothing_have_no_trend_and_one_of_many_does_not_matter() -> None:
    design = trend_design(TIMES)
    with pytest.raises(OutOfRangeError, match="one more decimal"):
        variance_slope(np.zeros((1, 5)), DFS, design)
    with pytest.raises(OutOfRangeError, match="negative"):
        variance_slope(-SQUARES[None], DFS, design)
    some = np.where(TIMES == 2.5, 0.0, SQUARES)
    assert np.isfinite(variance_slope(some[None], DFS, design)[0])


def test_a_steady_variance_is_told_by_its_p_value_and_a_falling_one_too() -> None:
    design, rng = trend_design(TIMES), np.random.default_rng(3)
    assert variance_trend(DFS * 2.0, DFS, design, rng=rng).p_value > 0.5
    falling = variance_trend(50 * DFS * np.exp(-2 * TIMES), 50 * DFS, design, rng=rng)
    assert falling.p_value < 0.01
    assert falling.sd_change[0] == pytest.approx(np.exp(falling.slope / 2) - 1)
