"""Lanes of changes: the fit, each session, the shot and the analyses that matter."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba

from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from tests.taste.logs import log
from tests.taste.test_sensitivity import grind_changed_once, tried
from yieldwright.plots import sensitivity_lanes
from yieldwright.plots.theme import PAPER
from yieldwright.taste.sensitivity.sensitivity import Sensitivity


@pytest.fixture(scope="module")
def found() -> Sensitivity:
    return tried(log(6, 4, seed=5, bend=-0.4))


def mark(panel: Axes, lane: int) -> Any:
    """Return the mark of the estimate in a lane."""
    return next(
        line
        for line in panel.lines
        if list(line.get_ydata()) == [lane] and line.get_marker() not in ("<", ">")
    )


def test_every_step_has_a_panel_and_every_session_a_lane(found: Sensitivity) -> None:
    drawn = sensitivity_lanes(found)
    assert len(drawn.child_axes) == found.table["step"].nunique()
    assert {f"without day {day}" for day in range(1, 7)} <= set(words(drawn))


def test_the_first_lanes_stand_where_the_table_says(found: Sensitivity) -> None:
    drawn = sensitivity_lanes(found)
    for panel, (_, rows) in zip(
        drawn.child_axes, found.table.groupby("step", sort=False), strict=True
    ):
        for lane, row in enumerate(rows.head(7).to_dict("records")):
            drawn_mark = mark(panel, lane)
            assert drawn_mark.get_xdata()[0] == row["estimate"]
            line = next(each for each in panel.lines if list(each.get_ydata()) == [lane, lane])
            low, high = panel.get_xlim()
            expected = [max(row["ci_low"], low), min(row["ci_high"], high)]
            assert list(line.get_xdata()) == pytest.approx(expected)
            filled = to_rgba(drawn_mark.get_markerfacecolor()) != to_rgba(PAPER)
            assert filled == (row["verdict"] in ("more", "less"))
            assert (drawn_mark.get_marker() == "D") == row["verdict_changes"]


def test_the_band_is_the_interval_as_fitted(found: Sensitivity) -> None:
    panel = sensitivity_lanes(found).child_axes[0]
    box = panel.patches[0].get_extents().transformed(panel.transData.inverted())
    row = found.table.iloc[0]
    assert (box.x0, box.x1) == pytest.approx((row["ci_low"], row["ci_high"]))


def test_many_sessions_share_one_lane_of_the_one_that_matters() -> None:
    many = tried(log(14, 4, seed=2))
    drawn = sensitivity_lanes(many)
    assert "without its key session" in words(drawn)
    assert not any("without day" in each for each in words(drawn))
    kept = many.table.iloc[list(many.shown)]
    first = kept[kept["change"] == "without session"].iloc[0]
    assert mark(drawn.child_axes[0], 1).get_xdata()[0] == first["estimate"]


def test_a_lane_without_anything_left_says_so() -> None:
    drawn = sensitivity_lanes(tried(grind_changed_once(1), adjusters=()))
    assert "says nothing" in words(drawn.child_axes[0])


@pytest.mark.parametrize("sessions", [1, 4, 6, 14])
def test_nothing_is_cut_off_or_written_over_something_else(sessions: int) -> None:
    drawn = sensitivity_lanes(tried(log(sessions, 16 if sessions == 1 else 5, seed=3)))
    assert outside(drawn) == []
    assert overlapping(drawn) == []


@pytest.mark.parametrize("code", HOSTILE)
def test_names_of_sessions_are_drawn_as_plain_text(code: str) -> None:
    shots = log(4, 6)
    shots["session"] = np.where(shots["session"] == "day 1", code, shots["session"])
    sensitivity_lanes(tried(shots)).figure.canvas.draw()


def test_a_result_draws_itself(found: Sensitivity) -> None:
    assert len(found.plot().child_axes) == found.table["step"].nunique()


def test_without_effects_the_reason_is_drawn() -> None:
    nothing = Sensitivity(response="ey_pct", n_shots=3)
    assert words(sensitivity_lanes(nothing)) == ["No effect was judged."]
