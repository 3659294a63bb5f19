"""How our figures look: colours, shapes and lettering, set on each axes alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matplotlib.path import Path
from matplotlib.transforms import Affine2D

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

__all__ = [
    "EDGE",
    "FAMILY",
    "GRID",
    "HATCH",
    "INK",
    "LOOKS",
    "MEDIUM_PT",
    "PAPER",
    "SMALL_PT",
    "SOFT",
    "TINTS",
    "Look",
    "dart",
    "dress",
]

INK = "#22282c"
SOFT = "#5d666d"
EDGE = "#9a9c9a"
GRID = "#dcdad2"
PAPER = "#ffffff"
HATCH = "#e4e1d8"

#: Grounds of the chart's regions by how many ways they lie off target.
TINTS = ("#ffffff", "#f6f4ee", "#ece9e0")

#: Ships with matplotlib, so that a figure looks the same on every machine.
FAMILY = "DejaVu Sans"
MEDIUM_PT = 7.6
SMALL_PT = 6.6

_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Look:
    """Colour and shape of one kind of mark: neither has to be seen for the other to tell.

    Attributes
    ----------
    label : str
        What the mark stands for.
    fill : str
        Colour of its inside.
    marker : str or Path
        Shape, as the drawing library names it.
    """

    label: str
    fill: str
    marker: str | Path


def dart(turn_deg: float) -> Path:
    """Return a dart whose tip points up, turned to the left by an angle.

    Parameters
    ----------
    turn_deg : float
        Angle. [°]

    Returns
    -------
    Path
        A marker: unlike a triangle, a dart points one way only.

    Examples
    --------
    >>> dart(90.0).vertices[0].round(3).tolist()
    [-1.15, 0.0]
    """
    outline = Path(
        [(0.0, 1.15), (-1.0, -0.9), (0.0, -0.45), (1.0, -0.9), (0.0, 1.15)], closed=True
    )
    return outline.transformed(Affine2D().rotate_deg(turn_deg))


_TARGET = "#196c60"
_UNDER = "#5b9bd0"
_OVER = "#6a2714"
_STRENGTH = "#e6b840"

#: Every kind of mark. Lightness differs by 15 or more in L* between any two of the
#: first four fills, and all keep apart for colour-blind eyes: the tests measure it.
LOOKS: dict[str, Look] = {
    "on_target": Look("on target", _TARGET, "o"),
    "under": Look("under-extracted", _UNDER, dart(90)),
    "over": Look("over-extracted", _OVER, dart(270)),
    "strong": Look("strong", _STRENGTH, dart(0)),
    "weak": Look("weak", _STRENGTH, dart(180)),
    "strong_under": Look("strong, under-extracted", _UNDER, dart(45)),
    "weak_under": Look("weak, under-extracted", _UNDER, dart(135)),
    "strong_over": Look("strong, over-extracted", _OVER, dart(315)),
    "weak_over": Look("weak, over-extracted", _OVER, dart(225)),
    "counted": Look("counted", _TARGET, "o"),
    "warm_up": Look("warm-up", PAPER, "o"),
    "transition": Look("after a grind change", PAPER, "D"),
    "choked": Look("choked", _OVER, "X"),
    "gushed": Look("gushed", _UNDER, "P"),
    "channelled": Look("channelled", _STRENGTH, "s"),
    "discarded": Look("discarded", EDGE, "h"),
}


def dress(ax: Axes, *, grid: str = "", bare: Sequence[str] = ("top", "right")) -> None:
    """Give axes our lettering, ticks and lines, leaving every global setting alone.

    Parameters
    ----------
    ax : Axes
        What to dress.
    grid : {"", "x", "y", "both"}
        Which grid lines to draw.
    bare : sequence of str
        Sides without a line.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(180, 60))
    >>> dress(ax, bare=["top"])
    >>> ax.spines["top"].get_visible()
    False
    """
    ax.set_facecolor("none")
    ax.grid(visible=False)
    if grid:
        ax.grid(visible=True, axis=grid, color=GRID, linewidth=0.5)  # type: ignore[arg-type]
    ax.set_axisbelow(True)
    for side, spine in ax.spines.items():
        spine.set(visible=side not in bare, color=EDGE, linewidth=0.6)
    ax.tick_params(
        labelsize=SMALL_PT, labelcolor=INK, labelfontfamily=FAMILY,
        color=EDGE, width=0.6, length=2.5, pad=2.0, direction="out",
    )  # fmt: skip
    for label in (ax.xaxis.label, ax.yaxis.label):
        label.set(fontsize=MEDIUM_PT, fontfamily=FAMILY, color=INK)
