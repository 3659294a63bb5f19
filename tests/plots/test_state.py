"""Drawing leaves the session as it was: no setting, no open figure, no random number."""

from __future__ import annotations

from collections.abc import Callable

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib import pyplot as plt

from tests.plots.conftest import invented_shots
from tests.plots.test_effects import BAND, GRIND, fit
from tests.plots.test_settings_rows import counted
from tests.taste.test_surface import findings, hill
from yieldwright.bench import Window
from yieldwright.chart import place_shots
from yieldwright.plots import (
    effects,
    settings_table,
    strength_extraction,
    surface_map,
    timeline,
)
from yieldwright.taste.surface.model import fit_surface

SHOTS = invented_shots()
PLACED = place_shots(SHOTS, Window())
DRAWINGS = {
    "strength_extraction": lambda: strength_extraction(PLACED),
    "effects": lambda: effects([fit(GRIND, BAND)]),
    "timeline": lambda: timeline(SHOTS),
    "surface_map": lambda: surface_map(fit_surface(findings(hill()))),
    "settings_table": lambda: settings_table(counted(low=(0, 3)), shots=SHOTS),
}


@pytest.fixture(params=DRAWINGS.values(), ids=DRAWINGS.keys())
def draw(request: pytest.FixtureRequest) -> Callable[[], object]:
    """Return one way to draw a figure."""
    return request.param


def test_no_setting_is_changed(draw: Callable[[], object]) -> None:
    before = dict(mpl.rcParams)
    draw()
    assert dict(mpl.rcParams) == before


def test_no_figure_is_left_open(draw: Callable[[], object]) -> None:
    before = plt.get_fignums()
    draw()
    assert plt.get_fignums() == before


def test_no_random_number_is_drawn(draw: Callable[[], object]) -> None:
    np.random.seed(0)  # noqa: NPY002 - the global state is what must not move
    before = np.random.get_state()[1].copy()  # noqa: NPY002
    draw()
    assert np.array_equal(np.random.get_state()[1], before)  # noqa: NPY002


def test_the_table_drawn_from_is_not_changed(draw: Callable[[], object]) -> None:
    before = SHOTS.copy()
    draw()
    pd.testing.assert_frame_equal(SHOTS, before)
