"""The findings as an HTML fragment, for a notebook to show."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.review.rendering import fill_template

if TYPE_CHECKING:
    from yieldwright.review.sheet import Sheet

__all__ = ["render_fragment"]


def render_fragment(sheet: Sheet) -> str:
    r"""Return the texts and tables of a sheet in the plain look of the notebook.

    Parameters
    ----------
    sheet : Sheet
        The texts.

    Returns
    -------
    str
        Figures are left to `plot`.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.review import review_weekend
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     render_fragment(review_weekend(read_log(path)).sheet)[:18]
    '<section lang="en"'
    """
    return fill_template("fragment.html.j2", sheet)
