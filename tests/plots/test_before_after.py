"""Before and after an event: shots, trend and step where they are, reasons where there is none."""

from __future__ import annotations

import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba

from tests.ageing.bag_logs import BENCH, bag, serviced, together
from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from yieldwright.ageing.breaks.events import Breaks, events
from yieldwright.plots import before_after
from yieldwright.plots.theme import PAPER

DAYS = [5, 8, 11, 14, 17, 20, 23, 26, 29, 32]


def told(*bags: object) -> Breaks:
    found = events(together(*bags), "time_s", bench=BENCH)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def two() -> Breaks:
    """Return two bags with an event that did something and one that did nothing."""
    return told(
        serviced(bag("bag-1", DAYS), "bag-1, day 5", "descaled", step=-3.0),
        serviced(bag("bag-2", DAYS, after_d=40, seed=2), "bag-2, day 5", "gasket changed"),
    )


def marks(panel: Axes, shape: str) -> list:
    return [line for line in panel.lines if line.get_marker() == shape]


def test_every_shot_is_drawn_at_its_day(two: Breaks) -> None:
    panel = before_after(two).child_axes[0]
    drawn = [x for line in panel.lines if line.get_marker() in "os" for x in line.get_xdata()]
    assert sorted(drawn) == sorted(two.points["day"])


def test_bags_differ_in_shape_and_not_in_colour_alone(two: Breaks) -> None:
    panel = before_after(two).child_axes[0]
    assert len(marks(panel, "o")) == len(marks(panel, "s")) == 1


def test_the_trend_is_broken_at_events_and_between_bags(two: Breaks) -> None:
    panel = before_after(two).child_axes[0]
    trends = [line for line in panel.lines if line.get_linewidth() == pytest.approx(1.6)]
    assert len(trends) == 4


def test_events_stand_as_uprights_where_they_fell(two: Breaks) -> None:
    panel = before_after(two).child_axes[0]
    dashed = [line.get_xdata()[0] for line in panel.lines if line.get_linestyle() == "--"]
    assert dashed == list(two.days)


def test_steps_and_plain_means_stand_where_they_are(two: Breaks) -> None:
    panel = before_after(two).child_axes[1]
    steps = [step.step for step in two.told]
    assert [line.get_xdata()[0] for line in marks(panel, "o")] == [each.estimate for each in steps]
    plain = [line.get_xdata()[0] for line in marks(panel, "x")]
    assert plain == [step.plain[0] for step in two.told]


def test_a_mark_is_filled_only_where_the_corrected_step_is_clear(two: Breaks) -> None:
    panel = before_after(two).child_axes[1]
    for line, p_holm in zip(marks(panel, "o"), two.p_holm, strict=True):
        filled = to_rgba(line.get_markerfacecolor()) != to_rgba(PAPER)
        assert filled == (p_holm < 0.05)


def test_nothing_is_cut_off_or_written_over_something_else(two: Breaks) -> None:
    drawn = before_after(two)
    assert outside(drawn) == []
    assert overlapping(drawn) == []


def test_where_no_step_is_told_that_is_said() -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 9", "descaled"))
    assert words(before_after(found)) == ["No step at an event could be told."]


@pytest.mark.parametrize("word", HOSTILE)
def test_words_of_a_log_are_drawn_as_plain_text(word: str) -> None:
    found = told(serviced(bag("bag-1", DAYS), "bag-1, day 5", word or "descaled"))
    drawn = before_after(found)
    drawn.figure.canvas.draw()
    assert outside(drawn) == []
