"""The grind setting that holds the time of a bag as it ages, beside the settings used."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.grind.compensation_words import seconds
from yieldwright.plots.lettering import drawable, letter, name_axes
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, INK, LOOKS, SOFT, dart, dress

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.ageing.grind.compensation import Compensation

__all__ = ["needed_settings"]

_SIZE = FigureSize(180, 74, left_mm=15, right_mm=4, top_mm=6, bottom_mm=16)

#: Share of the axis that the name of a service takes; nearer ones are drawn without.
ROOM = 0.22

#: A shot runs long or short where it misses the time by more than the recipe forgives.
_LOOKS = (
    ("ran long", "over", dart(0)),
    ("near the time", "on_target", "o"),
    ("ran short", "under", dart(180)),
)


def needed_settings(found: Compensation, *, ax: Axes | None = None) -> Axes:
    """Draw the setting that holds the time at each age, and the settings that were used.

    Parameters
    ----------
    found : Compensation
        From `ageing.follow`.
    ax : Axes or None
        Where to draw; by default a new figure of 180 mm width.

    Returns
    -------
    Axes

    Notes
    -----
    The line stops where it would leave the settings tried, and breaks where something was
    serviced: on each side it is the setting for the bench as it was then. A dart up is a
    shot that ran longer than the recipe forgives, a dart down one that ran shorter, a circle
    one near the time.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.grind.compensation import compensate
    >>> from yieldwright.ageing.trend.model import fit_trend
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aabbcc"), "time_s": [36.0, 37, 35, 36, 34, 34]})
    >>> shots["roast_age_d"] = [5.0, 5, 9, 9, 14, 14]
    >>> rows = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> drawn = needed_settings(compensate(fit_trend(rows)))
    >>> [text.get_text() for text in drawn.texts]
    ['The grind setting never changed.']
    """
    ax = new_axes(_SIZE) if ax is None else ax
    dress(ax, grid="y")
    if found.needed.empty:
        ax.set(xlim=(0, 1), ylim=(0, 1), xticks=[], yticks=[])
        letter(ax, 0.5, 0.5, "The grind setting never changed.", color=SOFT, ha="center")
        return ax
    _set_scales(ax, found)
    _draw_need(ax, found.needed)
    _draw_used(ax, found)
    _explain(ax, found)
    return ax


def _set_scales(ax: Axes, found: Compensation) -> None:
    used = found.used
    margin = max(0.03 * float(np.ptp(used["roast_age_d"])), 0.5)
    room = max(0.25 * float(np.ptp(used["setting"])), 0.4)
    ax.set_xlim(
        float(used["roast_age_d"].min()) - margin, float(used["roast_age_d"].max()) + margin
    )
    low, high = float(used["setting"].min()) - room, float(used["setting"].max()) + room
    coarser_up = found.coarser_up
    ax.set_ylim(low, high)
    name_axes(ax, x="Roast age (d)", y="Grind setting")
    for height, word, edge in ((1, "coarser" if coarser_up else "finer", "top"),
                               (0, "finer" if coarser_up else "coarser", "bottom")):  # fmt: skip
        beside = shifted(ax, ax.transAxes, right_pt=-4, up_pt=-2 if height else 2)
        letter(ax, 1, height, word, color=SOFT, ha="right", va=edge, transform=beside)


def _draw_need(ax: Axes, needed: pd.DataFrame) -> None:
    """Draw the needed setting and its limits, broken where something was serviced."""
    stretches = needed.groupby("service_stretch", sort=False)
    for _, part in stretches:
        _draw_stretch(ax, part)
    first, last = ax.get_xlim()
    named = first
    for (_, before), (name, after) in pairwise(stretches):
        middle = (before["roast_age_d"].iloc[-1] + after["roast_age_d"].iloc[0]) / 2
        ax.axvline(middle, color=EDGE, linewidth=0.8, linestyle=(0, (3, 2)), zorder=0)
        if middle - named < ROOM * (last - first):
            continue
        named = middle
        beside = shifted(ax, ax.get_xaxis_transform(), right_pt=-3, up_pt=-2)
        words = drawable(f"serviced {str(name).removeprefix('since ')}", longest=30)
        letter(ax, middle, 1, words, color=SOFT, ha="right", va="top", transform=beside)


def _draw_stretch(ax: Axes, part: pd.DataFrame) -> None:
    """Draw the setting needed between two services where it was among those tried."""
    shown = part.where(part["tried"])
    low, high = ax.get_ylim()
    ax.fill_between(
        part["roast_age_d"], shown["low"].clip(low, high), shown["high"].clip(low, high),
        color=LOOKS["strong"].fill, alpha=0.35, linewidth=0, zorder=1,
    )  # fmt: skip
    ax.plot(part["roast_age_d"], shown["setting"], color=INK, linewidth=1.4, zorder=3)


def _draw_used(ax: Axes, found: Compensation) -> None:
    recipe = found.model.rows.bench.recipe
    missed = found.used["time_s"] - found.target_s
    forgiven = recipe.time_tolerance_s
    kinds = (missed > forgiven, missed.abs() <= forgiven, missed < -forgiven)
    for (label, look, marker), where in zip(_LOOKS, kinds, strict=True):
        shots = found.used[where]
        ax.plot(
            shots["roast_age_d"], shots["setting"], linestyle="", marker=marker, markersize=4.6,
            markerfacecolor=LOOKS[look].fill, markeredgecolor=INK, markeredgewidth=0.5,
            zorder=4, label=label,
        )  # fmt: skip


def _explain(ax: Axes, found: Compensation) -> None:
    """Write how to read the figure below its axis."""
    forgiven = found.model.rows.bench.recipe.time_tolerance_s
    words = (
        f"Line and band: the setting for {seconds(found.target_s)}, 95 % limits, where it was "
        f"tried. Dart up: ran more than {forgiven:g} s longer; down: shorter; circle: near."
    )
    foot = shifted(ax, ax.transAxes, up_pt=-36)
    letter(ax, 0, 0, drawable(words, longest=150), color=SOFT, va="bottom", transform=foot)
    ax.axhline(float(found.used["setting"].min()), color=EDGE, linewidth=0.5, zorder=0)
    ax.axhline(float(found.used["setting"].max()), color=EDGE, linewidth=0.5, zorder=0)
