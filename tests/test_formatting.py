"""Numbers keep the figures they deserve; text from a log cannot do harm."""

from __future__ import annotations

import html
import math
import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright import formatting as fm

ODD = ["<script>alert(1)</script>", "$^$", "=1+1", "\x1b[31m", "\u202e", "\x00", '"', "\n"]


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [  # JCGM 100:2008, 7.2.6: at most two significant figures of the uncertainty
        (19.8342, 0.24, "19.83"),
        (19.8342, 0.5, "19.8"),
        (19.8342, 3.0, "20"),
        (-2.04, 0.3, "−2.0"),
        (1234.0, 150.0, "1230"),
        (0.0004, 0.1, "0.00"),
    ],
)
def test_a_value_is_rounded_to_its_uncertainty(value, u, text):
    assert fm.number(value, u) == text


def test_no_minus_stands_before_a_rounded_zero():
    assert fm.number(-0.001, 0.5) == "0.0"


def test_value_and_uncertainty_end_at_one_place():
    assert fm.with_uncertainty(19.8342, 0.097, "%") == "19.83 ± 0.10 %"


def test_missing_stays_missing():
    assert fm.number(math.nan) == "–"
    assert fm.interval(math.nan, 1.0) == "–"
    assert fm.p_value(math.nan) == "–"
    assert fm.p_words(math.nan) == "p not known"


@pytest.mark.parametrize(
    ("p", "text"), [(0.5, "p = 0.50"), (0.032, "p = 0.032"), (0.0004, "p < 0.001")]
)
def test_a_p_value_in_a_sentence_has_one_sign_with_a_space_on_both_sides(p, text):
    assert fm.p_words(p) == text


def test_every_sentence_writes_its_p_value_in_the_same_way():
    # A p-value shaped by hand came out as "p = <0.001" or "p <0.001".
    sources = Path(fm.__file__).parents[1].rglob("*.py")
    by_hand = re.compile(r"\bp (=|<) \{|\bp \{shown|startswith\(\"<\"\)")
    shaped = [path.name for path in sources if by_hand.search(path.read_text(encoding="utf-8"))]
    assert shaped == ["numbers.py"]


def test_an_unbounded_interval_is_said_in_words():
    assert fm.interval(-math.inf, 3.0, "s") == "at most 3.00 s"
    assert fm.interval(2.0, math.inf, "s") == "at least 2.00 s"
    assert fm.interval(-math.inf, math.inf, "s") == "anything"


@pytest.mark.parametrize(
    ("fraction", "text"),
    [(0.0, "0 %"), (0.001, "<1 %"), (0.5, "50 %"), (0.999, ">99 %"), (1.0, "100 %")],
)
def test_a_percentage_never_rounds_to_a_false_certainty(fraction, text):
    assert fm.percent(fraction) == text


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e4))
def test_rounding_never_moves_a_value_by_more_than_half_its_uncertainty(value, u):
    shown = float(fm.number(value, u).replace(fm.MINUS, "-"))
    assert abs(shown - value) <= 0.5 * u + 1e-9 * abs(value)


@pytest.mark.parametrize("text", ODD)
def test_hostile_text_is_shown_and_never_acts(text):
    escaped = fm.html_text(text)
    assert "<" not in escaped
    assert all(character.isprintable() for character in escaped)


@given(st.text())
def test_shown_text_is_one_line_without_control_characters(text):
    shown = fm.visible(text)
    assert len(shown.splitlines()) <= 1
    assert all(unicodedata.category(each) == "Zs" or each.isprintable() for each in shown)


@given(st.text(alphabet=st.characters(categories=("L", "N", "P", "S"))))
def test_escaping_html_loses_nothing(text):
    assert html.unescape(fm.html_text(text)) == text


@given(st.text(), st.integers(1, 40))
def test_a_clipped_text_keeps_to_its_limit(text, limit):
    assert len(fm.clip(text, limit)) <= limit


def test_a_list_reads_as_a_sentence():
    assert fm.listing(["a"]) == "a"
    assert fm.listing(["a", "b"]) == "a and b"
    assert fm.listing(["a", "b", "c"], last="or") == "a, b or c"
    assert fm.listing([]) == ""


@pytest.mark.parametrize(
    ("value", "text"), [(0.9996, "1.0"), (0.9949, "0.99"), (99.96, "100"), (0.0, "0.0")]
)
def test_a_number_that_rounds_up_a_place_keeps_to_its_figures(value, text):
    assert fm.number(value, figures=2) == text
