"""A mean that shifts, and values that rise: digits of R on the Nile, and chances."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from tests.models.published import data, expected
from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.trend.level_shift import find_level_shift, largest_f_probability
from yieldwright.models.trend.monotone import monotone_trend

FOLDER = "trend_nile_changepoint"
CLOSE = 4


def largest_f(y: np.ndarray, least: int) -> float:
    """Return the largest F of two means, so many rows at least on either side."""
    n = len(y)
    places, total = np.arange(least, n - least + 1), y.sum()
    sums = np.cumsum(y)[places - 1]
    best = float((sums**2 / places + (total - sums) ** 2 / (n - places) - total**2 / n).max())
    return best * (n - 2) / (float(y @ y) - total**2 / n - best)


def test_the_shift_of_the_nile_agrees_with_strucchange(reference: Path) -> None:
    # R strucchange 1.5-3: breakpoints(Nile ~ 1, h = 0.15), confint, Fstats.
    flow = data(reference, FOLDER)["flow"]
    printed = expected(reference, FOLDER)["changepoint"]
    found = find_level_shift(flow)
    assert found.place == printed["breakpoint_obs"]
    assert [found.low, found.place, found.high] == printed["ci95_obs"]
    assert found.rss_without == pytest.approx(printed["RSS_0"], rel=1e-12)
    assert found.rss_with == pytest.approx(printed["RSS_1break"], rel=1e-12)
    assert found.bic_without == pytest.approx(printed["BIC"][0], rel=1e-12)
    assert found.bic_with == pytest.approx(printed["BIC"][1], rel=1e-12)
    assert found.mean_before == pytest.approx(printed["mean_before"], rel=1e-12)
    assert found.mean_after == pytest.approx(printed["mean_after"], rel=1e-12)
    assert found.statistic == pytest.approx(printed["supF"], rel=1e-9)
    assert found.p_value < 1e-10
    assert found.change == found.mean_after - found.mean_before


def test_limits_of_equal_spreads_are_those_printed() -> None:
    # Bai (1997), section 3, after Yao (1987): the place lies within 11 units with 95 %, and
    # within 7 with 90 % (rounded there), a unit being the variance over the change squared.
    rng = np.random.default_rng(1)
    noise = rng.normal(size=200)
    noise = (noise - noise.mean()) / noise.std()
    y = np.concatenate([noise, 1 + noise])
    for level, units in ((0.95, 11.03), (0.90, 7.69)):
        found = find_level_shift(y, level=level)
        unit = found.rss_with / 400 / found.change**2
        assert found.high - found.place == pytest.approx(units * unit, abs=1.01)
        assert found.place - found.low == pytest.approx(units * unit, abs=1.01)


@pytest.mark.parametrize("n", [8, 12, 30])
def test_the_p_value_is_a_close_bound_of_what_chance_gives(n: int) -> None:
    rng, least = np.random.default_rng(2), max(int(0.15 * n), 2)
    largest = [largest_f(each, least) for each in rng.normal(size=(8_000, n))]
    for level in (0.05, 0.01):
        critical = float(np.quantile(largest, 1 - level))
        bound = largest_f_probability(critical, n, np.arange(least, n - least + 1))
        error = CLOSE * np.sqrt(level / 8_000)
        assert level - error < bound < 1.33 * level + error


def test_simulated_and_bounded_p_values_agree_where_they_are_small() -> None:
    y = np.random.default_rng(3).normal(size=20) + np.repeat([0.0, 1.6], 10)
    bound = find_level_shift(y).p_value
    simulated = find_level_shift(y, rng=np.random.default_rng(4)).p_value
    error = CLOSE * np.sqrt(simulated / 20_000)
    assert simulated - error < bound < 1.3 * (simulated + error)


def test_asymptotic_critical_values_are_those_of_andrews() -> None:
    # Andrews (2003), Econometrica 71, 395, table I: p = 1, trimmed by 15 %: 8.68 at 5 %,
    # 12.16 at 1 %; series of 1,000 are close to their limit.
    for critical, level in ((8.68, 0.05), (12.16, 0.01)):
        rng = np.random.default_rng(5)
        y = rng.normal(size=(4_000, 1_000))
        share = np.mean([largest_f(each, 150) >= critical for each in y])
        assert share == pytest.approx(level, abs=CLOSE * np.sqrt(level / 4_000) + 0.006 * level)


def test_one_place_alone_is_the_test_of_two_means() -> None:
    for statistic in (0.3, 4.0, 25.0):
        chance = largest_f_probability(statistic, 15, np.array([6]))
        assert chance == pytest.approx(stats.f.sf(statistic, 1, 13), rel=1e-9)


def test_no_place_explains_more() -> None:
    y = np.random.default_rng(6).normal(size=25)
    found = find_level_shift(y)
    squares = [
        np.sum((y[:k] - y[:k].mean()) ** 2) + np.sum((y[k:] - y[k:].mean()) ** 2)
        for k in range(3, 23)
    ]
    assert found.rss_with == pytest.approx(min(squares), rel=1e-12)
    assert found.place == 3 + int(np.argmin(squares))


def test_limits_run_off_where_the_shift_is_hardly_one() -> None:
    y = np.random.default_rng(9).normal(size=24)
    found = find_level_shift(y)
    assert found.low == 0 or found.high == 24
    assert 0 <= found.low <= found.place <= found.high <= 24


def test_units_and_direction_carry_over() -> None:
    y = np.random.default_rng(7).normal(size=30) + np.repeat([0.0, 2.0], 15)
    one, moved, back = find_level_shift(y), find_level_shift(7 - 3 * y), find_level_shift(y[::-1])
    assert moved.p_value == pytest.approx(one.p_value, rel=1e-6)
    assert moved.change == pytest.approx(-3 * one.change)
    assert back.place == 30 - one.place


def test_a_step_without_noise_leaves_no_doubt() -> None:
    found = find_level_shift(np.repeat([1.0, 2.0], 6))
    assert (found.low, found.place, found.high, found.p_value) == (6, 6, 6, 0)


def test_unusable_series_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="1 of 7 are not"):
        find_level_shift([1, 2, 3, np.nan, 5, 6, 7])
    with pytest.raises(TooFewShotsError, match="5 rows cannot tell"):
        find_level_shift([1, 2, 3, 4, 5])
    with pytest.raises(OutOfRangeError, match="all 8 rows hold 2"):
        find_level_shift(np.full(8, 2.0))
    with pytest.raises(OutOfRangeError, match=r"trim must lie between 0 and 0\.5"):
        find_level_shift(np.arange(9.0), trim=0.5)
    with pytest.raises(OutOfRangeError, match="confidence level"):
        find_level_shift(np.arange(9.0), level=95)


def test_the_monotone_trend_of_the_nile_agrees_with_r(reference: Path) -> None:
    # R: cor.test(method = "kendall", exact = FALSE, continuity = TRUE); slopes of all pairs;
    # limits from scipy.
    frame = data(reference, FOLDER)
    printed = expected(reference, FOLDER)["trend"]
    found = monotone_trend(frame["year"], frame["flow"])
    assert found.excess == printed["S"]
    assert found.variance == pytest.approx(printed["var_S"], rel=1e-12)
    assert found.tau == pytest.approx(printed["tau_b"], rel=1e-12)
    assert found.z == pytest.approx(printed["z_cc"], rel=1e-12)
    assert found.p_value == pytest.approx(printed["p_cc"], rel=1e-9)
    assert found.slope == pytest.approx(printed["sen_slope"], rel=1e-12)
    assert [found.ci_low, found.ci_high] == pytest.approx(printed["sen_ci95_scipy"], rel=1e-12)


def test_ties_in_x_are_allowed_for_as_scipy_does() -> None:
    rng = np.random.default_rng(8)
    x, y = rng.integers(0, 6, 30), rng.integers(0, 8, 30)
    found = monotone_trend(x, y)
    slope, _, low, high = stats.theilslopes(y, x, method="joint")
    tau = stats.kendalltau(x, y, method="asymptotic")
    assert found.tau == pytest.approx(tau.statistic, rel=1e-12)
    plain = found.excess / np.sqrt(found.variance)
    assert 2 * stats.norm.sf(abs(plain)) == pytest.approx(tau.pvalue, rel=1e-9)
    assert (found.slope, found.ci_low, found.ci_high) == pytest.approx((slope, low, high))


def test_few_rows_leave_the_slope_without_limits() -> None:
    found = monotone_trend([1, 2, 3, 4], [1.0, 3.0, 2.0, 5.0])
    assert (found.ci_low, found.ci_high) == (-np.inf, np.inf)
    with pytest.raises(OutOfRangeError, match="confidence level"):
        monotone_trend([1, 2, 3, 4], [1.0, 3.0, 2.0, 5.0], level=2)
    with pytest.raises(TooFewShotsError, match="3 rows cannot tell"):
        monotone_trend([1, 2, 3], [1.0, 3.0, 2.0])
