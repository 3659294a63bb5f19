"""One lane a taster: each one's own effect of a step, and what they come to together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.ticker import MaxNLocator

from yieldwright.formatting import count, p_words, sentence_case
from yieldwright.plots.lettering import drawable, letter, sign_ticks
from yieldwright.plots.panel_rows import PanelRows
from yieldwright.plots.paper import new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, PAPER, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from yieldwright.taste.tasters.by_taster import TasterEffects, TasterStep

__all__ = ["taster_lanes"]

_LANE_MM = 6.0

#: Looks that differ in shape and lightness, gone through in order; more tasters repeat them.
_LOOKS = ("on_target", "under", "strong", "over", "discarded", "channelled")
_SHAPES = ("o", "s", "^", "D", "v", "p")


def taster_lanes(found: TasterEffects, *, ax: Axes | None = None) -> Axes:
    """Draw each taster's own effect of each step in a lane, and the effect of all as a band.

    Parameters
    ----------
    found : TasterEffects
        Effects by taster.
    ax : Axes or None
        Where to draw; by default a new figure 180 mm wide, as high as its lanes need.

    Returns
    -------
    Axes
        The axes that hold the panels, one per step; the panels are its `child_axes`.

    Notes
    -----
    A filled mark: the interval keeps clear of zero. The line and band across all lanes is
    the effect of all tasters together. Without effects the reason stands in their place.

    Examples
    --------
    >>> from yieldwright.taste.tasters.by_taster import TasterEffects
    >>> nothing = TasterEffects(response="score:overall", n_shots=3, missing="One taster.")
    >>> [text.get_text() for text in taster_lanes(nothing).texts]
    ['One taster.']
    """
    rows = _rows(found)
    ax = new_axes(rows.size) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if not found.steps:
        letter(ax, 0, 0.5, drawable(found.missing, longest=120), color=SOFT, va="center")
        return ax
    reach = _reach(found.steps)
    for place, step in enumerate(found.steps):
        panel = ax.inset_axes(rows.bounds(place))
        _draw_step(panel, step, list(found.tasters), reach, named=rows.leads(place))
    _explain(ax, found)
    return ax


def _rows(found: TasterEffects) -> PanelRows:
    """Return a sheet whose panels are as high as their lanes need."""
    high_mm = max(len(found.tasters), 1) * _LANE_MM
    return PanelRows(len(found.steps), high_mm, above_mm=11.0, below_mm=8.0, left_mm=26.0)


def _reach(steps: Sequence[TasterStep]) -> float:
    """Return how far from zero all panels reach: every estimate, and nearly every interval."""
    found = [each for step in steps for each in step.effects.values()]
    longest = [max(abs(each.ci_low), abs(each.ci_high)) for each in found]
    estimates = [abs(each.estimate) for each in found]
    usual = 3 * float(np.median(longest))
    shown = max(length for length in longest if length <= usual)
    return max(1.08 * shown, 1.25 * max(estimates)) or 1.0


def _draw_step(
    panel: Axes, step: TasterStep, tasters: list[str], reach: float, *, named: bool
) -> None:
    """Draw the lanes of one step."""
    dress(panel, grid="x", bare=("top", "left", "right"))
    panel.set(xlim=(-reach, reach), ylim=(len(tasters) - 0.4, -0.6), yticks=[])
    _draw_pooled(panel, step, reach)
    panel.axvline(0, color=INK, linewidth=0.8, zorder=2)
    for height, taster in enumerate(tasters):
        _draw_lane(panel, height, step, taster, reach)
        if named:
            beside = shifted(panel, panel.get_yaxis_transform(), right_pt=-6)
            words = drawable(taster, longest=16)
            letter(panel, 0, height, words, ha="right", va="center", transform=beside)
    _head(panel, step)
    panel.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    sign_ticks(panel.xaxis)


def _draw_pooled(panel: Axes, step: TasterStep, reach: float) -> None:
    """Draw the effect of all tasters together as a line in a band."""
    estimate, low, high = step.pooled
    if not np.isfinite([estimate, low, high]).all():
        return
    panel.axvspan(max(low, -reach), min(high, reach), color=HATCH, zorder=0, linewidth=0)
    panel.axvline(estimate, color=EDGE, linewidth=1.1, linestyle=(0, (3, 1.5)), zorder=1)


def _draw_lane(panel: Axes, height: int, step: TasterStep, taster: str, reach: float) -> None:
    """Draw one taster's interval and estimate."""
    found = step.effects[taster]
    fill = LOOKS[_LOOKS[height % len(_LOOKS)]].fill
    line: dict[str, Any] = {"color": fill, "linewidth": 1.5, "zorder": 3}
    panel.plot(np.clip((found.ci_low, found.ci_high), -reach, reach), (height, height), **line)
    for way, end in (("<", found.ci_low), (">", found.ci_high)):
        if abs(end) > reach:
            panel.plot(np.sign(end) * 0.985 * reach, height, marker=way, markersize=4.5, **line)
    clear = found.ci_low * found.ci_high > 0
    panel.plot(
        found.estimate, height, marker=_SHAPES[height % len(_SHAPES)], markersize=5.6,
        markerfacecolor=fill if clear else PAPER, markeredgecolor=INK if clear else fill,
        markeredgewidth=0.7 if clear else 1.2, zorder=4,
    )  # fmt: skip


def _head(panel: Axes, step: TasterStep) -> None:
    """Write the step above the panel, and whether tasters agree on it."""
    title = shifted(panel, panel.transAxes, up_pt=12)
    column = f"{column_label(step.predictor.column)}: " if step.predictor.levels else ""
    name = drawable(sentence_case(f"{column}{step.words.step}"), longest=34)
    letter(panel, 0, 1, name, va="bottom", fontweight="bold", transform=title)
    verdict = "tasters differ" if step.differ else "no difference shows"
    above = shifted(panel, panel.transAxes, up_pt=3)
    letter(
        panel,
        0,
        1,
        f"{verdict} ({p_words(step.p_holm)})",
        color=SOFT,
        va="bottom",
        transform=above,
    )


def _explain(ax: Axes, found: TasterEffects) -> None:
    """Write how to read the figure along its foot."""
    what = drawable(column_label(found.response), longest=30)
    words = (
        f"Points of {what} per step, 95 % intervals, {count(found.n_shots, 'shot')}. "
        "Filled: clear of zero. Band and dashes: all tasters together."
    )
    foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
    letter(ax, 0, 0, words, color=SOFT, va="bottom", transform=foot)
