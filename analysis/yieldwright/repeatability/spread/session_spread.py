"""How much sessions differ where they repeat a setting: intermediate precision."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import YieldwrightError
from yieldwright.models.agreement.precision import variance_sum_interval
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.mixed.variances import variance_table
from yieldwright.repeatability.spread.likeness import setting_levels

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["LEAST_SESSIONS", "SessionSpread", "session_spread"]

Array = npt.NDArray[np.float64]

#: Sessions that have to repeat a setting before their spread is told.
LEAST_SESSIONS = 3


@dataclass(frozen=True, slots=True)
class SessionSpread:
    """Spread from session to session beside that from shot to shot, at one setting.

    Attributes
    ----------
    n_shots, n_sessions : int
        What it rests on. [count]
    sd, low, high : float
        Standard deviation from session to session, with its profile interval.
        [unit of the quantity]
    at_zero : bool
        Whether the estimate is exactly 0.
    shot_sd : float
        Standard deviation from shot to shot in the same fit. [unit of the quantity]
    total, total_low, total_high : float
        Standard deviation of two shots of different sessions, with limits.
        [unit of the quantity]
    """

    n_shots: int
    n_sessions: int
    sd: float
    low: float
    high: float
    at_zero: bool
    shot_sd: float
    total: float
    total_low: float
    total_high: float


def session_spread(shots: pd.DataFrame, column: str, *, bench: Bench) -> SessionSpread | None:
    """Return how much sessions differ in shots of one setting, by restricted likelihood.

    Parameters
    ----------
    shots : DataFrame
        One row per comparable shot of one bag and grinder.
    column : str
        What to compare.
    bench : Bench
        Whose recipe says which misses are no other setting.

    Returns
    -------
    SessionSpread or None
        None where fewer than 3 sessions repeat a setting, or none repeats it inside.

    Notes
    -----
    Settings enter as levels, sessions at random. What changes from session to session with
    the coffee's age or another hand is in their spread. Limits of the total are those of a
    sum of mean squares [1]_.

    References
    ----------
    .. [1] Graybill and Wang (1980), J. Am. Stat. Assoc. 75, 869.
    .. [2] ISO 5725-3:2023, intermediate precision.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame(
    ...     {"session": list("aabbccdd"), "time_s": [30.0, 31, 33, 35, 28, 29, 36, 34]}
    ... )
    >>> found = session_spread(shots, "time_s", bench=Bench())
    >>> found.n_sessions, round(found.sd, 2), round(found.shot_sd, 2)
    (4, 2.92, 1.12)
    """
    if "session" not in shots:
        return None
    whole = shots[shots[column].notna() & shots["session"].notna()].reset_index(drop=True)
    used = _repeated(whole, setting_levels(whole, column, bench=bench))
    if used["session"].nunique() < LEAST_SESSIONS or used["session"].is_unique:
        return None
    values = used[column].to_numpy(dtype=float)
    settings = pd.get_dummies(used["set"], drop_first=True, dtype=float).to_numpy()
    design = np.column_stack([np.ones(len(used)), settings])
    labels = ["(intercept)", *(f"set {n}" for n in range(1, design.shape[1]))]
    squares = _mean_squares(settings, used[["set", "session"]], values)
    if squares is None:
        return None
    try:
        fit = fit_mixed(design, values, [grouping(used, "session")], names=labels)
        table = variance_table(fit)
    except YieldwrightError:
        return None
    (row,) = table[table["group"] == "session"].to_dict("records")
    between = float(row["estimate"])
    sigma = float(fit.sigma)
    whole_sd = math.hypot(between, sigma)
    total = _limits_of_total(squares)
    return SessionSpread(
        n_shots=len(used),
        n_sessions=int(used["session"].nunique()),
        sd=between,
        low=float(row["ci_low"]),
        high=float(row["ci_high"]),
        at_zero=bool(row["at_edge"]),
        shot_sd=sigma,
        total=whole_sd,
        total_low=min(total[0], whole_sd),
        total_high=max(total[1], whole_sd),
    )


def _repeated(shots: pd.DataFrame, levels: pd.DataFrame) -> pd.DataFrame:
    """Return the shots of settings that at least three sessions repeat."""
    keys = levels.drop(columns="session", errors="ignore")
    sets = pd.Series(0, index=shots.index)
    if len(keys.columns):
        sets = keys.groupby(list(keys.columns), sort=False, observed=True).ngroup()
    used = shots.assign(set=sets)[sets >= 0]
    sessions = used.groupby("set")["session"].transform("nunique")
    return used[sessions >= LEAST_SESSIONS].reset_index(drop=True)


@dataclass(frozen=True, slots=True)
class _Squares:
    """Mean squares between sessions after settings, and of shots after both."""

    between: float
    df_between: int
    within: float
    df_within: int
    size: float


def _mean_squares(settings: Array, groups: pd.DataFrame, values: Array) -> _Squares | None:
    """Return the mean squares of sessions and shots, None where one is without freedom."""
    sets, sessions = groups["set"], groups["session"]
    inside = _less_mean(np.column_stack([values, settings]), sessions)
    slopes, _, rank, _ = np.linalg.lstsq(inside[:, 1:], inside[:, 0], rcond=1e-9)
    df_within = len(values) - sessions.nunique() - int(rank)
    df_between = sessions.nunique() + int(rank) - sets.nunique()
    if min(df_within, df_between) < 1:
        return None
    left = float(((inside[:, 0] - inside[:, 1:] @ slopes) ** 2).sum())
    about_sets = float((_less_mean(values[:, None], sets) ** 2).sum())
    shared = groups.groupby(["set", "session"], observed=True).size()
    weights = sets.value_counts().reindex(shared.index.get_level_values("set")).to_numpy()
    size = (len(values) - float((shared.to_numpy() ** 2 / weights).sum())) / df_between
    between = max(about_sets - left, 0.0) / df_between
    return _Squares(between, df_between, left / df_within, df_within, size)


def _less_mean(columns: Array, groups: pd.Series) -> Array:
    """Return columns less their mean in each group."""
    codes, labels = pd.factorize(groups)
    sums = np.zeros((len(labels), columns.shape[1]))
    np.add.at(sums, codes, columns)
    less: Array = columns - (sums / np.bincount(codes)[:, None])[codes]
    return less


def _limits_of_total(found: _Squares) -> tuple[float, float]:
    """Return the limits of session and shot spread together, from two mean squares."""
    weights = (1 / found.size, max(1 - 1 / found.size, 0.0))
    low, high = variance_sum_interval(
        (found.between, found.within), (found.df_between, found.df_within), weights
    )
    return math.sqrt(low), math.sqrt(high)
