"""The figures of the page, each drawn once, as markup with words for those who cannot see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import count, html_text, listing
from yieldwright.plots import (
    effects,
    off_screen,
    png_data_uri,
    strength_extraction,
    svg_text,
    timeline,
)
from yieldwright.plots.paper import figure_of
from yieldwright.plots.saving import MOST_VECTOR_MARKS
from yieldwright.review.effect_rows import response_label

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from yieldwright.review.findings import WeekendReview
    from yieldwright.review.sets import SetFindings
    from yieldwright.taste.effects_fit import EffectsFit

__all__ = ["MOST_IN_A_ROW", "draw_figures", "shown_in_a_row"]

#: More shots than this in a row are a smear on a page's width.
MOST_IN_A_ROW = 120

_PX_PER_INCH = 96


def draw_figures(review: WeekendReview) -> dict[str, str]:
    r"""Return the figures of the page as markup: chart, timeline and effects.

    Parameters
    ----------
    review : WeekendReview
        The findings.

    Returns
    -------
    dict of str to str
        SVG elements by name, empty where there is nothing to draw. A figure with very
        many marks holds them as a picture.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.review import review_weekend
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g,beverage_g,tds_pct\n1,18,36,9\n", encoding="utf-8")
    ...     figures = draw_figures(review_weekend(read_log(path)))
    >>> [name for name, markup in figures.items() if markup]
    ['chart', 'timeline']
    """
    with off_screen():
        return {
            "chart": _chart(review),
            "timeline": _timeline(review.reviewed.shots),
            "effects": _effects(review),
        }


def shown_in_a_row(shots: pd.DataFrame) -> pd.DataFrame:
    """Return the newest shots, as many as a row of marks can show.

    Parameters
    ----------
    shots : DataFrame
        One row per shot, in time order.

    Returns
    -------
    DataFrame

    Examples
    --------
    >>> import pandas as pd
    >>> len(shown_in_a_row(pd.DataFrame({"shot": range(500)})))
    120
    """
    return shots.tail(MOST_IN_A_ROW)


def _chart(review: WeekendReview) -> str:
    placement = review.placement
    if not placement.n_shots:
        return ""
    alt = f"Chart of strength against extraction yield. {' '.join(placement.sentences)}"
    return _markup(strength_extraction(placement), "chart", alt, n_marks=placement.n_shots)


def _timeline(shots: pd.DataFrame) -> str:
    """Return yield, or where there is none time, of the newest shots in the order of pulling."""
    measured = (
        name for name in ("ey_pct", "time_s") if name in shots and shots[name].notna().any()
    )
    response = next(measured, None)
    if response is None:
        return ""
    shown = shown_in_a_row(shots)
    what = {"ey_pct": "Extraction yield", "time_s": "Shot time"}[response]
    failed = int((shown["fate"] != "pulled").sum()) if "fate" in shown else 0
    alt = (
        f"{what} of {count(len(shown), 'shot')} in the order they were pulled, with the settings "
        f"between their changes; {count(failed, 'failed shot')}. The table below has the values."
    )
    return _markup(timeline(shown, response=response), "timeline", alt, n_marks=len(shown))


def _effects(review: WeekendReview) -> str:
    fits = [fit for fit in review.main.fits if _is_drawn(fit, review.main)] if review.main else []
    if not fits:
        return ""
    what = listing([response_label(fit.response) for fit in fits])
    alt = (
        f"Effect of each practical step on {what}, with 95 % intervals. The table beside it has "
        "the values."
    )
    return _markup(effects(fits), "effects", alt, n_marks=0)


def _is_drawn(fit: EffectsFit, main: SetFindings) -> bool:
    """Return whether the line of a fit is to be read: not where scores count as steps."""
    steps = main.steps
    return fit.answered and not (steps and steps.chosen and steps.response == fit.response)


def _markup(axes: Axes, name: str, alt: str, *, n_marks: int) -> str:
    figure = figure_of(axes)
    if n_marks <= MOST_VECTOR_MARKS:
        return svg_text(figure, salt=name, alt=alt)
    wide, high = (round(inches * _PX_PER_INCH) for inches in figure.get_size_inches())
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" '
        f'height="{high}" role="img" aria-label="{html_text(alt)}">'
        f'<image href="{png_data_uri(figure)}" width="{wide}" height="{high}"/></svg>'
    )
