"""Lanes of tasters: one each, its interval where it is, shapes beside colours."""

from __future__ import annotations

from typing import Any

import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba

from tests.plots.artists import outside, overlapping, words
from tests.plots.conftest import HOSTILE
from tests.taste.scored_logs import findings, log_of
from yieldwright.plots import taster_lanes
from yieldwright.plots.theme import PAPER
from yieldwright.taste.tasters.by_taster import TasterEffects, taste_by_taster


@pytest.fixture(scope="module")
def camps() -> TasterEffects:
    """Return a panel of two camps."""
    log = log_of(24, tasters=4, grind=2.5, signs=(1.0, 1.0, -1.0, -1.0))
    found = taste_by_taster(findings(log))
    assert found is not None
    return found


def mark(panel: Axes, lane: int) -> Any:
    """Return the mark of the estimate in a lane."""
    return next(
        line
        for line in panel.lines
        if list(line.get_ydata()) == [lane] and line.get_marker() not in ("<", ">")
    )


def test_every_step_has_a_panel_and_every_taster_a_lane(camps: TasterEffects) -> None:
    drawn = taster_lanes(camps)
    assert len(drawn.child_axes) == len(camps.steps)
    assert {"t0", "t1", "t2", "t3"} <= set(words(drawn))


def test_estimates_and_intervals_stand_where_they_are(camps: TasterEffects) -> None:
    panel = taster_lanes(camps).child_axes[0]
    for lane, found in enumerate(camps.steps[0].effects.values()):
        assert mark(panel, lane).get_xdata()[0] == found.estimate
        line = next(each for each in panel.lines if list(each.get_ydata()) == [lane, lane])
        low, high = panel.get_xlim()
        assert list(line.get_xdata()) == [max(found.ci_low, low), min(found.ci_high, high)]


def test_a_mark_is_filled_only_where_the_interval_keeps_clear_of_zero(
    camps: TasterEffects,
) -> None:
    for panel, step in zip(taster_lanes(camps).child_axes, camps.steps, strict=True):
        for lane, found in enumerate(step.effects.values()):
            filled = to_rgba(mark(panel, lane).get_markerfacecolor()) != to_rgba(PAPER)
            assert filled == (found.ci_low * found.ci_high > 0)


def test_tasters_differ_in_shape_and_not_in_colour_alone(camps: TasterEffects) -> None:
    panel = taster_lanes(camps).child_axes[0]
    assert len({mark(panel, lane).get_marker() for lane in range(4)}) == 4


def test_the_effect_of_all_together_is_a_line_in_a_band(camps: TasterEffects) -> None:
    panel = taster_lanes(camps).child_axes[0]
    estimate, low, high = camps.steps[0].pooled
    (dashed,) = [line for line in panel.lines if line.get_linestyle() == "--"]
    assert dashed.get_xdata()[0] == estimate
    box = panel.patches[0].get_extents().transformed(panel.transData.inverted())
    assert (box.x0, box.x1) == pytest.approx((low, high))


def test_panels_say_whether_tasters_differ(camps: TasterEffects) -> None:
    said = [words(panel) for panel in taster_lanes(camps).child_axes]
    assert any("tasters differ (p < 0.001)" in each for each in said[0])
    assert any("no difference shows" in text for text in said[1])


def test_panels_of_levels_name_what_the_levels_are_of(camps: TasterEffects) -> None:
    said = words(taster_lanes(camps))
    assert "Temperature band: low → medium" in said


def test_nothing_is_cut_off_or_written_over_something_else(camps: TasterEffects) -> None:
    drawn = taster_lanes(camps)
    assert outside(drawn) == []
    assert overlapping(drawn) == []


@pytest.mark.parametrize("code", HOSTILE)
def test_codes_of_tasters_are_drawn_as_plain_text(code: str) -> None:
    from dataclasses import replace

    log = log_of(24, tasters=2)
    odd = log.tastings.assign(taster=log.tastings["taster"].replace("t1", code or "?"))
    found = taste_by_taster(findings(replace(log, tastings=odd)))
    assert found is not None
    taster_lanes(found).figure.canvas.draw()


def test_without_effects_the_reason_is_drawn() -> None:
    nothing = TasterEffects(response="score:overall", n_shots=3, missing="One taster only.")
    assert words(taster_lanes(nothing)) == ["One taster only."]
