"""What the page says of how steady the bench is: spread, instruments, alarms and people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, listing, sentence_case
from yieldwright.repeatability.charts.watch_texts import alarms_in_short
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.review.sets import SetFindings

__all__ = ["lines_on_screen", "steady_lines"]

_WIDTH = 300

#: Sentences about people on the page: levels, spreads, and whether they can be ranked.
_ABOUT_PEOPLE = slice(1, 4)


def steady_lines(main: SetFindings) -> tuple[str, ...]:
    """Return how much shots differ, what the instruments cause of it, and what alarms.

    Parameters
    ----------
    main : SetFindings
        The bag and grinder of the page.

    Returns
    -------
    tuple of str
    """
    of_shots = (sentence for each in main.spreads for sentence in each.sentences)
    return (*of_shots, *main.instruments.sentences, *_alarms(main))


def lines_on_screen(main: SetFindings) -> tuple[str, ...]:
    """Return what a sheet of paper has no room for: quiet charts, and how people compare.

    Parameters
    ----------
    main : SetFindings
        The bag and grinder of the page.

    Returns
    -------
    tuple of str
        Of people nothing where one alone pulled, or nobody was named.
    """
    people = () if main.people is None else main.people.sentences[_ABOUT_PEOPLE]
    return (*_quiet(main), *(clip(each, _WIDTH) for each in people))


def _alarms(main: SetFindings) -> Iterator[str]:
    for each in (each for each in main.watched if each.alarms):
        label = sentence_case(column_label(each.response))
        yield f"{label} in the order pulled: {alarms_in_short(each)}"


def _quiet(main: SetFindings) -> Iterator[str]:
    quiet = [column_label(each.response) for each in main.watched if not each.alarms]
    if quiet:
        shows = "show" if len(quiet) > 1 else "shows"
        yield f"In the order pulled, settings taken out, {listing(quiet)} {shows} no alarm."
