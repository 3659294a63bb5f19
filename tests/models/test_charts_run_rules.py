"""Supplementary rules: signals of published definitions, to the point, and what they cost."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.models.published import data, expected
from yieldwright.errors import OutOfRangeError
from yieldwright.models.charts.run_rules import (
    EIGHT_SAME_SIDE,
    FOURTEEN_ALTERNATING,
    ISO_7870,
    NELSON,
    ONE_BEYOND_3S,
    RULES,
    SIX_TREND,
    TWO_OF_THREE_BEYOND_2S,
    WESTERN_ELECTRIC,
    met_by,
    signals,
)

EXAMPLE = "spc_run_rules"
SEQUENCES = (
    "A_mixed", "B_run", "C_trend", "D_alternating", "E_stratified", "F_mixture", "G_boundary",
)  # fmt: skip


@pytest.mark.parametrize("name", SEQUENCES)
def test_signals_are_those_of_the_definitions(reference: Path, name: str) -> None:
    # Western Electric (1956), Nelson (1984), ISO 7870-2:2013; two implementations agree.
    table = data(reference, EXAMPLE)
    z = table.loc[table["sequence"] == name, "z"].to_numpy()
    assert signals(list(RULES.values()), z) == expected(reference, EXAMPLE)["signals"][name]


def test_many_series_at_once_signal_as_each_by_itself() -> None:
    z = 1.5 * np.random.default_rng(5).standard_normal((40, 60))
    for rule in RULES.values():
        alone = np.array([met_by(rule, row) for row in z])
        assert (met_by(rule, z) == alone).all()
        assert alone.any() or rule.name == "fifteen_within_1s"


def test_a_mirrored_series_signals_at_the_same_points() -> None:
    z = np.random.default_rng(6).standard_normal(400)
    assert signals(NELSON, z) == signals(NELSON, -z)


def test_a_point_on_a_bound_does_not_count() -> None:
    assert not met_by(ONE_BEYOND_3S, np.array([3.0, -3.0])).any()
    assert not met_by(EIGHT_SAME_SIDE, np.zeros(20)).any()


def test_a_tie_breaks_a_trend_and_a_turn() -> None:
    assert not met_by(SIX_TREND, np.array([1.0, 2, 3, 3, 4, 5, 6])).any()
    flat = np.tile([0.0, 1.0], 7)
    assert met_by(FOURTEEN_ALTERNATING, flat)[-1]
    flat[5] = flat[4]
    assert not met_by(FOURTEEN_ALTERNATING, flat).any()


def test_the_last_point_of_a_pattern_is_one_that_counts() -> None:
    assert met_by(TWO_OF_THREE_BEYOND_2S, np.array([2.5, 2.5, 0.0])).tolist() == [
        False, True, False,
    ]  # fmt: skip


def test_points_out_on_different_sides_are_no_pattern() -> None:
    assert not met_by(TWO_OF_THREE_BEYOND_2S, np.array([2.5, -2.5, 0.1])).any()


def test_every_rule_names_its_meaning_and_its_source() -> None:
    for name, rule in RULES.items():
        assert rule.name == name
        assert rule.meaning
        assert rule.hint
        assert any(year in rule.source for year in ("1956", "1984", "2013"))


def test_published_sets_hold_the_rules_they_are_known_for() -> None:
    assert [len(each) for each in (WESTERN_ELECTRIC, NELSON, ISO_7870)] == [4, 8, 3]
    for chosen, source in ((NELSON, "Nelson"), (ISO_7870, "ISO 7870"), (WESTERN_ELECTRIC, "1956")):
        assert all(source in rule.source for rule in chosen)


def test_missing_values_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="finite"):
        signals(ISO_7870, [0.0, np.nan])
