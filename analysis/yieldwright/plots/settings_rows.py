"""A small table of settings as a figure: shots, failures with interval, and what they gave."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from yieldwright.formatting import count
from yieldwright.glossary import find_quantity
from yieldwright.plots.lettering import drawable, letter, name_axes
from yieldwright.plots.paper import FigureSize, new_axes, shifted
from yieldwright.plots.theme import (
    EDGE,
    GRID,
    INK,
    LOOKS,
    PAPER,
    SOFT,
    dress,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from matplotlib.axes import Axes

__all__ = ["CountedFailures", "settings_table"]

_WIDTH_MM = 180.0
_LEFT_MM = 44.0
_GAP_MM = 6.0
_ROW_MM = 6.2
_ABOVE_MM = 9.0
_BELOW_MM = 11.0
_MOST_ROWS = 14
_AREA = 21


class CountedFailures(Protocol):
    """What counts of failures must tell to be drawn; the answer of `failure_rate` does."""

    @property
    def by(self) -> tuple[str, ...]:
        """Columns that shots are gathered by."""

    @property
    def rates(self) -> pd.DataFrame:
        """One row per setting: those columns, n_shots, n_failed, rate, ci_low, ci_high."""


def settings_table(
    table: CountedFailures,
    *,
    shots: pd.DataFrame | None = None,
    response: str = "ey_pct",
    means: pd.DataFrame | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw a small table of the settings tried.

    Parameters
    ----------
    table : FailureRates
        Shots and failures of each setting.
    shots : DataFrame or None
        One row per shot: its settings and the response, to show every single value.
    response : str
        Column of `shots` to show; by default the extraction yield.
    means : DataFrame or None
        One row per setting: the same columns, `estimate`, `ci_low`, `ci_high`.
    ax : Axes or None
        Where to draw; by default a new figure 180 mm wide, as high as its rows need.

    Returns
    -------
    Axes
        The axes that hold the panels; the panels are its `child_axes`.

    Notes
    -----
    Failures carry their Wilson interval, so that none of three is not read as never. The
    settings with the most shots are shown, fourteen at most.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.repeatability import failure_rate
    >>> shots = pd.DataFrame({"grind_setting": [11.0, 12.0], "fate": "pulled", "ey_pct": 20.0})
    >>> drawn = settings_table(failure_rate(shots, "grind_setting"), shots=shots)
    >>> len(drawn.child_axes)
    2
    """
    by = list(table.by)
    rates = _most_used(table.rates)
    values = _values(shots, rates, by, response)
    ax = new_axes(_size(len(rates))) if ax is None else ax
    ax.set(xlim=(0, 1), ylim=(0, 1))
    ax.set_axis_off()
    failed, gave = _panels(ax, len(rates), with_values=values is not None)
    _name_rows(failed, rates, by)
    _draw_failures(failed, rates)
    if gave is not None and values is not None:
        _draw_values(gave, values, len(rates), _spans(means, rates, by), response)
    if len(rates) < len(table.rates):
        hidden = count(len(table.rates) - len(rates), "setting")
        foot = shifted(ax, ax.transAxes, right_pt=2, up_pt=2)
        letter(ax, 0, 0, f"{hidden} with fewer shots not shown.", color=SOFT, transform=foot)
    return ax


def _most_used(rates: pd.DataFrame) -> pd.DataFrame:
    kept = rates["n_shots"].rank(ascending=False, method="first") <= _MOST_ROWS
    return rates[kept].reset_index(drop=True)


def _size(n_rows: int) -> FigureSize:
    high = _ABOVE_MM + max(n_rows, 1) * _ROW_MM + _BELOW_MM
    return FigureSize(_WIDTH_MM, high, left_mm=0, right_mm=0, top_mm=0, bottom_mm=0)


def _panels(ax: Axes, n_rows: int, *, with_values: bool) -> tuple[Axes, Axes | None]:
    """Return axes for the failures, and for the values where there are any."""
    high_mm = max(n_rows, 1) * _ROW_MM
    whole_mm = _ABOVE_MM + high_mm + _BELOW_MM
    room_mm = _WIDTH_MM - _LEFT_MM - _GAP_MM
    first_mm = 0.36 * room_mm if with_values else room_mm
    rest_mm = room_mm - first_mm - _GAP_MM
    low, high = _BELOW_MM / whole_mm, high_mm / whole_mm
    failed = ax.inset_axes((_LEFT_MM / _WIDTH_MM, low, first_mm / _WIDTH_MM, high))
    if not with_values:
        return failed, None
    start = (_LEFT_MM + first_mm + _GAP_MM) / _WIDTH_MM
    return failed, ax.inset_axes((start, low, rest_mm / _WIDTH_MM, high))


