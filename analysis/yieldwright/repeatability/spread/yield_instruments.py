"""What refractometer and scales alone make yields uncertain by."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.shotlog.headers.entries import reading_columns
from yieldwright.uncertainty import (
    scale_uncertainty,
    tds_uncertainty,
    yield_budget,
    yield_uncertainty,
)

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["YieldInstruments", "fully_measured", "yield_instruments"]


@dataclass(frozen=True, slots=True, eq=False)
class YieldInstruments:
    """The instruments' uncertainty of a yield, the accuracy common to all readings left out.

    Attributes
    ----------
    n_shots : int
        Shots with dose, beverage and strength. [count]
    u_ey_pct : float
        Typical standard uncertainty of their yields; missing without one. [% by mass]
    budget : DataFrame
        One row per measurement: what it alone would cause in the average shot.
    """

    n_shots: int
    u_ey_pct: float
    budget: pd.DataFrame


def yield_instruments(shots: pd.DataFrame, *, bench: Bench) -> YieldInstruments:
    """Return what the instruments make the yields of some shots uncertain by.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    bench : Bench
        Whose instruments were used.

    Returns
    -------
    YieldInstruments

    Notes
    -----
    Single readings in columns `tds_1_pct`, `tds_2_pct` … are counted. The accuracy of an
    instrument cancels in a difference of two of its readings.

    References
    ----------
    .. [1] JCGM 100:2008, 5.1.2, and F.2.4.5 on what cancels in a difference.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame(
    ...     {"dose_g": [18.0], "beverage_g": [36.0], "tds_pct": [10.0], "ey_pct": [20.0]}
    ... )
    >>> round(yield_instruments(shots, bench=Bench()).u_ey_pct, 2)
    0.09
    """
    measured = fully_measured(shots)
    if measured.empty:
        nothing = pd.DataFrame(
            {"u_ey_pct": [], "share": []}, index=pd.Index([], name="measurement")
        )
        return YieldInstruments(0, math.nan, nothing)
    inputs = _inputs(measured, bench)
    return YieldInstruments(len(measured), _typical(measured, *inputs), _budget(measured, *inputs))


def fully_measured(shots: pd.DataFrame) -> pd.DataFrame:
    """Return the shots with all that a yield is worked out from.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.

    Returns
    -------
    DataFrame

    Examples
    --------
    >>> shots = pd.DataFrame({"dose_g": 18.0, "beverage_g": 36.0, "tds_pct": [9.0, math.nan]})
    >>> len(fully_measured(shots.assign(ey_pct=2 * shots["tds_pct"])))
    1
    """
    needed = ["dose_g", "beverage_g", "tds_pct", "ey_pct"]
    return shots[shots.reindex(columns=needed).notna().all(axis=1)]


def _inputs(shots: pd.DataFrame, bench: Bench) -> tuple[pd.Series[float], float, float]:
    """Return the standard uncertainties of strength, beverage and dose, accuracy left out."""
    single = reading_columns(shots.filter(like="tds_"))
    readings = shots[single].notna().sum(axis=1).clip(lower=1).astype(float)
    u_tds = tds_uncertainty(bench.refractometer, readings, with_accuracy=False)
    return u_tds, scale_uncertainty(bench.beverage_scale), scale_uncertainty(bench.dose_scale)


def _typical(
    shots: pd.DataFrame, u_tds: pd.Series[float], u_beverage: float, u_dose: float
) -> float:
    u_ey = yield_uncertainty(
        shots["tds_pct"],
        shots["beverage_g"],
        shots["dose_g"],
        u_tds_pct=u_tds,
        u_beverage_g=u_beverage,
        u_dose_g=u_dose,
    )
    return float(np.sqrt(np.mean(np.square(u_ey))))


def _budget(
    shots: pd.DataFrame, u_tds: pd.Series[float], u_beverage: float, u_dose: float
) -> pd.DataFrame:
    """Return what each measurement of the average shot causes."""
    means = shots[["tds_pct", "beverage_g", "dose_g"]].mean()
    return yield_budget(
        float(means["tds_pct"]),
        float(means["beverage_g"]),
        float(means["dose_g"]),
        u_tds_pct=float(u_tds.mean()),
        u_beverage_g=u_beverage,
        u_dose_g=u_dose,
    )
