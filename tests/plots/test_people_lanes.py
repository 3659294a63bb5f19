"""Lanes of people: level and spread where they are, in an order that ranks nobody."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from tests.repeatability.class_logs import BENCH, class_shots, course_shots, in_bags, in_set
from yieldwright.plots import people_lanes, progress_line
from yieldwright.repeatability import People, Progress, compare_people, progress


@pytest.fixture(scope="module")
def people() -> People:
    """Return four people of a class."""
    shots = class_shots((2.0, 1.0, 1.0, 0.4), sessions=3, each=4, levels=(0.0, 1.0, 5.0, 2.0))
    found = compare_people(in_set(shots), "time_s", bench=BENCH)
    assert found is not None
    return found


def weeks(bags: str = "") -> Progress:
    shots = course_shots(6, each=6, falling=0.15, bags=bags)
    found = progress(in_bags(shots), "time_s", barista="s1", bench=BENCH)
    assert found is not None
    return found


def test_levels_and_spreads_stand_where_they_are(people: People) -> None:
    level, spread = people_lanes(people).child_axes
    for panel, column in ((level, "mean"), (spread, "sd")):
        marks = [line for line in panel.lines if line.get_marker() not in ("None", "")]
        assert [line.get_xdata()[0] for line in marks] == people.people[column].tolist()


def test_intervals_reach_from_limit_to_limit(people: People) -> None:
    level, spread = people_lanes(people).child_axes
    for panel, ends in ((level, ["mean_low", "mean_high"]), (spread, ["sd_low", "sd_high"])):
        drawn = [tuple(line.get_xdata()) for line in panel.lines if line.get_linewidth() > 3]
        assert drawn == [tuple(row) for row in people.people[ends].to_numpy()]


def test_few_repeats_have_their_intervals_without_a_mark() -> None:
    found = compare_people(in_set(class_shots(sessions=1, each=5)), "time_s", bench=BENCH)
    assert found is not None
    spread = people_lanes(found).child_axes[1]
    assert [line for line in spread.lines if line.get_marker() not in ("None", "")] == []
    assert len([line for line in spread.lines if line.get_linewidth() > 3]) == 2
    course = progress([in_set(course_shots(6, each=4))], "time_s", barista="s1", bench=BENCH)
    assert course is not None
    lines = progress_line(course).lines
    assert [line for line in lines if line.get_marker() == "o"] == []
    assert len([line for line in lines if line.get_linewidth() > 3]) == 6


def test_spreads_that_are_not_told_leave_a_panel_that_says_so() -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=4)
    shots["grind_setting"] = [10.0, 11.0, 12.0, 10.0] * 2
    found = compare_people(in_set(shots), "time_s", bench=BENCH)
    assert found is not None
    drawn = people_lanes(found)
    spread = drawn.child_axes[1]
    assert "No spread is told." in [text.get_text() for text in spread.texts]
    assert len(spread.get_xticks()) == len(spread.lines) == 0
    assert overlapping(drawn) == outside(drawn) == []


def test_lanes_are_in_the_order_of_codes(people: People) -> None:
    lanes = [text.get_text() for text in people_lanes(people).child_axes[0].texts]
    assert lanes[:4] == ["p1", "p2", "p3", "p4"]


def test_people_differ_in_shape_and_not_in_colour_alone(people: People) -> None:
    level = people_lanes(people).child_axes[0]
    shapes = {line.get_marker() for line in level.lines} - {"None", ""}
    assert len(shapes) == 4


def test_a_person_without_a_level_keeps_an_empty_lane() -> None:
    shots = class_shots((1.0, 1.0), sessions=2, each=4)
    shots["grind_setting"] = np.where(shots["barista"] == "p1", 10.0, 11.0)
    found = compare_people(in_set(shots), "time_s", bench=BENCH)
    assert found is not None
    level, spread = people_lanes(found).child_axes
    assert len(level.lines) == 0
    assert len(spread.lines) > 0


def test_the_figure_says_that_the_order_is_none_of_merit(people: People) -> None:
    assert any("not of merit" in text for text in words(people_lanes(people)))


@pytest.mark.parametrize("bags", ["", "abcdef"])
def test_nothing_is_cut_off_or_written_over_something_else(people: People, bags: str) -> None:
    for drawn in (people_lanes(people), progress_line(weeks(bags))):
        assert outside(drawn) == []
        assert overlapping(drawn) == []


def test_figures_fit_a_telephone_without_being_shrunk(people: People) -> None:
    for drawn in (people_lanes(people), progress_line(weeks())):
        width = drawn.get_figure(root=True).get_size_inches()[0]
        assert width * 96 <= 390


@pytest.mark.parametrize("code", HOSTILE)
def test_codes_of_people_are_drawn_as_plain_text(code: str) -> None:
    shots = class_shots((1.0, 1.0), sessions=1, each=4)
    shots["barista"] = shots["barista"].replace("p1", code or "?")
    found = compare_people(in_set(shots), "time_s", bench=BENCH)
    assert found is not None
    people_lanes(found).figure.canvas.draw()


def test_weeks_stand_at_their_spreads_and_the_trend_runs_through_them() -> None:
    found = weeks()
    ax = progress_line(found)
    marks = [line for line in ax.lines if line.get_marker() == "o"]
    assert [line.get_ydata()[0] for line in marks] == found.weeks["sd"].tolist()
    (trend,) = [line for line in ax.lines if line.get_linestyle() == "--"]
    assert list(trend.get_ydata()) == found.trend_line["sd"].tolist()


def test_without_a_trend_the_reason_stands_above_the_weeks() -> None:
    ax = progress_line(weeks("abcdef"))
    assert "The coffee changed with the weeks" in words(ax)
    assert [line for line in ax.lines if line.get_linestyle() == "--"] == []


def test_spreads_stand_on_a_scale_of_ratios(people: People) -> None:
    assert people_lanes(people).child_axes[1].get_xscale() == "log"
    assert progress_line(weeks()).get_yscale() == "log"
