"""What the page says of the bag across its age: the drift, the best day, the grind to follow."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.bag_trend import BagTrend

__all__ = ["bag_lines"]

_WIDTH = 300


def bag_lines(trend: BagTrend) -> tuple[str, ...]:
    """Return what to say of a bag across its age, in a few sentences.

    Parameters
    ----------
    trend : BagTrend
        The bag, followed.

    Returns
    -------
    tuple of str
        None where no shot has a roast age: a page has no room for what nobody logs.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.following import follow_set
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("abc"), "time_s": [36.0, 35.0, 37.0]})
    >>> bag_lines(follow_set(ComparableSet("", "", shots), "time_s", bench=Bench()))
    ()
    """
    if trend.drift is None and trend.compensation is None:
        return ()
    return tuple(clip(line, _WIDTH) for line in _lines(trend))


def _lines(trend: BagTrend) -> Iterator[str]:
    yield from (each.caution.text for each in trend.entwined)
    if trend.drift is not None:
        yield trend.drift.sentences[0]
    if trend.best is not None:
        yield trend.best.sentences[0]
    if trend.compensation is not None:
        first, *others = trend.compensation.sentences
        yield others[0] if others and trend.compensation.finer_per_day is not None else first
    if trend.breaks is not None:
        yield from trend.breaks.sentences[:1]
