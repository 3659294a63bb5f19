"""Lanes below a row of shots: which settings they had, and where those changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from pandas.api.types import is_numeric_dtype

from yieldwright.formatting import number
from yieldwright.glossary import quantity
from yieldwright.plots.lettering import drawable, letter, letter_within
from yieldwright.plots.paper import points_high, shifted
from yieldwright.plots.theme import SOFT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["LABEL_PT", "LANE_PT", "changing_settings", "draw_lanes", "stretches"]

#: Height of a lane with the gap below it.
LANE_PT = 11.5
_GAP_PT = 2.0
#: Distance of the names of the lanes from the axes.
LABEL_PT = 5.0
_GROUNDS = ("#f1efe8", "#bdbcb2")
_MOST_NAMED = 12
_SETTINGS = ("bag", "grinder", "grind_setting", "temp_band", "taper_bar")
_LONGEST = 14
#: Between two blocks, as a share of the place one shot takes up.
_GAP = 0.04


def changing_settings(shots: pd.DataFrame) -> list[str]:
    """Return the settings that took more than one value.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.

    Returns
    -------
    list of str

    Examples
    --------
    >>> changing_settings(pd.DataFrame({"bag": ["a", "a"], "grind_setting": [11.0, 12.0]}))
    ['grind_setting']
    """
    return [name for name in _SETTINGS if name in shots and len(shots[name].dropna().unique()) > 1]


def draw_lanes(ax: Axes, shots: pd.DataFrame, *, below_pt: float) -> None:
    """Draw a lane per changing setting below the axes, a block per stretch without a change.

    Parameters
    ----------
    ax : Axes
        Shots stand at 0, 1, 2 … along its x axis.
    shots : DataFrame
        One row per shot, in the order drawn.
    below_pt : float
        How far below the axes the first lane starts.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(180, 60))
    >>> _ = ax.set_xlim(-0.5, 1.5)
    >>> draw_lanes(ax, pd.DataFrame({"grind_setting": [11.0, 12.0]}), below_pt=10)
    >>> [text.get_text() for text in ax.texts]
    ['grind setting', '11', '12']
    """
    point = 1 / points_high(ax)
    for place, name in enumerate(changing_settings(shots)):
        top = -(below_pt + place * LANE_PT) * point
        _draw_lane(ax, shots[name], top, (LANE_PT - _GAP_PT) * point)


def stretches(values: pd.Series[Any]) -> list[tuple[int, int]]:
    """Return start and end of each stretch of equal values; gaps count as one value.

    Parameters
    ----------
    values : Series
        One value per shot.

    Returns
    -------
    list of pairs of int
        Positions, the end not included.

    Examples
    --------
    >>> stretches(pd.Series(["a", "a", "b"]))
    [(0, 2), (2, 3)]
    """
    numbers = pd.factorize(values)[0]
    starts = [0, *(int(n) + 1 for n in np.flatnonzero(np.diff(numbers)))]
    return list(zip(starts, [*starts[1:], len(numbers)], strict=True)) if len(numbers) else []


def _draw_lane(ax: Axes, values: pd.Series[Any], top: float, high: float) -> None:
    """Draw the blocks of one setting, darker for larger values, named where they fit."""
    beside = shifted(ax, ax.transAxes, right_pt=-LABEL_PT)
    label = _label(values)
    letter(ax, 0, top - high / 2, label, color=SOFT, va="center", ha="right", transform=beside)
    places = _places(values)
    known = [(start, end) for start, end in stretches(values) if pd.notna(values.iloc[start])]
    ax.broken_barh(
        [(start - 0.5 + _GAP, end - start - 2 * _GAP) for start, end in known],
        (top - high, high),
        facecolors=_shades([places.iloc[start] for start, _ in known]),
        transform=ax.get_xaxis_transform(),
        linewidth=0,
        clip_on=False,
    )
    for start, end in known if not _is_a_scale(values) else ():
        name = _shown(values.iloc[start])
        letter_within(ax, start - 0.5, end - 0.5, top - high / 2, name, va="center_baseline")


def _is_a_scale(values: pd.Series[Any]) -> bool:
    """Return whether a setting takes so many values that shades tell more than numbers."""
    return is_numeric_dtype(values) and len(values.dropna().unique()) > _MOST_NAMED


def _label(values: pd.Series[Any]) -> str:
    label = quantity(str(values.name)).label
    words = label[0].lower() + label[1:]
    if not _is_a_scale(values):
        return words
    return f"{words} {number(values.min(), figures=2)}–{number(values.max(), figures=2)}"


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else drawable(str(value), longest=_LONGEST)


def _places(values: pd.Series[Any]) -> pd.Series[float]:
    """Return where each value lies between light and dark: numbers by size, words as met."""
    if is_numeric_dtype(values):
        sizes = values.astype(float)
    else:
        sizes = pd.Series(pd.factorize(values)[0], index=values.index, dtype=float)
    return (sizes - sizes.min()) / (sizes.max() - sizes.min())


def _shades(places: list[float]) -> np.ndarray:
    """Return a ground for each place between light and dark."""
    import seaborn as sns

    shades: np.ndarray = sns.blend_palette(_GROUNDS, as_cmap=True)(places)
    return shades
