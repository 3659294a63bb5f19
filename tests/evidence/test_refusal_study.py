"""Ten kinds of logs that nobody could answer from, each met by "cannot tell"."""

from __future__ import annotations

import numpy as np
import pytest

from tests.evidence import refusal
from tests.evidence.clean_logs import BENCH, Size, clean, comparable
from yieldwright.taste import fit_effects


@pytest.mark.parametrize("kind", refusal.KINDS, ids=lambda each: each.name)
def test_an_unanswerable_log_is_refused(kind: refusal.Unanswerable) -> None:
    tally = refusal.refused(kind, 4, np.random.default_rng(11))
    assert tally.held == tally.logs


def test_a_clear_effect_is_not_taken_for_a_refusal() -> None:
    # The grind setting of clean logs does change the yield: most of them say so.
    rng = np.random.default_rng(3)
    fits = [fit_effects(comparable(clean(Size(7), rng)), "ey_pct", bench=BENCH) for _ in range(5)]
    assert sum(refusal.cannot_tell(fit, "grind_setting") for fit in fits) == 0


def test_the_logs_of_a_study_are_shared_out_among_the_kinds() -> None:
    tallies = list(refusal.study(len(refusal.KINDS) + 1, 5))
    assert [each.logs for each in tallies] == [2, *[1] * (len(refusal.KINDS) - 1)]
