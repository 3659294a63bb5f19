"""People side by side: where their shots lie, how much they differ, and how that moves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullLocator

from yieldwright.formatting import count, sentence_case
from yieldwright.plots.lettering import drawable, letter, name_axes
from yieldwright.plots.panel_rows import PanelRows
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, SOFT, dress
from yieldwright.repeatability.spread.likeness import ENOUGH
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.repeatability.persons.people import People
    from yieldwright.repeatability.persons.progress import Progress

__all__ = ["people_lanes", "progress_line"]

#: Narrow enough to be read on a telephone without being shrunk.
_WIDTH_MM = 103.0
_LANE_MM = 7.0

_LOOKS = ("on_target", "under", "strong", "over", "discarded", "channelled")
_SHAPES = ("o", "s", "^", "D", "v", "p")


def people_lanes(found: People, *, ax: Axes | None = None) -> Axes:
    """Draw each person's level and spread in a lane, in the order of their codes.

    Parameters
    ----------
    found : People
        People compared.
    ax : Axes or None
        Where to draw; by default a new figure 103 mm wide, as high as its lanes need.

    Returns
    -------
    Axes
        The axes that hold the two panels, level and spread; the panels are its
        `child_axes`.

    Notes
    -----
    The order is never one of merit. Spreads stand on a scale of ratios, so that twice as
    much is equally far everywhere. The broad bar is the chi-square interval, the thin line
    the one that allows for long tails; fewer than five repeats have their intervals alone.
    Where a level cannot be told from a setting or day, its lane is empty.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.persons.people import compare_people
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> times = [36.0, 33, 38, 37, 34, 36, 35, 37, 36, 36]
    >>> shots = pd.DataFrame({"barista": ["p1", "p2"] * 5, "time_s": times})
    >>> found = compare_people(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> len(people_lanes(found).child_axes)
    2
    """
    rows = _sheet(len(found.people))
    ax = new_axes(rows.size) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    level, spread = (ax.inset_axes(rows.bounds(place)) for place in (0, 1))
    _draw_levels(level, found)
    _draw_spreads(spread, found)
    foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
    words = (
        f"95 % intervals, {count(found.n_shots, 'shot')}. Order of codes, not of merit.\n"
        "Thin line under a spread: allows for long tails."
    )
    letter(ax, 0, 0, words, color=SOFT, va="bottom", transform=foot)
    return ax


def progress_line(found: Progress, *, ax: Axes | None = None) -> Axes:
    """Draw one person's spread week by week, and the trend where it may be told.

    Parameters
    ----------
    found : Progress
        Weeks and trend.
    ax : Axes or None
        Where to draw; by default a new figure 103 mm wide.

    Returns
    -------
    Axes

    Notes
    -----
    The scale is one of ratios. Without a trend the weeks stand alone and the reason is
    written above them. Fewer than five repeats have their interval alone.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.persons.progress import progress
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> days = pd.to_datetime(["2026-03-01", "2026-03-08", "2026-03-15"]).repeat(3)
    >>> shots = pd.DataFrame({"barista": "p1", "session": days.astype(str), "pulled_on": days})
    >>> shots["time_s"] = [30.0, 36, 42, 33, 36, 40, 35, 36, 38]
    >>> found = progress([ComparableSet("", "", shots)], "time_s", barista="p1", bench=Bench())
    >>> progress_line(found).get_xlabel()
    'Week'
    """
    size = FigureSize(_WIDTH_MM, 70.0, left_mm=15.0, right_mm=4.0, top_mm=11.0, bottom_mm=16.0)
    ax = new_axes(size) if ax is None else ax
    dress(ax, grid="y")
    weeks = found.weeks[found.weeks["sd"] > 0]
    ax.set_xlim(0.5, max([1, *found.weeks["week"]]) + 0.5)
    _scale_of_ratios(ax, weeks[["sd_low", "sd", "sd_high"]], upright=True)
    for row in weeks.to_dict("records"):
        _whisker(ax, (row["week"], row["week"]), (row["sd_low"], row["sd_high"]))
        if row["df"] >= ENOUGH:
            ax.plot(row["week"], row["sd"], **_mark(0))
    _draw_trend(ax, found)
    name_axes(ax, x="Week", y=f"SD from shot to shot{_unit(found.unit)}")
    ax.xaxis.set_major_locator(MaxNLocator(8, integer=True, min_n_ticks=1))
    title = shifted(ax, ax.transAxes, up_pt=14)
    who = f"{drawable(found.barista, longest=24)}, {column_label(found.of)}"
    letter(ax, 0, 1, who, va="bottom", fontweight="bold", transform=title)
    above = shifted(ax, ax.transAxes, up_pt=4)
    letter(ax, 0, 1, drawable(found.verdict, longest=74), color=SOFT, va="bottom",
           transform=above)  # fmt: skip
    _explain(ax, found)
    return ax


def _explain(ax: Axes, found: Progress) -> None:
    """Write under a figure of weeks how to read it."""
    shaded = " Shaded: the trend at both ends of its interval." if len(found.trend_line) else ""
    foot = shifted(ax, ax.transAxes, right_pt=-34, up_pt=-38)
    words = f"Bars: 95 % intervals, {count(found.n_shots, 'shot')}.{shaded}"
    letter(ax, 0, 0, words, color=SOFT, va="bottom", transform=foot)


def _sheet(n_people: int) -> PanelRows:
    """Return a sheet with two panels as high as the lanes need."""
    high_mm = max(n_people, 1) * _LANE_MM
    return PanelRows(
        2, high_mm, above_mm=10.0, below_mm=5.5, left_mm=20.0, right_mm=4.0, gap_mm=7.0,
        foot_mm=8.0, width_mm=_WIDTH_MM, abreast=2,
    )  # fmt: skip


def _draw_levels(panel: Axes, found: People) -> None:
    """Draw means with their intervals, codes beside them."""
    _lanes(panel, len(found.people))
    for lane, row in enumerate(found.people.to_dict("records")):
        if not math.isnan(row["mean_low"]):
            _whisker(panel, (row["mean_low"], row["mean_high"]), (lane, lane))
            panel.plot(row["mean"], lane, **_mark(lane))
        beside = shifted(panel, panel.get_yaxis_transform(), right_pt=-5)
        letter(panel, 0, lane, drawable(str(row["person"]), longest=12), ha="right", va="center",
               transform=beside)  # fmt: skip
    panel.margins(x=0.08)
    panel.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    _head(panel, "Level", sentence_case(column_label(found.of)), found.unit)


def _draw_spreads(panel: Axes, found: People) -> None:
    """Draw standard deviations with both intervals, on a scale of ratios."""
    _lanes(panel, len(found.people))
    columns = ["sd_low", "sd", "sd_high", "robust_low", "robust_high"]
    known = found.people[found.people["sd"] > 0]
    _head(panel, "Spread", "SD from shot to shot", found.unit)
    if known.empty:
        panel.set_xticks([])
        letter(panel, 0.5, 0.5, "No spread is told.", color=SOFT, ha="center", va="center",
               transform=panel.transAxes)  # fmt: skip
        return
    _scale_of_ratios(panel, known[columns], upright=False)
    for lane, row in enumerate(found.people.to_dict("records")):
        if not row["sd"] > 0:
            continue
        _whisker(panel, (row["sd_low"], row["sd_high"]), (lane, lane))
        low, high = panel.get_xlim()
        tails = np.clip((row["robust_low"], row["robust_high"]), low, high)
        panel.plot(tails, (lane + 0.27, lane + 0.27), color=INK, linewidth=0.7, zorder=2)
        if row["df"] >= ENOUGH:
            panel.plot(row["sd"], lane, **_mark(lane))


def _lanes(panel: Axes, n_people: int) -> None:
    dress(panel, grid="x", bare=("top", "left", "right"))
    panel.set(ylim=(n_people - 0.4, -0.6), yticks=[])


def _head(panel: Axes, title: str, what: str, unit: str) -> None:
    """Write above a panel what it shows."""
    above = shifted(panel, panel.transAxes, up_pt=13)
    letter(panel, 0, 1, title, va="bottom", fontweight="bold", transform=above)
    beside = shifted(panel, panel.transAxes, up_pt=4)
    letter(panel, 0, 1, drawable(f"{what}{_unit(unit)}", longest=34), color=SOFT, va="bottom",
           transform=beside)  # fmt: skip


def _unit(unit: str) -> str:
    return f" [{unit.partition(' of ')[0]}]" if unit else ""


def _whisker(panel: Axes, x: tuple[float, float], y: tuple[float, float]) -> None:
    style: dict[str, Any] = {"color": EDGE, "linewidth": 3.2, "solid_capstyle": "butt"}
    panel.plot(x, y, zorder=3, **style)


def _mark(lane: int) -> dict[str, Any]:
    return {
        "marker": _SHAPES[lane % len(_SHAPES)], "markersize": 6.0, "linestyle": "none",
        "markerfacecolor": LOOKS[_LOOKS[lane % len(_LOOKS)]].fill,
        "markeredgecolor": INK, "markeredgewidth": 0.7, "zorder": 4,
    }  # fmt: skip


def _scale_of_ratios(panel: Axes, table: pd.DataFrame, *, upright: bool) -> None:
    """Give a panel a scale on which twice as much is equally far everywhere."""
    values = table.to_numpy(dtype=float)
    values = values[np.isfinite(values) & (values > 0)]
    low, high = (values.min(), values.max()) if len(values) else (0.5, 2.0)
    middle = table["sd"].to_numpy(dtype=float)
    reach = 12.0
    if len(middle):
        low, high = max(low, middle.min() / reach), min(high, middle.max() * reach)
    limits = (low / 1.12, high * 1.12)
    axis = panel.yaxis if upright else panel.xaxis
    panel.set(**({"yscale": "log", "ylim": limits} if upright else {"xscale": "log",
                                                                    "xlim": limits}))  # fmt: skip
    axis.set_major_locator(FixedLocator(_round_numbers(*limits)))
    axis.set_minor_locator(NullLocator())
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))


def _round_numbers(low: float, high: float) -> list[float]:
    """Return the doublings, or ones and threes, that lie between two limits."""
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    for steps in ((1, 2, 5), (1, 3), (1,)):
        ticks = [step * 10.0**decade for decade in decades for step in steps]
        inside = [tick for tick in ticks if low <= tick <= high]
        if len(inside) <= 5:
            break
    return inside or [float(f"{math.sqrt(low * high):.2g}")]


def _draw_trend(ax: Axes, found: Progress) -> None:
    """Draw the trend as a line, and both ends of its interval as a shape around the middle."""
    line = found.trend_line
    if line.empty:
        return
    low, high = ax.get_ylim()
    band = line[["low", "high"]].clip(low, high)
    ax.fill_between(line["week"], band["low"], band["high"], color=HATCH, linewidth=0, zorder=0)
    ax.plot(line["week"], line["sd"], color=INK, linewidth=1.1, linestyle=(0, (4, 2)), zorder=2)
