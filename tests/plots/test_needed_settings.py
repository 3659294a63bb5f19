"""The setting a bag needs day by day: a line for each state of the bench."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.axes import Axes

from tests.ageing.bag_logs import bag, serviced
from tests.ageing.test_compensation import DAYS, STEP_S, told
from tests.plots.artists import outside, overlapping, words
from yieldwright.ageing.grind.compensation import Compensation
from yieldwright.plots import needed_settings

GRINDS = (9.0, 10.0, 11.0, 12.0, 13.0)


def cleaned(*days: int) -> Compensation:
    """Return a bag that was cleaned before each of some sessions."""
    shots = bag("bag-1", DAYS, grinds=GRINDS)
    for place, day in enumerate(days):
        step = STEP_S if place == 0 else 0.0
        shots = serviced(shots, f"bag-1, day {day}", f"cleaned {place}", step)
    return told(shots)


def solid(ax: Axes) -> list[np.ndarray]:
    """Return the ages of each line of needed settings."""
    lines = [line for line in ax.lines if line.get_linewidth() == 1.4]
    return [np.asarray(line.get_xdata(), dtype=float) for line in lines]


def test_the_line_breaks_where_something_was_serviced() -> None:
    before, since = solid(needed_settings(cleaned(4)))
    assert before.max() < 16.0 <= since.min() + 0.55
    (whole,) = solid(needed_settings(cleaned()))
    assert (whole.min(), whole.max()) == (DAYS[0], DAYS[-1])


def test_no_line_joins_the_settings_of_two_states() -> None:
    found = cleaned(4)
    for line in needed_settings(found).lines:
        if line.get_linewidth() == 1.4:
            steps = np.diff(np.asarray(line.get_ydata(), dtype=float))
            assert np.nanmax(np.abs(steps)) < 0.5  # the service itself moved it by two settings


def test_the_service_is_named_at_the_break() -> None:
    assert "serviced 2026-03-18" in words(needed_settings(cleaned(4)))


@pytest.mark.parametrize("days", [(4,), (2, 4), (3, 4, 5), (1,)])
def test_names_of_services_neither_overlap_nor_leave_the_figure(days: tuple[int, ...]) -> None:
    ax = needed_settings(cleaned(*days))
    assert overlapping(ax) == []
    assert outside(ax) == []
