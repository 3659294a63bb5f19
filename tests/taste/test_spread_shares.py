"""Shares of the spread add up in order, and agree with a published analysis of variance."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from yieldwright.bench import Band, Bench
from yieldwright.taste import ComparableSet
from yieldwright.taste.fitting import find
from yieldwright.taste.spread_shares import spread_shares


def test_shares_in_order_add_up_to_the_whole() -> None:
    found = spread_shares(find(comparable(log()), "ey_pct", bench=BENCH))
    assert found is not None
    assert found.table["share_in_order"].sum() == pytest.approx(1, abs=1e-12)
    assert (found.table["share_last"] >= 0).all()
    assert "goes with grind setting" in found.sentences[0]


def test_the_last_term_takes_the_same_share_in_order_and_last() -> None:
    found = spread_shares(find(comparable(log()), "ey_pct", bench=BENCH))
    assert found is not None
    last = found.table.iloc[-2]
    assert last["share_in_order"] == pytest.approx(last["share_last"], rel=1e-9)


def test_shares_equal_a_published_analysis_of_variance() -> None:
    # Box, Hunter and Hunter 2005, table 4.2, penicillin yields: four treatments in five blends;
    # printed sums of squares 70 (treatments, 3 df), 226 (error, 12 df), F 1.24.
    treatment, blend = np.meshgrid(list("ABCD"), [f"blend {k}" for k in range(1, 6)])
    values = [[89, 88, 97, 94], [84, 77, 92, 79], [81, 87, 87, 85], [87, 92, 89, 84],
              [79, 81, 80, 88]]  # fmt: skip
    shots = pd.DataFrame(
        {
            "shot": [str(row) for row in range(20)],
            "session": blend.ravel(),
            "temp_band": treatment.ravel(),
            "ey_pct": np.ravel(values).astype(float),
        }
    )
    bench = Bench(bands=tuple(Band(name, 80, 90) for name in "ABCD"))
    found = spread_shares(find(ComparableSet("", "", shots), "ey_pct", bench=bench, adjusters=()))
    assert found is not None
    band = found.table.set_index("term").loc["temp_band"]
    assert band["share_last"] == pytest.approx(70 / 296, rel=1e-12)
    assert band["statistic"] == pytest.approx(1.24, abs=0.005)
    assert band["df"] == 3


def test_a_log_without_a_fit_has_no_shares() -> None:
    few = comparable(log().head(4))
    assert spread_shares(find(few, "ey_pct", bench=BENCH)) is None
