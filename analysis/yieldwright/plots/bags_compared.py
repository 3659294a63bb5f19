"""Bags at equal age: when each was pulled, and how each pair differs where both were."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.ticker import MaxNLocator

from yieldwright.ageing.age.age_words import span_words
from yieldwright.formatting import clip
from yieldwright.plots.lettering import drawable, letter, name_axes, sign_ticks
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, PAPER, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from yieldwright.ageing.compared.bags import BagsCompared
    from yieldwright.models.contrasts.contrasts import Estimate

__all__ = ["bags_compared"]

#: Narrow enough for a telephone to show its letters at a size one can read.
_WIDTH_MM, _LEFT_MM, _RIGHT_MM = 103.0, 30.0, 3.0
_LANE_MM, _HEAD_MM, _SCALE_MM = 6.8, 6.0, 10.5

#: Bags and differences shown; a log of years has more than a figure holds.
_MOST_BAGS, _MOST_LANES = 12, 18

_CLEAR = 0.05


def bags_compared(found: BagsCompared, *, ax: Axes | None = None) -> Axes:
    """Draw the ages each bag was pulled at, and below how pairs differ at an age they share.

    Parameters
    ----------
    found : BagsCompared
        Bags, their ages and their differences.
    ax : Axes or None
        Where to draw; by default a new figure 103 mm wide, as high as its lanes need.

    Returns
    -------
    Axes
        The axes that hold two panels, ages above and differences below, as `child_axes`;
        only the ages where no pair could be compared, and the reason where there is one bag.

    Notes
    -----
    Ground: ages that a pair shares. Dashes: the age it is compared at. A filled mark: the
    difference is clear of zero, allowing for how many pairs were compared; an open one: it is
    not. Small marks: differences at both ends of the ages shared, where bags age differently.

    Examples
    --------
    >>> from yieldwright.ageing.compared.bags import BagsCompared
    >>> nothing = BagsCompared(response="time_s", n_shots=3, missing="There is one bag.")
    >>> [text.get_text() for text in bags_compared(nothing).texts]
    ['There is one bag.']
    """
    bags, lanes = list(found.bags[-_MOST_BAGS:]), _lanes(found)
    above, below = max(len(bags), 1) * _LANE_MM, len(lanes) * _LANE_MM
    parts = [above, below] if lanes else [above]
    height = sum(_HEAD_MM + part + _SCALE_MM for part in parts)
    sizes = dict.fromkeys(("left_mm", "right_mm", "top_mm", "bottom_mm"), 0.0)
    ax = new_axes(FigureSize(_WIDTH_MM, height, **sizes)) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if found.missing:
        letter(ax, 0, 0.5, found.missing, color=SOFT, va="center")
        return ax
    top = height
    for part, draw in zip(parts, (_draw_ages, _draw_differences), strict=False):
        top -= _HEAD_MM + part
        panel = ax.inset_axes(
            (_LEFT_MM / _WIDTH_MM, top / height,
             1 - (_LEFT_MM + _RIGHT_MM) / _WIDTH_MM, part / height)
        )  # fmt: skip
        draw(panel, found, bags, lanes)
        top -= _SCALE_MM
    return ax


class _Lane:
    """One difference: its name, what is drawn, and whether it is clear of zero."""

    def __init__(self, name: str, found: Estimate, *, clear: bool, small: bool) -> None:
        self.name, self.found, self.clear, self.small = name, found, clear, small


def _lanes(found: BagsCompared) -> list[_Lane]:
    """Return one lane a difference, those at both ends below the one in the middle."""
    lanes: list[_Lane] = []
    for pair, p_holm in zip(found.pairs, found.p_holm, strict=True):
        if pair.difference is None:
            continue
        first, second = (clip(code, 9) for code in (pair.first, pair.second))
        name = f"{second} − {first}\n{span_words(pair.age_d, pair.age_d)}"
        lanes.append(_Lane(name, pair.difference, clear=p_holm < _CLEAR, small=False))
        for age, end in zip(pair.shared, pair.at_ends, strict=False):
            words = f"at {span_words(age, age)}"
            lanes.append(_Lane(words, end, clear=end.ci_low * end.ci_high > 0, small=True))
    return lanes[:_MOST_LANES]


def _draw_ages(
    panel: Axes, found: BagsCompared, bags: Sequence[str], lanes: Sequence[_Lane]
) -> None:
    """Draw a lane per bag with a mark at each age it was pulled at."""
    del lanes
    dress(panel, grid="x", bare=("top", "left", "right"))
    panel.set(ylim=(len(bags) - 0.4, -0.6), yticks=[])
    for pair in found.pairs:
        if pair.difference is not None:
            panel.axvspan(*pair.shared, color=HATCH, zorder=0, linewidth=0)
            dashes: dict[str, Any] = {"color": EDGE, "linewidth": 1.0, "linestyle": (0, (3, 1.5))}
            panel.axvline(pair.age_d, zorder=1, **dashes)
    for height, bag in enumerate(bags):
        ages = found.pulled.loc[found.pulled["bag"].fillna("") == bag, "roast_age_d"].unique()
        if len(ages):
            line: dict[str, Any] = {"color": LOOKS["counted"].fill, "zorder": 3}
            panel.plot((ages.min(), ages.max()), (height, height), linewidth=1.2, **line)
            dots: dict[str, Any] = {"markeredgecolor": INK, "markeredgewidth": 0.5, **line}
            heights = np.full(len(ages), height)
            panel.plot(ages, heights, linestyle="none", marker="o", markersize=3.6, **dots)
        _name_lane(panel, height, bag if len(ages) else f"{clip(bag, 10)}: no age")
    panel.xaxis.set_major_locator(MaxNLocator(7, integer=True, steps=[1, 2, 5, 10]))
    name_axes(panel, x="roast age [d]")
    _head(panel, "Pulled at")


def _draw_differences(
    panel: Axes, found: BagsCompared, bags: Sequence[str], lanes: Sequence[_Lane]
) -> None:
    """Draw a lane per difference with its interval."""
    del bags
    dress(panel, grid="x", bare=("top", "left", "right"))
    ends = [end for lane in lanes for end in (lane.found.ci_low, lane.found.ci_high)]
    low, high = min(0.0, *ends), max(0.0, *ends)
    room = 0.06 * ((high - low) or 1.0)
    panel.set(xlim=(low - room, high + room), ylim=(len(lanes) - 0.4, -0.6), yticks=[])
    panel.axvline(0, color=INK, linewidth=0.8, zorder=2)
    for height, lane in enumerate(lanes):
        fill = LOOKS["under" if lane.small else "counted"].fill
        line: dict[str, Any] = {"color": fill, "zorder": 3}
        limits = (lane.found.ci_low, lane.found.ci_high)
        panel.plot(limits, (height, height), linewidth=1.0 if lane.small else 1.7, **line)
        panel.plot(
            lane.found.estimate, height, marker="D" if lane.small else "o",
            markersize=4.2 if lane.small else 6.2, markeredgewidth=0.8, zorder=4,
            markerfacecolor=fill if lane.clear else PAPER, markeredgecolor=INK,
        )  # fmt: skip
        _name_lane(panel, height, lane.name)
    panel.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    sign_ticks(panel.xaxis)
    name_axes(panel, x=f"{drawable(column_label(found.response), longest=30)}, {found.unit}")
    _head(panel, "Difference at one age, 95 % intervals")


def _name_lane(panel: Axes, height: int, name: str) -> None:
    beside = shifted(panel, panel.get_yaxis_transform(), right_pt=-6)
    lines = [drawable(line, longest=21) for line in name.split("\n")]
    letter(panel, 0, height, "\n".join(lines), ha="right", va="center", transform=beside)


def _head(panel: Axes, words: str) -> None:
    above = shifted(panel, panel.transAxes, up_pt=3)
    letter(panel, 0, 1, words, va="bottom", fontweight="bold", transform=above)
