"""The study of scores as steps in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import ordinal
from tests.evidence.tally import Promise, Tally

LOGS, SEED = 20, 17
SIZES = (16, 24)
KINDS = {"ends", "crossed tasters"}


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few logs, scenarios and sizes."""
    chosen = [each for each in ordinal.SCENARIOS if each.name in KINDS]
    assert len(chosen) == len(KINDS)
    return list(ordinal.study(LOGS, SEED, scenarios=chosen, sizes=SIZES))


@pytest.mark.parametrize("promise", ["coverage", "at least", "false alarms"])
def test_promises_are_credible(tallies: list[Tally], promise: Promise) -> None:
    chosen = [each for each in tallies if each.promise == promise]
    assert chosen
    assert [each for each in chosen if not each.credible()] == []


def test_every_size_scenario_and_kind_of_p_value_is_studied(tallies: list[Tally]) -> None:
    assert {each.rows for each in tallies} == set(SIZES)
    assert {each.scenario for each in tallies} >= KINDS
    assert {"taper, p by exchange", "taper, p by likelihood"} <= {
        each.quantity for each in tallies
    }


def test_planted_camps_are_found(tallies: list[Tally]) -> None:
    found = [each for each in tallies if each.quantity == "camps over grind found"]
    assert len(found) == len(SIZES)
    assert all(each.share > 0.7 for each in found)


def test_every_log_is_told(tallies: list[Tally]) -> None:
    assert all(each.share == 1.0 for each in tallies if each.quantity == "told")


def test_tastes_that_pass_for_shots_raise_false_alarms() -> None:
    # Why the shot is the unit: tasters who agree say one thing three times. Simulated by
    # us; the trade's note gives 25 %.
    lesson = ordinal.misled(24, 40, np.random.default_rng(3))
    assert lesson.share > 0.1


def test_the_same_seed_gives_the_same_study() -> None:
    chosen = ordinal.SCENARIOS[:1]
    first, second = (list(ordinal.study(2, 5, scenarios=chosen, sizes=(12,))) for _ in range(2))
    assert first == second
