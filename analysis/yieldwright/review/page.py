"""The weekend page: one HTML file that needs nothing else, on two printed sides."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.review.rendering import fill_template

if TYPE_CHECKING:
    from yieldwright.review.findings import WeekendReview

__all__ = ["render_page"]


def render_page(review: WeekendReview) -> str:
    r"""Return the weekend page as one self-contained HTML document.

    Parameters
    ----------
    review : WeekendReview
        The findings.

    Returns
    -------
    str
        The same findings give the same text. Nothing in it is loaded from anywhere,
        nothing in it runs, and every text from the log is escaped.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.review import review_weekend
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     page = render_page(review_weekend(read_log(path)))
    >>> "<title>Weekend review</title>" in page
    True
    """
    return fill_template("weekend.html.j2", review.sheet, figures=review.figures)
