"""Brew-ratio lines: straight, through the origin, within the frame."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.chart import pick_ratios, ratio_lines, strength_on_line

EY, TDS = (15.0, 25.0), (6.0, 14.0)
FRAME = st.tuples(st.floats(0, 30), st.floats(0.5, 40), st.floats(0, 15), st.floats(0.2, 20)).map(
    lambda f: ((f[0], f[0] + f[1]), (f[2], f[2] + f[3]))
)


@pytest.mark.parametrize(
    ("ey_pct", "brew_ratio", "tds_pct"),
    # E = c B / D read backwards: 18 g, 36 g, 10 % give 20 %; 14 g, 28 g, 9.5 % give 19 %.
    [(20.0, 2.0, 10.0), (19.0, 2.0, 9.5), (0.0, 2.0, 0.0)],
)
def test_strength_is_yield_over_ratio(ey_pct: float, brew_ratio: float, tds_pct: float) -> None:
    assert strength_on_line(ey_pct, brew_ratio=brew_ratio) == tds_pct


@given(FRAME, st.lists(st.floats(0.2, 60), max_size=6))
def test_every_line_lies_in_the_frame_and_aims_at_the_origin(
    frame: tuple[tuple[float, float], tuple[float, float]], ratios: list[float]
) -> None:
    (left, right), (bottom, top) = frame
    for line in ratio_lines(*frame, ratios).to_dict("records"):
        assert line["ey_from"] == pytest.approx(line["brew_ratio"] * line["tds_from"])
        assert line["ey_to"] == pytest.approx(line["brew_ratio"] * line["tds_to"])
        assert left <= line["ey_from"] < line["ey_to"] <= right
        assert bottom - 1e-9 <= line["tds_from"] <= line["tds_to"] <= top + 1e-9


def test_a_line_that_misses_the_frame_is_left_out() -> None:
    assert ratio_lines(EY, TDS, [0.5, 9.0]).empty


def test_a_line_says_by_which_edge_it_leaves() -> None:
    assert ratio_lines(EY, TDS, [1.5, 2.5])["edge"].tolist() == ["top", "right"]


def test_labels_are_written_as_the_trade_does() -> None:
    assert ratio_lines(EY, TDS, [1.5, 2.0])["label"].tolist() == ["1:1.5", "1:2"]


def test_no_ratio_gives_no_line() -> None:
    assert ratio_lines(EY, TDS, []).empty


def test_a_ratio_of_zero_has_no_line() -> None:
    assert ratio_lines(EY, TDS, [0.0]).empty


def test_the_usual_espresso_frame_shows_one_to_two() -> None:
    # Common practice, no source: 18 g in, 36 g out.
    assert 2.0 in pick_ratios(EY, TDS)


@given(FRAME)
def test_picked_ratios_are_few_and_cross_the_frame(
    frame: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    ratios = pick_ratios(*frame)
    assert len(ratios) <= 6
    assert len(ratio_lines(*frame, ratios)) == len(ratios)


@pytest.mark.parametrize("most", [1, 2, 4])
def test_no_more_lines_than_asked_for(most: int) -> None:
    assert 0 < len(pick_ratios((0.0, 30.0), (0.0, 14.0), most=most)) <= most


def test_brewed_coffee_gets_ratios_of_its_own() -> None:
    # Lockhart 1957: strength 1.15–1.35 %, extraction 18–22 %, so ratios from 13 to 19.
    ratios = pick_ratios((17.0, 23.0), (1.05, 1.45))
    assert len(ratios) >= 2
    assert all(13 <= ratio <= 22 for ratio in ratios)
