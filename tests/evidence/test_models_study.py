"""The study of the models in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import __main__ as command
from tests.evidence import models
from tests.evidence.tally import Promise, Tally, report

LOGS, SEED = 200, 7


@pytest.fixture(scope="module")
def tallies() -> list[Tally]:
    """Return the whole study on few logs."""
    return list(models.study(LOGS, SEED))


@pytest.mark.parametrize("promise", ["coverage", "at least", "false alarms", "power"])
def test_promises_are_credible(tallies: list[Tally], promise: Promise) -> None:
    chosen = [each for each in tallies if each.promise == promise]
    assert chosen
    assert [each for each in chosen if not each.credible()] == []


def test_every_size_of_log_is_studied(tallies: list[Tally]) -> None:
    assert {each.rows for each in tallies} == {12, 24, 60}


def test_only_the_known_limit_promises_nothing(tallies: list[Tally]) -> None:
    limits = {(t.scenario, t.quantity) for t in tallies if t.promise == "no promise"}
    assert limits == {("skewed noise", "adjusted mean, HC3")}


def test_the_same_seed_gives_the_same_study() -> None:
    first, second = (list(models.study(3, 5, sizes=(12,))) for _ in range(2))
    assert first == second


def test_an_interval_that_is_too_narrow_is_found_out() -> None:
    half = models.Question(
        "slope, half the interval",
        "coverage",
        lambda fit, _: (
            abs(models.slope(fit).estimate - models.SLOPE)
            < (models.slope(fit).ci_high - models.slope(fit).ci_low) / 4
        ),
    )
    scenario = models.Scenario("line", models.LINE_TERMS, models.line, [half])
    (tally,) = models.simulated(scenario, 24, LOGS, np.random.default_rng(3))
    assert not tally.credible()
    assert not tally.kept()


@pytest.mark.parametrize(
    ("promise", "share", "kept"),
    [
        ("coverage", 0.929, False),
        ("coverage", 0.93, True),
        ("coverage", 0.971, False),
        ("at least", 0.99, True),
        ("at least", 0.929, False),
        ("false alarms", 0.066, False),
        ("false alarms", 0.01, True),
        ("power", 0.76, False),
    ],
)
def test_the_policy_bounds(promise: Promise, share: float, kept: bool) -> None:
    tally = Tally("any", 12, "any", promise, round(share * 1000), 1000)
    assert tally.kept() == kept


def test_the_report_marks_what_is_not_kept() -> None:
    bad, good = (Tally("any", 12, "slope", "coverage", held, 100) for held in (80, 95))
    lines = report([bad, good]).splitlines()
    assert [line.endswith("NOT KEPT") for line in lines[1:]] == [True, False]


def test_the_command_names_its_studies(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        command.main(["nonsense"])
    assert "models" in capsys.readouterr().err
