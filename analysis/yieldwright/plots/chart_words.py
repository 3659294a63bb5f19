"""The names on the strength/extraction chart: of its regions, and of the shots furthest off."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.chart import REGIONS
from yieldwright.plots.lettering import best_spot, drawable, letter, text_box
from yieldwright.plots.paper import dots_per_point
from yieldwright.plots.theme import SOFT

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.bench import Window
    from yieldwright.chart import Region

__all__ = ["name_regions", "name_shots"]

_MOST_NAMES = 6
_INSET_PT = 4.0
_MARK_PT = 3.4
_CROWD = 200
_REACH = 2.448  # root of 5.991: half the box around a 95 % ellipse, in standard uncertainties


def name_regions(ax: Axes, window: Window, shown: pd.DataFrame, lines: pd.DataFrame) -> np.ndarray:
    """Write each region's words where its shots leave room, outer corners first.

    Parameters
    ----------
    ax : Axes
        The chart, its limits set.
    window : Window
        The target. [% by mass]
    shown : DataFrame
        One row per shot inside the frame.
    lines : DataFrame
        One row per ratio line drawn.

    Returns
    -------
    ndarray, shape (n, 4)
        Boxes that marks and words now take up, in pixels.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Window
    >>> from yieldwright.chart import ratio_lines
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(180, 105))
    >>> _ = ax.set(xlim=(15, 25), ylim=(6, 14))
    >>> none = pd.DataFrame(columns=["ey_pct", "tds_pct", "u_ey_pct", "u_tds_pct"], dtype=float)
    >>> len(name_regions(ax, Window(), none, ratio_lines((15, 25), (6, 14), [2.0])))
    9
    """
    marks = _mark_boxes(ax, shown)
    drawn = np.vstack((marks, _line_boxes(ax, lines)))
    words = [marks]
    for each in REGIONS:
        (left, right), (bottom, top) = _extent(ax, window, each)
        text = letter(ax, left, top, each.label.replace(", ", ",\n"), color=SOFT, zorder=2)
        room = ax.transData.transform([[left, bottom], [right, top]])
        box = text_box(text)
        if box[2] - box[0] > room[1, 0] - room[0, 0]:
            text.remove()
            continue
        best_spot(text, _spots_within(each, (left, right), (bottom, top)), drawn)
        words.append(text_box(text)[None, :])
    return np.vstack(words)


def name_shots(ax: Axes, window: Window, shown: pd.DataFrame, taken: np.ndarray) -> None:
    """Write the names of the shots furthest off target, where there is room beside them.

    Parameters
    ----------
    ax : Axes
        The chart, its limits set.
    window : Window
        The target. [% by mass]
    shown : DataFrame
        One row per shot inside the frame.
    taken : ndarray, shape (n, 4)
        Boxes not to cover, in pixels.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Window
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(180, 105))
    >>> _ = ax.set(xlim=(15, 25), ylim=(6, 14))
    >>> shots = pd.DataFrame({"shot": ["a"], "ey_pct": [24.0], "tds_pct": [9.0]})
    >>> name_shots(ax, Window(), shots.assign(region="over", p_region=1.0), np.empty((0, 4)))
    >>> [text.get_text() for text in ax.texts]
    ['shot a']
    """
    if len(shown) > _CROWD:
        return
    frame = ax.get_window_extent().extents
    per_point = _data_per_point(ax)
    for shot in _furthest(window, shown).to_dict("records"):
        text = letter(ax, 0, 0, f"shot {drawable(str(shot['shot']), longest=14)}", zorder=5)
        covered = best_spot(text, _around(shot["ey_pct"], shot["tds_pct"], per_point), taken)
        box = text_box(text)
        inside = (box[:2] >= frame[:2]).all() and (box[2:] <= frame[2:]).all()
        if covered or not inside:
            text.remove()
        else:
            taken = np.vstack((taken, box))


def _furthest(window: Window, shown: pd.DataFrame) -> pd.DataFrame:
    """Return the shots surely off target, the furthest first, distance in window widths."""
    across = _beyond(shown["ey_pct"], window.yield_low_pct, window.yield_high_pct)
    up = _beyond(shown["tds_pct"], window.strength_low_pct, window.strength_high_pct)
    distance = np.hypot(across, up)
    order = np.argsort(-distance, kind="stable")[: min(_MOST_NAMES, int((distance > 0).sum()))]
    return shown.iloc[order]


def _beyond(values: pd.Series[float], low: float, high: float) -> np.ndarray:
    """Return how far values lie outside a range, in widths of the range."""
    found = np.asarray(values, dtype=float)
    return np.maximum(np.maximum(low - found, found - high), 0) / (high - low)


def _mark_boxes(ax: Axes, shown: pd.DataFrame) -> np.ndarray:
    """Return the box in pixels that each mark with its ellipse takes up."""
    per_point = _data_per_point(ax)
    middles = shown[["ey_pct", "tds_pct"]].to_numpy(dtype=float)
    errors = _REACH * shown[["u_ey_pct", "u_tds_pct"]].fillna(0.0).to_numpy(dtype=float)
    reach = np.maximum(errors, _MARK_PT * per_point)
    low, high = (ax.transData.transform(middles + sign * reach) for sign in (-1, 1))
    return np.hstack((low, high))


def _line_boxes(ax: Axes, lines: pd.DataFrame) -> np.ndarray:
    """Return small boxes in pixels along the ratio lines."""
    share = np.linspace(0, 1, 81)[:, None]
    starts = lines[["ey_from", "tds_from"]].to_numpy(dtype=float)
    ends = lines[["ey_to", "tds_to"]].to_numpy(dtype=float)
    paths = (1 - share)[:, None] * starts + share[:, None] * ends
    points = ax.transData.transform(paths.reshape(-1, 2))
    return np.hstack((points - 1, points + 1))


def _data_per_point(ax: Axes) -> np.ndarray:
    """Return how much yield and how much strength one point on paper stands for."""
    box = ax.get_window_extent()
    points = np.array([box.width, box.height]) / dots_per_point(ax)
    return np.array([np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim())]) / points


def _extent(
    ax: Axes, window: Window, each: Region
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return a region's range of yield and of strength, a little inside its borders."""
    inset = _INSET_PT * _data_per_point(ax)
    edges = (ax.get_xlim()[0], window.yield_low_pct, window.yield_high_pct, ax.get_xlim()[1])
    levels = (
        ax.get_ylim()[0],
        window.strength_low_pct,
        window.strength_high_pct,
        ax.get_ylim()[1],
    )
    across, up = edges[each.right + 1 :], levels[each.up + 1 :]
    return (across[0] + inset[0], across[1] - inset[0]), (up[0] + inset[1], up[1] - inset[1])


