"""A result shows the same findings as text, as HTML and as a table."""

from __future__ import annotations

import importlib
from dataclasses import dataclass

import pandas as pd
import pytest

from yieldwright.cautions import Caution, gravest_first
from yieldwright.results import Dropped, Result
from yieldwright.safety import DEFERENCE, NOTICES, notices


@dataclass(frozen=True, kw_only=True, repr=False)
class Plain(Result):
    table: pd.DataFrame

    @property
    def title(self) -> str:
        return "Shots & more"

    def to_frame(self) -> pd.DataFrame:
        return self.table


@pytest.fixture
def plain() -> Plain:
    return Plain(
        n_shots=2,
        dropped=(Dropped(1, "without a strength reading"),),
        cautions=(Caution("few-shots", "care", "Two shots tell little.", "Pull more."),),
        sentences=("The yield was 19.8 ± 0.2 %.",),
        table=pd.DataFrame({"shot": ["<b>", "2"], "ey_pct": [19.8342, float("nan")]}),
    )


def test_text_and_html_hold_the_same_sentences(plain):
    for words in ("The yield was 19.8 ± 0.2 %.", "Two shots tell little. Pull more."):
        assert words in plain.summary()
        assert words in plain._repr_html_()


def test_left_out_shots_are_counted_with_their_reason(plain):
    assert "1 shot without a strength reading" in plain.summary()


def test_a_result_names_itself_in_one_line(plain):
    assert repr(plain) == "<Plain: Shots & more, 2 shots; summary() tells it>"


@pytest.mark.parametrize("room", ["chart", "taste", "repeatability", "review"])
def test_every_kind_of_result_names_itself_so(room):
    importlib.import_module(f"yieldwright.{room}")
    kinds = [kind for kind in Result.__subclasses__() if f".{room}." in kind.__module__]
    assert kinds
    assert all(kind.__repr__ is Result.__repr__ for kind in kinds)


def test_text_fits_eighty_columns(plain):
    assert max(map(len, plain.summary().splitlines())) <= 80


def test_text_from_a_log_is_escaped_in_html(plain):
    assert "<b>" not in plain._repr_html_()
    assert "&lt;b&gt;" in plain._repr_html_()


def test_missing_numbers_show_as_a_dash(plain):
    assert plain.display_frame()["ey_pct"].tolist() == ["19.8", "–"]


def test_a_wide_table_says_how_many_columns_it_hides(plain):
    wide = pd.DataFrame({f"column_{i}": ["x" * 20] for i in range(9)})
    shown = Plain(n_shots=1, table=wide).summary()
    assert "more columns" in shown
    assert max(map(len, shown.splitlines())) <= 80


def test_a_result_without_drawing_says_so(plain):
    with pytest.raises(NotImplementedError, match="Plain has no drawing"):
        plain.plot()


def test_cautions_come_gravest_first_and_once():
    first, second = Caution("a", "note", "A."), Caution("b", "stop", "B.")
    assert [caution.code for caution in gravest_first([first, second, first])] == ["b", "a"]


def test_safety_speaks_of_all_that_can_hurt_and_defers():
    assert {notice.topic for notice in NOTICES} == {
        "pressure",
        "heat",
        "electricity",
        "cleaning",
        "caffeine",
    }
    assert "maker's instructions" in DEFERENCE
    assert notices(["heat"])[0].source.startswith("Brown and Diller 2008")
