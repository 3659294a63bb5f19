"""Scores as steps: odds in plain words, shots as the unit, one-sided where they must be."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from tests.taste.logs import BENCH, comparable, log
from tests.taste.scored_logs import findings, log_of, with_scores
from yieldwright.formatting import number
from yieldwright.taste import ComparableSet, fit_effects
from yieldwright.taste.fitting import find
from yieldwright.taste.steps.odds_words import higher_words, odds_amount, odds_span
from yieldwright.taste.steps.scored_steps import ScoredSteps, disagreements, scored_steps


def steps_of(log: ComparableSet, seed: int = 0) -> ScoredSteps:
    found = scored_steps(findings(log), rng=np.random.default_rng(seed))
    assert found is not None
    return found


def grind_row(found: ScoredSteps) -> pd.Series:
    return found.to_frame().set_index("step").loc["one setting coarser"]


def bare_log(grind: list[float], scores: list[float]) -> ComparableSet:
    """Return shots of one session with one setting and one score each."""
    n = len(grind)
    shots = pd.DataFrame(
        {
            "shot": [str(place) for place in range(n)],
            "session": "only",
            "grind_setting": grind,
            "score:overall": scores,
        }
    )
    return ComparableSet("bag", "mill", shots)


def plain(log: ComparableSet) -> ScoredSteps:
    question = find(log, "score:overall", bench=BENCH, adjusters=())
    found = scored_steps(question, rng=np.random.default_rng(0))
    assert found is not None
    return found


def test_what_is_measured_has_no_steps() -> None:
    measured = find(comparable(log()), "ey_pct", bench=BENCH)
    assert scored_steps(measured, rng=np.random.default_rng(0)) is None


def test_a_clear_effect_is_said_as_odds_with_interval_shots_and_p() -> None:
    found = steps_of(log_of(40, tasters=3, grind=-2.0))
    (sentence,) = [each for each in found.sentences if each.startswith("One setting coarser")]
    assert re.fullmatch(
        r"One setting coarser makes a higher overall score 0\.\d+ times as likely against a lower "
        r"one \(odds; 95 % 0\.\d+ to 0\.\d+; p (= 0\.\d+|< 0\.001) from the likelihood; 40 shots, "
        r"3 tasters\)\.",
        sentence,
    )


def test_the_odds_of_a_sentence_are_those_of_the_table() -> None:
    found = steps_of(log_of(40, tasters=3, grind=-2.0))
    row = grind_row(found)
    assert row["odds_ratio"] == pytest.approx(math.exp(row["estimate"]))
    shown = [number(float(row[name]), figures=2) for name in ("odds_ratio", "odds_low")]
    (sentence,) = [each for each in found.sentences if each.startswith("One setting coarser")]
    assert all(each in sentence for each in shown)


def test_an_unclear_effect_never_passes_for_none() -> None:
    found = steps_of(log_of(24, grind=0.0, band=0.0))
    sentence = next(each for each in found.sentences if "one setting coarser" in each)
    assert sentence.startswith("Taken as steps, the scores leave open whether one setting coarser")
    assert re.search(r"the odds may be \S+ to \S+ times what they were \(95 %", sentence)


@pytest.mark.parametrize("size", [12, 16])
def test_below_24_shots_the_p_value_comes_from_exchanging_scores(size: int) -> None:
    table = steps_of(log_of(size)).to_frame()
    assert set(table["p_from"]) == {"exchange"}
    assert (table["n_arrangements"] > 1000).all()


def test_from_24_shots_on_it_comes_from_the_likelihood() -> None:
    assert set(steps_of(log_of(24)).to_frame()["p_from"]) == {"likelihood"}


def test_too_few_arrangements_are_said_instead_of_a_p_value() -> None:
    # Two of five shots at a setting: C(5, 2) = 10 arrangements, so p is 0.1 at the least.
    found = plain(bare_log([10, 10, 11, 11, 11], [5, 6, 7, 5, 8]))
    (row,) = found.to_frame().to_dict("records")
    assert (row["p_from"], row["n_arrangements"]) == ("refused", 10)
    assert math.isnan(row["p_value"])
    assert "no p-value: exchanging scores gives only 10 arrangements" in found.sentences[0]


def test_scores_that_part_completely_have_one_limit_and_say_at_least() -> None:
    found = plain(bare_log([10.0] * 6 + [11.0] * 6, [5, 5.5, 6, 5, 6, 5.5, 7, 8, 7.5, 7, 9, 8]))
    (row,) = found.to_frame().to_dict("records")
    assert (row["estimate"], row["odds_high"]) == (math.inf, math.inf)
    assert 1 < row["odds_low"] < math.inf
    assert re.search(r"makes a higher overall score at least \S+ times as likely", found.summary())
    assert "scores-separate" in [each.code for each in found.cautions]


def test_the_other_way_round_they_say_at_most() -> None:
    found = plain(bare_log([11.0] * 6 + [10.0] * 6, [5, 5.5, 6, 5, 6, 5.5, 7, 8, 7.5, 7, 9, 8]))
    assert "at most" in found.sentences[0]
    assert grind_row(found)["odds_low"] == 0.0


def test_three_tasters_who_say_the_same_are_as_sure_as_one() -> None:
    one = log_of(40)
    same = pd.concat([one.tastings.assign(taster=each) for each in ("a", "b", "c")])
    alone, together = (
        grind_row(steps_of(each)) for each in (one, with_scores(one, same.reset_index(drop=True)))
    )
    widths = [float(row["ci_high"] - row["ci_low"]) for row in (alone, together)]
    assert widths[1] > 0.9 * widths[0]
    assert together["df"] == alone["df"]


def test_a_harsh_taster_who_missed_shots_moves_no_odds() -> None:
    # Taster b is three points harsher and tasted only the coarse half.
    one = log_of(40, tasters=2, taster_sd=0.0, grind=0.0, band=0.0, seed=4)
    coarse = one.shots.loc[one.shots["grind_setting"] >= 11, "shot"]
    kept = one.tastings[(one.tastings["taster"] == "t0") | one.tastings["shot"].isin(coarse)]
    harsh = kept.assign(score=kept["score"] - 3.0 * (kept["taster"] == "t1"))
    row = grind_row(steps_of(with_scores(one, harsh.reset_index(drop=True))))
    assert row["ci_low"] < 0 < row["ci_high"]


def test_a_setting_that_went_along_with_who_tasted_is_stopped() -> None:
    one = log_of(24, tasters=2)
    fine = one.shots.loc[one.shots["grind_setting"] <= 10, "shot"]
    first = (one.tastings["taster"] == "t0") == one.tastings["shot"].isin(fine)
    alone = one.shots.assign(grind_setting=np.where(one.shots["shot"].isin(fine), 10.0, 11.0))
    mixed = with_scores(replace(one, shots=alone), one.tastings[first].reset_index(drop=True))
    codes = {each.code: each.severity for each in steps_of(mixed).cautions}
    assert codes["setting-follows-taster"] == "stop"


def test_a_setting_that_cannot_be_told_from_another_has_no_odds() -> None:
    one = log_of(24, tasters=3)
    rng = np.random.default_rng(0)
    close = one.shots["grind_setting"] * 0.5 + rng.normal(0, 0.03, 24)
    tangled = replace(one, shots=one.shots.assign(taper_bar=close))
    assert set(steps_of(tangled).to_frame()["term"]) == {"temp_band"}
    alone = steps_of(replace(tangled, shots=tangled.shots.assign(temp_band="low")))
    assert alone.missing.startswith("No setting could be judged")


def test_equal_scores_are_a_reason_and_no_error() -> None:
    one = log_of(24)
    equal = with_scores(one, one.tastings.assign(score=7.0))
    found = scored_steps(findings(equal), rng=np.random.default_rng(0))
    assert found is not None
    assert found.missing
    assert found.to_frame().empty
    assert found.summary()


def test_scores_outside_the_scale_are_counted_and_left_out() -> None:
    one = log_of(24)
    wrong = one.tastings.assign(score=one.tastings["score"].where(one.tastings.index != 3, 17.0))
    found = steps_of(with_scores(one, wrong))
    (caution,) = [each for each in found.cautions if each.code == "steps-outside-scale"]
    assert caution.sentence.startswith("1 score lies outside the scale")
    assert (found.n_shots, found.n_scores) == (23, 23)


def test_missing_scores_are_no_scores_outside_the_scale() -> None:
    one = log_of(24, tasters=3)
    holes = one.tastings.assign(score=one.tastings["score"].where(one.tastings.index % 9 != 0))
    found = steps_of(with_scores(one, holes))
    assert found.n_scores == 64
    assert "steps-outside-scale" not in [each.code for each in found.cautions]


def test_shots_without_single_scores_are_judged_by_their_means_on_steps() -> None:
    one = log_of(24, tasters=3)
    found = steps_of(replace(one, tastings=one.tastings.iloc[:0]))
    assert (found.n_tasters, found.n_scores) == (1, 24)
    assert all(each * 2 == round(each * 2) for each in found.levels)


def test_scores_piled_up_at_an_end_choose_the_steps() -> None:
    crowded, middle = steps_of(log_of(24, centre=9.6)), steps_of(log_of(24))
    assert crowded.chosen
    assert crowded.why.startswith("Read the odds: ")
    assert crowded.why in crowded.sentences
    assert not middle.chosen


def test_line_and_steps_that_give_one_verdict_are_left_alone() -> None:
    question = findings(log_of(40, tasters=3, grind=-2.0))
    found = scored_steps(question, rng=np.random.default_rng(0))
    about = [each.about for each in disagreements(question.effects, found)]
    assert ("grind_setting",) not in about


@pytest.mark.parametrize(("chosen", "remedy"), [(True, "Read the odds"), (False, "undecided")])
def test_line_and_steps_with_other_verdicts_are_a_caution(chosen: bool, remedy: str) -> None:
    question = findings(log_of(40, tasters=3, grind=-2.0))
    found = scored_steps(question, rng=np.random.default_rng(0))
    assert found is not None
    turned = tuple(
        replace(each, estimate=replace(each.estimate, ci_low=0.1, ci_high=2.0))
        for each in found.steps
    )
    other = replace(found, steps=turned, chosen=chosen)
    cautions = {each.about: each for each in disagreements(question.effects, other)}
    caution = cautions["grind_setting",]
    assert caution.code == "line-and-steps-disagree"
    assert "falls by the line, and rises where scores count as steps" in caution.sentence
    assert remedy in caution.remedy


def test_without_steps_nothing_disagrees() -> None:
    assert disagreements(findings(log_of(24)).effects, None) == ()


def test_the_same_seed_gives_the_same_table() -> None:
    one = log_of(16)
    pd.testing.assert_frame_equal(steps_of(one, 5).to_frame(), steps_of(one, 5).to_frame())


def test_holm_counts_every_step_of_a_setting() -> None:
    table = steps_of(log_of(24)).to_frame()
    assert len(table) == 4
    assert table["p_holm"].min() == pytest.approx(4 * table["p_value"].min())


def test_a_log_too_short_for_a_line_gives_a_reason() -> None:
    found = fit_effects(bare_log([10, 11], [5, 6]), "score:overall", bench=BENCH)
    assert found.missing


def test_where_the_middle_is_best_nearness_is_what_the_odds_are_of() -> None:
    assert higher_words("score:body", BENCH) == ("a body score nearer the middle of its scale")


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (-math.inf, math.inf, "any value"),
        (-1.0, math.inf, "0.37 or more, without an upper limit"),
        (-math.inf, 1.0, "2.7 or less, without a lower limit"),
        (-30.0, 30.0, "under 0.001 to over 1000"),
    ],
)
def test_limits_without_end_are_said_so(low: float, high: float, words: str) -> None:
    assert odds_span(low, high) == words


def test_odds_that_fall_without_end_are_at_most_their_limit() -> None:
    assert odds_amount(-math.inf, -math.inf, -1.0) == "at most 0.37 times"
