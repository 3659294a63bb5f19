"""Figures have a size on paper, and are shown by a notebook without being kept elsewhere."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import matplotlib as mpl
import pytest
from matplotlib import pyplot as plt
from matplotlib.figure import Figure

from yieldwright.errors import MisalignedError
from yieldwright.plots.paper import (
    FigureSize,
    figure_of,
    new_axes,
    off_screen,
    points_high,
    shifted,
)

SIZE = FigureSize(180, 105, left_mm=12, right_mm=10, top_mm=8, bottom_mm=10)


@pytest.fixture
def asked_of_pyplot(monkeypatch: pytest.MonkeyPatch) -> list[Figure]:
    """Let the code believe that it runs in a notebook, and note what it asks pyplot for."""
    made: list[Figure] = []

    def figure(**options: object) -> Figure:
        made.append(Figure(**options))
        return made[-1]

    monkeypatch.setitem(sys.modules, "IPython", SimpleNamespace(get_ipython=object))
    monkeypatch.setattr(plt, "figure", figure)
    return made


def test_a_figure_is_as_large_as_asked() -> None:
    width, height = figure_of(new_axes(SIZE)).get_size_inches() * 25.4
    assert (width, height) == pytest.approx((180, 105))


def test_margins_are_kept() -> None:
    box = new_axes(SIZE).get_position()
    assert box.x0 * 180 == pytest.approx(12)
    assert (1 - box.x1) * 180 == pytest.approx(10)
    assert box.y0 * 105 == pytest.approx(10)
    assert (1 - box.y1) * 105 == pytest.approx(8)


def test_outside_a_notebook_nothing_is_kept_open() -> None:
    before = plt.get_fignums()
    new_axes(SIZE)
    assert plt.get_fignums() == before


def test_in_a_notebook_pyplot_makes_the_figure_so_that_it_is_shown(
    asked_of_pyplot: list[Figure],
) -> None:
    assert figure_of(new_axes(SIZE)) is asked_of_pyplot[0]


def test_off_screen_not_even_a_notebook_shows_it(asked_of_pyplot: list[Figure]) -> None:
    with off_screen():
        new_axes(SIZE)
    assert asked_of_pyplot == []


def test_after_off_screen_a_notebook_shows_figures_again(asked_of_pyplot: list[Figure]) -> None:
    with off_screen():
        pass
    new_axes(SIZE)
    assert len(asked_of_pyplot) == 1


def test_a_figure_has_a_ground_that_dark_notebooks_show_through_nowhere() -> None:
    with mpl.rc_context({"figure.facecolor": "black"}):
        assert figure_of(new_axes(SIZE)).get_facecolor() == (1.0, 1.0, 1.0, 1.0)


def test_the_library_alone_is_no_notebook(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "IPython", SimpleNamespace(get_ipython=lambda: None))
    before = plt.get_fignums()
    new_axes(SIZE)
    assert plt.get_fignums() == before


def test_points_are_points() -> None:
    # 105 mm less margins of 18 mm are 87 mm; an inch of 25.4 mm has 72 points.
    assert points_high(new_axes(SIZE)) == pytest.approx(87 / 25.4 * 72)


def test_a_shift_does_not_depend_on_the_scale() -> None:
    ax = new_axes(SIZE)
    ax.set(xlim=(0, 1000))
    moved = shifted(ax, ax.transData, up_pt=72).transform((0, 0))
    assert moved[1] - ax.transData.transform((0, 0))[1] == pytest.approx(figure_of(ax).dpi)


def test_axes_without_a_figure_are_refused() -> None:
    ax = new_axes(SIZE)
    ax.remove()
    ax.figure = None
    with pytest.raises(MisalignedError, match="no figure any more"):
        figure_of(ax)
