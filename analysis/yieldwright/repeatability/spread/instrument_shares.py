"""How much of the spread of like shots its instrument causes, and how much is puck and hand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.models.agreement.intraclass import variance_share
from yieldwright.models.intervals.intervals import Interval, sd_interval
from yieldwright.repeatability.spread.yield_instruments import yield_instruments
from yieldwright.shotlog.headers.entries import reading_columns
from yieldwright.taste.columns.one_start import CLOCKED
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.uncertainty import scale_uncertainty, tds_uncertainty

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.repeatability.spread.likeness import LikeShots

__all__ = [
    "InstrumentShare",
    "display_step",
    "instrument_share",
    "is_good_enough",
    "variance_fraction",
]

#: Share of the variance below which a better instrument would change little: the spread
#: would shrink by less than a seventh.
GOOD_ENOUGH = 0.25

#: Steps in which displays count, the widest first.
_STEPS = (5.0, 1.0, 0.5, 0.1, 0.05, 0.01)

#: Shots that have to agree in a step wider than one before it is believed.
_BELIEVED = 8

_TIMED = (*CLOCKED, "prewet_s")


@dataclass(frozen=True, slots=True)
class InstrumentShare:
    """What an instrument alone would make like shots differ by.

    Attributes
    ----------
    name : str
        The instrument, as a sentence says it.
    u : float
        Its standard uncertainty, what all readings share left out. [unit of the quantity]
    share, low, high : float
        Its share of the variance of like shots and 95 % limits; fractions, at most 1.
    measured : bool
        Whether repeats in the log show it, or the bench states it.
    """

    name: str
    u: float
    share: float
    low: float
    high: float
    measured: bool = False


def instrument_share(
    alike: LikeShots, *, bench: Bench, tastings: pd.DataFrame
) -> InstrumentShare | None:
    """Return the share of an instrument in the spread of like shots.

    Parameters
    ----------
    alike : LikeShots
        Repeats of one quantity.
    bench : Bench
        Whose scales and refractometer were used.
    tastings : DataFrame
        One row per score: shot, taster, attribute, score.

    Returns
    -------
    InstrumentShare or None
        None where nothing is known of the instrument, or like shots do not differ.

    Notes
    -----
    Where a strength was read, or a shot scored, more than once, the disagreement is
    measured, and its share follows from the F distribution; else the share is u² / SD²,
    its limits from those of the SD.

    References
    ----------
    .. [1] JCGM 100:2008, 4.3.7 and 5.1.2.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.spread.likeness import like_shots
    >>> shots = pd.DataFrame({"time_s": [30.0, 31, 32, 33, 34, 35]})
    >>> alike = like_shots(shots, "time_s", bench=Bench())
    >>> found = instrument_share(alike, bench=Bench(), tastings=pd.DataFrame())
    >>> found.name, round(found.u, 3), round(found.share, 3)
    ("the clock's step of 1 s", 0.289, 0.024)
    """
    if not (alike.df and alike.sd > 0):
        return None
    column = alike.column
    attribute = attribute_of(column)
    if attribute is not None:
        return _of_tasters(alike, attribute, tastings)
    if column == "tds_pct":
        read = _of_readings(alike)
        if read is not None:
            return read
    stated = _stated(alike, bench)
    return None if stated is None else _against(*stated, alike)


def is_good_enough(low: float, high: float) -> bool | None:
    """Return whether a share of the variance is below a quarter.

    Parameters
    ----------
    low, high : float
        Its limits; fractions.

    Returns
    -------
    bool or None
        None where they leave it open.

    Examples
    --------
    >>> is_good_enough(0.01, 0.2), is_good_enough(0.3, 0.9), is_good_enough(0.1, 0.4)
    (True, False, None)
    """
    if high < GOOD_ENOUGH:
        return True
    return False if low > GOOD_ENOUGH else None


def variance_fraction(u: float, sd: float) -> float:
    """Return the share of a variance that a standard uncertainty causes.

    Parameters
    ----------
    u, sd : float
        Standard uncertainty, and standard deviation that holds it already. [same unit]

    Returns
    -------
    float
        At most 1.

    Examples
    --------
    >>> variance_fraction(0.1, 0.2), variance_fraction(0.3, 0.2)
    (0.25, 1.0)
    """
    return min((u / sd) ** 2, 1.0)


def display_step(values: pd.Series[float]) -> float:
    """Return the widest step of a display that all values could have come from.

    Parameters
    ----------
    values : Series
        As typed. [any unit]

    Returns
    -------
    float
        Missing where no usual step fits.

    Examples
    --------
    >>> import pandas as pd
    >>> display_step(pd.Series([30.0, 31.5, 33.0])), display_step(pd.Series([1 / 3, 0.25]))
    (0.5, nan)
    """
    known = values.dropna().to_numpy(dtype=float)
    for step in _STEPS:
        if step > 1 and len(known) < _BELIEVED:
            continue
        places = known / step
        if len(known) and np.allclose(places, np.round(places), atol=1e-6, rtol=0):
            return step
    return math.nan


def _stated(alike: LikeShots, bench: Bench) -> tuple[str, float] | None:
    """Return what the bench, or the display, says of an instrument."""
    column, rows = alike.column, alike.rows
    if column == "ey_pct":
        u = yield_instruments(rows, bench=bench).u_ey_pct
        return None if math.isnan(u) else ("refractometer and scales", u)
    if column == "tds_pct":
        return "the refractometer", float(tds_uncertainty(bench.refractometer, 1.0,
                                                          with_accuracy=False))  # fmt: skip
    if column == "beverage_g":
        return "the scale under the cup", scale_uncertainty(bench.beverage_scale)
    if column == "dose_g":
        return "the scale for the dose", scale_uncertainty(bench.dose_scale)
    step = display_step(rows[column]) if column in _TIMED else math.nan
    return None if math.isnan(step) else (f"the clock's step of {step:g} s", step / math.sqrt(12))


def _against(name: str, u: float, alike: LikeShots) -> InstrumentShare:
    low, high = sd_interval(alike.sd, alike.df)
    share, least, most = (variance_fraction(u, sd) for sd in (alike.sd, high, low))
    return InstrumentShare(name, u, share, least, most)


def _of_readings(alike: LikeShots) -> InstrumentShare | None:
    """Return what repeated readings of one cup differ by."""
    names = reading_columns(alike.rows.filter(like="tds_"))
    readings = alike.rows[names].to_numpy(dtype=float) if names else np.empty((0, 1))
    counts = np.isfinite(readings).sum(axis=1)
    several = counts > 1
    df = int((counts[several] - 1).sum())
    if not df:
        return None
    repeated = readings[several]
    apart = repeated - np.nanmean(repeated, axis=1, keepdims=True)
    within = float(np.nansum(apart**2)) / df
    size = len(counts) / float((1 / np.maximum(counts, 1)).sum())
    return _measured("repeated readings of one cup", alike, within, df, size)


def _of_tasters(
    alike: LikeShots, attribute: str, tastings: pd.DataFrame
) -> InstrumentShare | None:
    """Return what tasters of one shot disagree by, their levels left out, if all tasted all."""
    if tastings.empty or "taster" not in tastings:
        return None
    own = tastings[(tastings["attribute"] == attribute) & tastings["taster"].notna()]
    own = own[own["shot"].isin(alike.rows["shot"])] if "shot" in alike.rows else own.iloc[:0]
    table = own.pivot_table(index="shot", columns="taster", values="score", observed=True)
    n, k = table.shape
    if n < len(alike.rows) or k < 2 or table.isna().to_numpy().any():
        return None
    left = table.sub(table.mean(axis=1), axis=0)
    left -= left.mean(axis=0)
    df = (n - 1) * (k - 1)
    within = float((left.to_numpy() ** 2).sum()) / df
    return _measured(f"disagreement of {k} tasters", alike, within, df, k)


def _measured(name: str, alike: LikeShots, within: float, df: int, size: float) -> InstrumentShare:
    """Return the share of what was seen to differ between readings of one shot."""
    between = size * alike.sd**2
    share, limits = variance_share(between, alike.df, within, df)
    ends = Interval(*limits)
    return InstrumentShare(name, math.sqrt(within / size), share, *ends, measured=True)
