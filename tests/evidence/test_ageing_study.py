"""The study of bags in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import ageing
from tests.evidence.bags import BENCH, CASES, bag_logs, case_of
from tests.evidence.portions import PORTION, portions_of
from tests.evidence.tally import Tally
from yieldwright.ageing.trend.rows import bag_rows
from yieldwright.taste.columns.comparable import set_of

LOGS, SEED = 30, 11
NAMES = ("flat", "one shot a day", "curve with a peak inside", "always ground finer")


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few bags of four cases."""
    return list(ageing.study(LOGS, SEED, cases=[case_of(name) for name in NAMES]))


def test_every_promise_is_credible(tallies: list[Tally]) -> None:
    assert [each for each in tallies if not each.credible()] == []


def test_slopes_settings_best_days_and_refusals_are_studied(tallies: list[Tally]) -> None:
    assert {each.quantity for each in tallies} >= {
        "score:overall per day",
        "time_s per day",
        "settings per day",
        "best day, every answer",
        "falls below, every answer",
        "no fall where there is none",
        "one shot",
        "share that reaches",
        "level refused",
        "no best day",
        "grind not split from age",
        "shots that would split named",
    }


def test_cases_without_a_promise_exist() -> None:
    assert {case.name for case in CASES} >= ageing.CORRELATED


def test_the_average_of_a_parabola_pulled_evenly_is_its_slope_in_the_middle() -> None:
    case = case_of("curve with a peak inside")
    (log,) = bag_logs(case, 1, np.random.default_rng(1))
    even = log.assign(roast_age_d=10.0 + 2 * (log.index // case.shots))
    rows = bag_rows(set_of(even), "time_s", bench=BENCH)
    middle = float(even["roast_age_d"].unique().mean())
    assert ageing.average(case, "time_s", rows) == pytest.approx(case.per_day("time_s", middle))


def test_a_level_asked_for_is_one_that_the_truth_falls_below_inside_what_was_pulled() -> None:
    for case in CASES:
        if case.falls_d is None:
            continue
        before, after = case.drift(ageing.SCORE, [case.falls_d - 1, case.falls_d + 1])
        assert case.first_d < case.falls_d < case.last_d
        assert before > case.drift(ageing.SCORE, case.falls_d) > after


def test_portions_hold_every_log_once_each_from_a_stream_of_its_own() -> None:
    for logs in (1, 250, 251, 1001):
        sizes, streams = portions_of(logs, np.random.SeedSequence(1))
        assert sum(sizes) == logs
        assert all(0 < size <= PORTION for size in sizes)
        assert len({each.spawn_key for each in streams}) == len(sizes)
