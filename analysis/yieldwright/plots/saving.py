"""Figures as markup and as files: the same bytes for the same figure, on any machine."""

from __future__ import annotations

import base64
import io
import re
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
from matplotlib.collections import PathCollection

from yieldwright.formatting import html_text
from yieldwright.plots.theme import PAPER
from yieldwright.shotlog.writing import write_atomically

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from matplotlib.figure import Figure

__all__ = [
    "MOST_VECTOR_MARKS",
    "count_marks",
    "figure_markup",
    "png_data_uri",
    "save_figures",
    "svg_text",
]

#: A figure with more marks than this is lighter as a picture of dots.
MOST_VECTOR_MARKS = 500

_DPI = 200
_SAVED_AS_DRAWN: dict[Any, Any] = {
    "svg.fonttype": "path",
    "savefig.bbox": "standard",
    "savefig.edgecolor": "auto",
    "savefig.transparent": False,
}
_NOTHING_DATED = {"Date": None, "Creator": None, "Format": None, "Type": None}
_ROOT = re.compile(r"<svg\b[^>]*?\bviewBox=\"([^\"]*)\"[^>]*>")
_DROPPED = re.compile(
    r"<!--.*?-->|<metadata>.*?</metadata>|<defs>\s*<style.*?</style>\s*</defs>", re.DOTALL
)
_REFERENCE = re.compile(r"(xlink:href=\"#|url\(#)([^\")]+)")
_IDENTITY = re.compile(r" id=\"([^\"]+)\"")
_COORDINATES = re.compile(r" (?:d|x|y|points)=\"[^\"]*\"|translate\([^)]*\)")
_LONG_FRACTION = re.compile(r"-?\d+\.\d{3,}")
_UNSAFE = re.compile(r"[^a-z0-9-]+")


def svg_text(figure: Figure, *, salt: str, alt: str) -> str:
    """Return a figure as SVG to stand inside a page.

    Parameters
    ----------
    figure : Figure
        What to show.
    salt : str
        Word that sets this figure's names apart from those of others on the page.
    alt : str
        What the figure shows, for those who cannot see it.

    Returns
    -------
    str
        One element without prolog, date or comment; equal figures give equal bytes.

    Notes
    -----
    Letters are drawn as outlines: a page that is read offline looks the same whatever
    fonts the reader has, and no words end up on top of one another. The words of the
    figure are not in the text of the page; `alt` and the page itself carry them. The
    ground is left to the page.

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> svg_text(new_axes(FigureSize(60, 40)).figure, salt="a", alt="nothing yet")[:42]
    '<svg xmlns="http://www.w3.org/2000/svg" xm'
    """
    prefix = _word(salt)
    drawn = io.StringIO()
    with mpl.rc_context(_SAVED_AS_DRAWN | {"svg.hashsalt": prefix}):
        figure.savefig(drawn, format="svg", facecolor="none", metadata=_NOTHING_DATED)
    text = _DROPPED.sub("", drawn.getvalue())
    text = _ROOT.sub(
        lambda root: _opening(figure, root[1], alt), text[text.index("<svg") :], count=1
    )
    text = _renamed(text, prefix)
    text = _COORDINATES.sub(lambda found: _LONG_FRACTION.sub(_rounded, found[0]), text)
    return re.sub(r"\s*\n\s*", "\n", text).strip()


def png_data_uri(figure: Figure, *, dpi: float = _DPI) -> str:
    """Return a figure as a picture in a data address, for the source of an image.

    Parameters
    ----------
    figure : Figure
        What to show.
    dpi : float
        Dots per inch.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> png_data_uri(new_axes(FigureSize(60, 40)).figure)[:26]
    'data:image/png;base64,iVBO'
    """
    return "data:image/png;base64," + base64.b64encode(_png(figure, dpi)).decode("ascii")


