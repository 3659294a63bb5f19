"""The glossary keeps its own promises."""

from __future__ import annotations

import re

import pytest

from yieldwright import glossary
from yieldwright.errors import UnknownNameError
from yieldwright.glossary import Quantity, Span, quantity

EVERYTHING = [
    *glossary.SHOT_QUANTITIES,
    *glossary.TASTING_QUANTITIES,
    *glossary.FORMULA_QUANTITIES,
]
SUFFIX_OF_UNIT = {
    "g": "_g",
    "s": "_s",
    "bar": "_bar",
    "°C": "_c",
    "d": "_d",
    "min": "_min",
    "% by mass": "_pct",
    "%": "_pct",
    "g/g": "_g_per_g",
}


@pytest.mark.parametrize("entry", EVERYTHING, ids=lambda entry: entry.name)
def test_a_unit_stands_at_the_end_of_the_name(entry: Quantity):
    suffix = SUFFIX_OF_UNIT.get(entry.unit)
    assert suffix is None or entry.name.endswith(suffix)


@pytest.mark.parametrize("entry", EVERYTHING, ids=lambda entry: entry.name)
def test_soft_lies_in_hard_and_hard_in_possible(entry: Quantity):
    assert entry.possible.covers(entry.hard) or entry.hard == Span()
    assert entry.hard.covers(entry.soft) or entry.soft == Span()


@pytest.mark.parametrize("entry", EVERYTHING, ids=lambda entry: entry.name)
def test_every_entry_explains_itself(entry: Quantity):
    assert entry.meaning.endswith(".")
    assert re.fullmatch(r"[a-z][a-z0-9_]*", entry.name)
    assert entry.label
    assert entry.source


def test_each_shot_column_stands_once():
    names = [entry.name for entry in glossary.SHOT_QUANTITIES]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("name", "hard", "soft"),
    [  # common practice, no source, except doses and beverages: Cameron et al. 2020
        ("dose_g", Span(5, 30), Span(14, 22)),
        ("beverage_g", Span(5, 120), Span(25, 60)),
        ("time_s", Span(3, 180), Span(15, 60)),
        ("tds_pct", Span(0.5, 25), Span(6, 14)),
        ("peak_bar", Span(0, 16), Span(6, 10)),
    ],
)
def test_ranges_are_those_of_the_trade(name, hard, soft):
    assert (quantity(name).hard, quantity(name).soft) == (hard, soft)


def test_single_readings_share_the_ranges_of_the_strength():
    assert quantity("tds_3_pct").hard == quantity("tds_pct").hard


def test_an_uncertainty_shares_the_unit_of_its_quantity():
    assert quantity("u_hold_bar").unit == "bar"


def test_a_text_has_no_uncertainty():
    assert glossary.find_quantity("u_notes") is None


def test_a_misspelt_name_is_answered_with_its_neighbour():
    with pytest.raises(
        UnknownNameError, match=r"no quantity named 'dose_gr'; did you mean dose_g"
    ):
        quantity("dose_gr")


def test_about_thirty_percent_dissolves():
    # Lockhart 1957 as restated in Batali et al. 2020, Sci Rep 10, 16450.
    assert glossary.EXTRACTION_CEILING_PCT == 30.0


@pytest.mark.parametrize(
    ("span", "text"),
    [
        (Span(5, 30), "5–30"),
        (Span(0, open_low=True), "above 0"),
        (Span(0), "at least 0"),
        (Span(high=9), "at most 9"),
        (Span(), "any number"),
    ],
)
def test_a_span_reads_as_one_would_say_it(span, text):
    assert str(span) == text


def test_an_open_end_is_outside():
    assert not Span(0, open_low=True).holds(0.0)
    assert Span(0).holds(0.0)
