"""Scores and their scale: ends, values outside, bends that no parabola has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import count, percent
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pandas as pd

    from yieldwright.bench import Attribute
    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_scores"]

#: Share of scores at the ends of the scale from which a line misleads.
AT_AN_END = 0.2


def about_scores(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on scores, where scores are what is explained.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    question = fitted.findings.question
    name = attribute_of(question.response)
    if name is None:
        return
    attribute = question.bench.attribute(name)
    if question.response in fitted.shots:
        scores = fitted.shots[question.response].dropna()
        yield from _outside(scores, attribute, question.response)
        yield from _at_an_end(scores, attribute, question.response)
    yield from _bends(fitted)


def _outside(scores: pd.Series[float], attribute: Attribute, response: str) -> Iterator[Caution]:
    outside = int(((scores < attribute.low) | (scores > attribute.high)).sum())
    if outside:
        yield Caution(
            "scores-outside-scale",
            "stop",
            f"{count(outside, 'score')} for {attribute.name} "
            f"{'lies' if outside == 1 else 'lie'} outside the scale "
            f"({attribute.low:g}–{attribute.high:g}).",
            "Correct them, or state the scale in the bench file.",
            (response,),
        )


def _at_an_end(scores: pd.Series[float], attribute: Attribute, response: str) -> Iterator[Caution]:
    share = float(((scores <= attribute.low) | (scores >= attribute.high)).mean())
    if share > AT_AN_END:
        yield Caution(
            "scores-at-an-end",
            "care",
            f"{percent(share)} of the scores for {attribute.name} lie at an end of the scale "
            f"({attribute.low:g}–{attribute.high:g}): a line understates what happens there.",
            "Use more of the scale, or a wider one.",
            (response,),
        )


def _bends(fitted: FittedShots) -> Iterator[Caution]:
    """Say that taste need not follow a parabola: shown for the demo by `tests/evidence`."""
    tried = (each for judged in fitted.findings.judged for each in judged.curvature if each.tried)
    for curve in tried:
        yield Caution(
            "uneven-bend",
            "note",
            f"A score need not bend in {column_label(curve.column)} as evenly as a parabola: the "
            "interval of its average effect may miss more often than 1 time in 20.",
            "Read that effect as a rough average over these shots.",
            (curve.column,),
        )
