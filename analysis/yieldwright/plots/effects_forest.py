"""Effects with their intervals: one panel per response, one row per practical step."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from yieldwright.plots.effect_panel import (
    EffectRow,
    FittedEffects,
    draw_panel,
    effect_rows,
    entangled_columns,
)
from yieldwright.plots.lettering import drawable, letter
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import INK, SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["effects"]

_WIDTH_MM = 180.0
_LEFT_MM = 44.0
_RIGHT_MM = 2.0
_ROW_MM = 6.2
_ABOVE_MM = 9.5
_BELOW_MM = 11.0
_GAP_MM = 5.0
_ABREAST = 3


def effects(fits: FittedEffects | Sequence[FittedEffects], *, ax: Axes | None = None) -> Axes:
    """Draw the effect of each practical step with its interval, one panel per response.

    Parameters
    ----------
    fits : fit or sequence of fits
        What the settings did to each response.
    ax : Axes or None
        Where to draw; by default a new figure 180 mm wide, as high as its rows need.

    Returns
    -------
    Axes
        The axes that hold the panels; the panels are its `child_axes`.

    Notes
    -----
    Each panel has its own unit. A filled mark: the interval keeps clear of zero. The
    grey bar around zero is what this log could not have found at 80 % power. An arrow:
    the interval runs on, without bound or beyond the panel. Dashed: cannot be told apart
    from another column. A setting without a verdict says so in its row, for no verdict
    is not the same as no effect.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.effects_fit import EffectsFit
    >>> row = {
    ...     "term": "grind_setting",
    ...     "step": "one setting coarser",
    ...     "kind": "setting",
    ...     "estimate": -2.1,
    ...     "ci_low": -3.0,
    ...     "ci_high": -1.2,
    ...     "detectable": 1.3,
    ... }
    >>> drawn = effects(EffectsFit(response="time_s", n_shots=24, effects=pd.DataFrame([row])))
    >>> len(drawn.child_axes)
    1
    """
    every = list(fits) if isinstance(fits, Sequence) else [fits]
    rows = effect_rows(every)
    ax = new_axes(_size(len(every), len(rows))) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    several_bags = len({fit.bag for fit in every}) > 1
    for place, fit in enumerate(every):
        panel = ax.inset_axes(_bounds(place, len(every), len(rows)))
        draw_panel(panel, fit, rows, name_bag=several_bags)
        if place % _ABREAST == 0:
            _name_rows(panel, rows)
    _explain(ax, every)
    return ax


def _size(n_fits: int, n_rows: int) -> FigureSize:
    """Return a figure as high as its rows of panels need."""
    return FigureSize(
        _WIDTH_MM, _storeys(n_fits) * _storey_mm(n_rows) + 5.0,
        left_mm=0, right_mm=0, top_mm=0, bottom_mm=0,
    )  # fmt: skip


def _storeys(n_fits: int) -> int:
    return max(-(-n_fits // _ABREAST), 1)


def _storey_mm(n_rows: int) -> float:
    return _ABOVE_MM + max(n_rows, 1) * _ROW_MM + _BELOW_MM - 5.0


def _bounds(place: int, n_fits: int, n_rows: int) -> tuple[float, float, float, float]:
    """Return where a panel lies, as shares of the whole."""
    abreast = min(n_fits, _ABREAST)
    storey_mm, height_mm = _storey_mm(n_rows), _storeys(n_fits) * _storey_mm(n_rows) + 5.0
    wide_mm = (_WIDTH_MM - _LEFT_MM - _RIGHT_MM - (abreast - 1) * _GAP_MM) / abreast
    left_mm = _LEFT_MM + place % _ABREAST * (wide_mm + _GAP_MM)
    top_mm = place // _ABREAST * storey_mm + _ABOVE_MM
    high_mm = max(n_rows, 1) * _ROW_MM
    bottom_mm = height_mm - top_mm - high_mm
    return (
        left_mm / _WIDTH_MM,
        bottom_mm / height_mm,
        wide_mm / _WIDTH_MM,
        high_mm / height_mm,
    )


def _name_rows(panel: Axes, rows: Sequence[EffectRow]) -> None:
    """Write the steps beside the leftmost panel, what is only allowed for in grey."""
    place = shifted(panel, panel.get_yaxis_transform(), right_pt=-6)
    for height, row in enumerate(rows):
        words = drawable(row.label, longest=34)
        color = INK if row.is_setting else SOFT
        letter(panel, 0, height, words, color=color, ha="right", va="center", transform=place)


def _explain(ax: Axes, fits: Sequence[FittedEffects]) -> None:
    """Write how to read the figure along its foot."""
    parts = [
        "Filled: the 95 % interval keeps clear of zero",
        "grey: this log would likely miss it",
    ]
    if any(entangled_columns(fit) for fit in fits):
        parts.append("dashed: not to be told apart from another column")
    foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
    letter(ax, 0, 0, "; ".join(parts) + ".", color=SOFT, va="bottom", transform=foot)
