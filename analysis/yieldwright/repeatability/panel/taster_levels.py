"""How high or low each taster scores, how steadily, and how two of them compare."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.errors import YieldwrightError
from yieldwright.models.agreement.intraclass import ROUNDING
from yieldwright.models.agreement.kappa import cohen_kappa
from yieldwright.models.contrasts.contrasts import holm, two_sided_p
from yieldwright.models.intervals.intervals import sd_interval, t_interval

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["TasterLevel", "blind_repeats", "taster_levels", "taster_pairs"]

#: Columns of a table of pairs of tasters.
PAIR_COLUMNS = ("first", "second", "n_shots", "difference", "ci_low", "ci_high",
                "kappa", "kappa_ci_low", "kappa_ci_high")  # fmt: skip


#: Share of the scores below which a direction holds no information.
_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class TasterLevel:
    """How far one taster's scores lie from those of all, shot for shot.

    Attributes
    ----------
    taster : str
        Code.
    n_shots : int
        Shots they scored that another scored too. [count]
    level, low, high : float
        Above 0 is higher than the mean of all tasters; with its t interval. [points]
    p_holm : float
        Chance of so large a level were there none, corrected for the tasters looked at. [1]
    """

    taster: str
    n_shots: int
    level: float
    low: float
    high: float
    p_holm: float


def taster_levels(table: pd.DataFrame) -> tuple[TasterLevel, ...]:
    """Return the level of each taster, shots being compared within themselves.

    Parameters
    ----------
    table : DataFrame
        One row per shot, one column per taster, missing where one did not taste.

    Returns
    -------
    tuple of TasterLevel
        One per taster; none where nothing is left to judge by.

    Notes
    -----
    Least squares with shots and tasters as levels; each taster against the mean of all of
    them, so that gaps do not count as a level.

    Examples
    --------
    >>> scores = pd.DataFrame({"a": [6.0, 7.0, 5.0, 6.0], "b": [5.0, 5.5, 4.0, 5.0]})
    >>> [(each.taster, round(each.level, 2)) for each in taster_levels(scores)]
    [('a', 0.56), ('b', -0.56)]
    """
    shared = table[table.notna().sum(axis=1) > 1].dropna(axis=1, how="all")
    n_tasters = shared.shape[1]
    if n_tasters < 2:
        return ()
    rows, columns = np.nonzero(shared.notna().to_numpy())
    values = shared.to_numpy(dtype=float)[rows, columns]
    design = _within_shots(np.eye(n_tasters)[columns], rows)
    information = design.T @ design
    df = len(values) - len(shared) - (n_tasters - 1)
    if df < 1 or np.linalg.matrix_rank(information, tol=_NOTHING * len(values)) < n_tasters - 1:
        return ()
    # Levels sum to nothing: taking the mean out leaves one direction without information.
    mean = np.full((n_tasters, n_tasters), 1 / n_tasters)
    cov = np.linalg.inv(information + mean) - mean
    centred = _within_shots(values[:, None], rows)[:, 0]
    levels = cov @ design.T @ centred
    variance = float(((centred - design @ levels) ** 2).sum()) / df
    errors = np.sqrt(variance * np.diag(cov))
    if not variance > (ROUNDING * float(np.abs(values).max())) ** 2:
        return ()
    p_values = [two_sided_p(float(v), float(e), df) for v, e in zip(levels, errors, strict=True)]
    limits = [t_interval(float(v), float(e), df) for v, e in zip(levels, errors, strict=True)]
    counts = shared.notna().sum().tolist()
    told = zip(map(str, shared), counts, levels.tolist(), limits, holm(p_values), strict=True)
    return tuple(
        TasterLevel(name, int(n), level, *ends, float(p)) for name, n, level, ends, p in told
    )


def taster_pairs(table: pd.DataFrame, *, least: int) -> pd.DataFrame:
    """Return how each pair of tasters compares in the shots both scored.

    Parameters
    ----------
    table : DataFrame
        One row per shot, one column per taster.
    least : int
        Shots a pair has to share. [count]

    Returns
    -------
    DataFrame
        One row per pair: first, second, n_shots, mean difference of the first from the
        second with its t interval, quadratically weighted kappa with its interval.

    Examples
    --------
    >>> scores = pd.DataFrame({"a": [6.0, 7.0, 5.0, 6.0], "b": [5.0, 5.5, 4.0, 5.0]})
    >>> taster_pairs(scores, least=4)[["first", "second", "difference"]].values.tolist()
    [['a', 'b', 1.125]]
    """
    pairs = combinations(table.columns, 2)
    rows = [row for first, second in pairs if (row := _pair(table, first, second, least))]
    return pd.DataFrame(rows, columns=list(PAIR_COLUMNS))


def blind_repeats(scores: pd.DataFrame) -> pd.DataFrame:
    """Return how much each taster differs from themselves where they scored a shot again.

    Parameters
    ----------
    scores : DataFrame
        One row per score of one attribute: shot, taster, score.

    Returns
    -------
    DataFrame
        One row per taster who repeated a shot: taster, repeats, sd with its χ² interval;
        empty where nobody did.

    Examples
    --------
    >>> twice = pd.DataFrame({"shot": ["1", "1"], "taster": ["a", "a"], "score": [6.0, 7.0]})
    >>> blind_repeats(twice)[["taster", "repeats", "sd"]].round(2).values.tolist()
    [['a', 1, 0.71]]
    """
    cells = scores.groupby(["taster", "shot"], observed=True)["score"]
    squares = cells.var(ddof=0) * cells.size()
    found = pd.DataFrame({"squares": squares, "repeats": cells.size() - 1})
    sums = found.groupby("taster").sum()
    rows = []
    for each in sums[sums["repeats"] > 0].reset_index().to_dict("records"):
        df = int(each["repeats"])
        sd = math.sqrt(float(each["squares"]) / df)
        low, high = sd_interval(sd, df) if sd > 0 else (math.nan, math.nan)
        rows.append({"taster": str(each["taster"]), "repeats": df, "sd": sd,
                     "ci_low": low, "ci_high": high})  # fmt: skip
    return pd.DataFrame(rows, columns=["taster", "repeats", "sd", "ci_low", "ci_high"])


def _within_shots(
    columns: npt.NDArray[np.float64], rows: npt.NDArray[np.intp]
) -> npt.NDArray[np.float64]:
    """Return columns less their mean in each shot."""
    counts = np.bincount(rows).astype(float)
    sums = np.zeros((len(counts), columns.shape[1]))
    np.add.at(sums, rows, columns)
    centred: npt.NDArray[np.float64] = columns - (sums / np.maximum(counts, 1)[:, None])[rows]
    return centred


def _pair(table: pd.DataFrame, first: object, second: object, least: int) -> dict[str, object]:
    both = table[[first, second]].dropna()
    n = len(both)
    if n < least:
        return {}
    apart = both[first] - both[second]
    error = float(apart.std()) / math.sqrt(n)
    difference = float(apart.mean())
    low, high = t_interval(difference, error, n - 1) if error > 0 else (math.nan, math.nan)
    try:
        kappa = cohen_kappa(both[first].tolist(), both[second].tolist(), weights="quadratic")
        beyond = (kappa.estimate, *kappa.limits)
    except YieldwrightError:
        beyond = (math.nan, math.nan, math.nan)
    names = (str(first), str(second))
    return dict(zip(PAIR_COLUMNS, (*names, n, difference, low, high, *beyond), strict=True))