def _values(
    shots: pd.DataFrame | None, rates: pd.DataFrame, by: Sequence[str], response: str
) -> pd.DataFrame | None:
    """Return the row and value of each shot, None where there is none to show."""
    if shots is None or not by or response not in shots:
        return None
    rows = rates[list(by)].assign(row=np.arange(len(rates), dtype=float))
    found = shots[[*by, response]].dropna().astype(dict.fromkeys(by, "object"))
    joined = found.merge(rows.astype(dict.fromkeys(by, "object")), on=list(by))
    return joined.rename(columns={response: "value"})[["row", "value"]] if len(joined) else None


def _spans(
    means: pd.DataFrame | None, rates: pd.DataFrame, by: Sequence[str]
) -> pd.DataFrame | None:
    """Return row, estimate and interval of each mean."""
    if means is None:
        return None
    rows = rates[list(by)].assign(row=np.arange(len(rates), dtype=float))
    keys = dict.fromkeys(by, "object")
    return means.astype(keys).merge(rows.astype(keys), on=list(by))


def _name_rows(panel: Axes, rates: pd.DataFrame, by: Sequence[str]) -> None:
    """Write settings, and how many of how many shots failed, beside the first panel."""
    beside = panel.get_yaxis_transform()
    number_at, name_at = (shifted(panel, beside, right_pt=-far) for far in (8, 50))
    look = {"ha": "right", "va": "center"}
    for row, rate in enumerate(rates.to_dict("records")):
        letter(panel, 0, row, _counted(rate), transform=number_at, **look)
        words = " · ".join(_shown(rate[name]) for name in by) or "all shots"
        letter(panel, 0, row, words, transform=name_at, **look)
    letter(panel, 0, -0.95, "failed", color=SOFT, transform=number_at, **look)
    head = " ·\n".join(_short_label(name) for name in by)
    letter(panel, 0, -0.95, head, color=SOFT, transform=name_at, **look)


def _counted(rate: dict[Any, Any]) -> str:
    if np.isnan(rate["rate"]):
        return count(rate["n_shots"], "shot")
    return f"{rate['n_failed']:g} of {rate['n_shots']:,}"


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else drawable(str(value), longest=14)


def _short_label(name: str) -> str:
    entry = find_quantity(name)
    label = entry.label if entry else name
    return label[0].lower() + label[1:]


def _dress_rows(panel: Axes, n_rows: int) -> None:
    dress(panel, grid="x", bare=("top", "left", "right"))
    panel.set(ylim=(max(n_rows, 1) - 0.5, -0.5), yticks=[])
    for edge in range(1, n_rows):
        panel.axhline(edge - 0.5, color=GRID, linewidth=0.5, zorder=0)


def _draw_failures(panel: Axes, rates: pd.DataFrame) -> None:
    """Draw the share that failed with its interval, in percent."""
    _dress_rows(panel, len(rates))
    look = LOOKS["choked"]
    panel.set(xlim=(-2, 102), xticks=[0, 25, 50, 75, 100])
    letter(panel, 0, -0.95, "share, with its 95 % interval", color=SOFT, va="center")
    for row, rate in enumerate(rates.to_dict("records")):
        if np.isnan(rate["rate"]):
            letter(panel, 2, row, "not logged", color=SOFT, va="center", style="italic")
            continue
        span = 100 * rate["ci_low"], 100 * rate["ci_high"]
        panel.plot(span, (row, row), color=EDGE, linewidth=3.0, solid_capstyle="butt", zorder=2)
        fill = look.fill if rate["n_failed"] else PAPER
        panel.plot(100 * rate["rate"], row, marker="o", markersize=4.6, markerfacecolor=fill,
                   markeredgecolor=INK, markeredgewidth=0.7, zorder=3)  # fmt: skip
    name_axes(panel, x="Share of shots [%]")


def _draw_values(
    panel: Axes, values: pd.DataFrame, n_rows: int, spans: pd.DataFrame | None, response: str
) -> None:
    """Draw every shot's value, and the mean of each setting with its interval."""
    import seaborn as sns

    # The strip plot would move the global random state even where it does not jitter.
    sns.scatterplot(
        data=values,
        x="value",
        y="row",
        s=_AREA,
        color=LOOKS["counted"].fill,
        edgecolor=INK,
        linewidth=0.5,
        alpha=0.55,
        legend=False,
        ax=panel,
    )
    _dress_rows(panel, n_rows)
    head = "every shot"
    if spans is not None:
        head = "every shot, and the mean with its 95 % interval"
        for span in spans.to_dict("records"):
            _draw_mean(panel, span)
    letter(panel, 0, -0.95, head, color=SOFT, va="center", transform=panel.get_yaxis_transform())
    entry = find_quantity(response)
    name_axes(panel, x=entry.axis_label if entry else response.replace(":", ": "))


def _draw_mean(panel: Axes, span: dict[Any, Any]) -> None:
    ends, row = (span["ci_low"], span["ci_high"]), span["row"]
    panel.plot(ends, (row, row), color=INK, linewidth=1.2, zorder=4)
    panel.plot(span["estimate"], row, marker="D", markersize=4.2, markerfacecolor=PAPER,
               markeredgecolor=INK, markeredgewidth=1.0, zorder=5)  # fmt: skip
