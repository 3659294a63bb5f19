"""Figures of an answer, written into a folder: of each part that has something to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from yieldwright.results import Result

__all__ = ["draw_parts"]


def draw_parts(parts: Iterable[Result], folder: Path) -> tuple[str, ...]:
    """Return the names of the figures written, one for each kind of part.

    Parameters
    ----------
    parts : iterable of Result
        Those without a drawing, or without a row in their table, are passed over.
    folder : Path
        Where to write; it exists.

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

    kinds = {part.drawing: part for part in parts if part.drawing and not part.to_frame().empty}
    with off_screen():
        drawn = {name.replace("_", "-"): figure_of(part.plot()) for name, part in kinds.items()}
        return tuple(path.name for path in save_figures(folder, drawn, formats=("svg",)))
