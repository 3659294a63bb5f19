"""One response shot after shot: limits, running average, sums, and what alarms by its shape."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from yieldwright.formatting import number, percent
from yieldwright.glossary import find_quantity
from yieldwright.plots.lettering import (
    best_spot,
    drawable,
    letter,
    letter_within,
    name_axes,
    text_box,
)
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.setting_lanes import stretches
from yieldwright.plots.theme import (
    EDGE,
    FAMILY,
    GRID,
    HATCH,
    INK,
    LOOKS,
    SMALL_PT,
    SOFT,
    Look,
    dress,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.repeatability.charts.watching import Watch

__all__ = ["control_chart"]

#: Narrow enough that its lettering can be read on a telephone.
SIZE = FigureSize(122, 92, left_mm=0, right_mm=0, top_mm=0, bottom_mm=0)

#: Where panels stand, as shares of the sheet: left, bottom, width, height.
_VALUES, _SUMS = (0.105, 0.40, 0.80, 0.50), (0.105, 0.175, 0.80, 0.16)

_BEYOND, _AVERAGE, _SUM = "one_beyond_3s", "ewma", "cusum"

#: What alarms, by its shape; every other rule shares the square.
_ALARMS = {
    _BEYOND: Look("single shot", LOOKS["over"].fill, "D"),
    "pattern": Look("pattern of shots", LOOKS["strong"].fill, "s"),
    _AVERAGE: Look("running average", LOOKS["under"].fill, "^"),
    _SUM: Look("sum", LOOKS["on_target"].fill, "P"),
}

_CROWD = 120
_CHARACTERS = 62
_MOST_SESSIONS = 40
_MOST_NAMED = 6

#: Sums far beyond their limit are shown at so many of it.
_REACH = 3.0

#: Where a name may stand beside its mark: right, up, and how it is aligned there.
_SPOTS = (
    (0, 1, "center", "bottom"),
    (0, -1, "center", "top"),
    (1, 0, "left", "center"),
    (-1, 0, "right", "center"),
    (1, 1, "left", "bottom"),
    (-1, -1, "right", "top"),
    (1, -1, "left", "top"),
    (-1, 1, "right", "bottom"),
)


def control_chart(found: Watch, *, ax: Axes | None = None) -> Axes:
    """Draw one response in the order pulled, with limits, averages, sums and alarms.

    Parameters
    ----------
    found : Watch
        Series, limits and alarms.
    ax : Axes or None
        Where to draw; by default a new figure of 122 × 92 mm.

    Returns
    -------
    Axes
        The axes that hold the panels of shots and of sums, its `child_axes`.

    Notes
    -----
    Dots are shots with settings taken out, dashed lines the limits of a single one. The
    line is the running average and its ground the limits of it. Below stand the sums of
    small differences, upwards and downwards, and how far they may go. What alarms has a
    shape of its own, and the first shot of each kind of alarm its name. Faint lines part
    sessions. Without a chart the reason stands in its place.

    Examples
    --------
    >>> from yieldwright.repeatability.charts.watching import Watch
    >>> nothing = Watch(response="time_s", n_shots=3, missing="3 shots, and 10 are needed.")
    >>> [text.get_text() for text in control_chart(nothing).texts]
    ['3 shots, and 10 are needed.']
    """
    ax = new_axes(SIZE) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if found.missing:
        why = textwrap.fill(drawable(found.missing, longest=400), 76)
        letter(ax, 0.02, 0.5, why, color=SOFT, va="center")
        return ax
    values, sums = ax.inset_axes(_VALUES), ax.inset_axes(_SUMS)
    kinds = found.table["alarm"].str.split("; ")
    _draw_values(values, found, kinds)
    _draw_sums(sums, found, kinds)
    for panel in (values, sums):
        _part_sessions(panel, found.table)
    _name_sessions(values, found.table)
    _number_shots(sums, found.table)
    _name_alarms(values, sums, found)
    _explain(ax, found, kinds)
    return ax


def _draw_values(panel: Axes, found: Watch, kinds: pd.Series) -> None:
    """Draw shots, limits and running average."""
    table, places = found.table, np.arange(len(found.table))
    dress(panel)
    band: dict[str, Any] = {"facecolor": HATCH, "alpha": 0.8, "linewidth": 0, "zorder": 1}
    panel.fill_between(places, table["average_low"], table["average_high"], **band)
    panel.axhline(found.center, color=EDGE, linewidth=0.9, zorder=2)
    for limit in (found.lower, found.upper):
        panel.axhline(limit, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=2)
    panel.plot(places, table["average"], color=INK, linewidth=1.1, zorder=3)
    size = 2.2 if len(table) > _CROWD else 3.4
    dots: dict[str, Any] = {"marker": "o", "linestyle": "", "zorder": 4}
    panel.plot(places, table["adjusted"], color=SOFT, markersize=size, markeredgewidth=0, **dots)
    single = kinds.map(lambda names: _BEYOND in names)
    patterns = kinds.map(lambda names: bool(set(names) - {"", _BEYOND, _AVERAGE, _SUM}))
    average = kinds.map(lambda names: _AVERAGE in names)
    _mark(panel, table["adjusted"][patterns], _ALARMS["pattern"])
    _mark(panel, table["adjusted"][single], _ALARMS[_BEYOND])
    _mark(panel, table["average"][average], _ALARMS[_AVERAGE])
    _scale(panel, found)


def _scale(panel: Axes, found: Watch) -> None:
    """Set the scales, and write centre and limits at the right edge."""
    seen = found.table["adjusted"]
    low, high = min(seen.min(), found.lower), max(seen.max(), found.upper)
    room = 0.1 * (high - low)
    panel.set(ylim=(low - room, high + 1.6 * room), xticks=[])
    panel.set_xlim(-0.7, len(seen) - 0.3)
    panel.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    entry = find_quantity(found.response)
    what = entry.axis_label if entry else found.response.replace(":", ": ")
    name_axes(panel, y=what)
    beside = shifted(panel, panel.get_yaxis_transform(), right_pt=3)
    for height in (found.lower, found.center, found.upper):
        words = number(height, found.sigma / 3)
        letter(panel, 1, height, words, color=SOFT, va="center", transform=beside)


def _draw_sums(panel: Axes, found: Watch, kinds: pd.Series) -> None:
    """Draw both sums, the lower one downwards, with the limit of each."""
    table, places = found.table, np.arange(len(found.table))
    dress(panel)
    limit = found.watchers.decision
    sums = table["sum_high"], -table["sum_low"]
    highest = max(float(each.abs().max()) for each in sums)
    reach = min(max(highest, limit), _REACH * limit)
    panel.axhline(0, color=EDGE, linewidth=0.9, zorder=2)
    alarming = kinds.map(lambda names: _SUM in names)
    for each in sums:
        shown = each.clip(-reach, reach)
        panel.plot(places, shown, color=INK, linewidth=0.9, zorder=3)
        _mark(panel, shown[alarming & (each.abs() > limit)], _ALARMS[_SUM])
    for height in (limit, -limit):
        panel.axhline(height, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=2)
    panel.set(ylim=(-1.2 * reach, 1.2 * reach), yticks=[-limit, 0, limit])
    panel.set_yticklabels([f"{limit:g}", "0", f"{limit:g}"])
    panel.set_xlim(-0.7, len(table) - 0.3)
    name_axes(panel, y="Sums [spreads]")


def _mark(panel: Axes, heights: pd.Series, look: Look) -> None:
    crowded = panel.get_xlim()[1] > _CROWD
    panel.plot(
        heights.index, heights, linestyle="", marker=look.marker,
        markersize=3.2 if crowded else 5.0, markerfacecolor=look.fill,
        markeredgecolor=INK, markeredgewidth=0.4 if crowded else 0.6, zorder=5,
    )  # fmt: skip


def _part_sessions(panel: Axes, table: pd.DataFrame) -> None:
    parts = stretches(table["session"])
    if len(parts) <= _MOST_SESSIONS:
        for start, _ in parts[1:]:
            panel.axvline(start - 0.5, color=GRID, linewidth=0.7, zorder=0)


def _name_sessions(panel: Axes, table: pd.DataFrame) -> None:
    """Write the names of sessions where they fit."""
    parts = stretches(table["session"])
    for start, end in parts if 1 < len(parts) <= _MOST_SESSIONS else []:
        name = drawable(str(table["session"].iloc[start]), longest=14)
        letter_within(panel, start - 0.5, end - 0.5, 0.985, name, color=SOFT, va="top")


def _number_shots(panel: Axes, table: pd.DataFrame) -> None:
    """Write the names of some shots, evenly spread."""
    shown = [drawable(str(name), longest=7) for name in table["shot"]]
    stride = max(-(-len(shown) * (max(map(len, shown)) + 2) // _CHARACTERS), 1)
    places = list(range(0, len(shown), stride))
    panel.set_xticks(places, [shown[place] for place in places], parse_math=False)


def _name_alarms(values: Axes, sums: Axes, found: Watch) -> None:
    """Write at the first alarm of each kind which shot it is."""
    table = found.table
    wanted: dict[tuple[str, int], tuple[int, float]] = {}
    for alarm in found.alarms:
        column = "average" if alarm.by == _AVERAGE else "adjusted"
        place = (alarm.first, float(table[column].iloc[alarm.first]))
        if alarm.by == _SUM:
            side = "sum_high" if alarm.side > 0 else "sum_low"
            place = (alarm.first, alarm.side * float(table[side].iloc[alarm.first]))
        wanted.setdefault((alarm.by, alarm.side), place)
    of_sums = [place for (by, _), place in wanted.items() if by == _SUM]
    others = [place for (by, _), place in wanted.items() if by != _SUM]
    limit = found.watchers.decision
    _write_names(
        sums, of_sums, table, lines=(-limit, limit), marks=(table["sum_high"], -table["sum_low"])
    )
    limits = (found.lower, found.upper)
    marks = table["adjusted"], table["average"]
    _write_names(values, others, table, lines=limits, marks=marks)


def _write_names(
    panel: Axes,
    places: Sequence[tuple[int, float]],
    table: pd.DataFrame,
    *,
    lines: Sequence[float],
    marks: Sequence[pd.Series],
) -> None:
    """Write names of shots beside places, clear of marks, lines and other words."""
    taken = [text_box(text) for text in panel.texts]
    for heights in marks:
        dots = panel.transData.transform(np.column_stack([table.index, heights]))
        taken += list(np.hstack([dots - 3, dots + 3]))
    box = panel.get_window_extent()
    for line in lines:
        height = panel.transData.transform((0, line))[1]
        taken.append(np.array([box.x0, height - 1, box.x1, height + 1]))
    across, up = _steps(panel)
    for row, height in dict.fromkeys(places[:_MOST_NAMED]):
        name = drawable(str(table["shot"].iloc[row]), longest=9)
        text = letter(panel, row, height, name, fontweight="bold", zorder=6)
        spots = [
            (row + right * across, height + above * up, side, level)
            for right, above, side, level in _SPOTS
        ]
        if best_spot(text, spots, np.array(taken)):
            text.remove()  # a name over another mark would hide what it names
        else:
            taken.append(text_box(text))


def _steps(panel: Axes) -> tuple[float, float]:
    """Return how far a name keeps from its mark, in data."""
    box = panel.get_window_extent()
    (left, right), (low, high) = panel.get_xlim(), panel.get_ylim()
    return 7 * (right - left) / box.width, 7 * (high - low) / box.height


def _explain(ax: Axes, found: Watch, kinds: pd.Series) -> None:
    """Write what the shapes are above the panels, and how to read them below."""
    present = {name for names in kinds for name in names if name}
    looks = [_ALARMS[name] for name in (_BEYOND, _AVERAGE, _SUM) if name in present]
    if present - {_BEYOND, _AVERAGE, _SUM}:
        looks.insert(1 if _BEYOND in present else 0, _ALARMS["pattern"])
    if looks:
        letter(ax, 0.105, 0.955, "Alarms:", va="center")
        font = {"family": FAMILY, "size": SMALL_PT}
        ax.legend(
            handles=[_handle(look) for look in looks], loc="center left",
            bbox_to_anchor=(0.19, 0.955), ncols=len(looks), prop=font, labelcolor=INK,
            frameon=False, borderpad=0, borderaxespad=0, handletextpad=0.2,
            columnspacing=1.0, handlelength=1.4,
        )  # fmt: skip
    else:
        letter(ax, 0.105, 0.955, "No alarm", va="center")
    letter(ax, 0.012, 0.055, _reading(found), color=SOFT, va="center")


def _reading(found: Watch) -> str:
    """Return how to read the figure, in two lines."""
    chance = percent(found.chances.of_any) if found.chances else "–"
    dots = "Dots: shots, what was set taken out." if found.allowed_for else "Dots: shots."
    drawn = " all shots" if found.baseline == found.n_shots else f" the first {found.baseline}"
    return (
        f"{dots} Dashed: limits. Line on its ground: running average, its limits.\n"
        f"Limits from{drawn}; of steady benches with {found.n_shots} shots, {chance} alarm too."
    )


def _handle(look: Look) -> Line2D:
    return Line2D(
        [], [], linestyle="", marker=look.marker, label=look.label, markersize=5,
        markerfacecolor=look.fill, markeredgecolor=INK, markeredgewidth=0.6,
    )  # fmt: skip
