"""The study of people in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import people
from tests.evidence.tally import Tally
from yieldwright.bench import Bench
from yieldwright.repeatability import compare_people
from yieldwright.repeatability.persons.people_judged import figures_of
from yieldwright.repeatability.persons.people_misses import mean_with_interval
from yieldwright.taste.columns.comparable import ComparableSet

LOGS, SEED = 60, 23


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few logs in every scenario."""
    return [each for found in people.study(LOGS, SEED) for each in found]


def test_every_promise_is_credible(tallies: list[Tally]) -> None:
    assert [each for each in tallies if not each.credible()] == []


def test_the_skewed_scenario_alone_goes_without_promises(tallies: list[Tally]) -> None:
    assert {each.scenario for each in tallies if each.promise == "no promise"} == {"skewed"}


def test_levels_spreads_and_trends_are_all_studied(tallies: list[Tally]) -> None:
    assert {each.quantity for each in tallies} >= {
        "SD", "ratio of SDs", "difference of SDs", "level difference", "mean miss", "SD a week",
        "miss a week", "change in a class", "ranked in spread wrongly", "ranked in level",
    }  # fmt: skip


@pytest.mark.parametrize("scenario", people.SCENARIOS, ids=lambda each: each.name)
def test_the_study_counts_what_a_user_is_shown(scenario: people.Scenario) -> None:
    shots = people.layout(scenario)
    found = people.footing(scenario)
    values = people.outcomes(scenario, shots, 1, np.random.default_rng(3))[0]
    shown = compare_people(
        ComparableSet("bag", "mill", shots.assign(time_s=values)), "time_s", bench=Bench()
    )
    assert shown is not None
    figures = figures_of(found, values)
    assert shown.people["sd"].tolist() == [each.sd for each in figures.people]
    assert shown.pairs["difference"].tolist() == [each.level.estimate for each in figures.pairs]
    first = np.abs(values[found.rows["p1"]] - people.LEVEL)
    assert shown.misses["miss"].iloc[0] == pytest.approx(mean_with_interval(first)[0])
