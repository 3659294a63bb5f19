"""One bag over its roast age: its shots, the drift with its band, and the best day."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.glossary import find_quantity
from yieldwright.plots.lettering import drawable, letter, name_axes
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from yieldwright.ageing.bag_trend import BagTrend
    from yieldwright.ageing.best.best_day import BestDay
    from yieldwright.ageing.lasting.lasting import Lasting
    from yieldwright.ageing.trend.drift import Drift

__all__ = ["bag_trend"]

_SIZE = FigureSize(180, 81, left_mm=15, right_mm=4, top_mm=9, bottom_mm=19)

#: What stands beside the age, where a figure has a shorter word for it.
_BESIDE = {"grind_setting": "grind"}

#: Column of the stretches between services: a level is told since the last one.
_SERVICE = "service_stretch"

#: Share of the height that notes above the shots take.
_HEADROOM = 0.16


def bag_trend(found: BagTrend, *, ax: Axes | None = None) -> Axes:
    """Draw the response of a bag over its roast age, with the drift and the best day.

    Parameters
    ----------
    found : BagTrend
        From `ageing.follow`.
    ax : Axes or None
        Where to draw; by default a new figure of 180 mm width.

    Returns
    -------
    Axes

    Notes
    -----
    Filled marks are shots with what differs beside the age taken off, thin dashes those
    shots as measured. The line is what is expected at each age, the band its 95 % interval.
    After a service both are for the bench as it is since the last one: shots before it are
    moved by its step, so that line, marks and a level told meet.
    A shaded column holds the best day; days of opening, freezing and services stand as
    thin lines. Where a level was asked for it lies across as a dash-dotted line, thick over the
    days on which the mean may fall below it. Without a drift the reason stands in the middle.

    Examples
    --------
    >>> from yieldwright.ageing.following import follow_set
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> import pandas as pd
    >>> shots = pd.DataFrame({"session": list("abc"), "time_s": [36.0, 35.0, 37.0]})
    >>> nothing = follow_set(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> [text.get_text() for text in bag_trend(nothing).texts]
    ['no shot has a roast age']
    """
    ax = new_axes(_SIZE) if ax is None else ax
    dress(ax, grid="y")
    if found.drift is None:
        ax.set(xlim=(0, 1), ylim=(0, 1), xticks=[], yticks=[])
        letter(ax, 0.5, 0.5, drawable(found.missing, longest=110), color=SOFT, ha="center")
        return ax
    _set_scales(ax, found.drift, found.lasting)
    _draw_best(ax, found.best)
    _draw_drift(ax, found.drift)
    _draw_shots(ax, found.drift)
    _draw_level(ax, found.lasting)
    _draw_dates(ax, found)
    _explain(ax, found, found.drift)
    return ax


def _set_scales(ax: Axes, drift: Drift, lasting: Lasting | None) -> None:
    """Give the shots their room, with headroom for notes."""
    ages = drift.shots["roast_age_d"]
    margin = max(0.03 * float(np.ptp(ages)), 0.5)
    values = np.concatenate(
        [
            drift.shots["freed"], drift.shots["value"], drift.expected["value"],
            [] if lasting is None else [lasting.at_least],
        ]
    ).astype(float)  # fmt: skip
    low, high = float(values.min()), float(values.max())
    span = (high - low) or 1.0
    ax.set_xlim(float(ages.min()) - margin, float(ages.max()) + margin)
    ax.set_ylim(low - 0.06 * span, high + _HEADROOM * span)
    response = drift.model.rows.response
    entry = find_quantity(response)
    label = entry.axis_label if entry else column_label(response)
    name_axes(ax, x="Roast age (d)", y=drawable(label, longest=40))


def _draw_best(ax: Axes, best: BestDay | None) -> None:
    """Draw the ages at which the response may be best, where they are told."""
    if best is None or best.verdict not in ("told", "open"):
        return
    left, right = ax.get_xlim()
    low = left if math.isinf(best.low) else best.low
    high = right if math.isinf(best.high) else best.high
    ax.axvspan(low, high, facecolor=HATCH, linewidth=0, zorder=0)
    for end in {low, high} - {left, right}:
        ax.axvline(end, color=EDGE, linewidth=0.8, zorder=0)
    ax.axvline(best.ages.estimate, color=INK, linewidth=1.0, linestyle=(0, (5, 2)), zorder=2)
    above = shifted(ax, ax.get_xaxis_transform(), up_pt=3)
    words = f"best about day {best.ages.estimate:.0f}"
    side = "right" if best.ages.estimate > (left + right) / 2 else "left"
    letter(ax, best.ages.estimate, 1, words, va="bottom", ha=side, transform=above)


def _draw_level(ax: Axes, lasting: Lasting | None) -> None:
    """Draw the level asked for, and over which days the mean may fall below it."""
    if lasting is None:
        return
    level = lasting.at_least
    ax.axhline(level, color=INK, linewidth=0.8, linestyle=(0, (6, 2, 1, 2)), zorder=2)
    _name_level(ax, lasting)
    ends = [max(lasting.low, lasting.first), min(lasting.high, lasting.last)]
    if not lasting.answered or not ends[0] < ends[1]:
        return
    ax.plot(ends, [level, level], color=INK, linewidth=2.6, solid_capstyle="butt", zorder=5)
    told = [end for end in (lasting.low, lasting.high) if math.isfinite(end)]
    ax.plot(
        told, [level] * len(told), linestyle="", marker="|", markersize=9, markeredgewidth=1.4,
        color=INK, zorder=5,
    )  # fmt: skip
    if not math.isnan(lasting.day):
        ax.plot(
            [lasting.day], [level], linestyle="", marker="o", markersize=5,
            markerfacecolor="white", markeredgecolor=INK, markeredgewidth=1.2, zorder=6,
        )  # fmt: skip


def _name_level(ax: Axes, lasting: Lasting) -> None:
    """Write the level at the side on which what is expected lies further from it."""
    expected = lasting.levels["mean"].tolist() or [lasting.at_least]
    first, last = (abs(each - lasting.at_least) for each in (expected[0], expected[-1]))
    side, at, right_pt = ("left", 0, 3) if first > last else ("right", 1, -3)
    over = shifted(ax, ax.get_yaxis_transform(), right_pt=right_pt, up_pt=2)
    words = f"at least {lasting.at_least:g}"
    letter(
        ax, at, lasting.at_least, words, va="bottom", ha=side, transform=over, zorder=7,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.6},
    )  # fmt: skip


def _draw_drift(ax: Axes, drift: Drift) -> None:
    table = drift.expected
    fill = LOOKS["under"].fill
    ax.fill_between(
        table["roast_age_d"], table["low"], table["high"], color=fill, alpha=0.25, linewidth=0,
        zorder=1,
    )  # fmt: skip
    ax.plot(table["roast_age_d"], table["value"], color=INK, linewidth=1.4, zorder=3)


def _draw_shots(ax: Axes, drift: Drift) -> None:
    shots = drift.shots
    if drift.freed:
        ax.plot(
            shots["roast_age_d"], shots["value"], linestyle="", marker="_", markersize=5,
            markeredgewidth=0.8, color=EDGE, zorder=2,
        )  # fmt: skip
    look = LOOKS["counted"]
    ax.plot(
        shots["roast_age_d"], shots["freed"], linestyle="", marker=look.marker, markersize=4.4,
        markerfacecolor=look.fill, markeredgecolor=INK, markeredgewidth=0.5, zorder=4,
    )  # fmt: skip


def _draw_dates(ax: Axes, found: BagTrend) -> None:
    """Draw what happened to the bag as thin lines with words at their foot."""
    for age, what in found.dates.itertuples(index=False):
        ax.axvline(age, color=SOFT, linewidth=0.8, linestyle=(0, (1, 2)), zorder=1)
        beside = shifted(ax, ax.get_xaxis_transform(), right_pt=2, up_pt=2)
        letter(
            ax, age, 0, drawable(str(what), longest=26), color=SOFT, va="bottom",
            rotation=90, transform=beside,
        )  # fmt: skip


def _explain(ax: Axes, found: BagTrend, drift: Drift) -> None:
    """Write what the marks stand for below the axis."""
    marks = f"Filled: {_filled(drift)}. Dashes: as measured.\n" if drift.freed else ""
    drawn = "Line and band: expected, 95 % interval."
    if found.lasting is not None and found.lasting.answered:
        drawn = "Line, band: expected, 95 %. Thick: may fall below."
    words = marks + drawable(f"{drawn} {found.n_shots} shots.", longest=140)
    foot = shifted(ax, ax.transAxes, up_pt=-28)
    letter(ax, 0, 0, words, color=SOFT, va="top", transform=foot)


def _filled(drift: Drift) -> str:
    """Return what was taken off filled marks, and which service counts as in force."""
    names = [_BESIDE.get(name, column_label(name)) for name in drift.freed if name != _SERVICE]
    said = [f"{', '.join(names)} taken off"] if names else []
    if _SERVICE in drift.freed:
        said.append("bench as it is since the last service")
    return drawable(", ".join(said), longest=110)
