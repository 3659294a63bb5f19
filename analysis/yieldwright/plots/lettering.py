"""Words on a figure: never parsed, never too long, never on top of one another."""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.ticker import FuncFormatter

from yieldwright.formatting import MINUS, clip, visible
from yieldwright.plots.paper import dots_per_point
from yieldwright.plots.theme import FAMILY, INK, MEDIUM_PT, SMALL_PT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.text import Text

__all__ = [
    "best_spot",
    "drawable",
    "letter",
    "letter_within",
    "name_axes",
    "sign_ticks",
    "text_box",
]

_LONGEST = 40
_LONGEST_LINE = 140
_STAND_IN = "?"
#: The narrowest common letters take up about this share of the size of the lettering.
_NARROWEST_EM = 0.28


def drawable(text: str, *, longest: int = _LONGEST) -> str:
    r"""Return a text from a log as a figure can draw it: one line, clipped.

    Parameters
    ----------
    text : str
        From a log.
    longest : int
        Characters at most.

    Returns
    -------
    str
        What the font has no shape for becomes a question mark.

    Examples
    --------
    >>> drawable("bag\n\N{CLINKING BEER MUGS}"), drawable("x" * 9, longest=4)
    ('bag ?', 'xxx…')
    """
    clipped = clip(visible(unicodedata.normalize("NFC", text[: 4 * longest])), longest)
    known = _known_characters()
    return "".join(each if ord(each) in known else _STAND_IN for each in clipped)


def letter(ax: Axes, x: float, y: float, text: str, **style: Any) -> Text:  # noqa: ANN401
    """Draw words on axes in our lettering; dollar signs and the like stay what they are.

    Parameters
    ----------
    ax : Axes
        Where to draw.
    x, y : float
        Position, in data unless `style` names another transform.
    text : str
        The words; a line break in them is meant.
    **style : object
        Properties of the drawing library's text.

    Returns
    -------
    Text

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> letter(new_axes(FigureSize(60, 40)), 0.5, 0.5, "$^$").get_text()
    '$^$'
    """
    lines = [drawable(line, longest=_LONGEST_LINE) for line in text.split("\n")]
    look: dict[str, Any] = {
        "fontsize": SMALL_PT,
        "fontfamily": FAMILY,
        "color": INK,
        "linespacing": 1.15,
    }
    return ax.text(x, y, "\n".join(lines), parse_math=False, **(look | style))


def name_axes(ax: Axes, *, x: str = "", y: str = "") -> None:
    """Label the two axes in our lettering.

    Parameters
    ----------
    ax : Axes
        What to label.
    x, y : str
        Words, empty for none.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(60, 40))
    >>> name_axes(ax, x="Extraction yield [% by mass]")
    >>> ax.get_xlabel()
    'Extraction yield [% by mass]'
    """
    look: dict[str, Any] = {"fontsize": MEDIUM_PT, "fontfamily": FAMILY, "color": INK}
    ax.set_xlabel(drawable(x, longest=_LONGEST_LINE), labelpad=3, parse_math=False, **look)
    ax.set_ylabel(drawable(y, longest=_LONGEST_LINE), labelpad=4, parse_math=False, **look)


def sign_ticks(axis: Axis) -> None:
    """Write a sign before every number of a scale of differences but zero.

    Parameters
    ----------
    axis : Axis
        Of differences.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(60, 40))
    >>> sign_ticks(ax.xaxis)
    >>> [ax.xaxis.get_major_formatter()(tick) for tick in (-0.5, 0, 2)]
    ['−0.5', '0', '+2']
    """
    axis.set_major_formatter(FuncFormatter(_with_sign))


def text_box(text: Text, *, padding_px: float = 0.0) -> np.ndarray:
    """Return the box a text takes up: left, bottom, right, top, in pixels of its figure.

    Parameters
    ----------
    text : Text
        Drawn on a figure.
    padding_px : float
        Added on every side.

    Returns
    -------
    ndarray, shape (4,)

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(60, 40))
    >>> wide, narrow = letter(ax, 0, 0, "wide words"), letter(ax, 0, 0, "w")
    >>> bool(text_box(wide)[2] > text_box(narrow)[2])
    True
    """
    return np.array(text.get_window_extent().padded(padding_px).extents)


def best_spot(
    text: Text, spots: Sequence[tuple[float, float, str, str]], taken: np.ndarray
) -> int:
    """Move a text to the first of some spots that covers the fewest things.

    Parameters
    ----------
    text : Text
        What to move.
    spots : sequence of tuple
        Position in the text's own coordinates, horizontal and vertical alignment.
    taken : ndarray, shape (n, 4)
        Boxes not to cover, in pixels.

    Returns
    -------
    int
        How many things it still covers.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> text = letter(new_axes(FigureSize(60, 40)), 0, 0, "word")
    >>> spots = [(0, 0, "left", "bottom"), (0.5, 0.5, "left", "top")]
    >>> best_spot(text, spots, text_box(text)[None, :])
    0
    """
    covered: list[int] = []
    for spot in spots:
        _move(text, spot)
        covered.append(_overlaps(text_box(text, padding_px=1.0), taken))
        if not covered[-1]:
            return 0
    _move(text, spots[covered.index(min(covered))])
    return min(covered)


def letter_within(ax: Axes, start: float, end: float, y: float, text: str, **style: Any) -> None:  # noqa: ANN401
    """Draw words in the middle of a stretch of the x axis, or nothing where they do not fit.

    Parameters
    ----------
    ax : Axes
        Where to draw, its limits set.
    start, end : float
        The stretch, in data.
    y : float
        Height, as a share of the axes.
    text : str
        The words.
    **style : object
        Properties of the drawing library's text.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(60, 40))
    >>> letter_within(ax, 0.0, 0.1, 0.5, "far too many words")
    >>> len(ax.texts)
    0
    """
    left, right = ax.transData.transform([[start, 0], [end, 0]])[:, 0]
    # Measuring a text costs far more than ruling out the hopeless by their length.
    if right - left < len(text) * _NARROWEST_EM * SMALL_PT * dots_per_point(ax):
        return
    drawn = letter(ax, (start + end) / 2, y, text, transform=ax.get_xaxis_transform(),
                   ha="center", **style)  # fmt: skip
    box = text_box(drawn)
    if box[2] - box[0] > right - left:
        drawn.remove()


def _with_sign(value: float, _: int | None = None) -> str:
    return f"{value:+.4g}".replace("-", MINUS) if value else "0"


def _move(text: Text, spot: tuple[float, float, str, str]) -> None:
    x, y, across, up = spot
    text.set(x=x, y=y, horizontalalignment=across, verticalalignment=up)


def _overlaps(box: np.ndarray, others: np.ndarray) -> int:
    """Return how many boxes one box lies over."""
    apart = (others[:, :2] > box[2:]).any(axis=1) | (others[:, 2:] < box[:2]).any(axis=1)
    return int((~apart).sum())


@cache
def _known_characters() -> frozenset[int]:
    """Return the characters our font has a shape for."""
    return frozenset(get_font(findfont(FontProperties(family=FAMILY))).get_charmap())
