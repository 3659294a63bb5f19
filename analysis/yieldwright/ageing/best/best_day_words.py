"""How the best day of a bag is told, and how it is refused."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.taste.words.wording import response_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.best.best_day import BestDay
    from yieldwright.ageing.trend.model import TrendModel

__all__ = ["best_day_sentences"]


def best_day_sentences(found: BestDay, model: TrendModel) -> Iterator[str]:
    """Yield the best day with its limits, or why none is told.

    Parameters
    ----------
    found : BestDay
        Without sentences yet.
    model : TrendModel
        What it comes from.

    Yields
    ------
    str
    """
    noun = response_words(found.response, model.rows.bench).noun
    tried = f"day {found.first:g} to day {found.last:g}"
    best = "highest" if found.top else "lowest"
    if found.verdict in ("told", "open"):
        yield _day(found, noun, best)
    elif found.verdict == "unsure":
        yield (
            f"No best day can be told: a curve would put it about day "
            f"{found.ages.estimate:.0f}, but lines that need not turn there fit "
            "the shots as well. Three shots each early, in the middle and late, at one setting, "
            "would tell."
        )
    elif found.verdict == "edge":
        yield _edge(found, noun, best)
    elif found.verdict == "other way":
        turn = "lowest" if found.top else "highest"
        yield (
            f"No best day: between {tried} the {noun} bends the other way and is {turn} about day "
            f"{found.ages.estimate:.0f}; it is best at an end of what was tried."
        )
    else:
        yield (
            f"No best day can be told: from {tried} the {noun} does not bend clearly, and an "
            "age that this log merely happens to favour would be luck. Three shots each early, in "
            "the middle and late, at one setting, would show a bend."
        )


def _day(found: BestDay, noun: str, best: str) -> str:
    day = f"{found.ages.estimate:.0f}"
    if found.verdict == "told":
        return (
            f"The {noun} is {best} about day {day} after the roast (95 % limits day "
            f"{found.low:.0f} to {found.high:.0f})."
        )
    if math.isinf(found.high):
        known, side = f"not before day {found.low:.0f}", "later"
    else:
        known, side = f"not after day {found.high:.0f}", "earlier"
    return (
        f"The {noun} is {best} about day {day} after the roast: {known} (95 %). How much "
        f"{side} it may be, the shots from day {found.first:g} to day {found.last:g} leave open."
    )


def _edge(found: BestDay, noun: str, best: str) -> str:
    early = found.ages.estimate <= (found.first + found.last) / 2
    end, before = ("first", "at or before") if early else ("last", "at or after")
    day = found.first if early else found.last
    advice = "an earlier start with the next bag" if early else "shots on later days"
    return (
        f"No best day is told: the {noun} is {best} {before} the {end} day tried ({day:g}), and "
        f"a best day at an edge is no best day; {advice} would show it."
    )
