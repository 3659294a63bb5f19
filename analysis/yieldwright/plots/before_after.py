"""Values over days with the trend through them, and the step at each dated event."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.ticker import MaxNLocator

from yieldwright.plots.lettering import drawable, letter, name_axes, sign_ticks
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, INK, LOOKS, PAPER, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.ageing.breaks.event_steps import EventStep
    from yieldwright.ageing.breaks.events import Breaks

__all__ = ["before_after"]

_WIDTH_MM, _LEFT_MM, _RIGHT_MM = 103.0, 13.0, 3.0
_VALUES_MM, _LANE_MM, _HEAD_MM, _SCALE_MM = 52.0, 7.5, 9.0, 10.5

#: Room on the left of the steps for what happened.
_NAMES_MM = 36.0

_CLEAR = 0.05

#: Looks of bags in turn, alike in neither shape nor lightness.
_LOOKS = (("on_target", "o"), ("strong", "s"), ("over", "^"), ("under", "D"))


def before_after(found: Breaks, *, ax: Axes | None = None) -> Axes:
    """Draw shots over days with the trend through them, and below the step at each event.

    Parameters
    ----------
    found : Breaks
        Shots, trend and steps.
    ax : Axes or None
        Where to draw; by default a new figure 103 mm wide, as high as its lanes need.

    Returns
    -------
    Axes
        The axes that hold two panels, shots above and steps below, as `child_axes`; the
        reasons where no step could be told.

    Notes
    -----
    Dashed uprights: events, numbered as below. Shots are brought to the usual grind and
    whatever else was allowed for. Round mark: the step with ageing taken off, filled where it
    is clear of zero, allowing for how many events were looked at. Small cross: what two plain
    means would have said.

    Examples
    --------
    >>> from yieldwright.ageing.breaks.events import Breaks
    >>> drawn = before_after(Breaks(response="time_s", n_shots=3))
    >>> [text.get_text() for text in drawn.texts]
    ['No step at an event could be told.']
    """
    steps = found.told
    height = _HEAD_MM + _VALUES_MM + _SCALE_MM + _HEAD_MM + len(steps) * _LANE_MM + _SCALE_MM
    sizes = dict.fromkeys(("left_mm", "right_mm", "top_mm", "bottom_mm"), 0.0)
    ax = new_axes(FigureSize(_WIDTH_MM, height, **sizes)) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if not steps:
        letter(ax, 0, 0.5, "No step at an event could be told.", color=SOFT, va="center")
        return ax
    low = height - _HEAD_MM - _VALUES_MM
    _draw_values(_panel(ax, _LEFT_MM, low, _VALUES_MM, height), found)
    _draw_steps(_panel(ax, _NAMES_MM, _SCALE_MM, len(steps) * _LANE_MM, height), found)
    return ax


def _panel(ax: Axes, left: float, low: float, high: float, height: float) -> Axes:
    """Return a panel at some millimetres of the sheet."""
    wide = 1 - (left + _RIGHT_MM) / _WIDTH_MM
    return ax.inset_axes((left / _WIDTH_MM, low / height, wide, high / height))


def _draw_values(panel: Axes, found: Breaks) -> None:
    """Draw shots, the trend of each bag in each stretch, and the events."""
    dress(panel, grid="y")
    points = found.points
    for place, (code, bag) in enumerate(points.groupby("bag", sort=False)):
        look, shape = _LOOKS[place % len(_LOOKS)]
        panel.plot(bag["day"], bag["value"], linestyle="none", marker=shape, markersize=3.8,
                   markerfacecolor=LOOKS[look].fill, markeredgecolor=INK, markeredgewidth=0.4,
                   alpha=0.75, zorder=3)  # fmt: skip
        for _, stretch in bag.groupby("stretch"):
            trend = stretch.sort_values("day").drop_duplicates("day")
            panel.plot(trend["day"], trend["fitted"], color=INK, linewidth=1.6, zorder=4)
        if str(code):
            _name_bag(panel, bag, str(code))
    low, high = panel.get_ylim()
    panel.set_ylim(low - 0.08 * (high - low), high)  # room for the names of bags
    for step, day in _timed(found):
        told = step.step is not None
        panel.axvline(day, color=INK if told else EDGE, linewidth=1.0,
                      linestyle=(0, (3, 1.5)), zorder=2)  # fmt: skip
        above = shifted(panel, panel.get_xaxis_transform(), up_pt=2)
        label = _number(found, step) if told else "?"
        letter(panel, day, 1, label, ha="center", va="bottom", fontweight="bold", transform=above)
    panel.xaxis.set_major_locator(MaxNLocator(7, integer=True, steps=[1, 2, 5, 10]))
    across = "days since the first shot" if found.by_day else "roast age [d]"
    label = column_label(found.response)
    name_axes(panel, x=across, y=f"{drawable(label, longest=24)}, {found.unit}")


def _name_bag(panel: Axes, bag: pd.DataFrame, code: str) -> None:
    """Write the code of a bag below its shots."""
    foot = shifted(panel, panel.get_xaxis_transform(), up_pt=2)
    middle = (bag["day"].min() + bag["day"].max()) / 2
    words = drawable(code, longest=12)
    letter(panel, middle, 0, words, ha="center", va="bottom", color=SOFT, transform=foot)


def _timed(found: Breaks) -> list[tuple[EventStep, float]]:
    """Return the events whose place among the shots is known."""
    pairs = zip(found.steps, found.days, strict=True)
    return [(step, day) for step, day in pairs if np.isfinite(day)]


def _number(found: Breaks, step: EventStep) -> str:
    return str(found.told.index(step) + 1)


def _draw_steps(panel: Axes, found: Breaks) -> None:
    """Draw a lane per event: its step with the interval, and the difference of plain means."""
    dress(panel, grid="x", bare=("top", "left", "right"))
    ends = [0.0]
    for step in found.told:
        if step.step is not None:
            ends += [step.step.ci_low, step.step.ci_high, step.plain[0]]
    room = 0.06 * ((max(ends) - min(ends)) or 1.0)
    panel.set(xlim=(min(ends) - room, max(ends) + room),
              ylim=(len(found.told) - 0.4, -0.6), yticks=[])  # fmt: skip
    panel.axvline(0, color=INK, linewidth=0.8, zorder=2)
    corrected = [
        p for step, p in zip(found.steps, found.p_holm, strict=True) if step in found.told
    ]
    for height, (step, p_holm) in enumerate(zip(found.told, corrected, strict=True)):
        _draw_step(panel, height, step, clear=p_holm < _CLEAR)
        beside = shifted(panel, panel.get_yaxis_transform(), right_pt=-6)
        what = " + ".join(event.short or event.what for event in step.events)
        days = [event.day for event in step.events if event.day]
        words = f"{height + 1}  {drawable(what, longest=18)}\n{', '.join(days[:2])}".strip()
        letter(panel, 0, height, words, ha="right", va="center", transform=beside)
    panel.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    sign_ticks(panel.xaxis)
    name_axes(panel, x=f"step, {found.unit}")
    above = shifted(panel, panel.transAxes, up_pt=3)
    letter(panel, 0, 1, "● ageing taken off, 95 %    × two plain means", va="bottom",
           color=SOFT, transform=above)  # fmt: skip


def _draw_step(panel: Axes, height: int, step: EventStep, *, clear: bool) -> None:
    found = step.step
    if found is None:
        return
    fill = LOOKS["on_target"].fill
    line: dict[str, Any] = {"color": fill, "linewidth": 1.7, "zorder": 3}
    panel.plot((found.ci_low, found.ci_high), (height, height), **line)
    panel.plot(found.estimate, height, marker="o", markersize=6.2, markeredgewidth=0.8, zorder=4,
               markerfacecolor=fill if clear else PAPER, markeredgecolor=INK)  # fmt: skip
    panel.plot(step.plain[0], height + 0.3, marker="x", markersize=4.6, color=LOOKS["over"].fill,
               markeredgewidth=1.2, zorder=4)  # fmt: skip
