"""The head of the page: its title, and the fields of the label below it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, count, listing
from yieldwright.taste.words.bag_words import bags_called

if TYPE_CHECKING:
    import datetime as dt

    from yieldwright.bench import Recipe
    from yieldwright.review.findings import WeekendReview
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["label_of", "set_name", "title_of"]

_NAME_WIDTH = 32


def title_of(review: WeekendReview) -> str:
    r"""Return the title of the page, with the days under review where they are known.

    Parameters
    ----------
    review : WeekendReview
        The findings.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.review import review_weekend
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,pulled_on\n1,2026-03-07\n", encoding="utf-8")
    ...     title_of(review_weekend(read_log(path)))
    'Weekend review, 7 March 2026'
    """
    first, last = review.reviewed.first_day, review.reviewed.last_day
    if first is None or last is None:
        return "Weekend review"
    return f"Weekend review, {_day_span(first, last)}"


def set_name(comparable: ComparableSet) -> str:
    """Return bag and grinder in words, without saying "bag bag".

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> set_name(ComparableSet("bag-7", "mill-1", pd.DataFrame()))
    'bag-7 on mill-1'
    """
    bag, grinder = clip(comparable.bag, _NAME_WIDTH), clip(comparable.grinder, _NAME_WIDTH)
    of_bag = bags_called([bag] if bag else [])
    return " on ".join(filter(None, (of_bag, grinder))) or "one unnamed bag and grinder"


def _day_span(first: dt.date, last: dt.date) -> str:
    if first == last:
        return _day(last)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}–{_day(last)}"
    start = f"{first.day} {first:%B}" if first.year == last.year else _day(first)
    return f"{start} – {_day(last)}"


def _day(day: dt.date) -> str:
    return f"{day.day} {day:%B %Y}"


def label_of(review: WeekendReview) -> tuple[tuple[str, str], ...]:
    r"""Return the fields of the label: what was reviewed, fitted and aimed at.

    Parameters
    ----------
    review : WeekendReview
        The findings.

    Returns
    -------
    tuple of pairs of str
        Name and text of each field.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.review import review_weekend
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     label_of(review_weekend(read_log(path)))[2]
    ('Reviewed', '1 shot in 1 session')
    """
    main = review.main
    shots = review.reviewed.shots
    sessions = shots["session"].nunique() if "session" in shots else 0
    fields = [("Reviewed", _shots_in(review.n_shots, sessions))]
    if main is not None:
        comparable = main.comparable
        others = sorted({each.comparable.bag for each in review.sets[1:]} - {comparable.bag, ""})
        fitted = max((fit.n_shots for fit in main.fits), default=0)
        fields = [
            ("Bag", _bag(comparable.bag, others)),
            ("Grinder", clip(comparable.grinder, _NAME_WIDTH) or "not named"),
            *fields,
            ("Fitted, same bag and grinder", count(fitted, "shot")),
        ]
    return (*fields, ("Aimed at", _aim(review.log.bench.recipe)))


def _bag(main: str, others: list[str]) -> str:
    name = clip(main, _NAME_WIDTH) or "not named"
    if not others:
        return name
    named = f"{name}; also {listing(others)}"
    return named if len(named) <= _NAME_WIDTH else f"{name} and {len(others)} more"


def _shots_in(n_shots: int, n_sessions: int) -> str:
    return f"{count(n_shots, 'shot')} in {count(n_sessions, 'session')}"


def _aim(recipe: Recipe) -> str:
    dose = f"{recipe.dose_g:g} g" if recipe.dose_g is not None else ""
    cup = f"{recipe.beverage_g:g} g" if recipe.beverage_g is not None else ""
    masses = " → ".join(filter(None, (dose, cup)))
    time = f"{recipe.time_s:g} s" if recipe.time_s is not None else ""
    return " in ".join(filter(None, (masses, time))) or "no recipe stated"
