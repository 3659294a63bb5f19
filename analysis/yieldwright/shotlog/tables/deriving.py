"""What follows from a row by itself: strength, yield, uncertainties, ratio, age, taper, band."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.extraction import brew_ratio, extraction_yield
from yieldwright.shotlog.checks.bag_days import BagDays
from yieldwright.shotlog.headers.entries import half_width_column, reading_columns
from yieldwright.uncertainty import (
    scale_uncertainty,
    strength_yield_covariance,
    tds_uncertainty,
    yield_uncertainty,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench

__all__ = ["band_of_temperature", "days_between", "derive", "pulled_days"]


def derive(frame: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return the columns that follow from each row by itself.

    Parameters
    ----------
    frame : DataFrame
        One row per data row; every value possible.
    bench : Bench
        Its instruments give the uncertainties, its bands the band of a temperature.

    Returns
    -------
    DataFrame
        Same rows; a column is there only where its inputs are.

    Notes
    -----
    A typed brew ratio, roast age or taper stands in where nothing computes it. A typed
    extraction yield does not: without a strength it cannot be checked.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> derived = derive(pd.DataFrame({"dose_g": [18.0], "beverage_g": [36.0]}), Bench())
    >>> derived["brew_ratio"].tolist()
    [2.0]
    """
    made = pd.DataFrame(index=frame.index)
    _add_days(made, frame, bench)
    _add_strength(made, frame, bench)
    _add_weights(made, frame, bench)
    _add_yield(made, frame)
    _add_taper(made, frame)
    _add_band(made, frame, bench)
    return made


def pulled_days(frame: pd.DataFrame) -> pd.Series[pd.Timestamp] | None:
    """Return the day of each pull: as typed, else the day of its moment at the bench.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.

    Returns
    -------
    Series or None
        None where neither column is there.

    Examples
    --------
    >>> pulled_days(pd.DataFrame({"dose_g": [18.0]})) is None
    True
    """
    typed = [frame[name] for name in ("pulled_on", "pulled_at:day") if name in frame]
    if len(typed) < 2:
        return typed[0] if typed else None
    return typed[0].fillna(typed[1])


def days_between(first: pd.Series[pd.Timestamp], second: pd.Series[pd.Timestamp]) -> np.ndarray:
    """Return the days from one day to another, missing where either is.

    Parameters
    ----------
    first, second : Series
        Days.

    Returns
    -------
    ndarray of float

    Examples
    --------
    >>> days = pd.Series(pd.to_datetime(["2026-03-01", "2026-03-08"]))
    >>> days_between(days, days.shift(-1)).tolist()
    [7.0, nan]
    """
    return ((second - first) / pd.Timedelta(days=1)).to_numpy(dtype=float)


def band_of_temperature(temps: Sequence[float] | np.ndarray, bench: Bench) -> list[str | None]:
    """Return the band each temperature lies in.

    Parameters
    ----------
    temps : sequence of float
        Temperatures. [°C]
    bench : Bench
        Its bands.

    Returns
    -------
    list of str or None

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> band_of_temperature([85.0, 30.0], Bench())
    ['low', None]
    """
    codes, different = pd.factorize(np.asarray(temps, dtype=float))
    bands = [*map(bench.band_of, different.tolist()), None]  # the last one for a missing value
    return [bands[code] for code in codes.tolist()]


def _add_days(made: pd.DataFrame, frame: pd.DataFrame, bench: Bench) -> None:
    pulled = pulled_days(frame)
    if pulled is not None:
        made["pulled_on"] = pulled
    days = BagDays.of(frame, bench, pulled)
    for name in ("roast_level", "roasted_on", "opened_on"):
        _add_from_bench(made, frame, name, days)
    _add_or_typed(made, frame, "frozen_d", days.freezer.by_dates_d)
    _add_or_typed(made, frame, "open_d", days.open_d)
    _add_or_typed(made, frame, "roast_age_d", days.roast_age_d)


def _add_from_bench(made: pd.DataFrame, frame: pd.DataFrame, name: str, days: BagDays) -> None:
    """Add what the bench knows of the bags, where a row does not say it itself."""
    known = [getattr(bag, name) or None for bag in days.bags]
    if not any(known[at] for at in set(days.facts.tolist()) - {-1}):
        return
    by_bag = pd.Series(pd.array([*known, None], dtype=object)).iloc[days.facts]
    taken = by_bag.set_axis(frame.index)
    taken = taken.astype("str") if name == "roast_level" else taken.astype("datetime64[s]")
    made[name] = frame[name].fillna(taken) if name in frame else taken


