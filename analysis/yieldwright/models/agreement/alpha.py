"""Krippendorff's alpha: agreement of any number of raters, gaps allowed, chance taken off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import LEVEL, Interval, t_quantile

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["LEAST_UNITS", "Alpha", "Metric", "krippendorff_alpha"]

Array = npt.NDArray[np.float64]
Metric = Literal["nominal", "ordinal", "interval"]

#: Units below which no interval is told: in simulations of two to five raters it covered 89 to
#: 94 % with 15 units and 93 to 95 % with 20.
LEAST_UNITS = 20


#: Units left out in one go: their tables of pairs are held at once.
_BLOCK = 256


@dataclass(frozen=True, slots=True)
class Alpha:
    """Agreement beyond chance.

    Attributes
    ----------
    estimate : float
        1 for full agreement, 0 for what chance gives, below 0 for less.
    limits : Interval
        From leaving out each unit in turn; missing where there are too few.
    n_units : int
        Units with at least two ratings.
    n_ratings : int
        Their ratings.
    """

    estimate: float
    limits: Interval
    n_units: int
    n_ratings: int


def krippendorff_alpha(
    ratings: pd.DataFrame | Array,
    *,
    metric: Metric = "ordinal",
    level: float = LEVEL,
) -> Alpha:
    """Return Krippendorff's alpha of a table of units × raters with gaps.

    Parameters
    ----------
    ratings : DataFrame or ndarray
        One row per unit, one column per rater; missing where a rater did not rate it.
        [any unit]
    metric : {"nominal", "ordinal", "interval"}
        Whether any two values differ alike, by rank, or by their squared distance.
    level : float
        Confidence level. [1]

    Returns
    -------
    Alpha

    Raises
    ------
    TooFewShotsError
        If no unit has two ratings.
    OutOfRangeError
        If the metric is none of the three, or all ratings are the same.

    Notes
    -----
    The interval is Student's, of pseudo-values of log(1 − alpha): resampled units, the
    usual way, covered 88 % with 10 units and 92 % with 20 where this covers 93 to 95 %.

    References
    ----------
    .. [1] Krippendorff (2011), Computing Krippendorff's alpha-reliability, section D.
    .. [2] Tukey (1958), Ann. Math. Stat. 29, 614: leaving out each unit in turn.

    Examples
    --------
    >>> table = np.array([[1, 1, np.nan], [2, 2, 3], [3, 3, 3], [3, 3, 3], [1, 2, 1]])
    >>> round(krippendorff_alpha(table).estimate, 3)
    0.82
    """
    if metric not in ("nominal", "ordinal", "interval"):
        raise OutOfRangeError(f"metric must be nominal, ordinal or interval, not {metric!r:.40}")
    values, counts = _counted(ratings)
    if not len(counts):
        raise TooFewShotsError("agreement needs a unit with at least two ratings")
    pairs, margins = _pairs(counts).sum(axis=0), counts.sum(axis=0)
    (estimate,) = _alphas(pairs[None], margins[None], values, metric).tolist()
    if math.isnan(estimate):
        raise OutOfRangeError("all ratings are the same, so nothing tells agreement from chance")
    blocks = (counts[start : start + _BLOCK] for start in range(0, len(counts), _BLOCK))
    others = [_alphas(pairs - _pairs(b), margins - b, values, metric) for b in blocks]
    limits = _limits(estimate, np.concatenate(others), level)
    return Alpha(estimate, limits, len(counts), int(counts.sum()))


def _limits(estimate: float, others: Array, level: float) -> Interval:
    """Return limits from alpha without each unit in turn."""
    n = len(others)
    if n < LEAST_UNITS or not (estimate < 1 and (others < 1).all()):
        return Interval(math.nan, math.nan)
    logs = np.log(1 - others)
    error = math.sqrt((n - 1) / n * float(((logs - logs.mean()) ** 2).sum()))
    reach = math.exp(t_quantile(n - 1, level=level) * error)
    return Interval(1 - (1 - estimate) * reach, 1 - (1 - estimate) / reach)


def _counted(ratings: pd.DataFrame | Array) -> tuple[Array, Array]:
    """Return the values in use, and how often each unit got each, units rated once left out."""
    table = np.asarray(ratings, dtype=float)
    table = table[np.isfinite(table).sum(axis=1) > 1]
    values = np.unique(table[np.isfinite(table)])
    counts = (table[:, :, None] == values).sum(axis=1).astype(float)
    return values, counts


def _pairs(counts: Array) -> Array:
    """Return how often two values meet in each unit, a unit of m ratings counting m times."""
    met = counts[:, :, None] * counts[:, None, :] - np.eye(counts.shape[1]) * counts[:, None, :]
    pairs: Array = met / (counts.sum(axis=1) - 1)[:, None, None]
    return pairs


def _alphas(observed: Array, margins: Array, values: Array, metric: Metric) -> Array:
    """Return alpha of several tables of pairs with their margins."""
    expected = margins[:, :, None] * margins[:, None, :]
    apart = _distances(values, margins, metric)
    total = margins.sum(axis=1) - 1
    seen, by_chance = ((each * apart).sum(axis=(1, 2)) for each in (observed, expected))
    with np.errstate(invalid="ignore", divide="ignore"):
        alphas: Array = 1 - total * seen / by_chance
    return alphas


def _distances(values: Array, margins: Array, metric: Metric) -> Array:
    """Return how far apart two values count, squared, for each row of margins."""
    if metric == "nominal":
        return np.broadcast_to(1 - np.eye(len(values)), (len(margins), len(values), len(values)))
    places = margins.cumsum(axis=1) - margins / 2
    if metric == "interval":
        places = np.broadcast_to(values, margins.shape)
    apart: Array = (places[:, :, None] - places[:, None, :]) ** 2
    return apart
