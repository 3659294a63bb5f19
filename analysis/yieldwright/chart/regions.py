"""The nine regions of the strength/extraction chart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from yieldwright.errors import OutOfRangeError, UnknownNameError

if TYPE_CHECKING:
    from yieldwright.bench import Window

__all__ = ["REGIONS", "Region", "region", "region_codes", "require_window"]


@dataclass(frozen=True, slots=True)
class Region:
    """One of the nine regions.

    Attributes
    ----------
    strength : {"weak", "on_target", "strong"}
        Row of the chart.
    extraction : {"under", "on_target", "over"}
        Column of the chart.
    code : str
        Name of the region in tables.
    label : str
        The region in words.
    """

    strength: Literal["weak", "on_target", "strong"]
    extraction: Literal["under", "on_target", "over"]
    code: str
    label: str

    @property
    def up(self) -> int:
        """Which way it lies off target in strength: −1 weak, 0 on target, +1 strong."""
        return ("weak", "on_target", "strong").index(self.strength) - 1

    @property
    def right(self) -> int:
        """Which way it lies off target in extraction: −1 under, 0 on target, +1 over."""
        return ("under", "on_target", "over").index(self.extraction) - 1


#: Row by row from weak to strong, each from under- to over-extracted.
REGIONS: tuple[Region, ...] = (
    Region("weak", "under", "weak_under", "weak, under-extracted"),
    Region("weak", "on_target", "weak", "weak"),
    Region("weak", "over", "weak_over", "weak, over-extracted"),
    Region("on_target", "under", "under", "under-extracted"),
    Region("on_target", "on_target", "on_target", "on target"),
    Region("on_target", "over", "over", "over-extracted"),
    Region("strong", "under", "strong_under", "strong, under-extracted"),
    Region("strong", "on_target", "strong", "strong"),
    Region("strong", "over", "strong_over", "strong, over-extracted"),
)

_BY_CODE = {each.code: each for each in REGIONS}
_CODES = np.array([each.code for each in REGIONS])


def region(code: str) -> Region:
    """Return the region of a code.

    Parameters
    ----------
    code : str
        Name of the region in tables.

    Returns
    -------
    Region

    Raises
    ------
    UnknownNameError
        If there is no such region.

    Examples
    --------
    >>> region("weak_over").label
    'weak, over-extracted'
    """
    if code not in _BY_CODE:
        raise UnknownNameError(f"no region is named {code!r}; there are {', '.join(_BY_CODE)}")
    return _BY_CODE[code]


def region_codes(
    tds_pct: pd.Series[float], ey_pct: pd.Series[float], window: Window
) -> pd.Series[str]:
    """Return the code of the region each shot lies in; the window's edges belong to it.

    Parameters
    ----------
    tds_pct : Series
        Total dissolved solids of the beverage. [% by mass]
    ey_pct : Series
        Extraction yield. [% by mass]
    window : Window
        The target. [% by mass]

    Returns
    -------
    Series of str
        One code per shot, missing where a value is.

    Raises
    ------
    OutOfRangeError
        If the window has no inside.

    Examples
    --------
    >>> from yieldwright.bench import Window
    >>> region_codes(pd.Series([9.0, 7.9]), pd.Series([22.0, 22.1]), Window()).tolist()
    ['on_target', 'weak_over']
    """
    require_window(window)
    row = _third(tds_pct, window.strength_low_pct, window.strength_high_pct)
    column = _third(ey_pct, window.yield_low_pct, window.yield_high_pct)
    known = (tds_pct.notna() & ey_pct.notna()).to_numpy()
    codes = pd.Series(_CODES[3 * row + column], index=tds_pct.index, dtype="str", name="region")
    return codes.where(known)


def require_window(window: Window) -> None:
    """Return nothing where the window has an inside in both directions.

    Parameters
    ----------
    window : Window
        The target. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a low edge is not below its high edge.

    Examples
    --------
    >>> from yieldwright.bench import Window
    >>> require_window(Window())
    """
    edges = {
        "strength": (window.strength_low_pct, window.strength_high_pct),
        "yield": (window.yield_low_pct, window.yield_high_pct),
    }
    for name, (low, high) in edges.items():
        if not low < high:
            raise OutOfRangeError(
                f"the target window's {name} must run from low to high; "
                f"{name}_low_pct is {low:g} and {name}_high_pct is {high:g} (swapped?)"
            )


def _third(values: pd.Series[float], low: float, high: float) -> np.ndarray:
    """Return 0 below the window, 1 inside or missing, 2 above."""
    return 1 - (values < low).to_numpy(dtype=int) + (values > high).to_numpy(dtype=int)
