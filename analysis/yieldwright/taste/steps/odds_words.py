"""How odds are said to someone with a cup in hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.formatting import number
from yieldwright.taste.columns.roles import attribute_of

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["higher_words", "odds_amount", "odds_interval", "odds_span"]


def higher_words(response: str, bench: Bench) -> str:
    """Return what the odds are odds of.

    Parameters
    ----------
    response : str
        `score:` and an attribute.
    bench : Bench
        Whose attributes say which way is good.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> higher_words("score:overall", Bench())
    'a higher overall score'
    """
    name = attribute_of(response) or response
    if bench.attribute(name).better == "middle":
        return f"a {name} score nearer the middle of its scale"
    return f"a higher {name} score"


def odds_amount(estimate: float, low: float, high: float) -> str:
    """Return how many times as likely, at least or at most where there is one limit.

    Parameters
    ----------
    estimate, low, high : float
        Logarithms of the odds and their limits, perhaps infinite.

    Returns
    -------
    str

    Examples
    --------
    >>> odds_amount(-0.92, -1.61, -0.22), odds_amount(math.inf, 0.74, math.inf)
    ('0.40 times', 'at least 2.1 times')
    """
    if math.isinf(estimate):
        limit, words = (low, "at least") if estimate > 0 else (high, "at most")
        return f"{words} {_shown(limit)} times"
    return f"{_shown(estimate)} times"


def odds_span(low: float, high: float) -> str:
    """Return the limits of odds in words.

    Parameters
    ----------
    low, high : float
        Logarithms of the limits, perhaps infinite.

    Returns
    -------
    str

    Examples
    --------
    >>> odds_span(-1.61, -0.22), odds_span(0.74, math.inf), odds_span(-math.inf, math.inf)
    ('0.20 to 0.80', '2.1 or more, without an upper limit', 'any value')
    """
    if math.isinf(low) and math.isinf(high):
        return "any value"
    if math.isinf(high):
        return f"{_shown(low)} or more, without an upper limit"
    if math.isinf(low):
        return f"{_shown(high)} or less, without a lower limit"
    return f"{_shown(low)} to {_shown(high)}"


def odds_interval(low: float, high: float) -> str:
    """Return the limits of odds for a table.

    Parameters
    ----------
    low, high : float
        Logarithms of the limits, perhaps infinite.

    Returns
    -------
    str

    Examples
    --------
    >>> odds_interval(-1.61, -0.22), odds_interval(-math.inf, 0.5)
    ('0.20 to 0.80', '0 to 1.6')
    """
    upper = "no limit" if math.isinf(high) else _shown(high)
    return f"{'0' if math.isinf(low) else _shown(low)} to {upper}"


def _shown(logarithm: float) -> str:
    """Return odds to two figures, never as a power of ten."""
    if math.isnan(logarithm):
        return "–"
    if logarithm > math.log(1000):
        return "over 1000"
    if logarithm < -math.log(1000):
        return "under 0.001"
    return number(math.exp(logarithm), figures=2)
