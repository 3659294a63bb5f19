"""Krippendorff's alpha: agreement of any number of raters, gaps allowed, chance taken off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import LEVEL, Interval

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["DRAWS", "LEAST_UNITS", "Alpha", "Metric", "krippendorff_alpha"]

Array = npt.NDArray[np.float64]
Metric = Literal["nominal", "ordinal", "interval"]

#: Resamples of an interval.
DRAWS = 2000

#: Units below which resampling them says little: no interval then (common practice).
LEAST_UNITS = 10


@dataclass(frozen=True, slots=True)
class Alpha:
    """Agreement beyond chance.

    Attributes
    ----------
    estimate : float
        1 for full agreement, 0 for what chance gives, below 0 for less.
    limits : Interval
        From resampled units; missing where there are too few, or no source of chance.
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
    rng: np.random.Generator | None = None,
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
    rng : Generator or None
        Source of chance for the interval; None for no interval.
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
    The interval resamples units with all their ratings and takes percentiles; resamples
    in which all ratings are alike are left out.

    References
    ----------
    .. [1] Krippendorff (2011), Computing Krippendorff's alpha-reliability, section D.

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
    ones = np.ones((1, len(counts)))
    (estimate,) = _alphas(ones, values, counts, metric)
    if np.isnan(estimate):
        raise OutOfRangeError("all ratings are the same, so nothing tells agreement from chance")
    limits = Interval(np.nan, np.nan)
    if rng is not None and len(counts) >= LEAST_UNITS:
        weights = rng.multinomial(len(counts), np.full(len(counts), 1 / len(counts)), size=DRAWS)
        drawn = _alphas(weights.astype(float), values, counts, metric)
        low, high = np.nanquantile(drawn, [(1 - level) / 2, (1 + level) / 2])
        limits = Interval(float(low), float(high))
    return Alpha(float(estimate), limits, len(counts), int(counts.sum()))


def _counted(ratings: pd.DataFrame | Array) -> tuple[Array, Array]:
    """Return the values in use, and how often each unit got each, units rated once left out."""
    table = np.asarray(ratings, dtype=float)
    table = table[np.isfinite(table).sum(axis=1) > 1]
    values = np.unique(table[np.isfinite(table)])
    counts = (table[:, :, None] == values).sum(axis=1).astype(float)
    return values, counts


def _alphas(weights: Array, values: Array, counts: Array, metric: Metric) -> Array:
    """Return alpha of each row of weights: how often each unit counts."""
    n_values = len(values)
    size = counts.sum(axis=1)
    pairs = counts[:, :, None] * counts[:, None, :]
    pairs -= np.eye(n_values) * counts[:, None, :]
    shares = (pairs / (size - 1)[:, None, None]).reshape(len(counts), -1)
    observed = (weights @ shares).reshape(-1, n_values, n_values)
    margins = weights @ counts
    expected = margins[:, :, None] * margins[:, None, :]
    apart = _distances(values, margins, metric)
    total = margins.sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        alphas: Array = 1 - (total - 1) * (observed * apart).sum((1, 2)) / (expected * apart).sum(
            (1, 2)
        )
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
