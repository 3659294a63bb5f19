"""Words on a figure stay what they are, stay short, and keep off one another."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.plots.conftest import HOSTILE
from yieldwright.plots.lettering import (
    best_spot,
    drawable,
    letter,
    letter_within,
    name_axes,
    text_box,
)
from yieldwright.plots.paper import FigureSize, figure_of, new_axes

SIZE = FigureSize(60, 40)


@given(st.text(max_size=200))
def test_any_text_becomes_one_short_line(text: str) -> None:
    assert "\n" not in drawable(text)
    assert len(drawable(text)) <= 40


@settings(max_examples=40)
@given(st.text(max_size=60))
def test_any_text_can_be_drawn(text: str) -> None:
    ax = new_axes(SIZE)
    letter(ax, 0.5, 0.5, text)
    figure_of(ax).draw_without_rendering()


@pytest.mark.parametrize("text", ["$^$", r"\$x", "a $ b $ c", "$\\frac{$"])
def test_dollar_signs_are_dollar_signs(text: str) -> None:
    drawn = letter(new_axes(SIZE), 0, 0, text)
    assert drawn.get_text() == text
    assert not drawn.get_parse_math()


def test_control_characters_are_shown_as_codes() -> None:
    assert drawable("a\x1b[31m") == r"a\x1b[31m"


def test_what_the_font_lacks_becomes_a_question_mark() -> None:
    assert drawable("\N{CJK UNIFIED IDEOGRAPH-6C34} bag") == "? bag"


def test_letters_of_other_scripts_stay() -> None:
    assert drawable("Přerov, Ηλιος, Ёлка") == "Přerov, Ηλιος, Ёлка"


def test_a_long_text_is_cut_with_an_ellipsis() -> None:
    assert drawable("x" * 300, longest=10) == "x" * 9 + "…"


@pytest.mark.parametrize("text", HOSTILE)
def test_axis_labels_take_any_text(text: str) -> None:
    ax = new_axes(SIZE)
    name_axes(ax, x=text, y=text)
    figure_of(ax).draw_without_rendering()


def test_the_first_free_spot_is_taken() -> None:
    text = letter(new_axes(SIZE), 0, 0, "word")
    taken = text_box(text)[None, :]
    spots = [(0, 0, "left", "baseline"), (0.8, 0.8, "left", "baseline"), (0.5, 0.5, "left", "top")]
    assert best_spot(text, spots, taken) == 0
    assert text.get_position() == (0.8, 0.8)


def test_without_a_free_spot_the_least_covering_one_is_taken() -> None:
    text = letter(new_axes(SIZE), 0, 0, "word")
    one = text_box(text)
    text.set_position((0.9, 0.9))
    two = text_box(text)
    taken = np.vstack((one, one, two))
    assert (
        best_spot(text, [(0, 0, "left", "baseline"), (0.9, 0.9, "left", "baseline")], taken) == 1
    )
    assert text.get_position() == (0.9, 0.9)


def test_nothing_taken_leaves_the_first_spot() -> None:
    text = letter(new_axes(SIZE), 0, 0, "word")
    assert best_spot(text, [(0.1, 0.2, "left", "top")], np.empty((0, 4))) == 0


@pytest.mark.parametrize(("end", "count"), [(0.02, 0), (1.0, 1)])
def test_words_are_written_only_where_they_fit(end: float, count: int) -> None:
    ax = new_axes(SIZE)
    letter_within(ax, 0.0, end, 0.5, "word")
    assert len(ax.texts) == count
