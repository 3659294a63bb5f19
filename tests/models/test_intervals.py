"""Intervals of means, proportions and spreads."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import (
    exact_interval,
    sd_interval,
    t_interval,
    t_quantile,
    wilson_interval,
)

counts = st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@pytest.mark.parametrize(
    ("df", "quantile"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042)]
)
def test_t_quantiles_are_those_of_the_tables(df: int, quantile: float) -> None:
    # NIST/SEMATECH e-Handbook 1.3.6.7.2, three decimals.
    assert t_quantile(df) == pytest.approx(quantile, abs=0.0005)


@given(estimate=st.floats(-1e6, 1e6), std_error=st.floats(0, 1e3), df=st.floats(0.5, 1e4))
def test_a_t_interval_is_centred_on_its_estimate(
    estimate: float, std_error: float, df: float
) -> None:
    low, high = t_interval(estimate, std_error, df)
    assert (low + high) / 2 == pytest.approx(estimate, abs=1e-9 * max(1, abs(estimate)))
    assert high - low == pytest.approx(2 * stats.t.ppf(0.975, df) * std_error, abs=1e-8)


def test_many_rows_come_near_the_normal_quantile() -> None:
    assert t_quantile(1e9) == pytest.approx(1.959964, abs=1e-6)


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0, math.nan])
def test_a_level_that_is_no_fraction_is_refused(level: float) -> None:
    with pytest.raises(OutOfRangeError, match="between 0 and 1"):
        t_interval(1.0, 1.0, 5, level=level)


@pytest.mark.parametrize("df", [0, -1, math.nan])
def test_no_degrees_of_freedom_are_refused(df: float) -> None:
    with pytest.raises(OutOfRangeError, match="above 0"):
        t_interval(1.0, 1.0, df)


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_intervals_are_those_of_newcombe(
    successes: int, trials: int, low: float, high: float
) -> None:
    # Newcombe (1998), Stat. Med. 17, 857, table I, method 3; quoted from memory, four decimals.
    assert wilson_interval(successes, trials) == pytest.approx((low, high), abs=0.00005)


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [
        (81, 263, 0.2527, 0.3676),
        (15, 148, 0.0578, 0.1617),
        (0, 20, 0.0000, 0.1684),
        (1, 29, 0.0009, 0.1776),
    ],
)
def test_exact_intervals_are_those_of_newcombe(
    successes: int, trials: int, low: float, high: float
) -> None:
    # Newcombe (1998), table I, method 5; quoted from memory, four decimals.
    assert exact_interval(successes, trials) == pytest.approx((low, high), abs=0.00005)


@given(counts=counts, level=st.floats(0.5, 0.999))
def test_wilson_agrees_with_another_package(counts: tuple[int, int], level: float) -> None:
    target = proportion_confint(*counts, alpha=1 - level, method="wilson")
    assert wilson_interval(*counts, level=level) == pytest.approx(target, abs=1e-12)


@given(counts=counts, level=st.floats(0.5, 0.999))
def test_exact_agrees_with_another_package(counts: tuple[int, int], level: float) -> None:
    target = proportion_confint(*counts, alpha=1 - level, method="beta")
    assert exact_interval(*counts, level=level) == pytest.approx(target, abs=1e-9)


@given(counts=counts)
def test_failures_mirror_successes(counts: tuple[int, int]) -> None:
    successes, trials = counts
    low, high = wilson_interval(successes, trials)
    assert wilson_interval(trials - successes, trials) == pytest.approx((1 - high, 1 - low))


def test_an_exact_interval_covers_at_least_its_level() -> None:
    for trials in (5, 12, 24):
        intervals = [exact_interval(k, trials) for k in range(trials + 1)]
        for share in np.linspace(0.01, 0.99, 33):
            chances = stats.binom.pmf(np.arange(trials + 1), trials, share)
            held = [low <= share <= high for low, high in intervals]
            assert chances[held].sum() >= 0.95


@pytest.mark.parametrize("interval", [wilson_interval, exact_interval])
def test_nothing_seen_begins_at_nought(interval: object) -> None:
    assert callable(interval)
    assert interval(0, 7)[0] == 0.0
    assert interval(7, 7)[1] == 1.0


@pytest.mark.parametrize("counts", [(-1, 5), (6, 5), (0, 0)])
def test_impossible_counts_are_refused(counts: tuple[int, int]) -> None:
    with pytest.raises(OutOfRangeError, match="0 ≤ successes ≤ trials"):
        wilson_interval(*counts)


def test_the_spread_of_ten_shots() -> None:
    # What the trade is told: ten shots know their spread to a factor of 0.69–1.83.
    assert sd_interval(1.0, 9) == pytest.approx((0.69, 1.83), abs=0.005)


@given(sd=st.floats(0, 100), df=st.floats(1, 500), level=st.floats(0.5, 0.999))
def test_the_limits_of_a_spread_are_chi_square_quantiles(
    sd: float, df: float, level: float
) -> None:
    low, high = sd_interval(sd, df, level=level)
    tail = (1 - level) / 2
    assert low == pytest.approx(sd * math.sqrt(df / stats.chi2.isf(tail, df)), rel=1e-8)
    assert high == pytest.approx(sd * math.sqrt(df / stats.chi2.ppf(tail, df)), rel=1e-8)


def test_the_spread_of_one_row_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="at least two rows"):
        sd_interval(0.5, 0)
