"""The map of a fitted surface: only where shots were pulled, with the place it turns at."""

from __future__ import annotations

import textwrap
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from matplotlib.colors import ListedColormap
from matplotlib.patches import FancyArrowPatch, Polygon
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from yieldwright.formatting import MINUS, count, number, sentence_case
from yieldwright.glossary import axis_label, quantity
from yieldwright.plots.lettering import drawable, letter, name_axes
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, FAMILY, INK, PAPER, SMALL_PT, SOFT, dress
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.contour import QuadContourSet

__all__ = ["FittedSurface", "surface_map"]

MAP_SIZE = FigureSize(120, 104, left_mm=14, right_mm=4, top_mm=12, bottom_mm=24)

#: Tints from low to high: lightness alone tells them apart, on a grey printer too.
_LOW, _HIGH = np.array([0.985, 0.975, 0.94]), np.array([0.48, 0.63, 0.60])
_MOST_LEVELS = 8
_DOT_AREA = 16.0
_MARGIN = 0.06
_MOST_TICKS = 7
_LONGEST_NOUN = 60


class FittedSurface(Protocol):
    """What a surface must tell to be drawn; the answer of `fit_surface` does."""

    @property
    def response(self) -> str:
        """Column explained."""

    @property
    def noun(self) -> str:
        """What is fitted, in words."""

    @property
    def best(self) -> str:
        """Which end is wanted, empty for neither."""

    @property
    def settings(self) -> tuple[str, ...]:
        """Columns of the surface; the first two span the map."""

    @property
    def n_shots(self) -> int:
        """Shots behind it."""

    @property
    def missing(self) -> str:
        """Why there is no surface, empty where there is one."""

    @property
    def kind(self) -> str:
        """What it turns at."""

    @property
    def grid(self) -> pd.DataFrame:
        """Lattice of the first two settings with `fitted` and its interval, the first slowest."""

    @property
    def hull(self) -> pd.DataFrame:
        """Corners of what was tried, in order."""

    @property
    def places(self) -> pd.DataFrame:
        """Places tried with `n_shots`."""

    @property
    def stationary(self) -> Mapping[str, float]:
        """The turning point, empty where it is not told."""

    @property
    def outline(self) -> pd.DataFrame:
        """Edge of its region, empty where it is not told."""

    @property
    def path(self) -> pd.DataFrame:
        """Steps of the way to better, with `tried`."""


def surface_map(fitted: FittedSurface, *, ax: Axes | None = None) -> Axes:
    """Draw a fitted surface as a map of its first two settings, where shots were pulled.

    Parameters
    ----------
    fitted : surface
        How a response bends over two or three settings.
    ax : Axes or None
        Where to draw; by default a new figure of 120 × 104 mm.

    Returns
    -------
    Axes

    Notes
    -----
    Tints run from light for low to dark for high, and every line between two of them
    carries its number. Nothing is drawn outside the settings tried. Each dot is a place
    that was pulled, larger where it was pulled more often. A cross marks where the
    surface turns, with the dashed edge of its 95 % region, only where both can be told.
    An arrow leads from the middle along the steps to better, or up where no end is wanted.

    Examples
    --------
    >>> from yieldwright.taste.surface.result import SurfaceFit
    >>> drawn = surface_map(SurfaceFit(response="time_s", n_shots=3, missing="Too few shots."))
    >>> [text.get_text() for text in drawn.texts]
    ['Too few shots.']
    """
    ax = new_axes(MAP_SIZE) if ax is None else ax
    if fitted.missing:
        return _say(ax, fitted.missing)
    dress(ax, bare=())
    across, up = fitted.settings[:2]
    contours = _draw_ground(ax, fitted, across, up)
    _frame(ax, fitted, across, up)
    _draw_hull(ax, fitted, across, up)
    _draw_places(ax, fitted, across, up)
    _draw_turn(ax, fitted, across, up)
    _draw_way(ax, fitted, across, up)
    _number_lines(ax, contours)
    name_axes(ax, x=axis_label(across), y=axis_label(up))
    _explain(ax, fitted)
    return ax


def _say(ax: Axes, reason: str) -> Axes:
    """Write why there is no map in place of one."""
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    letter(ax, 0.5, 0.5, textwrap.fill(reason, 60), ha="center", va="center")
    return ax


def _draw_ground(ax: Axes, fitted: FittedSurface, across: str, up: str) -> QuadContourSet:
    """Draw the tints of the fitted surface and the lines between them."""
    lines = fitted.grid[across].nunique()
    x, y, height = (
        fitted.grid[name].to_numpy().reshape(lines, -1) for name in (across, up, "fitted")
    )
    levels = MaxNLocator(_MOST_LEVELS, steps=[1, 2, 2.5, 5, 10]).tick_values(
        float(height.min()), float(height.max())
    )
    shares = np.linspace(0, 1, max(len(levels) - 1, 2))[:, np.newaxis]
    tints = ListedColormap(list(_LOW + shares * (_HIGH - _LOW)))
    ax.contourf(x, y, height, levels=levels, cmap=tints, zorder=0)
    return ax.contour(x, y, height, levels=levels, colors=SOFT, linewidths=0.5,
                      linestyles="solid", zorder=1)  # fmt: skip


