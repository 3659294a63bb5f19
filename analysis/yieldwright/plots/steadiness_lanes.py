"""Every like shot as a dot: how far it fell from its likes, beside what instruments would do."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import MaxNLocator

from yieldwright.formatting import number, sentence_case
from yieldwright.plots.lettering import drawable, letter, sign_ticks
from yieldwright.plots.panel_rows import PanelRows
from yieldwright.plots.paper import new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, SOFT, dress
from yieldwright.repeatability.spread.measured import measured_unit
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import numpy.typing as npt
    from matplotlib.axes import Axes

    from yieldwright.repeatability.spread.quantity_spread import QuantitySpread
    from yieldwright.repeatability.spread.steadiness import Steadiness

__all__ = ["steadiness_lanes"]

#: Dots side by side across a panel: nearer ones stand on one another.
_COLUMNS = 25
_TALLEST = 8
_LEAST_HIGH = 3


def steadiness_lanes(found: Steadiness, *, ax: Axes | None = None) -> Axes:
    """Draw how far each like shot fell from its likes, a panel for each quantity.

    Parameters
    ----------
    found : Steadiness
        Spreads of like shots.
    ax : Axes or None
        Where to draw; by default a new figure 180 mm wide, as high as its panels need.

    Returns
    -------
    Axes
        The axes that hold the panels; the panels are its `child_axes`.

    Notes
    -----
    The grey band reaches one SD to either side, the bar over it spans the 95 % interval of
    the SD; with fewer than 5 repeats there is the bar alone. The short dark bar under the
    dots is what the instrument alone would make of shots that are the same. Dashes: the
    miss the recipe forgives, where it lies in the panel.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.spread.steadiness import steadiness
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_s": [30.0, 31, 32, 33, 34, 35, 32, 33, 31, 34]})
    >>> drawn = steadiness_lanes(steadiness(ComparableSet("", "", shots), bench=Bench()))
    >>> len(drawn.child_axes)
    1
    """
    shown = [each for each in found.quantities if each.alike.df]
    rows = PanelRows(len(shown), 24.0, above_mm=10.0, below_mm=8.0, left_mm=3.0, foot_mm=9.0)
    ax = new_axes(rows.size) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if not shown:
        letter(ax, 0, 0.5, "No two shots were pulled alike.", color=SOFT, va="center")
        return ax
    for place, each in enumerate(shown):
        _draw_quantity(ax.inset_axes(rows.bounds(place)), each)
    _explain(ax, shown)
    return ax


def _draw_quantity(panel: Axes, each: QuantitySpread) -> None:
    """Draw the dots of one quantity with band, bars and dashes."""
    dress(panel, grid="x", bare=("top", "left", "right"))
    deviations = each.alike.rows["deviation"].to_numpy(dtype=float)
    reach = _reach(each)
    heights = _stacked(deviations, reach)
    top = max(float(heights.max()), _LEAST_HIGH - 1.0)
    panel.set(xlim=(-reach, reach), ylim=(-1.6, top + 2.6), yticks=[])
    panel.axvline(0, color=EDGE, linewidth=0.8, zorder=1)
    if each.firm:
        panel.axvspan(-each.sd, each.sd, color=HATCH, zorder=0, linewidth=0)
    _draw_interval(panel, each, reach, top + 1.7)
    _draw_dashes(panel, each, reach)
    panel.plot(
        deviations, heights, linestyle="none", marker="o", markersize=3.4, zorder=3,
        markerfacecolor=LOOKS["counted"].fill, markeredgecolor=INK, markeredgewidth=0.4,
    )  # fmt: skip
    if each.instrument is not None:
        ends = np.clip((-each.instrument.u, each.instrument.u), -reach, reach)
        panel.plot(ends, (-1.0, -1.0), color=INK, linewidth=2.6, solid_capstyle="butt", zorder=3)
    _head(panel, each)
    panel.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    sign_ticks(panel.xaxis)


def _reach(each: QuantitySpread) -> float:
    """Return how far a panel reaches: every dot, and the interval as far as it is short."""
    farthest = float(each.alike.rows["deviation"].abs().max())
    wanted = [1.12 * farthest]
    if math.isfinite(each.high):
        wanted.append(min(1.1 * each.high, 2.5 * max(farthest, each.sd)))
    if each.instrument is not None:
        wanted.append(min(1.3 * each.instrument.u, 2 * max(farthest, each.instrument.u)))
    return max(wanted) or 1.0


def _stacked(deviations: npt.NDArray[np.float64], reach: float) -> npt.NDArray[np.float64]:
    """Return heights of dots that stand on one another where they would cover each other."""
    columns = np.round((deviations + reach) / (2 * reach) * _COLUMNS).astype(int)
    heights = np.zeros(len(deviations))
    for column in np.unique(columns):
        where = np.flatnonzero(columns == column)
        # A tall stack is squeezed: all its dots stay, and the panel keeps its height.
        squeeze = min(1.0, (_TALLEST - 1) / max(len(where) - 1, 1))
        heights[where] = squeeze * np.arange(len(where))
    return heights


def _draw_interval(panel: Axes, each: QuantitySpread, reach: float, height: float) -> None:
    """Draw the interval of the SD as a bar to the right of the middle."""
    if not math.isfinite(each.high):
        return
    ends = np.minimum((each.low, each.high), 0.985 * reach)
    panel.plot(ends, (height, height), color=INK, linewidth=1.2, zorder=3)
    panel.plot(ends[0], height, marker="|", color=INK, markersize=5, zorder=3)
    last = ">" if each.high > 0.985 * reach else "|"
    panel.plot(ends[1], height, marker=last, color=INK, markersize=4.5, zorder=3)
    if each.firm:
        panel.plot(each.sd, height, marker="D", color=INK, markersize=3.2, zorder=4)


def _draw_dashes(panel: Axes, each: QuantitySpread, reach: float) -> None:
    """Draw the miss the recipe forgives to either side, where it lies in the panel."""
    if not each.forgiven < reach:
        return
    for side in (-1, 1):
        panel.axvline(
            side * each.forgiven, color=LOOKS["over"].fill, linewidth=1.0,
            linestyle=(0, (3, 1.5)), zorder=2,
        )  # fmt: skip


def _head(panel: Axes, each: QuantitySpread) -> None:
    """Write the quantity above its panel, and its spread under the name."""
    unit = measured_unit(each.column)
    title = shifted(panel, panel.transAxes, up_pt=12)
    name = drawable(sentence_case(column_label(each.column)), longest=26)
    named = f"{name} [{unit}]" if unit else name
    letter(panel, 0, 1, named, va="bottom", fontweight="bold", transform=title)
    low, high = (number(end, figures=2) for end in (each.low, each.high))
    if each.firm:
        words = f"SD {number(each.sd, figures=2)} ({low} to {high}), {each.alike.df} repeats"
    elif math.isfinite(each.high):
        words = f"SD in {low} to {high}: {each.alike.df} repeats cannot tell"
    else:
        words = "no difference to the last digit"
    above = shifted(panel, panel.transAxes, up_pt=3)
    letter(panel, 0, 1, words, color=SOFT, va="bottom", transform=above)


def _explain(ax: Axes, shown: list[QuantitySpread]) -> None:
    """Write how to read the figure along its foot."""
    bases = {each.alike.basis == "fit" for each in shown}
    likes = {False: "the mean of its likes", True: "a line through the settings"}
    of_what = " or ".join(likes[basis] for basis in sorted(bases))
    words = (
        f"Dot: one shot, its distance from {of_what}. Grey: one SD to either side; the bar above "
        "spans its 95 % interval.\nDark bar below: what instrument or tasters alone would do."
    )
    if any(each.forgiven < _reach(each) for each in shown):
        words += " Dashes: the miss the recipe forgives."
    foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
    letter(ax, 0, 0, words, color=SOFT, va="bottom", transform=foot)
