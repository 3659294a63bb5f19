"""How much of the spread the instruments cause."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from yieldwright.bench import Bench, Refractometer, Scale
from yieldwright.repeatability import InstrumentCheck, instrument_against_shots, replicate_spread

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
    spread = replicate_spread(shots(), "ey_pct")
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


def test_few_repeats_leave_it_open() -> None:
    found = check(shots(spread=0.4, n=4))
    assert found.good_enough is None
    assert "stays open" in found.sentences[0]


def test_a_share_is_never_more_than_the_whole() -> None:
    assert check(shots(spread=1e-3)).share == 1.0


def test_an_assumed_spread_is_called_so() -> None:
    found = check(shots(n=2))
    assert math.isnan(found.share)
    assert "assumed spread" in found.sentences[0]
    assert math.isnan(found.smallest_difference)


def test_two_single_shots_are_compared_with_t_and_not_with_the_normal() -> None:
    # t tables: 2.045 on 29 degrees of freedom.
    found = check(shots())
    sd = replicate_spread(shots(), "ey_pct").sd
    assert found.smallest_difference == pytest.approx(2.045 * math.sqrt(2) * sd, rel=1e-3)


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
    wide = replicate_spread(shots(spread=5.0), "ey_pct")
    assert instrument_against_shots(shots(), bench=BENCH, spread=wide).share < check(shots()).share
