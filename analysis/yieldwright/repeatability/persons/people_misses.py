"""How far from the recipe each person's shots end, and how many of them fail."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.models.intervals.intervals import t_interval
from yieldwright.repeatability.failing.failures import FailureRates, failure_rate
from yieldwright.taste.columns.one_start import shots_of_one_start

if TYPE_CHECKING:
    import numpy as np

    from yieldwright.bench import Bench

__all__ = [
    "AIMED",
    "LEAST_MISSES",
    "MISS_COLUMNS",
    "absolute_misses",
    "failures_by_person",
    "mean_with_interval",
    "misses_of_people",
]

#: Columns of a table of misses.
MISS_COLUMNS = ("person", "column", "target", "n_shots", "miss", "ci_low", "ci_high")

#: What a recipe aims at and a hand ends, with the column of a log that may say so shot by shot.
AIMED = {"beverage_g": "beverage_target_g", "time_s": ""}

#: Misses that a mean with an interval needs: of normal misses, whose SD is 0.756 of their
#: mean, the limits then lie within a factor of 2.6 of it; with 4 it is 3.3, with 3 it is 6.5.
LEAST_MISSES = 5


def absolute_misses(shots: pd.DataFrame, column: str, *, bench: Bench) -> pd.Series[float]:
    """Return how far each shot ended from what was aimed at.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    column : str
        `beverage_g` or `time_s`.
    bench : Bench
        Whose recipe holds where the log names no aim of its own.

    Returns
    -------
    Series
        Never negative; missing where nothing was aimed at or measured.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> absolute_misses(
    ...     pd.DataFrame({"beverage_g": [35.0, 38.5]}), "beverage_g", bench=Bench()
    ... ).tolist()
    [1.0, 2.5]
    """
    missing = pd.Series(math.nan, index=shots.index, dtype=float)
    if column not in shots:
        return missing
    aim = getattr(bench.recipe, column)
    target = missing.fillna(math.nan if aim is None else float(aim))
    logged = AIMED[column]
    if logged in shots:
        target = shots[logged].astype(float).fillna(target)
    away = (shots[column].astype(float) - target).abs()
    return away.where(away < math.inf)


def misses_of_people(shots: pd.DataFrame, *, bench: Bench) -> pd.DataFrame:
    """Return the mean absolute miss of each person and each thing aimed at.

    Parameters
    ----------
    shots : DataFrame
        One row per shot that is compared, `barista` among the columns.
    bench : Bench
        Whose recipe is aimed at.

    Returns
    -------
    DataFrame
        One row per person and column: mean absolute miss with its 95 % interval, in the
        unit of the column; the target where it was one for all.

    Notes
    -----
    Speaks of the sessions of this log, not of sessions to come. Misses are skewed: the
    interval is a t interval of the logarithm of their mean, which covers 95 % from 3 shots
    on where that of the mean itself covers 92–94 %.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame({"barista": "p1", "beverage_g": [35.0, 38.0, 36, 37, 35]})
    >>> misses_of_people(shots, bench=Bench())["miss"].tolist()
    [1.0]
    """
    rows = [row for column in AIMED for row in _misses(shots, column, bench)]
    return pd.DataFrame(rows, columns=list(MISS_COLUMNS))


def _misses(shots: pd.DataFrame, column: str, bench: Bench) -> Iterator[tuple[object, ...]]:
    same, _ = shots_of_one_start(shots, column)
    away = absolute_misses(same, column, bench=bench)
    logged = AIMED[column]
    aims = set(shots[logged].dropna()) if logged in shots else set()
    target = aims.pop() if len(aims) == 1 else getattr(bench.recipe, column)
    shown = math.nan if target is None or aims else float(target)
    for person, part in away.groupby(same["barista"], sort=True):
        found = part.dropna().to_numpy(dtype=float)
        if len(found) >= LEAST_MISSES:
            yield (person, column, shown, len(found), *mean_with_interval(found))


def mean_with_interval(found: np.ndarray) -> tuple[float, float, float]:
    """Return the mean of some misses with its interval.

    Parameters
    ----------
    found : ndarray
        At least two misses, none negative. [any unit]

    Returns
    -------
    tuple of float
        Mean and limits; no limits where all misses are the same.

    Examples
    --------
    >>> import numpy as np
    >>> mean, low, high = mean_with_interval(np.array([0.5, 1.0, 1.5, 3.0]))
    >>> mean, low > 0, high > 3
    (1.5, True, True)
    """
    mean, error = float(found.mean()), float(found.std(ddof=1)) / math.sqrt(len(found))
    if not error > 0:
        return mean, math.nan, math.nan
    low, high = t_interval(math.log(mean), error / mean, len(found) - 1)
    return mean, math.exp(low), math.exp(high)


def failures_by_person(pulls: pd.DataFrame | None) -> FailureRates | None:
    """Return how many pulls of each person failed, None where the log does not say.

    Parameters
    ----------
    pulls : DataFrame or None
        Every pull of a bag and grinder by somebody named, failures included; None where
        only good ones are at hand.

    Returns
    -------
    FailureRates or None

    Examples
    --------
    >>> pulls = pd.DataFrame({"barista": ["p1", "p1"], "fate": ["pulled", "choked"]})
    >>> failures_by_person(pulls).rates["n_failed"].tolist()
    [1]
    """
    if pulls is None:
        return None
    rates = failure_rate(pulls, "barista")
    return rates if rates.logged and len(rates.rates) else None
