"""The study of effects in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import taste
from tests.evidence.tally import Promise, Tally
from yieldwright.taste import fit_effects

LOGS, SEED = 60, 11

#: Scenarios of the short study: one of each kind.
KINDS = {
    "clean",
    "drift, in order",
    "band a session",
    "grind with age",
    "12 in 1",
    "one a session",
}


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few logs and scenarios."""
    chosen = [each for each in taste.SCENARIOS if each.name in KINDS]
    assert len(chosen) == len(KINDS)
    return list(taste.study(LOGS, SEED, scenarios=chosen, sizes=((1, 12), (4, 4))))


@pytest.mark.parametrize("promise", ["coverage", "at least", "false alarms"])
def test_promises_are_credible(tallies: list[Tally], promise: Promise) -> None:
    chosen = [each for each in tallies if each.promise == promise]
    assert chosen
    assert [each for each in chosen if not each.credible()] == []


def test_every_kind_of_effect_is_studied(tallies: list[Tally]) -> None:
    assert {"grind", "taper", "roast age", "position", "low → medium"} <= {
        each.quantity for each in tallies
    }


def test_drift_passes_for_grind_where_position_is_left_out(tallies: list[Tally]) -> None:
    # Why the position term stays in: settings in order under thermal drift. Simulated by us;
    # the trade's note gives 38 % under milder drift.
    (lesson,) = [each for each in tallies if each.scenario == taste.UNGUARDED.name]
    assert lesson.share > 0.2


def test_the_study_judges_what_a_fit_prints() -> None:
    rng = np.random.default_rng(3)
    scenario = taste.SCENARIOS[1]
    log = taste.pull(scenario, rng)
    judged = taste.judge(log, scenario)
    ours = [e.estimate.estimate for each in judged for e in taste.effects_of(each)]
    printed = fit_effects(log, "ey_pct", bench=taste.BENCH).effects["estimate"].tolist()
    assert sorted(ours) == pytest.approx(sorted(printed))


def test_the_same_seed_gives_the_same_study() -> None:
    chosen = taste.SCENARIOS[:1]
    first, second = (list(taste.study(3, 5, scenarios=chosen, sizes=((1, 12),))) for _ in range(2))
    assert first == second