def figure_markup(figure: Figure, *, salt: str, alt: str) -> str:
    """Return a figure as markup: SVG, or a picture where it has very many marks.

    Parameters
    ----------
    figure : Figure
        What to show.
    salt : str
        Word that sets this figure's names apart from those of others on the page.
    alt : str
        What the figure shows, for those who cannot see it.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> figure_markup(new_axes(FigureSize(60, 40)).figure, salt="a", alt="nothing yet")[:4]
    '<svg'
    """
    if count_marks(figure) <= MOST_VECTOR_MARKS:
        return svg_text(figure, salt=salt, alt=alt)
    wide, high = (round(inches * 96) for inches in figure.get_size_inches())
    source = png_data_uri(figure)
    return f'<img src="{source}" alt="{html_text(alt)}" width="{wide}" height="{high}">'


def count_marks(figure: Figure) -> int:
    """Return how many scattered marks a figure holds.

    Parameters
    ----------
    figure : Figure
        What is shown.

    Returns
    -------
    int

    Examples
    --------
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> ax = new_axes(FigureSize(60, 40))
    >>> _ = ax.scatter([1, 2, 3], [1, 2, 3])
    >>> count_marks(ax.figure)
    3
    """
    return sum(len(np.atleast_2d(each.get_offsets())) for each in figure.findobj(PathCollection))


def save_figures(
    folder: Path, figures: Mapping[str, Figure], *, formats: Sequence[str] = ("svg", "png")
) -> list[Path]:
    """Write figures into a folder, each file whole or not at all.

    Parameters
    ----------
    folder : Path
        Where to write; the folder must exist.
    figures : mapping of str to Figure
        By the name their files get; anything but letters, digits and hyphens in it
        becomes a hyphen.
    formats : sequence of str
        Kinds of file: svg, png.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    NotWritableError
        If a file cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> from pathlib import Path
    >>> from yieldwright.plots.paper import FigureSize, new_axes
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     written = save_figures(Path(folder), {"chart": new_axes(FigureSize(60, 40)).figure})
    >>> [path.name for path in written]
    ['chart.svg', 'chart.png']
    """
    return [
        write_atomically(folder / f"{_word(name)}.{kind}", _file_content(figure, name, kind))
        for name, figure in figures.items()
        for kind in formats
    ]


def _file_content(figure: Figure, name: str, kind: str) -> str | bytes:
    if kind == "png":
        return _png(figure, _DPI, ground=PAPER)
    return svg_text(figure, salt=name, alt=name) + "\n"


def _png(figure: Figure, dpi: float, *, ground: str = "none") -> bytes:
    drawn = io.BytesIO()
    with mpl.rc_context(_SAVED_AS_DRAWN):
        figure.savefig(drawn, format="png", dpi=dpi, facecolor=ground, metadata={"Software": None})
    return drawn.getvalue()


def _opening(figure: Figure, view: str, alt: str) -> str:
    """Return the opening tag: names and sizes, and the line ends that every shape shares."""
    wide_mm, high_mm = (25.4 * inches for inches in figure.get_size_inches())
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'viewBox="{view}" width="{wide_mm:.1f}mm" height="{high_mm:.1f}mm" role="img" '
        f'aria-label="{html_text(alt)}" stroke-linejoin="round" stroke-linecap="butt">'
    )


def _renamed(text: str, prefix: str) -> str:
    """Return markup whose names start with a prefix, without those that nothing refers to."""
    used = {name for _, name in _REFERENCE.findall(text)}
    text = _REFERENCE.sub(lambda found: f"{found[1]}{prefix}-{found[2]}", text)
    return _IDENTITY.sub(
        lambda found: f' id="{prefix}-{found[1]}"' if found[1] in used else "", text
    )


def _rounded(number: re.Match[str]) -> str:
    """Return a coordinate to a hundredth of a point."""
    return f"{float(number[0]):.2f}".rstrip("0").rstrip(".")


def _word(text: str) -> str:
    """Return a text as a word fit for a name in markup and for a file."""
    return _UNSAFE.sub("-", text.lower())[:40].strip("-") or "figure"
