"""Questions to ask of a figure: its words, whether they overlap, and its marks."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.collections import PathCollection
from matplotlib.text import Text
from matplotlib.transforms import Bbox


def texts(ax: Axes) -> list[Text]:
    """Return every text a reader sees, ticks and labels included."""
    figure = ax.get_figure(root=True)
    figure.draw_without_rendering()
    hidden = {id(text) for each in figure.findobj(Axes) for text in hidden_labels(each)}
    found = [each for each in figure.findobj(Text) if id(each) not in hidden]
    return [each for each in found if each.get_visible() and each.get_text().strip()]


def hidden_labels(ax: Axes) -> list[Text]:
    """Return the labels that are not drawn: of axes switched off, of ticks out of view."""
    if not ax.axison:
        return [*ax.xaxis.findobj(Text), *ax.yaxis.findobj(Text)]
    ticks = [(tick, axis) for axis in (ax.xaxis, ax.yaxis) for tick in axis.get_major_ticks()]
    beyond = [tick for tick, axis in ticks if not in_view(tick.get_loc(), axis)]
    return [text for tick in beyond for text in tick.findobj(Text)]


def in_view(place: float, axis: Axis) -> bool:
    """Return whether a place lies between the ends of an axis."""
    low, high = sorted(axis.get_view_interval())
    return low - 1e-9 <= place <= high + 1e-9


def words(ax: Axes) -> list[str]:
    """Return what those texts say."""
    return [text.get_text() for text in texts(ax)]


def box(text: Text) -> Bbox:
    """Return the box of a text, shrunk by the leading above and below its letters."""
    extent = text.get_window_extent()
    return Bbox.from_extents(extent.x0 + 0.5, extent.y0 + 1, extent.x1 - 0.5, extent.y1 - 1)


def overlapping(ax: Axes) -> list[tuple[str, str]]:
    """Return each pair of texts that lie on one another."""
    return [
        (first.get_text(), second.get_text())
        for first, second in combinations(texts(ax), 2)
        if box(first).overlaps(box(second))
    ]


def outside(ax: Axes) -> list[str]:
    """Return the texts that the edge of the figure cuts."""
    whole = ax.get_figure(root=True).bbox
    return [
        text.get_text()
        for text in texts(ax)
        if not (whole.containsx(box(text).x0) and whole.containsx(box(text).x1))
        or not (whole.containsy(box(text).y0) and whole.containsy(box(text).y1))
    ]


def mark_places(ax: Axes) -> np.ndarray:
    """Return where the scattered marks of axes stand, one row each."""
    found = [each.get_offsets() for each in ax.findobj(PathCollection)]
    return np.vstack([np.asarray(each) for each in found]) if found else np.empty((0, 2))