def _add_strength(made: pd.DataFrame, frame: pd.DataFrame, bench: Bench) -> None:
    """Add the mean of the readings, else the strength as typed."""
    singles = reading_columns(frame)
    if not singles and "tds_pct" not in frame:
        return
    readings = frame[singles].to_numpy(dtype=float)
    counts = np.isfinite(readings).sum(axis=1)
    mean = np.nansum(readings, axis=1) / np.where(counts, counts, np.nan)
    if "tds_pct" in frame:
        typed = frame["tds_pct"].to_numpy(dtype=float)
        mean = np.where(counts > 0, mean, typed)
        counts = np.where(counts > 0, counts, np.isfinite(typed))
    made["tds_pct"] = mean
    readings_taken = pd.Series(counts, index=frame.index, dtype=float)
    by_instrument = tds_uncertainty(bench.refractometer, readings_taken)
    made["u_tds_pct"] = _with_stated(by_instrument, _stated_of_strength(frame, singles))


def _stated(frame: pd.DataFrame, name: str) -> np.ndarray:
    """Return the standard uncertainty of a half-width that was written beside a value.

    Within the half-width every value is as likely (GUM 4.3.7).
    """
    column = half_width_column(name)
    if column not in frame:
        return np.zeros(len(frame))
    stated: np.ndarray = np.nan_to_num(frame[column].to_numpy(dtype=float)) / np.sqrt(3)
    return stated


def _stated_of_strength(frame: pd.DataFrame, singles: list[str]) -> np.ndarray:
    """Return what was stated for the strength; for the mean of readings, for their mean."""
    if not singles:
        return _stated(frame, "tds_pct")
    taken = np.isfinite(frame[singles].to_numpy(dtype=float))
    stated = np.column_stack([_stated(frame, name) for name in singles])
    mean = (stated * taken).sum(axis=1) / np.maximum(taken.sum(axis=1), 1)
    chosen: np.ndarray = np.where(taken.any(axis=1), mean, _stated(frame, "tds_pct"))
    return chosen


def _with_stated(by_instrument: pd.Series[float], stated: np.ndarray) -> pd.Series[float]:
    if not stated.any():
        return by_instrument
    return pd.Series(np.hypot(by_instrument.to_numpy(dtype=float), stated), by_instrument.index)


def _add_weights(made: pd.DataFrame, frame: pd.DataFrame, bench: Bench) -> None:
    scales = {"dose_g": bench.dose_scale, "beverage_g": bench.beverage_scale}
    for name, scale in scales.items():
        if name in frame:
            by_scale = frame[name].where(frame[name].isna(), scale_uncertainty(scale))
            made[f"u_{name}"] = _with_stated(by_scale, _stated(frame, name))
    ratio = np.full(len(frame), np.nan)
    if "dose_g" in frame and "beverage_g" in frame:
        ratio = brew_ratio(frame["beverage_g"], frame["dose_g"]).to_numpy(dtype=float)
    _add_or_typed(made, frame, "brew_ratio", ratio)


def _add_yield(made: pd.DataFrame, frame: pd.DataFrame) -> None:
    if "tds_pct" not in made or "u_dose_g" not in made or "u_beverage_g" not in made:
        return
    strength, beverage, dose = made["tds_pct"], frame["beverage_g"], frame["dose_g"]
    made["ey_pct"] = extraction_yield(strength, beverage, dose)
    made["u_ey_pct"] = yield_uncertainty(
        strength,
        beverage,
        dose,
        u_tds_pct=made["u_tds_pct"],
        u_beverage_g=made["u_beverage_g"],
        u_dose_g=made["u_dose_g"],
    )
    made["cov_tds_ey"] = strength_yield_covariance(beverage, dose, u_tds_pct=made["u_tds_pct"])


def _add_taper(made: pd.DataFrame, frame: pd.DataFrame) -> None:
    taper = np.full(len(frame), np.nan)
    if "hold_bar" in frame and "end_bar" in frame:
        taper = (frame["hold_bar"] - frame["end_bar"]).to_numpy(dtype=float)
    _add_or_typed(made, frame, "taper_bar", taper)


def _add_band(made: pd.DataFrame, frame: pd.DataFrame, bench: Bench) -> None:
    """Add the band as typed, in the bench's spelling, else the one of the temperature."""
    if "temp_band" not in frame and "temp_c" not in frame:
        return
    bands = pd.Series(pd.NA, index=frame.index, dtype="str")
    if "temp_c" in frame:
        temps = frame["temp_c"].to_numpy(dtype=float)
        bands = pd.Series(band_of_temperature(temps, bench), index=frame.index, dtype="str")
    if "temp_band" in frame:
        spelling = {band.name.casefold(): band.name for band in bench.bands}
        codes, words = pd.factorize(frame["temp_band"])
        known = [spelling.get(word.casefold(), word) for word in words.tolist()]
        typed = pd.Series(pd.array([*known, None], dtype="str")[codes], frame.index)
        bands = typed.fillna(bands)
    made["temp_band"] = bands


def _add_or_typed(made: pd.DataFrame, frame: pd.DataFrame, name: str, values: np.ndarray) -> None:
    """Add a computed column, filled by what was typed where nothing was computed."""
    typed = f"typed_{name}"
    if typed in frame:
        values = np.where(np.isnan(values), frame[typed].to_numpy(dtype=float), values)
    if not np.isnan(values).all() or typed in frame:
        made[name] = values
