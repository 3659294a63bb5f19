"""Cohen's kappa: agreement of two raters on categories, plain or weighted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.intervals.intervals import LEVEL, Interval

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Kappa", "Weights", "cohen_kappa"]

Array = npt.NDArray[np.float64]
Weights = Literal["none", "linear", "quadratic"]


@dataclass(frozen=True, slots=True)
class Kappa:
    """Agreement of two raters beyond chance.

    Attributes
    ----------
    estimate : float
        1 for full agreement, 0 for what chance gives.
    std_error : float
        For an interval. [1]
    z : float
        Estimate over its standard error were all agreement chance.
    limits : Interval
        Normal interval, at most 1.
    n_targets : int
        Targets both rated.
    """

    estimate: float
    std_error: float
    z: float
    limits: Interval
    n_targets: int


def cohen_kappa(
    first: Sequence[object],
    second: Sequence[object],
    *,
    weights: Weights = "none",
    level: float = LEVEL,
) -> Kappa:
    """Return Cohen's kappa of two raters.

    Parameters
    ----------
    first, second : sequence
        Category each rater gave each target; weights need categories that sort.
    weights : {"none", "linear", "quadratic"}
        Whether near misses count as half agreement, by places in the order of categories.
    level : float
        Confidence level. [1]

    Returns
    -------
    Kappa

    Raises
    ------
    MisalignedError
        If the raters rated different numbers of targets.
    TooFewShotsError
        If there are fewer than two targets.
    OutOfRangeError
        If both raters gave one and the same category throughout, or the weights are none
        of the three.

    Notes
    -----
    Standard errors hold for many targets: with few the interval is rough.

    References
    ----------
    .. [1] Fleiss, Cohen and Everitt (1969), Psychol. Bull. 72, 323, equations 8 and 13.

    Examples
    --------
    >>> round(cohen_kappa(list("aabbab"), list("aabbbb")).estimate, 3)
    0.667
    """
    if len(first) != len(second):
        raise MisalignedError("the two raters rated different numbers of targets")
    if len(first) < 2:
        raise TooFewShotsError("agreement needs at least two targets that both rated")
    shares = _shares(first, second)
    agreeing = _agreeing(len(shares), weights)
    rows, columns = shares.sum(axis=1), shares.sum(axis=0)
    by_chance = float(rows @ agreeing @ columns)
    if not by_chance < 1:
        raise OutOfRangeError("both raters gave one category throughout: chance explains it all")
    observed = float((agreeing * shares).sum())
    estimate = (observed - by_chance) / (1 - by_chance)
    middle = (agreeing @ columns)[:, None] + (rows @ agreeing)[None, :]
    chance = np.outer(rows, columns)
    null = float((chance * (agreeing - middle) ** 2).sum()) - by_chance**2
    away = float((shares * (agreeing * (1 - by_chance) - middle * (1 - observed)) ** 2).sum())
    away -= (observed * by_chance - 2 * by_chance + observed) ** 2
    beyond, root = 1 - by_chance, math.sqrt(len(first))
    std_error = math.sqrt(max(away, 0.0)) / beyond**2 / root
    under_chance = math.sqrt(max(null, 0.0)) / beyond / root
    return _told(estimate, std_error, under_chance, len(first), level)


def _told(estimate: float, std_error: float, under_chance: float, n: int, level: float) -> Kappa:
    reach = float(special.ndtri((1 + level) / 2)) * std_error
    limits = Interval(estimate - reach, min(estimate + reach, 1.0))
    z = estimate / under_chance if under_chance > 0 else math.nan
    return Kappa(estimate, std_error, z, limits, n)


def _shares(first: Sequence[object], second: Sequence[object]) -> Array:
    categories, codes = np.unique(np.array([*first, *second]), return_inverse=True)
    table = np.zeros((len(categories), len(categories)))
    np.add.at(table, (codes[: len(first)], codes[len(first) :]), 1.0)
    return table / len(first)


def _agreeing(size: int, weights: Weights) -> Array:
    """Return how far two categories count as agreement."""
    if weights not in ("none", "linear", "quadratic"):
        raise OutOfRangeError(f"weights must be none, linear or quadratic, not {weights!r:.40}")
    if weights == "none" or size == 1:
        return np.eye(size)
    places = np.arange(size) / (size - 1)
    apart = np.abs(places[:, None] - places[None, :])
    agreeing: Array = 1 - (apart if weights == "linear" else apart**2)
    return agreeing
