"""The study of two bags in the same sessions in short: fixed seed, four binomial errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import paired
from tests.evidence.paired_logs import CASES, FIRST, SCORE, case_of, paired_log
from tests.evidence.tally import Tally

LOGS, SEED = 30, 12
NAMES = (
    "two of each, alike",
    "four sessions, one to three",
    "growing, one to three",
    "dose scatters",
    "always ground finer",
)


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few logs of five cases."""
    return list(paired.study(LOGS, SEED, cases=[case_of(name) for name in NAMES]))


def test_every_promise_is_credible(tallies: list[Tally]) -> None:
    assert [each for each in tallies if not each.credible()] == []


def test_differences_changes_controls_and_alarms_are_studied(tallies: list[Tally]) -> None:
    assert {each.quantity for each in tallies} == {
        "difference",
        "its change per day",
        "control per day",
        "said to differ",
        "told as bag and grind together",
    }


def test_equal_and_unequal_cells_with_and_without_spread_are_studied() -> None:
    kinds = {(case.each[0] == case.each[1], case.cell_sd > 0) for case in CASES}
    assert kinds == {(True, True), (True, False), (False, True), (False, False)}
    assert {case.sessions for case in CASES} >= {4, 8, 12}


def test_bags_take_turns_and_differ_as_the_case_says() -> None:
    case = case_of("growing, one to three")
    rng = np.random.default_rng(2)
    apart, firsts = [], []
    for _ in range(200):
        shots = paired_log(case, rng).shots
        halves = shots.groupby(["session", "bag"])[SCORE].mean().unstack()
        apart.append((halves.iloc[:, 0] - halves.iloc[:, 1]).to_numpy())
        firsts.append(shots.groupby("session")["bag"].first().eq(FIRST).to_numpy())
    days = 4.0 * np.arange(case.sessions)
    slope, level = np.polyfit(days - days.mean(), np.mean(apart, axis=0), 1)
    assert level == pytest.approx(case.difference, abs=0.1)
    assert slope == pytest.approx(case.per_day, abs=0.008)
    assert 0.3 < np.mean(firsts) < 0.7
