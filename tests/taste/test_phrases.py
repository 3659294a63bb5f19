"""Every setting and every adjuster reads as English, whatever its step or level."""

from __future__ import annotations

import pytest

from yieldwright.glossary import FORMULA_QUANTITIES, SHOT_QUANTITIES
from yieldwright.taste import role_of
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.words.phrases import level_phrase, step_phrase
from yieldwright.taste.words.wording import step_words

USABLE = [
    entry
    for entry in (*SHOT_QUANTITIES, *FORMULA_QUANTITIES)
    if role_of(entry.name) in ("setting", "adjuster")
]
NUMBERS = [entry.name for entry in USABLE if entry.is_numeric]
WORDS = [entry.name for entry in USABLE if not entry.is_numeric]


def test_both_kinds_are_there() -> None:
    assert {"grind_setting", "soak_min", "gap_min", "brew_ratio"} <= set(NUMBERS)
    assert {"temp_band", "puck_screen", "service_stretch", "barista"} <= set(WORDS)


@pytest.mark.parametrize("column", NUMBERS)
def test_a_step_of_each_number_says_which_way(column: str) -> None:
    words = step_words(Predictor(column, "setting"), column)
    directions = ("more", "higher", "longer", "later", "older", "coarser", "warmer", "hotter")
    assert any(direction in words.clause for direction in directions)
    assert words.subject[0].isupper() or words.subject[0].isdigit()
    assert words.subject[1:] == words.clause[1:]
    assert "  " not in words.clause
    assert not set("{}_") & set(words.clause)


@pytest.mark.parametrize("column", NUMBERS)
def test_a_small_step_is_told_as_small(column: str) -> None:
    if column != "grind_setting":  # its step is one of the grinder, whatever its number
        assert "0.1" in step_phrase(column, 0.1)


@pytest.mark.parametrize(
    ("column", "subject"),
    [
        ("temp_c", "1 °C hotter"),
        ("prewet_s", "Pre-wetting 1 s longer"),
        ("hold_bar", "A hold 1 bar higher"),
        ("gap_min", "1 min more between shots"),
        ("soak_min", "A heat soak 1 min longer"),
        ("roast_age_d", "Coffee one day older"),
        ("taper_bar", "1 bar more taper"),
    ],
)
def test_a_sentence_begins_with_what_a_hand_does(column: str, subject: str) -> None:
    assert step_words(Predictor(column, "setting"), column).subject == subject


def test_a_finer_number_that_is_coarser_is_still_one_setting_coarser() -> None:
    words = step_words(Predictor("grind_setting", "setting", step=-0.5), "grind_setting")
    assert words.clause == "one setting coarser"


@pytest.mark.parametrize("column", [name for name in WORDS if name != "service_stretch"])
def test_levels_of_each_word_are_compared(column: str) -> None:
    words = step_words(Predictor(column, "setting", levels=("one", "two")), "one → two")
    assert "two" in words.subject
    assert "one" in words.than
    assert "in place of" in words.clause
    assert "_" not in words.clause


def test_a_table_names_the_column_of_a_step_between_levels() -> None:
    words = step_words(Predictor("paper", "setting", levels=("no", "top")), "no → top")
    assert words.step == "paper: no → top"
    band = Predictor("temp_band", "setting", levels=("low", "high"))
    assert step_words(band, "low → high").step == "low → high"


def test_the_words_of_a_step_can_be_had_again_from_the_table() -> None:
    first = step_words(Predictor("paper", "setting", levels=("no", "top")), "no → top")
    lower, _, upper = first.step.partition(" → ")
    again = step_words(Predictor("paper", "setting", levels=(lower, upper)), first.step)
    assert again == first


def test_a_screen_is_compared_with_none() -> None:
    words = step_words(Predictor("puck_screen", "setting", levels=("no", "yes")), "no → yes")
    assert (words.subject, words.than) == ("A puck screen", " than none")
    assert words.clause == "a puck screen in place of none"


def test_a_service_is_asked_about_as_one_would_ask() -> None:
    levels = ("before 2026-05-03", "since 2026-05-03")
    words = step_words(Predictor("service_stretch", "setting", levels=levels), " → ".join(levels))
    assert words.subject == "The shots since the service on 2026-05-03"
    assert words.than == " than the shots before it"
    assert words.clause == "the service on 2026-05-03"
    assert words.step == "service on 2026-05-03"


@pytest.mark.parametrize(
    ("column", "level", "phrase"),
    [
        ("grind_setting", 12.0, "setting 12"),
        ("temp_band", "low", "the low band"),
        ("temp_c", 92.0, "temperature 92 °C"),
        ("brew_ratio", 2.0, "a ratio of 1:2.0"),
        ("gap_min", 6.0, "a gap of 6 min"),
        ("paper", "no", "no paper"),
        ("tamp", "level", "tamp “level”"),
        ("barista", "p4", "barista p4"),
        ("bag", "7", "the coffee of bag 7"),
        ("bag", "bag-18", "the coffee of bag-18"),
        ("service_stretch", "before 2026-05-03", "the shots before the service on 2026-05-03"),
        ("service_stretch", "since service 2", "the shots since service 2"),
    ],
)
def test_a_value_is_named(column: str, level: float | str, phrase: str) -> None:
    assert level_phrase(column, level) == phrase


def test_words_of_a_log_are_shown_and_cut_and_never_run() -> None:
    shown = level_phrase("paper", "\x1b[31m{0.__class__}" + "x" * 100)
    assert "\x1b" not in shown
    assert "{0.__class__}" in shown
    assert len(shown) < 60
