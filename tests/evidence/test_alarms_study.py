"""The study of false alarms in short: fixed seed, four standard errors."""

from __future__ import annotations

import pytest

from tests.evidence import alarms
from tests.evidence.alarms import Line

LOGS, SEED = 250, 23


@pytest.fixture(scope="module")
def lines() -> list[Line]:
    """Return the study of few logs."""
    return list(alarms.study(LOGS, SEED, sizes=(15, 30), longest=False))


def test_run_lengths_and_chances_are_as_said(lines: list[Line]) -> None:
    assert [str(each) for each in lines if not each.kept()] == []


def test_every_rule_and_both_charts_are_studied(lines: list[Line]) -> None:
    known = {each.quantity.partition(":")[0] for each in lines if each.scenario == "limits known"}
    assert known >= set(alarms.RULES) - set(alarms.SELDOM) | {"running average", "sums"}


def test_chances_with_limits_from_the_same_shots_are_studied(lines: list[Line]) -> None:
    promised = {
        (each.scenario, each.shots) for each in lines if each.quantity == "any of them: alarms"
    }
    assert promised == {(each.name, n) for each in alarms.SCENARIOS for n in (15, 30)}


def test_a_wrong_claim_would_be_seen() -> None:
    # The chance at known limits is not that of limits from the same fifteen shots.
    assert not Line("", "", 15, 0.049, 0.005, 0.08).kept()
