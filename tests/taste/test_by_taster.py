"""Taste by taster: camps found, homogeneous panels left alone, harshness and first cups told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.evidence.ordinal import POINTS
from tests.taste.logs import BENCH, comparable, log
from tests.taste.scored_logs import findings, log_of, with_scores
from yieldwright.formatting import number
from yieldwright.taste import ComparableSet
from yieldwright.taste.fitting import find
from yieldwright.taste.tasters.by_taster import TasterEffects, taste_by_taster

CAMPS = (1.0, 1.0, -1.0, -1.0)


def by_taster(log: ComparableSet) -> TasterEffects:
    found = taste_by_taster(findings(log))
    assert found is not None
    return found


def codes(found: TasterEffects) -> list[str]:
    return [each.code for each in found.cautions]


def renamed(log: ComparableSet, names: dict[str, str]) -> ComparableSet:
    tastings = log.tastings.assign(taster=log.tastings["taster"].map(names))
    return replace(log, tastings=tastings)


def test_what_is_measured_has_no_tasters() -> None:
    assert taste_by_taster(find(comparable(log()), "ey_pct", bench=BENCH)) is None


@pytest.mark.parametrize("size", [16, 24])
def test_two_camps_are_found_and_named(size: int) -> None:
    found = by_taster(log_of(size, tasters=4, grind=2.5, signs=CAMPS))
    (caution,) = [each for each in found.cautions if each.code == "two-camps"]
    assert "over one setting coarser: it lifts the score of t0 and t1" in caution.sentence
    assert "lowers that of t2 and t3" in caution.sentence
    assert caution.about == ("grind_setting",)


def test_the_pooled_effect_of_camps_is_unclear() -> None:
    # The reason for the caution: together they look as if nothing mattered.
    found = by_taster(log_of(24, tasters=4, grind=2.5, signs=CAMPS))
    grind = found.steps[0]
    assert grind.pooled[1] < 0 < grind.pooled[2]
    assert all(abs(each.estimate) > 0.5 for each in grind.effects.values())


def test_few_panels_of_one_mind_are_called_different() -> None:
    # Five in a hundred by chance, over all steps together; four binomial standard errors.
    logs = 40
    alarms = sum(
        any(step.differ for step in by_taster(log_of(16, tasters=3, seed=seed)).steps)
        for seed in range(logs)
    )
    assert alarms / logs <= 0.05 + 4 * np.sqrt(0.05 * 0.95 / logs)


def test_each_tasters_effect_is_told_in_points_of_the_scale() -> None:
    found = by_taster(log_of(40, tasters=4, grind=2.5, signs=CAMPS, shared=0.0))
    estimates = [each.estimate for each in found.steps[0].effects.values()]
    assert estimates == pytest.approx([2.5 * POINTS * sign for sign in CAMPS], abs=0.45)


def test_a_harsher_taster_is_told_with_an_interval() -> None:
    one = log_of(24, tasters=3, taster_sd=0.0)
    harsh = one.tastings["score"] - 1.5 * (one.tastings["taster"] == "t1")
    found = by_taster(with_scores(one, one.tastings.assign(score=harsh)))
    # A point and a half below the others is one point below all three on average.
    offset = found.offsets["t1"]
    assert offset.estimate == pytest.approx(-1.0, abs=0.3)
    assert offset.ci_low < -1.0 < offset.ci_high
    (sentence,) = [each for each in found.sentences if each.startswith("Some score everything")]
    shown = number(abs(offset.estimate), (offset.ci_high - offset.ci_low) / 2)
    assert f"t1 {shown} points lower on overall" in sentence


def test_offsets_cancel_over_all_tasters() -> None:
    found = by_taster(log_of(24, tasters=3))
    assert sum(each.estimate for each in found.offsets.values()) == pytest.approx(0, abs=1e-9)


def test_a_first_cup_that_scores_higher_is_found_where_the_order_is_logged() -> None:
    one = log_of(24, tasters=3)
    rng = np.random.default_rng(2)
    order = one.tastings.groupby("taster")["score"].transform(
        lambda each: rng.permutation(np.resize(np.arange(1, 7), len(each)))
    )
    lifted = one.tastings.assign(
        tasting_order=order, score=one.tastings["score"] + 2.0 * (order == 1)
    )
    found = by_taster(with_scores(one, lifted))
    assert found.first_cup is not None
    assert found.first_cup.ci_low < 2.0 < found.first_cup.ci_high
    assert any(each.startswith("The first cup of a tasting scored ") for each in found.sentences)


def test_an_order_that_is_the_tasters_own_says_nothing_of_first_cups() -> None:
    one = log_of(24, tasters=3)
    order = one.tastings["taster"].map({"t0": 1, "t1": 2, "t2": 3})
    found = by_taster(replace(one, tastings=one.tastings.assign(tasting_order=order)))
    assert found.first_cup is None
    assert found.steps


def test_one_taster_is_a_reason() -> None:
    found = by_taster(log_of(24))
    assert found.missing.startswith("One taster")
    assert found.to_frame().empty
    assert found.summary()


def test_tasters_without_a_shot_in_common_are_a_reason() -> None:
    one = log_of(24, tasters=2)
    early = one.tastings["shot"].astype(int) < 12
    apart = one.tastings[early == (one.tastings["taster"] == "t0")]
    found = by_taster(with_scores(one, apart.reset_index(drop=True)))
    assert found.missing.startswith("No shots link the tasters")


def test_a_guest_with_few_scores_is_left_out() -> None:
    one = log_of(24, tasters=3)
    guest = (one.tastings["taster"] != "t2") | (one.tastings["shot"].astype(int) < 3)
    found = by_taster(with_scores(one, one.tastings[guest].reset_index(drop=True)))
    assert list(found.tasters) == ["t0", "t1"]


def test_missing_scores_cost_their_rows_only() -> None:
    one = log_of(24, tasters=3)
    holes = one.tastings.assign(score=one.tastings["score"].where(one.tastings.index % 9 != 0))
    found = by_taster(with_scores(one, holes))
    assert sum(found.tasters.values()) == 64
    assert found.steps


def test_scores_told_twice_make_nothing_surer() -> None:
    one = log_of(24, tasters=3)
    twice = pd.concat([one.tastings, one.tastings], ignore_index=True)
    once, again = (by_taster(each).to_frame() for each in (one, with_scores(one, twice)))
    pd.testing.assert_frame_equal(once, again)


def test_a_score_outside_the_scale_moves_no_effect() -> None:
    one = log_of(24, tasters=3)
    rows = one.tastings.index == 4
    gone = with_scores(one, one.tastings[~rows])
    wrong = one.tastings.assign(score=one.tastings["score"].where(~rows, 55.0))
    outside = replace(gone, tastings=wrong)
    pd.testing.assert_frame_equal(by_taster(gone).to_frame(), by_taster(outside).to_frame())


def test_equal_scores_are_a_reason_and_no_error() -> None:
    one = log_of(24, tasters=3)
    found = taste_by_taster(findings(with_scores(one, one.tastings.assign(score=7.0))))
    assert found is None or found.missing


def test_a_setting_that_a_taster_met_at_one_value_only_is_a_reason() -> None:
    one = log_of(24, tasters=2)
    coarse = one.shots.loc[one.shots["grind_setting"] > 11, "shot"]
    kept = (one.tastings["taster"] == "t0") | one.tastings["shot"].isin(coarse)
    found = by_taster(with_scores(one, one.tastings[kept].reset_index(drop=True)))
    assert found.missing or not np.isnan(found.steps[0].effects["t1"].estimate)


def test_codes_of_tasters_are_shown_as_text_only() -> None:
    hostile = {"t0": "<script>x</script>", "t1": "a\x1b[31m\n", "t2": "=1+1"}
    found = by_taster(renamed(log_of(24, tasters=3), hostile))
    assert "<script>" not in found._repr_html_()
    assert "\x1b" not in found.summary()


def test_the_table_has_a_row_for_each_taster_and_step() -> None:
    found = by_taster(log_of(24, tasters=3))
    assert len(found.to_frame()) == 3 * len(found.steps) == 12
    assert found.display_frame()["Taster"].tolist() == ["t0", "t1", "t2"] * 4
