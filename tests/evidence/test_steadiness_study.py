"""The study of steadiness in short, with a fixed seed, and its layouts looked at."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence.steadiness import (
    BENCH,
    LEVEL,
    SCENARIOS,
    SHOT_SD,
    Scenario,
    layout,
    outcomes,
    run,
    study,
)
from yieldwright.repeatability.spread.likeness import like_shots

#: What the command takes as repeats in each layout, counted by hand.
REPEATS = {
    "one set": ("setting", 5),  # one mean
    "sessions": ("setting", 18),  # a mean for each of six sessions
    "band by session": ("setting", 16),  # for each of four
    "line": ("fit", 18),  # four sessions, grind, taper
    "line, two hands": ("fit", 18),  # four sessions, grind, hand
    "hands left in": ("fit", 7),  # four sessions, grind
}


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda each: each.name)
def test_each_layout_has_the_repeats_that_a_hand_counts(scenario: Scenario) -> None:
    frame = layout(scenario)
    (times,) = outcomes(scenario, frame, 1, np.random.default_rng(5))
    found = like_shots(frame.assign(time_s=times), "time_s", bench=BENCH)
    assert (found.basis, found.df) == REPEATS[scenario.name]
    assert found.pools_hands == (scenario.name == "hands left in")


def test_drawn_shots_have_the_spread_that_is_asked_for() -> None:
    values = outcomes(SCENARIOS[0], layout(SCENARIOS[0]), 4000, np.random.default_rng(5))
    within = values.var(axis=1, ddof=1).mean()
    # Four standard errors of a variance with 20,000 degrees of freedom.
    assert within == pytest.approx(SHOT_SD**2, rel=4 * np.sqrt(2 / 20_000))


def test_forty_logs_of_each_layout_keep_what_was_promised() -> None:
    tallies = [each for found in study(40, 20_240_601) for each in found]
    assert {each.scenario for each in tallies} == {each.name for each in SCENARIOS}
    assert [each for each in tallies if not each.credible()] == []


def test_a_spread_told_too_small_breaks_the_promise(monkeypatch: pytest.MonkeyPatch) -> None:
    shaken = layout(SCENARIOS[0])
    values = outcomes(SCENARIOS[0], shaken, 50, np.random.default_rng(5))
    narrow = LEVEL + (values - LEVEL) / 3
    monkeypatch.setattr("tests.evidence.steadiness.outcomes", lambda *_: narrow)
    (found,) = study(50, 1, scenarios=SCENARIOS[:1])
    (spread,) = [each for each in found if each.quantity == "SD"]
    assert not spread.kept()


def test_the_study_prints_a_line_for_each_promise(capsys: pytest.CaptureFixture[str]) -> None:
    run(5, 1)
    out = capsys.readouterr().out
    assert "next difference within limit" in out
    assert out.splitlines()[-1].startswith("5 logs a line, seed 1")
