"""The study of next shots in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import predictions
from tests.evidence.tally import Tally

LOGS, SEED = 60, 17


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the study of few logs, one session and several."""
    chosen = [
        each for each in predictions.PULLED if each.name in ("independent", "within sessions")
    ]
    return list(predictions.study(LOGS, SEED, cases=chosen, sizes=(12, 24)))


def test_every_promise_is_credible(tallies: list[Tally]) -> None:
    assert [each for each in tallies if not each.credible()] == []


def test_shots_and_pairs_are_both_studied(tallies: list[Tally]) -> None:
    assert {each.quantity for each in tallies} == {"next shot", "all pairs at once"}


def test_all_cases_that_are_named_exist() -> None:
    assert {case.name for case in predictions.PULLED} == predictions.NAMES


def test_a_next_shot_without_noise_is_the_law_of_its_log() -> None:
    case = predictions.Case("no noise", shot_sd=1e-9, session_sd=1e-9, sessions=False)
    rng = np.random.default_rng(2)
    comparable = predictions.pull(case, 24, rng)
    value = predictions.next_shot(comparable, case, rng)
    shot = predictions.predict_shot(predictions.found_in(comparable, case), predictions.AT)
    assert shot.mean == pytest.approx(value, abs=1e-6)
