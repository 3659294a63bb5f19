"""One lane a change: each effect again without a session or a shot, or analysed otherwise."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from matplotlib.ticker import MaxNLocator

from yieldwright.formatting import count, sentence_case
from yieldwright.plots.lettering import drawable, letter, sign_ticks
from yieldwright.plots.panel_rows import PanelRows
from yieldwright.plots.paper import new_axes, shifted
from yieldwright.plots.theme import EDGE, HATCH, INK, LOOKS, PAPER, SOFT, dress
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from matplotlib.axes import Axes

    from yieldwright.taste.sensitivity.sensitivity import Sensitivity

__all__ = ["sensitivity_lanes"]

_LANE_MM = 4.6

#: Sessions that have a lane each; of more, only the one that matters most to an effect.
_MOST_SESSIONS = 12

_FITTED, _SESSION, _SHOT = "as fitted", "without session", "without shot"


class _Lane(NamedTuple):
    """What is drawn along one height: one change, of one part or of the one that matters."""

    change: str
    name: str
    label: str


def sensitivity_lanes(found: Sensitivity, *, ax: Axes | None = None) -> Axes:
    """Draw every effect as fitted and after each change, one panel per step.

    Parameters
    ----------
    found : Sensitivity
        Effects and what was tried on them.
    ax : Axes or None
        Where to draw; by default a new figure 180 mm wide, as high as its lanes need.

    Returns
    -------
    Axes
        The axes that hold the panels, one per step; the panels are its `child_axes`.

    Notes
    -----
    The band across all lanes is the interval as fitted. A filled mark: the interval keeps
    clear of zero. A dark diamond: the verdict is another than that of the fit. A lane that says
    nothing: no shot is left to tell the effect. Of the shots, and of more than 12 sessions,
    only the one that matters most to each effect, its key one, has a lane.

    Examples
    --------
    >>> from yieldwright.taste.sensitivity.sensitivity import Sensitivity
    >>> drawn = sensitivity_lanes(Sensitivity(response="ey_pct", n_shots=3))
    >>> [text.get_text() for text in drawn.texts]
    ['No effect was judged.']
    """
    steps = list(dict.fromkeys(found.table["step"].tolist()))
    lanes = _lanes(found)
    high_mm = max(len(lanes), 1) * _LANE_MM
    sheet = PanelRows(len(steps), high_mm, above_mm=8.0, below_mm=8.0, left_mm=36.0)
    ax = new_axes(sheet.size) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    if not steps:
        letter(ax, 0, 0.5, "No effect was judged.", color=SOFT, va="center")
        return ax
    rows = found.table.assign(shown=np.isin(np.arange(len(found.table)), found.shown))
    reach = _reach(rows.to_dict("records"))
    for place, step in enumerate(steps):
        panel = ax.inset_axes(sheet.bounds(place))
        own = rows[rows["step"] == step].to_dict("records")
        _draw_step(panel, own, lanes, reach)
        if sheet.leads(place):
            _name_lanes(panel, lanes)
    _explain(ax, found)
    return ax


def _lanes(found: Sensitivity) -> list[_Lane]:
    """Return the lanes all panels share, from the fit downwards."""
    pairs = list(dict.fromkeys(zip(found.table["change"], found.table["name"], strict=True)))
    sessions = [name for change, name in pairs if change == _SESSION]
    changes = list(dict.fromkeys(change for change, _ in pairs))
    lanes = [_Lane(_FITTED, "", _FITTED)] if _FITTED in changes else []
    if len(sessions) <= _MOST_SESSIONS:
        lanes += [_Lane(_SESSION, name, f"without {name}") for name in sessions]
    elif sessions:
        lanes.append(_Lane(_SESSION, "", "without its key session"))
    if _SHOT in changes:
        lanes.append(_Lane(_SHOT, "", "without its key shot"))
    others = sorted(change for change in changes if change not in (_FITTED, _SESSION, _SHOT))
    return [*lanes, *(_Lane(change, "", change) for change in others)]


def _reach(rows: Sequence[Mapping[Hashable, Any]]) -> float:
    """Return how far from zero all panels reach: every fit whole, and nearly every change."""
    fitted = [row for row in rows if row["change"] == _FITTED]
    whole = max(max(abs(row["ci_low"]), abs(row["ci_high"])) for row in fitted)
    estimates = [abs(row["estimate"]) for row in rows if np.isfinite(row["estimate"])]
    return max(1.3 * whole, 1.1 * max(estimates)) or 1.0


def _draw_step(
    panel: Axes, rows: Sequence[Mapping[Hashable, Any]], lanes: Sequence[_Lane], reach: float
) -> None:
    """Draw the lanes of one step."""
    dress(panel, grid="x", bare=("top", "left", "right"))
    panel.set(xlim=(-reach, reach), ylim=(len(lanes) - 0.4, -0.6), yticks=[])
    fitted = next(row for row in rows if row["change"] == _FITTED)
    panel.axvspan(fitted["ci_low"], fitted["ci_high"], color=HATCH, zorder=0, linewidth=0)
    panel.axvline(fitted["estimate"], color=EDGE, linewidth=1.0, linestyle=(0, (3, 1.5)), zorder=1)
    panel.axvline(0, color=INK, linewidth=0.8, zorder=2)
    for height, lane in enumerate(lanes):
        row = next((row for row in rows if _belongs(row, lane)), None)
        if row is not None and np.isfinite(row["estimate"]):
            _draw_lane(panel, height, row, reach)
        elif row is not None:
            _say_nothing(panel, height, fitted["estimate"])
    above = shifted(panel, panel.transAxes, up_pt=3)
    name = drawable(sentence_case(str(fitted["step"])), longest=34)
    letter(panel, 0, 1, name, va="bottom", fontweight="bold", transform=above)
    panel.xaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    sign_ticks(panel.xaxis)


def _say_nothing(panel: Axes, height: int, estimate: float) -> None:
    """Write that nothing is left, on the side of zero where the effect is not."""
    side, away = ("left", 4) if estimate < 0 else ("right", -4)
    beside = shifted(panel, panel.transData, right_pt=away)
    letter(panel, 0, height, "says nothing", color=SOFT, ha=side, va="center", transform=beside)


def _belongs(row: Mapping[Hashable, Any], lane: _Lane) -> bool:
    """Return whether a row stands in a lane; in one for many parts only the one that matters."""
    named = row["name"] == lane.name or (not lane.name and row["shown"])
    return bool(row["change"] == lane.change and named)


def _draw_lane(panel: Axes, height: int, row: Mapping[Hashable, Any], reach: float) -> None:
    """Draw one interval and its estimate, and an arrow where it runs on."""
    fill = LOOKS["over" if row["verdict_changes"] else "on_target"].fill
    line: dict[str, Any] = {"color": fill, "linewidth": 1.4, "zorder": 3}
    low, high = row["ci_low"], row["ci_high"]
    if np.isfinite([low, high]).all():
        panel.plot(np.clip((low, high), -reach, reach), (height, height), **line)
        for way, end in (("<", low), (">", high)):
            if abs(end) > reach:
                panel.plot(np.sign(end) * 0.985 * reach, height, marker=way, markersize=4, **line)
    clear = low * high > 0
    panel.plot(
        row["estimate"], height, marker="D" if row["verdict_changes"] else "o",
        markersize=4.6, markerfacecolor=fill if clear else PAPER,
        markeredgecolor=INK if clear else fill, markeredgewidth=0.7 if clear else 1.1, zorder=4,
    )  # fmt: skip


def _name_lanes(panel: Axes, lanes: Sequence[_Lane]) -> None:
    """Write what was changed beside the leftmost panel."""
    beside = shifted(panel, panel.get_yaxis_transform(), right_pt=-6)
    for height, lane in enumerate(lanes):
        words = drawable(lane.label, longest=24)
        weight = "bold" if lane.change == _FITTED else "normal"
        letter(
            panel, 0, height, words, ha="right", va="center", fontweight=weight, transform=beside
        )


def _explain(ax: Axes, found: Sensitivity) -> None:
    """Write how to read the figure along its foot."""
    what = drawable(column_label(found.response), longest=30)
    words = (
        f"Change of {what} per step, 95 % intervals, {count(found.n_shots, 'shot')}. "
        "Filled: clear of zero. Band: as fitted. Diamond: another verdict."
    )
    foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
    letter(ax, 0, 0, words, color=SOFT, va="bottom", transform=foot)
