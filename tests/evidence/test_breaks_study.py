"""The study of events and bags in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import breaks
from tests.evidence.tally import Tally
from yieldwright.ageing.breaks.event_steps import fit_steps
from yieldwright.ageing.breaks.events import events
from yieldwright.ageing.compared.bag_pairs import compare_pair
from yieldwright.ageing.compared.bags import compare_bags_of

LOGS, SEED = 25, 11


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few logs and scenarios."""
    services = [each for each in breaks.SERVICES if each.name in ("drifting bag", "few sessions")]
    pairs = [each for each in breaks.PAIRS if each.name in ("alike", "side by side")]
    return list(breaks.study(LOGS, SEED, services=services, pairs=pairs))


def test_promises_are_credible(tallies: list[Tally]) -> None:
    chosen = [each for each in tallies if each.promise != "no promise"]
    assert {each.quantity for each in chosen} == {
        "step at a service", "setting on the first day", "setting on the last day",
        "bags at equal age", "setting of the next bag", "mean setting",
    }  # fmt: skip
    assert [each for each in chosen if not each.credible()] == []


def test_two_plain_means_mislead_where_the_bag_ages(tallies: list[Tally]) -> None:
    (lesson,) = [
        each for each in tallies
        if each.quantity == "two plain means" and each.scenario == "drifting bag"
    ]  # fmt: skip
    assert lesson.share < 0.6


def test_the_study_judges_what_is_printed() -> None:
    rng = np.random.default_rng(3)
    log = breaks.pull(breaks.SERVICES[1], rng)
    (ours,) = fit_steps(log, [breaks.SERVICE], breaks.RESPONSE, bench=breaks.BENCH).steps
    printed = events(log, breaks.RESPONSE, bench=breaks.BENCH)
    assert printed is not None
    assert ours.step is not None
    assert printed.to_frame()["estimate"].tolist() == pytest.approx([ours.step.estimate])
    both = breaks.pull(breaks.PAIRS[0], rng)
    pair = compare_pair(both, ("bag-1", "bag-2"), breaks.RESPONSE, bench=breaks.BENCH)
    table = compare_bags_of(both, breaks.RESPONSE, bench=breaks.BENCH).to_frame()
    assert pair.difference is not None
    assert table["estimate"].tolist() == pytest.approx([pair.difference.estimate])


def test_the_setting_judged_is_the_one_that_is_told() -> None:
    log = breaks.pull(breaks.SERVICES[1], np.random.default_rng(3))
    found = breaks.compensated(log, "bag-1")
    row = found.needed_at([breaks.ONE.last_d]).iloc[0]
    assert row.to_dict() == found.now.iloc[0].to_dict()
    assert row["service_stretch"] == "since service 1"


def test_the_same_seed_gives_the_same_study() -> None:
    chosen = breaks.SERVICES[:1]
    first, second = (
        list(breaks.stepped(chosen[0], 2, np.random.default_rng(5))) for _ in range(2)
    )
    assert first == second
