"""The marks of shots, drawn by seaborn: colour and shape say the same thing twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.plots.theme import INK, LOOKS

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

__all__ = ["draw_marks"]

#: From this many marks on, smaller ones without an outline tell more.
_CROWD = 500
_AREA = 28
_SMALL_AREA = 7


def draw_marks(ax: Axes, table: pd.DataFrame, *, x: str, y: str, kind: str) -> None:
    """Draw one mark per row, its colour and shape by kind, rarer kinds on top.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    table : DataFrame
        One row per mark.
    x, y : str
        Columns to place it by.
    kind : str
        Column that names its look.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(60, 40))
    >>> table = pd.DataFrame({"x": [1.0, 2.0], "y": [1.0, 2.0], "kind": ["counted", "choked"]})
    >>> draw_marks(ax, table, x="x", y="y", kind="kind")
    >>> len(ax.collections[0].get_offsets())
    2
    """
    import seaborn as sns

    if table.empty:
        return
    counts = table[kind].map(table[kind].value_counts())
    ordered = table.iloc[(-counts).argsort(kind="stable")]
    kinds = list(dict.fromkeys(ordered[kind]))
    crowded = len(table) >= _CROWD
    # Axes that carry labels are not searched for whether their ticks show, which makes them all.
    ax.set(xlabel=x, ylabel=y)
    sns.scatterplot(
        data=ordered,
        x=x,
        y=y,
        hue=kind,
        style=kind,
        hue_order=kinds,
        style_order=kinds,
        palette={name: LOOKS[name].fill for name in kinds},
        markers={name: LOOKS[name].marker for name in kinds},
        s=_SMALL_AREA if crowded else _AREA,
        alpha=0.6 if crowded else 1.0,
        edgecolor=INK,
        linewidth=0.0 if crowded else 0.6,
        zorder=4,
        legend=False,
        ax=ax,
    )
    ax.set(xlabel="", ylabel="")
