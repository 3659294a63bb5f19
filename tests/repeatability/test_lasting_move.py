"""One lasting move of the level: found where it is, dated, and seldom where there is none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.evidence.bags import BENCH
from tests.models.published import data, expected
from yieldwright.repeatability.charts.lasting_move import LastingMove, lasting_move
from yieldwright.repeatability.charts.watching import watch
from yieldwright.taste.columns.comparable import ComparableSet


def moved(values: np.ndarray, **columns: object) -> LastingMove | None:
    """Return the likeliest move of a time in the order given."""
    shots = pd.DataFrame({"shot": [f"s{n}" for n in range(len(values))], "time_s": values})
    found = watch(ComparableSet("", "", shots.assign(**columns)), "time_s", bench=BENCH)
    return lasting_move(found, rng=np.random.default_rng(3))


def test_the_shift_of_the_nile_is_that_of_strucchange_in_r(reference: Path) -> None:
    # Cobb 1978; R strucchange 1.5-3: one break after observation 28, the year 1898.
    known = expected(reference, "trend_nile_changepoint")["changepoint"]
    table = data(reference, "trend_nile_changepoint")
    found = moved(table["flow"].to_numpy(dtype=float) / 10, shot=table["year"].astype(str))
    assert found is not None
    assert (found.last_before, found.first_after) == ("1898", "1899")
    assert found.shift.mean_before == pytest.approx(known["mean_before"] / 10, rel=1e-12)
    assert found.shift.mean_after == pytest.approx(known["mean_after"] / 10, rel=1e-12)
    assert found.shift.statistic == pytest.approx(known["supF"], rel=1e-10)
    assert found.clear


def test_a_move_between_sessions_is_dated_by_the_first_shot_after_it() -> None:
    rng = np.random.default_rng(5)
    session = np.repeat(np.arange(10), 3)
    values = 36 - 4.0 * (session >= 6) + rng.normal(0, 0.5, 30)
    days = pd.Timestamp("2026-03-01") + pd.to_timedelta(2 * session, unit="D")
    found = moved(values, session=[f"e{n}" for n in session], pulled_on=days)
    assert found is not None
    assert (found.first_after, found.day) == ("s18", "2026-03-13")
    assert "Look for what changed there, or the coffee aged." in found.sentences[0]


def test_a_move_on_one_day_is_not_put_down_to_age() -> None:
    values = 36 - 4.0 * (np.arange(30) >= 18) + np.random.default_rng(5).normal(0, 0.5, 30)
    found = moved(values, pulled_on=pd.Timestamp("2026-03-01"))
    assert found is not None
    assert found.sentences[0].endswith("Look for what changed there.")


def test_sessions_that_differ_are_no_move() -> None:
    alarms = 0
    for seed in range(24):
        rng = np.random.default_rng(seed)
        session = np.repeat(np.arange(10), 4)
        values = 36 + rng.normal(0, 2, 10)[session] + rng.normal(0, 1, 40)
        found = moved(values, session=[f"e{n}" for n in session])
        alarms += found is not None and found.clear
    assert alarms <= 24 * 0.05 + 4 * np.sqrt(24 * 0.05 * 0.95)


def test_too_few_shots_are_no_question() -> None:
    assert moved(np.array([36.0, 35.0, 37.0])) is None


def test_codes_from_a_log_are_shown_harmlessly() -> None:
    values = np.r_[np.full(8, 36.0), np.full(8, 30.0)] + 0.1 * np.arange(16) % 0.3
    found = moved(values, shot=[f"\x1b[31m{n}" for n in range(16)])
    assert found is not None
    assert "\x1b" not in found.sentences[0]
