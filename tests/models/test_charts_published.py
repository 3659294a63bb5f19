"""Charts of the NIST/SEMATECH e-Handbook, section 6.3, to the digits printed and computed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.models.published import agreeing_digits, data, expected
from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.charts.attribute import count_chart, share_chart
from yieldwright.models.charts.cusum import CusumChart, cusum_chart
from yieldwright.models.charts.ewma import EwmaChart, ewma_chart
from yieldwright.models.charts.individuals import IndividualsChart, individuals_chart

FLOW = "spc_imr_nist_flowrate"
VALUES = st.lists(st.floats(-50, 50), min_size=4, max_size=30).filter(
    lambda values: np.abs(np.diff(values)).mean() > 1e-3
)


def flow(reference: Path, **how: Any) -> IndividualsChart:
    return individuals_chart(data(reference, FLOW)["flow"].to_numpy(), **how)


def test_individuals_and_moving_ranges_of_the_flow_rate(reference: Path) -> None:
    values, chart = expected(reference, FLOW), flow(reference)
    found = [chart.center, chart.mean_range, chart.sigma, chart.upper, chart.lower]
    known = [values[key] for key in ("center", "mr_bar", "sigma", "ucl", "lcl")]
    assert agreeing_digits(found, known) >= 12
    assert chart.range_upper == pytest.approx(values["mr_ucl"], rel=1e-12)
    assert chart.moving_ranges == pytest.approx(values["mr"], rel=1e-12)


def test_the_printed_limits_follow_from_the_rounded_constant(reference: Path) -> None:
    printed, chart = expected(reference, FLOW)["published"], flow(reference, d2=1.128)
    for found, key in ((chart.center, "center"), (chart.upper, "ucl"), (chart.lower, "lcl")):
        assert found == pytest.approx(printed[key], abs=5e-5)
    assert chart.mean_range == pytest.approx(printed["mr_bar"], abs=5e-5)


def test_the_printed_limit_of_ranges_is_near_the_exact_one(reference: Path) -> None:
    # Printed with D4 = 3.267; exact it is 3.26653.
    printed = expected(reference, FLOW)["mr_ucl_3.267"]
    assert flow(reference).range_upper == pytest.approx(printed, rel=0.0005 / 3.267)


def test_the_median_range_gives_its_own_spread(reference: Path) -> None:
    values, chart = expected(reference, FLOW), flow(reference, by="median")
    assert (
        agreeing_digits(
            [chart.mean_range, chart.sigma], [values["median_mr"], values["sigma_median_mr"]]
        )
        >= 12
    )


def ewma(reference: Path) -> tuple[dict[str, Any], EwmaChart]:
    values = expected(reference, "spc_ewma_nist")
    told = values["params"]
    chart = ewma_chart(
        data(reference, "spc_ewma_nist")["x"].to_numpy(),
        target=told["target"], sigma=told["s"], weight=told["lam"], limit=told["L"],
    )  # fmt: skip
    return values, chart


def test_weighted_averages_and_exact_limits(reference: Path) -> None:
    values, chart = ewma(reference)
    assert agreeing_digits(chart.averages, values["z"]) >= 12
    assert agreeing_digits(chart.upper, values["ucl_time_varying"]) >= 12
    assert agreeing_digits(chart.lower, values["lcl_time_varying"]) >= 12
    assert not chart.beyond.any()


def test_lasting_limits_and_printed_averages(reference: Path) -> None:
    values, chart = ewma(reference)
    assert chart.target + chart.lasting_reach == pytest.approx(values["ucl_asymptotic"], rel=1e-12)
    assert chart.target - chart.lasting_reach == pytest.approx(values["lcl_asymptotic"], rel=1e-12)
    # Half a unit of the second decimal printed, and the handbook's own rounding on the way.
    assert np.abs(chart.averages - values["published"]["z"]).max() <= 0.0051


def cusum(reference: Path) -> tuple[dict[str, Any], CusumChart]:
    values = expected(reference, "spc_cusum_nist")
    told = values["params"]
    chart = cusum_chart(
        data(reference, "spc_cusum_nist")["x"].to_numpy(),
        target=told["target"], allowance=told["k"], decision=told["h"],
    )  # fmt: skip
    return values, chart


def test_cumulative_sums_of_both_sides(reference: Path) -> None:
    values, chart = cusum(reference)
    assert chart.high == pytest.approx(values["S_hi"], rel=1e-11, abs=1e-9)
    assert chart.low == pytest.approx(values["S_lo"], rel=1e-11, abs=1e-9)
    assert np.abs(chart.high - values["published"]["S_hi"]).max() <= 0.0101
    assert np.abs(chart.low - values["published"]["S_lo"]).max() <= 0.0101


def test_sums_alarm_where_the_handbook_says(reference: Path) -> None:
    values, chart = cusum(reference)
    assert chart.first_high == values["first_signal_hi"] == values["published"]["first_signal"]
    assert chart.first_low is None


def test_sums_date_the_change_by_where_they_left_zero(reference: Path) -> None:
    # The printed sums are 0 up to the 12th group.
    _, chart = cusum(reference)
    assert chart.began(13) == 12


def test_counts_and_shares_of_the_handbook(reference: Path) -> None:
    values = expected(reference, "spc_attribute_nist")
    counts = count_chart(data(reference, "spc_attribute_nist", "c_chart.csv")["defects"])
    shares = data(reference, "spc_attribute_nist", "p_chart.csv")["fraction"]
    bad = share_chart((shares * 50).round(), np.full(len(shares), 50))
    for chart, key in ((counts, "c_chart"), (bad, "p_chart")):
        known = values[key]
        found = [chart.center, chart.upper[0], chart.lower[0]]
        assert agreeing_digits(found, [known["center"], known["ucl"], known["lcl"]]) >= 12
        assert (np.flatnonzero(chart.beyond) + 1).tolist() == known["signals"]


@given(VALUES, st.floats(-5, 5), st.floats(0.1, 10))
def test_a_shift_moves_limits_and_a_scale_stretches_them(
    values: list[float], shift: float, scale: float
) -> None:
    plain = individuals_chart(values)
    moved = individuals_chart(scale * np.array(values) + shift)
    assert moved.upper == pytest.approx(scale * plain.upper + shift, rel=1e-6, abs=1e-6)
    assert moved.sigma == pytest.approx(scale * plain.sigma, rel=1e-6)


@given(VALUES)
def test_a_mirrored_series_swaps_the_sums(values: list[float]) -> None:
    series = np.array(values)
    chart = cusum_chart(series, target=0.0, allowance=0.5, decision=4.0)
    mirrored = cusum_chart(-series, target=0.0, allowance=0.5, decision=4.0)
    assert chart.high.tolist() == mirrored.low.tolist()


def test_a_weight_of_one_charts_each_value_by_itself() -> None:
    chart = ewma_chart([1.0, 5.0, 2.0], target=0.0, sigma=1.0, weight=1.0, limit=3.0)
    assert chart.averages.tolist() == [1.0, 5.0, 2.0]
    assert chart.reach == pytest.approx(3.0)


def test_exact_limits_grow_to_the_lasting_ones() -> None:
    chart = ewma_chart(np.zeros(200), target=0.0, sigma=1.0, weight=0.2, limit=3.0)
    assert (np.diff(chart.reach) >= 0).all()
    assert chart.reach[-1] == pytest.approx(chart.lasting_reach, rel=1e-12)


def test_limits_rest_on_the_first_values_where_asked() -> None:
    chart = individuals_chart([1.0, 2.0, 1.0, 2.0, 50.0], baseline=4)
    assert (chart.center, chart.mean_range) == (1.5, 1.0)
    assert chart.standardized[-1] > 3


def test_values_are_not_changed() -> None:
    values = np.array([1.0, 3.0, 2.0])
    individuals_chart(values)
    cusum_chart(values, target=0.0, allowance=0.5, decision=4.0)
    assert values.tolist() == [1.0, 3.0, 2.0]


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_missing_value_is_refused_with_its_place(bad: float) -> None:
    with pytest.raises(OutOfRangeError, match=r"1 of 3 are not, first .* at place 2"):
        individuals_chart([1.0, bad, 2.0])


def test_values_that_never_differ_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="all the same"):
        individuals_chart([2.0, 2.0, 2.0])


@pytest.mark.parametrize("baseline", [1, 5])
def test_limits_from_too_few_values_are_refused(baseline: int) -> None:
    with pytest.raises(TooFewShotsError, match="limits need 2 values"):
        individuals_chart([1.0, 2.0, 3.0], baseline=baseline)


@pytest.mark.parametrize("how", [{"weight": 0.0}, {"weight": 1.1}, {"sigma": 0.0}, {"limit": 0.0}])
def test_averages_without_weight_spread_or_limit_are_refused(how: dict[str, float]) -> None:
    told = {"target": 0.0, "sigma": 1.0, "weight": 0.2, "limit": 3.0} | how
    with pytest.raises(OutOfRangeError, match="an average needs a weight"):
        ewma_chart([1.0], **told)


@pytest.mark.parametrize("how", [{"decision": 0.0}, {"allowance": -1.0}, {"head_start": -1.0}])
def test_sums_without_a_limit_are_refused(how: dict[str, float]) -> None:
    told = {"target": 0.0, "allowance": 0.5, "decision": 4.0} | how
    with pytest.raises(OutOfRangeError, match="decision limit above 0"):
        cusum_chart([1.0], **told)


def test_impossible_counts_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="between 0 and"):
        share_chart([3], [2])
    with pytest.raises(MisalignedError, match="each count needs"):
        share_chart([1, 2], [2])
    with pytest.raises(OutOfRangeError, match="0 or more"):
        count_chart([-1])
