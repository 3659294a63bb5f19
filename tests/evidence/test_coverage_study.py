"""The studies of coverage and false alarms in short: fixed seed, four binomial standard errors."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import coverage
from tests.evidence.policy_logs import BENCH, CASES, SIZES, pull
from yieldwright.taste import fit_effects

LOGS, SEED = 500, 11


def not_credible(case: coverage.Case, **options: object) -> list[coverage.Tally]:
    """Return the promises of one case that a short study contradicts."""
    if case.model == "mixed":  # slower, and asked for by few
        options = {"sizes": (12, 24), **options}
    tallies = list(coverage.study(LOGS, SEED, cases=[case], **options))
    assert {each.rows for each in tallies} == set(options.get("sizes", SIZES))
    return [each for each in tallies if not each.credible()]


class TestPlainCases:
    """Classes, so that cases may run on several workers."""

    @pytest.mark.parametrize("case", CASES[:4], ids=lambda case: case.name)
    def test_printed_intervals_cover(self, case: coverage.Case) -> None:
        assert not_credible(case) == []


class TestUnevenCases:
    """Sessions of unlike length, and several tasters."""

    @pytest.mark.parametrize("case", CASES[4:8], ids=lambda case: case.name)
    def test_printed_intervals_cover(self, case: coverage.Case) -> None:
        assert not_credible(case) == []


class TestAgeingCases:
    """Grind that goes along with the age of the bag."""

    @pytest.mark.parametrize("case", CASES[8:], ids=lambda case: case.name)
    def test_printed_intervals_cover(self, case: coverage.Case) -> None:
        assert not_credible(case) == []


class TestFalseAlarms:
    """Estimates shift with the truth, so the other cases tell no more than their coverage."""

    @pytest.mark.parametrize("case", CASES[::3], ids=lambda case: case.name)
    def test_idle_settings_seem_clear_as_rarely_as_said(self, case: coverage.Case) -> None:
        assert not_credible(case, sizes=(12, 24), alarms=True) == []


def test_the_study_judges_what_a_fit_prints() -> None:
    for case in CASES:
        chosen = coverage.chosen_for(case, 24, np.random.default_rng(4))
        ours = [e.estimate.estimate for each in chosen.judged for e in coverage.effects_of(each)]
        log = pull(case, 24, np.random.default_rng(4))
        fit = fit_effects(
            log, case.response, bench=BENCH, adjusters=case.adjusters, model=case.model
        )
        assert sorted(ours) == pytest.approx(sorted(fit.effects["estimate"]), rel=1e-9)
        told = {effect.predictor.column for effect in coverage.printed(chosen)}
        mute = {n for pair in fit.confounded if pair.forbids_verdict for n in (pair.first,)}
        assert not told & mute


def test_age_that_goes_with_grind_is_as_strong_as_the_case_says() -> None:
    rng = np.random.default_rng(8)
    for case in (each for each in CASES if each.age_r):
        logs = (pull(case, 40, rng).shots for _ in range(200))
        found = [np.corrcoef(log["grind_setting"], log["roast_age_d"])[0, 1] for log in logs]
        assert np.mean(found) == pytest.approx(case.age_r, abs=0.05)


def test_the_same_seed_gives_the_same_study() -> None:
    first, second = (list(coverage.study(4, 5, cases=CASES[:2], sizes=(12,))) for _ in range(2))
    assert first == second
