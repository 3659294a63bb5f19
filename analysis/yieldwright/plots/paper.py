"""Figures by their size on paper: millimetres, points, and what a notebook needs."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import offset_copy

from yieldwright.errors import MisalignedError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes
    from matplotlib.transforms import Transform

__all__ = [
    "MM_PER_POINT",
    "FigureSize",
    "dots_per_point",
    "figure_of",
    "new_axes",
    "off_screen",
    "points_high",
    "shifted",
]

_MM_PER_INCH = 25.4
_POINTS_PER_INCH = 72
_GROUND = "#ffffff"
_OFF_SCREEN = ContextVar("off_screen", default=False)
MM_PER_POINT = _MM_PER_INCH / _POINTS_PER_INCH


@dataclass(frozen=True, slots=True)
class FigureSize:
    """Size of a figure and of the margins around its axes.

    Attributes
    ----------
    width_mm, height_mm : float
        Of the whole figure.
    left_mm, right_mm, top_mm, bottom_mm : float
        Margins.
    """

    width_mm: float
    height_mm: float
    left_mm: float = 13.0
    right_mm: float = 3.0
    top_mm: float = 6.0
    bottom_mm: float = 11.0


def new_axes(size: FigureSize) -> Axes:
    """Return axes that fill a new figure but for its margins.

    Parameters
    ----------
    size : FigureSize
        Size and margins.

    Returns
    -------
    Axes

    Examples
    --------
    >>> new_axes(FigureSize(180, 60)).figure.get_size_inches().round(2).tolist()
    [7.09, 2.36]
    """
    inches = size.width_mm / _MM_PER_INCH, size.height_mm / _MM_PER_INCH
    rectangle = (
        size.left_mm / size.width_mm,
        size.bottom_mm / size.height_mm,
        1 - (size.left_mm + size.right_mm) / size.width_mm,
        1 - (size.top_mm + size.bottom_mm) / size.height_mm,
    )
    return _new_figure(inches).add_axes(rectangle)


def figure_of(ax: Axes) -> Figure:
    """Return the figure that axes stand on.

    Parameters
    ----------
    ax : Axes
        On a figure.

    Returns
    -------
    Figure

    Raises
    ------
    MisalignedError
        If the axes were taken off their figure.

    Examples
    --------
    >>> type(figure_of(new_axes(FigureSize(180, 60)))).__name__
    'Figure'
    """
    figure = ax.get_figure(root=True)
    if figure is None:
        raise MisalignedError(
            "the axes stand on no figure any more; pass axes of a figure, or None"
        )
    return figure


def dots_per_point(ax: Axes) -> float:
    """Return how many dots one point on paper takes.

    Parameters
    ----------
    ax : Axes
        On a figure.

    Returns
    -------
    float

    Examples
    --------
    >>> ax = new_axes(FigureSize(180, 60))
    >>> figure_of(ax).set_dpi(144)
    >>> dots_per_point(ax)
    2.0
    """
    return figure_of(ax).dpi / _POINTS_PER_INCH


def points_high(ax: Axes) -> float:
    """Return the height of axes in points on paper.

    Parameters
    ----------
    ax : Axes
        On a figure.

    Returns
    -------
    float

    Examples
    --------
    >>> round(points_high(new_axes(FigureSize(180, 60, top_mm=0, bottom_mm=9.2))))
    144
    """
    return float(ax.get_window_extent().height) / dots_per_point(ax)


def shifted(ax: Axes, place: Transform, *, right_pt: float = 0.0, up_pt: float = 0.0) -> Transform:
    """Return a place moved by points on paper, whatever the scale of the axes.

    Parameters
    ----------
    ax : Axes
        On a figure.
    place : Transform
        Coordinates to start from.
    right_pt, up_pt : float
        How far to move.

    Returns
    -------
    Transform

    Examples
    --------
    >>> ax = new_axes(FigureSize(180, 60))
    >>> figure_of(ax).set_dpi(72)
    >>> moved = shifted(ax, ax.transData, right_pt=3).transform((0, 0))
    >>> (moved - ax.transData.transform((0, 0))).round(6).tolist()
    [3.0, 0.0]
    """
    return offset_copy(place, figure_of(ax), right_pt, up_pt, units="points")


@contextmanager
def off_screen() -> Iterator[None]:
    """Keep figures made meanwhile from being shown by a notebook on their own.

    For figures that become markup of a page: a notebook would show each a second time.

    Yields
    ------
    None

    Examples
    --------
    >>> with off_screen():
    ...     ax = new_axes(FigureSize(180, 60))
    """
    token = _OFF_SCREEN.set(True)
    try:
        yield
    finally:
        _OFF_SCREEN.reset(token)


def _new_figure(inches: tuple[float, float]) -> Figure:
    """Return a figure that a notebook shows and that nothing else has to close."""
    # A notebook shows the figures pyplot manages and no others; anywhere else pyplot would
    # hold on to each figure of a page until someone closed it.
    shell = getattr(sys.modules.get("IPython"), "get_ipython", lambda: None)()
    if shell is None or _OFF_SCREEN.get():
        # Its own canvas keeps one renderer for measuring words, in place of one per word.
        return FigureCanvasAgg(Figure(figsize=inches, facecolor=_GROUND)).figure
    from matplotlib import pyplot as plt

    return plt.figure(figsize=inches, facecolor=_GROUND)
