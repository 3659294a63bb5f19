"""The strength/extraction chart: nine regions, ratio lines, each shot with its ellipse."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from matplotlib.collections import EllipseCollection
from matplotlib.patches import Rectangle

from yieldwright.chart import REGIONS, chart_frame, pick_ratios, ratio_lines
from yieldwright.formatting import count, listing, number
from yieldwright.glossary import axis_label
from yieldwright.plots.chart_words import name_regions, name_shots
from yieldwright.plots.lettering import drawable, letter, name_axes
from yieldwright.plots.marks import draw_marks
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import (
    EDGE,
    GRID,
    INK,
    LOOKS,
    SOFT,
    TINTS,
    dress,
)

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.chart import ChartFrame, Placement

__all__ = ["CHART_SIZE", "strength_extraction"]

CHART_SIZE = FigureSize(180, 105, left_mm=12, right_mm=10, top_mm=8, bottom_mm=10)

#: More ellipses than this are a blur.
_MOST_ELLIPSES = 200
_COVERAGE_FACTOR = 1.96
_NAMED_OUTSIDE = 4
_RATIO_LINE: dict[str, Any] = {"color": EDGE, "linewidth": 0.7, "dashes": (4, 2.5), "zorder": 1}


def strength_extraction(placement: Placement, *, ax: Axes | None = None) -> Axes:
    """Draw the strength/extraction chart.

    Parameters
    ----------
    placement : Placement
        Shots placed on the chart.
    ax : Axes or None
        Where to draw; by default a new figure of 180 × 105 mm.

    Returns
    -------
    Axes

    Notes
    -----
    A mark points the way its shot missed the target; colour says the same again. Each
    ellipse holds 95 % of what the instruments can be wrong by. Shots far beyond the
    frame are named above it; inside, the shots furthest off target carry their names.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Window
    >>> from yieldwright.chart import place_shots
    >>> shots = pd.DataFrame({"shot": ["1"], "tds_pct": [9.5], "ey_pct": [19.0]})
    >>> strength_extraction(place_shots(shots, Window())).get_xlabel()
    'Extraction yield [% by mass]'
    """
    ax = new_axes(CHART_SIZE) if ax is None else ax
    frame = chart_frame(placement.placed, placement.window)
    shown = placement.placed[~placement.placed["shot"].isin(frame.outside)]
    dress(ax, bare=())
    draw_marks(ax, shown, x="ey_pct", y="tds_pct", kind="region")
    ax.set(xlim=frame.ey_limits, ylim=frame.tds_limits)
    _draw_regions(ax, placement, frame)
    ratios = pick_ratios(frame.ey_limits, frame.tds_limits)
    lines = ratio_lines(frame.ey_limits, frame.tds_limits, ratios)
    _draw_ratios(ax, lines)
    _draw_ellipses(ax, shown)
    _label(ax, placement, frame, shown)
    taken = name_regions(ax, placement.window, shown, lines)
    name_shots(ax, placement.window, shown, taken)
    return ax


def _draw_regions(ax: Axes, placement: Placement, frame: ChartFrame) -> None:
    """Draw the grounds of the nine regions and the outline of the target."""
    window = placement.window
    across = (frame.ey_limits[0], window.yield_low_pct, window.yield_high_pct, frame.ey_limits[1])
    low, high = frame.tds_limits
    up = (low, window.strength_low_pct, window.strength_high_pct, high)
    for each in REGIONS:
        column, row = each.right + 1, each.up + 1
        corner = across[column], up[row]
        sides = across[column + 1] - corner[0], up[row + 1] - corner[1]
        tint = TINTS[abs(each.right) + abs(each.up)]
        ax.add_patch(
            Rectangle(corner, *sides, facecolor=tint, edgecolor=GRID, linewidth=0.6, zorder=0)
        )
    target = (across[1], up[1]), across[2] - across[1], up[2] - up[1]
    ax.add_patch(Rectangle(*target, fill=False, edgecolor=INK, linewidth=0.9, zorder=2))


def _draw_ratios(ax: Axes, lines: pd.DataFrame) -> None:
    """Draw the ratio lines, each named just outside the frame, the first one in full."""
    beside = shifted(ax, ax.transData, right_pt=3)
    above = shifted(ax, ax.transData, up_pt=2)
    corner = shifted(ax, ax.transAxes, right_pt=26, up_pt=2)
    title = "brew ratio"
    for line in lines.to_dict("records"):
        x, y, name = line["ey_to"], line["tds_to"], line["label"]
        ax.plot((line["ey_from"], x), (line["tds_from"], y), **_RATIO_LINE)
        if line["edge"] == "top":
            words = f"{title} {name}".strip()
            letter(ax, x, y, words, color=SOFT, ha="center", va="bottom", transform=above)
        else:
            letter(ax, x, y, name, color=SOFT, va="center", transform=beside)
            letter(ax, 1, 1, title, color=SOFT, ha="right", va="bottom", transform=corner)
        title = ""


def _draw_ellipses(ax: Axes, shown: pd.DataFrame) -> None:
    known = shown.dropna(subset=["half_length"])
    if known.empty or len(known) > _MOST_ELLIPSES:
        return
    shapes = EllipseCollection(
        2 * known["half_length"].to_numpy(),
        2 * known["half_width"].to_numpy(),
        known["tilt_deg"].to_numpy(),
        units="xy",
        offsets=known[["ey_pct", "tds_pct"]].to_numpy(),
        offset_transform=ax.transData,
        facecolors="none",
        edgecolors=[LOOKS[code].fill for code in known["region"]],
        linewidths=0.6,
        alpha=0.6,
        zorder=3,
    )
    ax.add_collection(shapes, autolim=False)


def _label(ax: Axes, placement: Placement, frame: ChartFrame, shown: pd.DataFrame) -> None:
    """Write axis labels, how to read the marks, and what the frame leaves out."""
    name_axes(ax, x=axis_label("ey_pct"), y=axis_label("tds_pct"))
    ax.xaxis.set_label_coords(1.0, -0.055)
    ax.xaxis.label.set(horizontalalignment="right", verticalalignment="top")
    below = {"transform": ax.transAxes, "color": SOFT, "va": "top"}
    letter(ax, 0.0, -0.058, _how_to_read(shown), **below)
    if frame.outside:
        letter(ax, 0.0, 1.042, _beyond(frame.outside), transform=ax.transAxes, va="bottom")
    if placement.placed.empty:
        middle = {"transform": ax.transAxes, "ha": "center", "va": "center"}
        letter(ax, 0.5, 0.5, "No shot has both a strength and a yield.", **middle)


def _how_to_read(shown: pd.DataFrame) -> str:
    """Return what marks and ellipses mean, or how wide the ellipses would be."""
    known = shown.dropna(subset=["half_length"])
    if known.empty:
        return "A mark points the way its shot missed."
    if len(known) <= _MOST_ELLIPSES:
        return "A mark points the way its shot missed; its ellipse holds 95 % of instrument error."
    across, up = (_COVERAGE_FACTOR * known[u].median() for u in ("u_ey_pct", "u_tds_pct"))
    return (
        f"Instrument error of a usual shot, 95 %: ±{number(across, across)} of yield, "
        f"±{number(up, up)} of strength."
    )


def _beyond(outside: tuple[str, ...]) -> str:
    """Return which shots lie beyond the frame, the first few by name."""
    names = [drawable(name, longest=12) for name in outside[:_NAMED_OUTSIDE]]
    if len(outside) > _NAMED_OUTSIDE:
        names.append(f"{len(outside) - _NAMED_OUTSIDE} more")
    verb = "lies" if len(outside) == 1 else "lie"
    return f"{count(len(outside), 'shot')} {verb} beyond the frame: {listing(names)}"
