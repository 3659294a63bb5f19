"""Two bags in the same sessions: both means of each day joined, and their difference below."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.ticker import MaxNLocator

from yieldwright.formatting import MINUS
from yieldwright.plots.lettering import drawable, letter, name_axes, sign_ticks
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, PAPER, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import numpy.typing as npt
    from matplotlib.axes import Axes

    from yieldwright.ageing.compared.paired import PairedBags

__all__ = ["paired_bags"]

_WIDTH_MM, _LEFT_MM, _RIGHT_MM = 103.0, 13.0, 3.0
_HEAD_MM, _TICKS_MM, _SCALE_MM = 7.0, 5.5, 10.5
_VALUES_MM, _DIFFERENCES_MM = 44.0, 34.0

#: Looks of the first and the second bag, alike in neither shape nor lightness.
_FIRST, _SECOND = ("on_target", "o", "●"), ("strong", "s", "■")

_CLEAR = 0.05


def paired_bags(found: PairedBags, *, ax: Axes | None = None) -> Axes:
    """Draw two bags over the days of the sessions they share, and below their difference.

    Parameters
    ----------
    found : PairedBags
        Bags, their sessions and their difference.
    ax : Axes or None
        Where to draw; by default a new figure 103 mm wide.

    Returns
    -------
    Axes
        The axes that hold two panels, values above and differences below, as `child_axes`;
        only the reason where nothing could be compared.

    Notes
    -----
    An upright joins both bags of a session: its length is what counts, whatever the day did
    to both. Below, a diamond is the difference of one session; the line is what is expected,
    with its 95 % limits as ground, sloped where its change from day to day could be told.
    The diamonds are filled where the mean difference is clear of zero.

    Examples
    --------
    >>> from yieldwright.ageing.compared.paired import PairedBags
    >>> nothing = PairedBags(response="time_s", n_shots=3, missing="no session has both")
    >>> [text.get_text() for text in paired_bags(nothing).texts]
    ['Not compared: no session has both.']
    """
    height = 2 * _HEAD_MM + _TICKS_MM + _SCALE_MM + _VALUES_MM + _DIFFERENCES_MM
    sizes = dict.fromkeys(("left_mm", "right_mm", "top_mm", "bottom_mm"), 0.0)
    ax = new_axes(FigureSize(_WIDTH_MM, height, **sizes)) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if found.difference is None:
        letter(ax, 0, 0.5, f"Not compared: {found.missing}.", color=SOFT, va="center")
        return ax
    places = _places(found)
    upper = height - _HEAD_MM - _VALUES_MM
    _draw_values(_panel(ax, upper, _VALUES_MM, height), found, places)
    _draw_differences(_panel(ax, _SCALE_MM, _DIFFERENCES_MM, height), found, places)
    return ax


def _panel(ax: Axes, low: float, high: float, height: float) -> Axes:
    """Return a panel at some millimetres of the sheet."""
    wide = 1 - (_LEFT_MM + _RIGHT_MM) / _WIDTH_MM
    return ax.inset_axes((_LEFT_MM / _WIDTH_MM, low / height, wide, high / height))


def _places(found: PairedBags) -> npt.NDArray[np.float64]:
    """Return where each session stands: on its day, else one after the other."""
    days = found.sessions["day"].to_numpy(dtype=float)
    return np.arange(1.0, len(days) + 1) if np.isnan(days).any() else days


def _draw_values(panel: Axes, found: PairedBags, places: npt.NDArray[np.float64]) -> None:
    """Draw the mean of each bag in each session, both of a session joined."""
    dress(panel, grid="y")
    table = found.sessions
    panel.vlines(places, table["first"], table["second"], color=EDGE, linewidth=1.2, zorder=2)
    for (look, shape, _), column in ((_SECOND, "second"), (_FIRST, "first")):
        panel.plot(places, table[column], linestyle="none", marker=shape, markersize=5.4,
                   markerfacecolor=LOOKS[look].fill, markeredgecolor=INK, markeredgewidth=0.5,
                   zorder=3)  # fmt: skip
    _scale(panel, places)
    name_axes(panel, y=f"{drawable(column_label(found.response), longest=24)}")
    named = zip((_FIRST, _SECOND), found.bags, strict=True)
    _head(panel, "    ".join(f"{sign} {drawable(bag, longest=16)}" for (_, _, sign), bag in named))


def _draw_differences(panel: Axes, found: PairedBags, places: npt.NDArray[np.float64]) -> None:
    """Draw the difference of each session, and what is expected with its limits."""
    dress(panel, grid="y")
    panel.axhline(0, color=INK, linewidth=0.8, zorder=2)
    line = found.expected
    flat = found.per_day is None
    days = np.linspace(places.min(), places.max(), len(line)) if flat else line["day"]
    panel.fill_between(days, line["low"], line["high"], color=HATCH, linewidth=0, zorder=0)
    panel.plot(days, line["value"], color=LOOKS[_FIRST[0]].fill, linewidth=1.7, zorder=3)
    clear = found.difference is not None and found.difference.p_value < _CLEAR
    marks: dict[str, Any] = {"markeredgecolor": INK, "markeredgewidth": 0.7, "zorder": 4}
    panel.plot(places, found.sessions["difference"], linestyle="none", marker="D", markersize=4.4,
               markerfacecolor=LOOKS[_FIRST[0]].fill if clear else PAPER, **marks)  # fmt: skip
    _scale(panel, places)
    sign_ticks(panel.yaxis)
    name_axes(panel, x=_across(found), y=f"difference, {found.unit}")
    first, second = (drawable(bag, longest=12) for bag in found.bags)
    _head(panel, f"{first} {MINUS} {second}, 95 % limits")


def _across(found: PairedBags) -> str:
    """Return what the places of sessions are."""
    table = found.sessions
    if table["day"].isna().any():
        return "session"
    return f"days since {table['pulled_on'].min():%Y-%m-%d}"


def _scale(panel: Axes, places: npt.NDArray[np.float64]) -> None:
    room = 0.05 * (np.ptp(places) or 1.0)
    panel.set_xlim(places.min() - room, places.max() + room)
    panel.xaxis.set_major_locator(MaxNLocator(7, integer=True, steps=[1, 2, 5, 10]))
    panel.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))


def _head(panel: Axes, words: str) -> None:
    above = shifted(panel, panel.transAxes, up_pt=4)
    letter(panel, 0, 1, words, va="bottom", fontweight="bold", transform=above)
