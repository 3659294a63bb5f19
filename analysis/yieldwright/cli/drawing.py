"""Figures of an answer, written into a folder: of each part that has something to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from yieldwright.results import Result

__all__ = ["by_kind", "draw_parts"]


def by_kind(part: Result) -> str:
    """Return what the figure of a part is called where there is one of its kind.

    Parameters
    ----------
    part : Result
        A part with a drawing.

    Returns
    -------
    str
    """
    return part.drawing.replace("_", "-")


def draw_parts(
    parts: Iterable[Result], folder: Path, *, called: Callable[[Result], str] = by_kind
) -> tuple[str, ...]:
    """Return the names of the figures written, one for each name that parts are called by.

    Parameters
    ----------
    parts : iterable of Result
        Those without a drawing, or without a row in their table, are passed over.
    folder : Path
        Where to write; it exists.
    called : callable
        From a part to the name of its file, in letters that any path holds.

    Returns
    -------
    tuple of str

    Raises
    ------
    NotWritableError
        If a figure cannot be written.

    Examples
    --------
    >>> from pathlib import Path
    >>> draw_parts([], Path())
    ()
    """
    from yieldwright.plots import off_screen, save_figures
    from yieldwright.plots.paper import figure_of

    named = {called(part): part for part in parts if part.drawing and not part.to_frame().empty}
    with off_screen():
        drawn = {name: figure_of(part.plot()) for name, part in named.items()}
        return tuple(path.name for path in save_figures(folder, drawn, formats=("svg",)))
