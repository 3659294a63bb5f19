"""How much of the spread the instruments cause."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from yieldwright.bench import Bench, Refractometer, Scale
from yieldwright.repeatability import (
    InstrumentCheck,
    QuantitySpread,
    instrument_against_shots,
    quantity_spread,
)
from yieldwright.taste.columns.comparable import ComparableSet

#: Scales and a refractometer that give the uncertainties of the worked example.
BENCH = Bench(
    dose_scale=Scale(resolution_g=0.0, repeatability_g=0.06),
    beverage_scale=Scale(resolution_g=0.0, repeatability_g=0.06),
    refractometer=Refractometer(resolution_pct=0.0, repeatability_pct=0.05, accuracy_pct=0.5),
    stated=frozenset(("dose_scale", "beverage_scale", "refractometer")),
)


def shots(spread: float = 0.5, n: int = 30, **columns: object) -> pd.DataFrame:
    tds = 10 + np.random.default_rng(1).normal(0, spread / 2, n)
    frame = pd.DataFrame({"dose_g": 18.0, "beverage_g": 36.0, "tds_pct": tds, "ey_pct": 2 * tds})
    return frame.assign(**columns)


def spread_of(frame: pd.DataFrame) -> QuantitySpread:
    return quantity_spread(ComparableSet("", "", frame), "ey_pct", bench=BENCH)


def check(frame: pd.DataFrame, bench: Bench = BENCH) -> InstrumentCheck:
    return instrument_against_shots(frame, bench=bench)


def test_the_worked_uncertainty_is_found_and_the_accuracy_left_out() -> None:
    # 18 g / 36 g / 10 % with u_D 0.06, u_B 0.06, u_TDS 0.05 gives 0.125, TDS carrying 64 %;
    # the stated accuracy of ±0.5 would swamp it, and cancels in a difference.
    found = check(shots(spread=1e-6))
    assert found.u_ey_pct == pytest.approx(0.125, abs=0.0005)
    assert found.budget.loc["tds_pct", "share"] == pytest.approx(0.64, abs=0.005)


def test_the_share_is_that_of_the_variance() -> None:
    found = check(shots())
    spread = spread_of(shots())
    assert found.share == pytest.approx((found.u_ey_pct / spread.sd) ** 2)
    assert found.share_low < found.share < found.share_high


def test_small_beside_the_spread_is_good_enough() -> None:
    found = check(shots(spread=1.0))
    assert found.good_enough is True
    assert "good enough" in found.sentences[0]


def test_as_large_as_the_spread_is_not() -> None:
    found = check(shots(spread=0.13))
    assert found.good_enough is False
    assert "they hide much of what differs" in found.sentences[0]


@pytest.mark.parametrize("n", [4, 5])
def test_fewer_than_five_repeats_give_limits_alone_and_leave_it_open(n: int) -> None:
    found = check(shots(spread=0.4, n=n))
    assert found.good_enough is None
    assert math.isnan(found.share)
    assert not found.assumed
    assert 0 < found.share_low < found.share_high <= 1
    assert "cause somewhere in " in found.sentences[0]
    assert "stays open" in found.sentences[0]


def test_a_share_is_never_more_than_the_whole() -> None:
    assert check(shots(spread=1e-3)).share == 1.0


@pytest.mark.parametrize("n", [1, 3])
def test_hardly_any_repeats_borrow_a_labelled_assumption(n: int) -> None:
    # Policy: 0.3–0.8 points, an assumption with no source, until there are 3 repeats.
    found = check(shots(n=n))
    assert found.assumed
    assert math.isnan(found.share)
    assert found.share_low == pytest.approx((found.u_ey_pct / 0.8) ** 2)
    assert found.share_high == pytest.approx((found.u_ey_pct / 0.3) ** 2)
    assert (
        "were their SD 0.3 to 0.8 points, which is assumed, with no source" in (found.sentences[0])
    )


def test_the_share_is_the_one_told_beside_the_spread() -> None:
    # Ten shots of one setting and ten lone ones: the spread, and so the share, is of the ten.
    frame = shots(n=20).assign(grind_setting=[11.0] * 10 + list(range(20, 30)))
    spread = spread_of(frame)
    found = check(frame)
    assert len(spread.alike.rows) == 10
    assert spread.instrument is not None
    assert (found.u_ey_pct, found.share) == (spread.instrument.u, spread.instrument.share)
    assert (found.share_low, found.share_high) == (spread.instrument.low, spread.instrument.high)
    assert found.good_enough is spread.instrument_good_enough


def test_four_readings_halve_what_the_refractometer_adds() -> None:
    readings = {f"tds_{k}_pct": 10.0 for k in range(1, 5)}
    once, four = check(shots()), check(shots(**readings))
    halved = four.budget.loc["tds_pct", "u_ey_pct"] / once.budget.loc["tds_pct", "u_ey_pct"]
    assert halved == pytest.approx(0.5)


def test_assumed_instruments_are_said() -> None:
    (caution,) = check(shots(), Bench()).cautions
    assert caution.code == "assumed-instruments"
    assert check(shots()).cautions == ()


def test_shots_without_strength_are_counted_out() -> None:
    frame = shots()
    frame.loc[:4, "tds_pct"] = np.nan
    assert str(check(frame).dropped[0]) == "5 shots without dose, beverage and strength"


def test_a_log_without_strength_says_so() -> None:
    found = check(shots().drop(columns=["tds_pct", "ey_pct"]))
    assert found.sentences == (
        "No shot has dose, beverage and strength: instruments cannot be judged.",
    )
    assert found.summary()


def test_a_known_spread_can_be_handed_in() -> None:
    wide = spread_of(shots(spread=5.0))
    assert instrument_against_shots(shots(), bench=BENCH, spread=wide).share < check(shots()).share
