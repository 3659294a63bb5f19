"""What the page says of how steady the bench is: spread, instruments, alarms and people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, count, listing, sentence_case
from yieldwright.repeatability.charts.watch_cautions import AGE_STAYS
from yieldwright.repeatability.charts.watch_texts import alarms_in_short
from yieldwright.repeatability.spread.steadiness_words import limit_sentence, spread_sentences
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.review.sets import SetFindings

__all__ = ["lines_on_screen", "steady_lines"]

_WIDTH = 300

#: Sentences about people on the page, the first ones: who was compared in how many shots comes
#: before what differs.
_ABOUT_PEOPLE = 6


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
    of_yield = [each for each in main.spreads if each.column == "ey_pct"]
    limits = filter(None, map(limit_sentence, of_yield))
    return (
        *spread_sentences(main.spreads), *main.instruments.sentences, *limits, *_alarms(main)
    )  # fmt: skip


def lines_on_screen(main: SetFindings) -> tuple[str, ...]:
    """Return what a sheet of paper has no room for: quiet charts, and how people compare.

    Parameters
    ----------
    main : SetFindings
        The bag and grinder of the page.

    Returns
    -------
    tuple of str
        Of people nothing where one alone pulled, or nobody was named; where several cannot be
        compared, why not.
    """
    return (*_quiet(main), *_people(main))


def _alarms(main: SetFindings) -> Iterator[str]:
    for each in (each for each in main.watched if each.alarms):
        label = sentence_case(column_label(each.response))
        aged = any(caution.code == AGE_STAYS for caution in each.cautions)
        or_coffee = " What age did to the coffee is in that." if aged else ""
        yield f"{label} in the order pulled: {alarms_in_short(each)}{or_coffee}"


def _quiet(main: SetFindings) -> Iterator[str]:
    quiet = [column_label(each.response) for each in main.watched if not each.alarms]
    if quiet:
        shows = "show" if len(quiet) > 1 else "shows"
        yield f"In the order pulled, settings taken out, {listing(quiet)} {shows} no alarm."


def _people(main: SetFindings) -> Iterator[str]:
    if main.why_no_people:
        yield f"{sentence_case(main.why_no_people)}."
    said = () if main.people is None else main.people.sentences
    yield from (clip(each, _WIDTH) for each in said[:_ABOUT_PEOPLE])
    more = len(said) - _ABOUT_PEOPLE
    if more > 0:
        yield f"{count(more, 'further sentence')} on people: yieldwright steady says all."
