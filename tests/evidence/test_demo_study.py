"""The study of the demo in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import demo
from tests.evidence.tally import Tally

LOGS, SEED = 30, 3


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the whole study on few logs."""
    return list(demo.study(LOGS, SEED))


def test_the_true_effects_lie_in_their_intervals_as_often_as_said(tallies: list[Tally]) -> None:
    assert [each for each in tallies if not each.credible()] == []


def test_grind_taper_and_band_are_studied_on_time_yield_and_taste(tallies: list[Tally]) -> None:
    studied = {(each.scenario, each.quantity) for each in tallies}
    assert len(studied) == 3 * (2 + 3)  # the band of the first coffee is not varied in evenings


def test_only_the_known_limits_promise_nothing(tallies: list[Tally]) -> None:
    limits = {each.quantity for each in tallies if each.promise == "no promise"}
    assert limits == {"score:overall by grind_setting"}


def test_the_same_seed_gives_the_same_verdicts() -> None:
    first, second = (list(demo.verdicts(np.random.default_rng(5))) for _ in range(2))
    assert first == second
