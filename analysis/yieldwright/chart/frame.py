"""What stretch of the chart to show: the window, and the shots but for far outliers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.glossary import EXTRACTION_CEILING_PCT

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Window

__all__ = ["ChartFrame", "chart_frame"]

#: Room shown beyond each edge of the window, in widths of the window.
_BESIDE_WINDOW = 0.55
#: A shot this many interquartile ranges beyond the quartiles does not stretch the frame …
_FENCE = 3.0
#: … unless it lies within this many widths of the window.
_NEAR_WINDOW = 1.25
_PADDING = 0.04


@dataclass(frozen=True, slots=True)
class ChartFrame:
    """The stretch of the chart to show.

    Attributes
    ----------
    ey_limits : tuple of float
        Left and right edge. [% by mass]
    tds_limits : tuple of float
        Bottom and top edge. [% by mass]
    outside : tuple of str
        Names of the shots that lie beyond the frame.
    """

    ey_limits: tuple[float, float]
    tds_limits: tuple[float, float]
    outside: tuple[str, ...] = ()


def chart_frame(placed: pd.DataFrame, window: Window) -> ChartFrame:
    """Return the frame that shows the window and the shots, far outliers left out.

    Parameters
    ----------
    placed : DataFrame
        One row per shot: `shot`, `ey_pct`, `tds_pct`.
    window : Window
        The target. [% by mass]

    Returns
    -------
    ChartFrame

    Notes
    -----
    One mistyped shot must not squash all others into a corner. A shot above what water can
    dissolve, or one further than three interquartile ranges from the quartiles and not near
    the window either, does not stretch the frame; if it lies beyond, `outside` names it.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Window
    >>> shots = pd.DataFrame({"shot": ["1", "2"], "ey_pct": [20.0, 80.0], "tds_pct": [9.0, 9.5]})
    >>> chart_frame(shots, Window()).outside
    ('2',)
    """
    true = placed[placed["ey_pct"] <= EXTRACTION_CEILING_PCT]
    across = _limits(true["ey_pct"].to_numpy(), window.yield_low_pct, window.yield_high_pct)
    up = _limits(true["tds_pct"].to_numpy(), window.strength_low_pct, window.strength_high_pct)
    inside = placed["ey_pct"].between(*across) & placed["tds_pct"].between(*up)
    return ChartFrame(across, up, tuple(placed.loc[~inside, "shot"].astype("str")))


def _limits(values: np.ndarray, low: float, high: float) -> tuple[float, float]:
    """Return limits that hold the window and the values within the fence."""
    width = high - low
    shown = values[_within_fence(values, low - _NEAR_WINDOW * width, high + _NEAR_WINDOW * width)]
    padding = _PADDING * (max([high, *shown]) - min([low, *shown]))
    bottom = min([low - _BESIDE_WINDOW * width, *(shown - padding)])
    top = max([high + _BESIDE_WINDOW * width, *(shown + padding)])
    step = _round_step(top - bottom)
    return max(math.floor(bottom / step) * step, 0.0), math.ceil(top / step) * step


def _within_fence(values: np.ndarray, near_low: float, near_high: float) -> np.ndarray:
    if not len(values):
        return np.zeros(0, dtype=bool)
    first, third = np.quantile(values, [0.25, 0.75])
    reach = _FENCE * (third - first)
    fence = min(first - reach, near_low), max(third + reach, near_high)
    within: np.ndarray = (values >= fence[0]) & (values <= fence[1])
    return within


def _round_step(span: float) -> float:
    """Return a power of ten, or half or a fifth of one, about a twentieth of a span."""
    power: float = 10.0 ** math.floor(math.log10(span / 20))
    return next(power * factor for factor in (1, 2, 5, 10) if power * factor >= span / 20)