def _number_lines(ax: Axes, contours: QuadContourSet) -> None:
    """Write the value of each line on it."""
    labels = ax.clabel(contours, fontsize=SMALL_PT, fmt=_plain, colors=INK)
    for label in labels or ():
        label.set(fontfamily=FAMILY, parse_math=False)


def _plain(value: float) -> str:
    """Return the round value of a line without idle zeros."""
    return f"{value:.10g}".replace("-", MINUS)


def _frame(ax: Axes, fitted: FittedSurface, across: str, up: str) -> None:
    """Set the limits to what was tried and a margin, with ticks at the values tried."""
    for column, axis, limit in ((across, ax.xaxis, ax.set_xlim), (up, ax.yaxis, ax.set_ylim)):
        values = np.unique(fitted.places[column])
        room = _MARGIN * float(np.ptp(values))
        limit(values[0] - room, values[-1] + room)
        few = len(values) <= _MOST_TICKS
        axis.set_major_locator(FixedLocator(values.tolist()) if few else MaxNLocator(_MOST_TICKS))
        axis.set_major_formatter(FuncFormatter(lambda value, _: _plain(value)))


def _draw_hull(ax: Axes, fitted: FittedSurface, across: str, up: str) -> None:
    if not fitted.hull.empty:
        corners = fitted.hull[[across, up]].to_numpy()
        ax.add_patch(Polygon(corners, fill=False, edgecolor=EDGE, linewidth=0.9, zorder=2))


def _draw_places(ax: Axes, fitted: FittedSurface, across: str, up: str) -> None:
    """Draw a dot per place tried, its area by how often."""
    counted = fitted.places.groupby([across, up], as_index=False)["n_shots"].sum()
    ax.scatter(
        counted[across],
        counted[up],
        s=_DOT_AREA * counted["n_shots"],
        facecolor=PAPER,
        edgecolor=INK,
        linewidth=0.8,
        zorder=3,
        clip_on=False,
    )


def _draw_turn(ax: Axes, fitted: FittedSurface, across: str, up: str) -> None:
    """Draw the place the surface turns at and the edge of its region."""
    if not fitted.stationary or len(fitted.settings) > 2:
        return
    edge = fitted.outline[[across, up]].to_numpy()
    look: dict[str, Any] = {"fill": False, "edgecolor": INK, "linewidth": 1.1}
    ax.add_patch(Polygon(edge, linestyle=(0, (4, 2)), zorder=4, **look))
    ax.plot(fitted.stationary[across], fitted.stationary[up], marker="x", color=INK,
            markersize=7, markeredgewidth=1.6, linestyle="none", zorder=5)  # fmt: skip


def _draw_way(ax: Axes, fitted: FittedSurface, across: str, up: str) -> None:
    """Draw an arrow along each step to better that was tried."""
    tried = fitted.path.loc[fitted.path["tried"], [across, up]].itertuples(index=False, name=None)
    for start, end in pairwise(tried):
        ax.add_patch(
            FancyArrowPatch(start, end, arrowstyle="-|>", mutation_scale=9, color=INK,
                            linewidth=1.3, shrinkA=3, shrinkB=3, zorder=4)
        )  # fmt: skip


def _explain(ax: Axes, fitted: FittedSurface) -> None:
    """Write what is drawn above the map, and how to read it below."""
    above, below = (shifted(ax, ax.transAxes, up_pt=points) for points in (4, -28))
    letter(ax, 0.0, 1.0, _heading(fitted), va="bottom", transform=above)
    words = "\n".join(_how_to_read(fitted))
    letter(ax, 0.0, 0.0, words, color=SOFT, va="top", transform=below)


def _heading(fitted: FittedSurface) -> str:
    """Return what is fitted, from how many shots, and where a third setting stands."""
    shots = count(fitted.n_shots, "shot")
    noun = drawable(fitted.noun or column_label(fitted.response), longest=_LONGEST_NOUN)
    words = f"{sentence_case(noun)}, fitted [{_unit(fitted)}]; {shots}"
    for column in fitted.settings[2:]:
        words += f"; {level_words(column, float(fitted.grid[column].iloc[0]))}"
    return words


def _unit(fitted: FittedSurface) -> str:
    return "points" if attribute_of(fitted.response) else quantity(fitted.response).unit


def _how_to_read(fitted: FittedSurface) -> list[str]:
    halves = (fitted.grid["ci_high"] - fitted.grid["ci_low"]) / 2
    least, most = (number(each, figures=2) for each in (halves.min(), halves.max()))
    lines = [
        "Darker is higher; dots are shots, larger where more; nothing is shown beyond them.",
        f"A fitted value is known to within {least} to {most} {_unit(fitted)} (95 %).",
    ]
    if fitted.kind == "unclear":
        lines.append("Whether it bends at all does not stand clear of chance.")
    if fitted.stationary and len(fitted.settings) == 2:
        turns = {"top": "highest", "bottom": "lowest"}.get(fitted.kind, "level")
        lines.append(f"Cross: the surface is {turns}; dashed: the 95 % region of that place.")
    if int(fitted.path["tried"].sum()) > 1:
        way = "to better" if fitted.best else "up"
        lines.append(f"Arrow: the way {way} from the middle, in steps a hand can make.")
    return lines
