"""How much sessions differ where they repeat a setting: intermediate precision."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.errors import YieldwrightError
from yieldwright.models.agreement.precision import variance_sum_interval
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.mixed.variances import variance_table
from yieldwright.repeatability.likeness import setting_levels

if TYPE_CHECKING:
    import numpy.typing as npt

    from yieldwright.bench import Bench

__all__ = ["LEAST_SESSIONS", "SessionSpread", "session_spread"]

#: Sessions that have to repeat a setting before their spread is told.
LEAST_SESSIONS = 3


@dataclass(frozen=True, slots=True)
class SessionSpread:
    """Spread from session to session beside that from shot to shot, at one setting.

    Attributes
    ----------
    n_shots, n_sessions, n_settings : int
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
    n_settings: int
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
    if not _separable(design, used["session"]):
        return None
    try:
        fit = fit_mixed(design, values, [grouping(used, "session")], names=labels)
        table = variance_table(fit)
        total = _limits_of_total(design, used["session"], values)
    except YieldwrightError:
        return None
    (row,) = table[table["group"] == "session"].to_dict("records")
    between = float(row["estimate"])
    sigma = float(fit.sigma)
    whole_sd = math.hypot(between, sigma)
    return SessionSpread(
        n_shots=len(used),
        n_sessions=int(used["session"].nunique()),
        n_settings=int(used["set"].nunique()),
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


def _separable(design: npt.NDArray[np.float64], sessions: pd.Series) -> bool:
    """Return whether shots are left to tell sessions from shots by."""
    both = np.column_stack([design, pd.get_dummies(sessions, dtype=float).to_numpy()])
    rank = int(np.linalg.matrix_rank(both))
    return bool(design.shape[1] < rank < len(design))


def _limits_of_total(
    design: npt.NDArray[np.float64], sessions: pd.Series, values: npt.NDArray[np.float64]
) -> tuple[float, float]:
    """Return the limits of session and shot spread together, from two mean squares."""
    members = pd.get_dummies(sessions, dtype=float).to_numpy()
    both = np.column_stack([design, members])
    rank, settings_rank = (int(np.linalg.matrix_rank(each)) for each in (both, design))
    df, df_within = rank - settings_rank, len(values) - rank
    left, left_of_members = (_left(design, each) for each in (values, members))
    within = float((_left(both, values) ** 2).sum())
    between = float((left**2).sum()) - within
    size = float((left_of_members**2).sum()) / df
    squares = (max(between, 0.0) / df, within / df_within)
    weights = (1 / size, max(1 - 1 / size, 0.0))
    low, high = variance_sum_interval(squares, (df, df_within), weights)
    return math.sqrt(low), math.sqrt(high)


def _left(
    design: npt.NDArray[np.float64], values: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return what a design leaves of some columns."""
    solution = np.linalg.lstsq(design, values, rcond=None)[0]
    residuals: npt.NDArray[np.float64] = values - design @ solution
    return residuals
