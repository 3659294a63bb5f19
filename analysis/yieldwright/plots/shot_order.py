"""Shots in the order they were pulled: sessions, failures, and what was changed when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib.lines import Line2D
from matplotlib.markers import CARETDOWNBASE, CARETUPBASE
from matplotlib.ticker import MaxNLocator

from yieldwright.formatting import count
from yieldwright.glossary import find_quantity
from yieldwright.plots.lettering import drawable, letter, letter_within, name_axes
from yieldwright.plots.marks import draw_marks
from yieldwright.plots.paper import MM_PER_POINT, FigureSize, new_axes, shifted
from yieldwright.plots.setting_lanes import (
    LABEL_PT,
    LANE_PT,
    changing_settings,
    draw_lanes,
    stretches,
)
from yieldwright.plots.theme import (
    FAMILY,
    HATCH,
    INK,
    LOOKS,
    SMALL_PT,
    SOFT,
    dress,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["timeline"]

_PANEL_MM = 38.0
_ABOVE_MM = 5.0
_NUMBERS_PT = 15.0
_CHARACTERS = 120
_CROWD = 500
_STEPS = [1, 2, 5, 10]
_COVERAGE_FACTOR = 1.96
#: A value this many interquartile ranges beyond the quartiles is shown at the edge.
_FENCE = 3.0


def timeline(shots: pd.DataFrame, *, response: str = "ey_pct", ax: Axes | None = None) -> Axes:
    """Draw shots in the order they were pulled.

    Parameters
    ----------
    shots : DataFrame
        One row per shot: `shot`, `session`, `fate`, `stage`, the response with its
        uncertainty `u_…` where known, and the settings.
    response : str
        Column to show; by default the extraction yield.
    ax : Axes or None
        Where to draw; by default a new figure of 180 mm width.

    Returns
    -------
    Axes

    Notes
    -----
    Sessions stand on alternating grounds. Counted shots are filled circles, warm-ups and
    shots after a grind change hollow ones, failures have shapes of their own; a shot
    without a value of the response stands on the line below. Bars hold 95 % of what the
    instruments can be wrong by. Lanes below name the settings between their changes.

    Examples
    --------
    >>> shots = pd.DataFrame({"shot": ["1", "2"], "ey_pct": [19.0, 20.0], "fate": "pulled"})
    >>> timeline(shots).get_ylabel()
    'Extraction yield [% by mass]'
    """
    ordered = _in_order(shots)
    ax = new_axes(_size(len(changing_settings(ordered)))) if ax is None else ax
    layout = _laid_out(ordered, response)
    dress(ax)
    draw_marks(ax, layout.marks, x="place", y="height", kind="kind")
    _set_scales(ax, layout, response)
    _draw_errors(ax, layout)
    _draw_sessions(ax, ordered)
    _number_shots(ax, ordered)
    draw_lanes(ax, ordered, below_pt=_NUMBERS_PT)
    _explain(ax, layout)
    return ax


@dataclass(frozen=True, slots=True)
class _Layout:
    """One row per mark, and the heights of the frame."""

    marks: pd.DataFrame
    low: float
    high: float

    @property
    def floor(self) -> float:
        """Where shots without a value stand."""
        return self.low - 0.14 * (self.high - self.low)

    @property
    def limits(self) -> tuple[float, float]:
        """The whole frame, with room for the names of sessions."""
        span = self.high - self.low
        return self.low - 0.24 * span, self.high + 0.2 * span

    @property
    def beyond(self) -> pd.Series[bool]:
        """Whether each value is shown at the edge, for it lies beyond."""
        return (self.marks["value"] < self.low) | (self.marks["value"] > self.high)


def _size(n_lanes: int) -> FigureSize:
    below = (_NUMBERS_PT + n_lanes * LANE_PT) * MM_PER_POINT + 1.0
    high = _ABOVE_MM + _PANEL_MM + below
    return FigureSize(180, high, left_mm=30, right_mm=2, top_mm=_ABOVE_MM, bottom_mm=below)


def _in_order(shots: pd.DataFrame) -> pd.DataFrame:
    """Return shots by time where all have one, else by day and position, else as they stand."""
    for keys in (["pulled_at"], ["pulled_on", "position"]):
        if all(key in shots and shots[key].notna().all() for key in keys):
            return shots.sort_values(keys, kind="stable").reset_index(drop=True)
    return shots.reset_index(drop=True)


def _laid_out(shots: pd.DataFrame, response: str) -> _Layout:
    """Return where each mark stands: at its value, at the edge beyond it, or on the floor."""
    values = _numbers(shots, response)
    marks = pd.DataFrame({"place": np.arange(len(shots), dtype=float), "value": values})
    marks["error"] = _COVERAGE_FACTOR * _numbers(shots, f"u_{response}")
    marks["kind"] = _kinds(shots)
    layout = _Layout(marks, *_usual_range(values.dropna().to_numpy()))
    marks["height"] = values.clip(layout.low, layout.high).fillna(layout.floor)
    return layout


def _numbers(shots: pd.DataFrame, name: str) -> pd.Series[float]:
    if name in shots:
        return shots[name].astype(float)
    return pd.Series(np.nan, index=shots.index)


def _kinds(shots: pd.DataFrame) -> pd.Series[str]:
    """Return the look of each shot: its fate unless pulled, else its stage."""
    stage = shots["stage"] if "stage" in shots else pd.Series("counted", index=shots.index)
    fate = shots["fate"] if "fate" in shots else pd.Series("pulled", index=shots.index)
    kinds = stage.where(fate.fillna("pulled") == "pulled", fate)
    return kinds.where(kinds.isin(list(LOOKS)), "counted").astype("str")


def _usual_range(values: np.ndarray) -> tuple[float, float]:
    """Return a range that holds the values but for those far beyond their quartiles."""
    if not len(values):
        return 0.0, 1.0
    first, third = np.quantile(values, [0.25, 0.75])
    reach = _FENCE * (third - first)
    usual = values[(values >= first - reach) & (values <= third + reach)]
    margin = 0.06 * float(np.ptp(usual)) or 0.02 * abs(float(usual[0])) or 1.0
    return float(usual.min()) - margin, float(usual.max()) + margin


def _set_scales(ax: Axes, layout: _Layout, response: str) -> None:
    """Set limits and ticks; the floor has a tick of its own where a shot stands on it."""
    ax.set(xlim=(-0.5, max(len(layout.marks), 1) - 0.5), ylim=layout.limits)
    known = layout.marks["value"].notna()
    ticks = (
        MaxNLocator(5, steps=_STEPS).tick_values(layout.low, layout.high) if known.any() else []
    )
    heights = [tick for tick in ticks if layout.low <= tick <= layout.high]
    labels = [f"{tick:g}" for tick in heights]
    if not known.all():
        heights, labels = [layout.floor, *heights], ["none", *labels]
    ax.set_yticks(heights, labels, parse_math=False)
    entry = find_quantity(response)
    name_axes(ax, y=entry.axis_label if entry else response.replace(":", ": "))


def _draw_errors(ax: Axes, layout: _Layout) -> None:
    """Draw bars of instrument error, and an arrow at what lies beyond the edge."""
    inside = layout.marks[layout.marks["value"] == layout.marks["height"]]
    known = inside.dropna(subset=["error"])
    if len(known) <= _CROWD:
        low, high = known["height"] - known["error"], known["height"] + known["error"]
        ax.vlines(known["place"], low, high, colors=SOFT, linewidth=0.8, zorder=3)
    for edge, arrow, away in ((layout.high, CARETUPBASE, 4), (layout.low, CARETDOWNBASE, -4)):
        beyond = layout.marks.loc[layout.beyond & (layout.marks["height"] == edge), "place"]
        at = shifted(ax, ax.transData, up_pt=away)
        style: dict[str, Any] = {"linestyle": "", "marker": arrow, "markersize": 4, "color": INK}
        ax.plot(beyond, np.full(len(beyond), edge), transform=at, zorder=5, **style)


def _draw_sessions(ax: Axes, shots: pd.DataFrame) -> None:
    """Draw a ground under every other session, and names where they fit."""
    if "session" not in shots:
        return
    for number, (start, end) in enumerate(stretches(shots["session"])):
        if number % 2 == 0:
            ax.axvspan(start - 0.5, end - 0.5, facecolor=HATCH, alpha=0.55, linewidth=0, zorder=0)
        name = drawable(str(shots["session"].iloc[start]), longest=18)
        letter_within(ax, start - 0.5, end - 0.5, 0.975, name, color=SOFT, va="top")


def _number_shots(ax: Axes, shots: pd.DataFrame) -> None:
    """Write the names of some shots below them, evenly spread."""
    names = shots["shot"] if "shot" in shots else pd.Series(range(1, len(shots) + 1))
    shown = [drawable(str(name), longest=7) for name in names]
    longest = max(map(len, shown), default=1)
    stride = max(-(-len(shown) * (longest + 1) // _CHARACTERS), 1)
    places = list(range(0, len(shown), stride))
    ax.set_xticks(places, [shown[place] for place in places], parse_math=False)
    beside = shifted(ax, ax.transAxes, right_pt=-LABEL_PT, up_pt=-0.5 * _NUMBERS_PT)
    letter(ax, 0, 0, "shot", color=SOFT, ha="right", va="center", transform=beside)


def _explain(ax: Axes, layout: _Layout) -> None:
    """Write what the shapes mean above the axes, and what lies beyond them."""
    kinds = [name for name in LOOKS if name in set(layout.marks["kind"])]
    handles = [_handle(name) for name in kinds]
    if len(kinds) > 1:
        font = {"family": FAMILY, "size": SMALL_PT}
        ax.legend(
            handles=handles, loc="lower left", bbox_to_anchor=(-0.006, 1.0), ncols=len(kinds),
            prop=font, labelcolor=INK, frameon=False, borderpad=0, borderaxespad=0.3,
            handletextpad=0.2, columnspacing=1.2, handlelength=1.4,
        )  # fmt: skip
    if layout.beyond.any():
        above = {"transform": ax.transAxes, "ha": "right", "va": "bottom"}
        letter(
            ax, 1.0, 1.02, f"{count(int(layout.beyond.sum()), 'shot')} beyond the edge", **above
        )
    if layout.marks["value"].isna().all():
        middle = {"transform": ax.transAxes, "ha": "center", "va": "center", "color": SOFT}
        letter(ax, 0.5, 0.55, "No shot has a value to show.", **middle)


def _handle(kind: str) -> Line2D:
    look = LOOKS[kind]
    return Line2D(
        [], [], linestyle="", marker=look.marker, label=look.label, markersize=5,
        markerfacecolor=look.fill, markeredgecolor=INK, markeredgewidth=0.6,
    )  # fmt: skip
