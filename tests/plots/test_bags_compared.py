"""Bags at equal age: ages and differences stand where they are, reasons where there are none."""

from __future__ import annotations

import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba

from tests.ageing.bag_logs import BENCH, bag, together
from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from yieldwright.ageing.compared.bags import BagsCompared, compare_bags_of
from yieldwright.plots import bags_compared
from yieldwright.plots.theme import PAPER

DAYS = [5, 8, 11, 14, 17, 20, 23, 26]
LATER = [11, 14, 17, 20, 23, 26, 29, 32]


def compared(*bags: object) -> BagsCompared:
    return compare_bags_of(together(*bags), "time_s", bench=BENCH)


@pytest.fixture(scope="module")
def three() -> BagsCompared:
    """Return three bags, one alike, one slower and aging otherwise."""
    return compared(
        bag("bag-21", DAYS),
        bag("bag-22", LATER, level=3.0, per_day=0.0, after_d=40, seed=2),
        bag("bag-23", DAYS, after_d=80, seed=3),
    )


def marks(panel: Axes, shape: str) -> list:
    return [
        line for line in panel.lines if line.get_marker() == shape and len(line.get_xdata()) == 1
    ]


def test_ages_are_marked_where_each_bag_was_pulled(three: BagsCompared) -> None:
    panel = bags_compared(three).child_axes[0]
    dots = [line for line in panel.lines if line.get_marker() == "o"]
    assert [sorted(line.get_xdata()) for line in dots] == [DAYS, LATER, DAYS]


def test_differences_and_their_intervals_stand_where_they_are(three: BagsCompared) -> None:
    panel = bags_compared(three).child_axes[1]
    found = [pair.difference for pair in three.compared]
    assert [line.get_xdata()[0] for line in marks(panel, "o")] == [each.estimate for each in found]
    lines = [line for line in panel.lines if line.get_linewidth() == pytest.approx(1.7)]
    assert [tuple(line.get_xdata()) for line in lines] == [
        (each.ci_low, each.ci_high) for each in found
    ]


def test_a_mark_is_filled_only_where_the_corrected_difference_is_clear(
    three: BagsCompared,
) -> None:
    panel = bags_compared(three).child_axes[1]
    for line, p_holm in zip(marks(panel, "o"), three.p_holm, strict=True):
        filled = to_rgba(line.get_markerfacecolor()) != to_rgba(PAPER)
        assert filled == (p_holm < 0.05)


def test_ends_are_told_by_smaller_marks_of_another_shape(three: BagsCompared) -> None:
    panel = bags_compared(three).child_axes[1]
    ends = [end.estimate for pair in three.compared for end in pair.at_ends]
    assert ends
    assert [line.get_xdata()[0] for line in marks(panel, "D")] == ends


def test_nothing_is_cut_off_or_written_over_something_else(three: BagsCompared) -> None:
    drawn = bags_compared(three)
    assert outside(drawn) == []
    assert overlapping(drawn) == []


def test_without_an_age_in_common_the_ages_show_why() -> None:
    drawn = bags_compared(compared(bag("bag-21", [9, 11, 14]), bag("bag-22", [3, 4, 6])))
    (panel,) = drawn.child_axes
    assert not panel.patches  # no ground: no age is shared
    assert "bag-22" in words(drawn)


def test_one_bag_is_told_in_words() -> None:
    drawn = bags_compared(compared(bag("bag-21", DAYS)))
    assert any("nothing to compare it with" in text for text in words(drawn))


@pytest.mark.parametrize("code", HOSTILE)
def test_codes_of_bags_are_drawn_as_plain_text(code: str) -> None:
    drawn = bags_compared(compared(bag("bag-21", DAYS), bag(code or "?", LATER, seed=2)))
    drawn.figure.canvas.draw()
    assert outside(drawn) == []
