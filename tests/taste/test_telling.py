"""Sentences are plain and correct, with unit, interval and number of shots."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.taste.logs import BENCH, comparable, log
from yieldwright.bench import Grinder
from yieldwright.models.intervals.fieller import FiellerSet
from yieldwright.taste import EffectsFit, fit_effects
from yieldwright.taste.columns.predictors import Predictor, Question, prepare
from yieldwright.taste.findings import Findings
from yieldwright.taste.strata.judging import judge_strata
from yieldwright.taste.words.telling import peak_sentence
from yieldwright.taste.words.wording import level_words, response_words, signed_span, step_words


def fit(shots: pd.DataFrame, response: str = "ey_pct") -> EffectsFit:
    return fit_effects(comparable(shots), response, bench=BENCH)


def about(found: EffectsFit, start: str) -> str:
    (sentence,) = [each for each in found.sentences if each.startswith(start)]
    return sentence


def test_a_clear_effect_gives_size_unit_interval_and_shots() -> None:
    shots = log(grind=-2.0, noise=1.0).rename(columns={"ey_pct": "time_s"})
    sentence = about(fit(shots, "time_s"), "One setting coarser took ")
    assert re.fullmatch(
        r"One setting coarser took \d\.\d s less \(95 % interval \d\.\d to \d\.\d s less, "
        r"24 shots in 4 sessions\)\.",
        sentence,
    )


def test_the_figures_of_a_sentence_are_those_of_the_table() -> None:
    found = fit(log())
    row = found.effects.iloc[0]
    sentence = about(found, "One setting coarser gave ")
    shown = [float(text) for text in re.findall(r"\d+\.\d+", sentence)]
    table = [abs(row["estimate"]), abs(row["ci_high"]), abs(row["ci_low"])]
    assert shown == pytest.approx(table, abs=0.05)


def test_an_unclear_effect_says_what_would_have_been_found() -> None:
    sentence = about(
        fit(log(noise=2.0, grind=0.0)), "The log cannot tell whether one setting coarser"
    )
    assert re.fullmatch(
        r"The log cannot tell whether one setting coarser changes the extraction yield: the 95 % "
        r"interval −\d\.\d+ to \+\d\.\d+ points of yield still holds changes either way \(24 "
        r"shots in 4 sessions\); it would have found \d\.\d+ points of yield four times in five\.",
        sentence,
    )


@pytest.mark.parametrize("seed", range(5))
def test_no_sentence_claims_that_there_is_no_effect(seed: int) -> None:
    for sentence in fit(log(seed=seed, noise=1.5, grind=0.0, band=0.0)).sentences:
        assert not re.search(r"no effect|not significant|does not matter|no difference", sentence)


def test_a_band_is_compared_with_its_neighbour() -> None:
    sentence = about(fit(log(band=2.0)), "The medium band gave ")
    assert " more than the low band (95 % interval " in sentence


def test_chance_is_named_where_the_correction_takes_the_effect_back() -> None:
    for seed in range(40):
        found = fit(log(seed=seed, noise=0.6, grind=-0.25, band=0.0))
        row = found.effects.iloc[0]
        if row["p_value"] < 0.05 < row["p_holm"]:
            sentence = about(found, "One setting coarser gave ")
            assert "with 4 effects looked at, chance alone could do this" in sentence
            return
    pytest.fail("no log of the forty showed the case")


def test_scores_go_up_and_down_on_their_attribute() -> None:
    shots = log(grind=-1.0).rename(columns={"ey_pct": "score:overall"})
    assert " points lower on overall (95 % interval " in about(
        fit(shots, "score:overall"), "One setting coarser scored "
    )


def test_a_scale_where_less_is_better_says_so() -> None:
    shots = log(grind=-1.0).rename(columns={"ey_pct": "score:bitter"})
    sentence = about(fit(shots, "score:bitter"), "One setting coarser scored ")
    assert "lower on bitter (where lower is better)" in sentence


def test_the_step_of_a_small_range_is_told_in_tenths() -> None:
    # The doses differ by less than 1 g: an effect of a whole gram would lie outside the tried.
    assert "0.1 g more dose" in fit(log()).effects["step"].tolist()


def test_a_curve_that_was_tried_is_told_whatever_came_of_it() -> None:
    straight, curved = fit(log(sessions=6)), fit(log(sessions=6, bend=-1.0))
    assert about(straight, "A curve in grind setting was allowed for; none shows (p = ")
    assert about(curved, "The line in grind setting bends (p ")


def test_a_curve_that_was_not_tried_says_why() -> None:
    two = log(grinds=(10.0, 11.0))
    assert about(fit(two), "A curve in grind setting was not tried: only 2 different values.")


def test_the_best_setting_is_given_inside_the_tried_range() -> None:
    shots = log(sessions=8, grinds=(9.0, 10.0, 11.0, 12.0, 13.0), grind=0.0, bend=-1.0)
    found = fit(shots)
    assert found.peak is not None
    assert found.peak.holds(11.0)
    assert re.fullmatch(
        r"The extraction yield is highest between grind settings 1[01]\.\d+ and 1[01]\.\d+ "
        r"\(95 %\)\.",
        about(found, "The extraction yield is highest"),
    )


def test_time_has_no_best_setting() -> None:
    shots = log(sessions=8, grind=0.0, bend=-1.0).rename(columns={"ey_pct": "time_s"})
    assert fit(shots, "time_s").peak is None


def test_a_valley_is_no_best_setting_where_more_is_better() -> None:
    found = fit(log(sessions=8, grind=0.0, bend=1.0))
    assert any(each.bends for each in found.curvature)
    assert found.peak is None


def test_a_valley_is_the_best_setting_where_less_is_better() -> None:
    shots = log(sessions=8, grind=0.0, bend=1.0).rename(columns={"ey_pct": "score:bitter"})
    found = fit(shots, "score:bitter")
    assert found.peak is not None
    assert about(found, "The bitter score is lowest between")


@pytest.fixture
def findings() -> Findings:
    """Return findings about grind settings 10 to 12."""
    question = Question("ey_pct", BENCH, ("grind_setting",), ())
    set_of_shots = comparable(log())
    prepared = prepare(set_of_shots, question)
    return Findings(question, set_of_shots, prepared, judge_strata(prepared))


def test_a_set_that_reaches_past_an_edge_names_the_next_setting(findings: Findings) -> None:
    said = peak_sentence(FiellerSet("bounded", 11.2, 14.0, 12.1), findings)
    assert said == (
        "The extraction yield is highest between grind settings 11.2 and 12.0, or beyond the edge "
        "(95 %): the next to try is setting 13, about which this log says nothing."
    )


def test_a_set_past_the_edge_predicts_nothing_there(findings: Findings) -> None:
    said = peak_sentence(FiellerSet("bounded", 13.5, 19.0, 15.0), findings)
    assert "beyond the settings tried" in said
    assert "setting 13" in said
    assert not re.search(r"1[4-9]", said)


@pytest.mark.parametrize("kind", ["complement", "everything"])
def test_an_unbounded_set_is_never_printed_as_an_interval(findings: Findings, kind: str) -> None:
    said = peak_sentence(FiellerSet(kind, 10.2, 11.4, 11.0), findings)
    assert said == (
        "The line bends, but this log cannot bound where the extraction yield is highest."
    )


def test_a_grinder_that_counts_down_names_the_next_setting_by_its_own_numbers() -> None:
    bench = replace(BENCH, grinders=(Grinder("mill", step=0.5, coarser="down", stated=True),))
    question = Question("ey_pct", bench, ("grind_setting",), ())
    prepared = prepare(comparable(log()), question)
    findings = Findings(question, comparable(log()), prepared, judge_strata(prepared))
    assert "setting 12.5" in peak_sentence(FiellerSet("bounded", 11.2, 14.0, 12.1), findings)


@given(
    low=st.floats(min_value=-100, max_value=-0.001), high=st.floats(min_value=0.001, max_value=100)
)
def test_an_interval_about_zero_never_shows_a_bare_zero_on_its_wide_side(
    low: float, high: float
) -> None:
    text = signed_span(low, high)
    assert text.startswith("−") or abs(low) < high / 10
    ends = [float(end.replace("−", "-")) for end in text.split(" to ")]
    assert ends[0] <= 0 <= ends[1]
    assert ends == pytest.approx([low, high], abs=(high - low) / 10)


def test_every_setting_has_words_of_its_own() -> None:
    grind = step_words(Predictor("grind_setting", "setting"), "grind_setting")
    hold = step_words(Predictor("hold_bar", "setting"), "hold_bar")
    assert grind.subject == "One setting coarser"
    assert hold.step == "hold 1 bar higher"
    assert level_words("dose_g", 18.0) == "dose 18 g"
    assert level_words("paper", "bottom") == "paper “bottom”"


def test_directions_of_a_response_follow_its_sign() -> None:
    words = response_words("time_s", BENCH)
    assert words.amount(-2.14, 0.9) == "2.1 s less"
    assert words.amount(2.14, 0.9) == "2.1 s more"
    assert words.span(-3.04, -1.23) == "1.2 to 3.0 s less"
    assert words.span(-0.4, 0.6) == "−0.4 to +0.6 s"


def test_text_of_a_log_stays_text() -> None:
    shots = log().assign(temp_band=lambda frame: frame["temp_band"].replace("low", "<script>$^$"))
    found = fit(shots)
    assert "<script>" not in found._repr_html_()
    assert "&lt;script&gt;" in found._repr_html_()


def test_a_bag_cannot_steer_a_terminal() -> None:
    found = fit_effects(replace(comparable(log()), bag="\x1b[31mred"), "ey_pct", bench=BENCH)
    assert "\x1b" not in found.summary()


def test_undecided_columns_are_told_once() -> None:
    shots = log().assign(temp_band="medium")
    said = [each for each in fit(shots).sentences if "emperature band" in each]
    mended = "Change it inside a session."
    assert said == [
        f"Temperature band was not judged: the same in all 24 shots (medium). {mended}"
    ]


def test_what_was_allowed_for_is_said() -> None:
    assert about(fit(log()), "Allowed for: ").startswith("Allowed for: dose, position in session")


def test_numbers_of_infinite_size_never_reach_a_sentence() -> None:
    rng = np.random.default_rng(8)
    shots = log(sessions=3, shots=4).assign(ey_pct=rng.normal(size=12))
    assert not any(re.search(r"\bnan\b|\binf\b|∞", each) for each in fit(shots).sentences)
