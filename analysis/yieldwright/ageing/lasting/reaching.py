"""Which share of shots reaches a level at one age, with limits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy import optimize, special

from yieldwright.models.intervals.intervals import LEVEL, t_quantile

if TYPE_CHECKING:
    from yieldwright.ageing.lasting.levels import Levels

__all__ = ["Reaching", "reaching"]

#: Degrees of freedom below which the share of a distribution is no more than a guess.
LEAST_DF = 2.0

#: Standard errors beyond which a noncentrality need not be looked for, and those beyond which
#: a share differs from none or all by nothing that could be told.
FARTHEST, CLEAR = 60.0, 200.0

#: Spreads that a noncentral t is averaged over: six digits.
NODES = 200


class Reaching(NamedTuple):
    """Which share of shots reaches a level.

    Attributes
    ----------
    share : float
        Of all shots of all sessions that could be pulled then; missing where shots say too
        little of their spread. [1]
    low, high : float
        Its 95 % limits. [1]
    """

    share: float
    low: float
    high: float


def reaching(levels: Levels, at_least: float, age_d: float) -> Reaching:
    """Return which share of shots reaches a level at one age.

    Parameters
    ----------
    levels : Levels
        Of a response.
    at_least : float
        The level. [unit of the response]
    age_d : float
        Roast age. [d]

    Returns
    -------
    Reaching

    Notes
    -----
    Shots count as normal about the mean, with the variances of session and shot added. Limits
    are those of the noncentral t [1]_, exact where sessions hold one shot each; else the spread
    has Satterthwaite's degrees of freedom, and the smaller of these and the mean's are used.
    Where two lines count, each side takes the half-width of the limits that hold both forms.

    References
    ----------
    .. [1] Owen (1968), Technometrics 10, 445, section 4.
    """
    mean = levels.mean(age_d)
    sd, df = levels.spread
    low, high = levels.limits(age_d)
    df = min(df, mean.df)
    if not df >= LEAST_DF or not sd > 0 or not math.isfinite(high - low):
        return Reaching(math.nan, math.nan, math.nan)
    quantile = t_quantile(mean.df)
    over = mean.estimate - at_least
    errors = ((mean.estimate - low) / quantile, (high - mean.estimate) / quantile)
    tails = ((1 + LEVEL) / 2, (1 - LEVEL) / 2)
    ends = [
        error / sd * _noncentrality(over / error, df, tail)
        for error, tail in zip(errors, tails, strict=True)
    ]
    share, *limits = (float(special.ndtr(each)) for each in (over / sd, *ends))
    return Reaching(share, *limits)


def _noncentrality(t: float, df: float, below: float) -> float:
    """Return the noncentrality at which a draw lies below t with a given chance."""
    t = min(max(t, -CLEAR), CLEAR)
    chances, weights = np.polynomial.legendre.leggauss(NODES)
    spreads = np.sqrt(special.chdtri(df, (chances + 1) / 2) / df)

    def off(noncentrality: float) -> float:
        # Over the spread that may have been estimated; scipy's own is not a number in places.
        return float(weights @ special.ndtr(t * spreads - noncentrality)) / 2 - below

    reach = FARTHEST + 2 * abs(t)
    low, high = t - reach, t + reach
    return float(optimize.brentq(off, low, high, xtol=1e-6))