def _spots_within(
    each: Region, across: tuple[float, float], up: tuple[float, float]
) -> list[tuple[float, float, str, str]]:
    """Return the spots for a region's words, the outermost corner first."""
    left, middle, right = (across[0], "left"), (sum(across) / 2, "center"), (across[1], "right")
    bottom, top = (up[0], "bottom"), (up[1], "top")
    between = [(up[1] + share * (up[0] - up[1]), "center") for share in (0.25, 0.5, 0.75)]
    columns = [right, middle, left] if each.right > 0 else [left, middle, right]
    rows = [bottom, *reversed(between), top] if each.up < 0 else [top, *between, bottom]
    outermost = sorted(product(range(5), range(3)), key=sum)
    return [(columns[j][0], rows[i][0], columns[j][1], rows[i][1]) for i, j in outermost]


def _around(
    ey_pct: float, tds_pct: float, per_point: np.ndarray
) -> list[tuple[float, float, str, str]]:
    """Return eight spots around a mark, beside it first."""
    aside, above = (_MARK_PT + 2.0) * per_point
    sides = {1: "left", -1: "right", 0: "center"}, {1: "bottom", -1: "top", 0: "center"}
    turns = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1)]
    return [
        (ey_pct + right * aside, tds_pct + up * above, sides[0][right], sides[1][up])
        for right, up in turns
    ]
