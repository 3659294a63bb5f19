"""Shots as they happened, and shots as the log has them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import expit

from yieldwright.extraction import strength_for_yield
from yieldwright.glossary import SHOT_QUANTITIES
from yieldwright.simulate.brewing import expected_time, expected_yield, settings_from_need

if TYPE_CHECKING:
    from yieldwright.simulate.truth import Truth

__all__ = ["CAREFUL", "log_shots", "pull_shots"]

#: The word in `distribution` for a puck that was distributed with care.
CAREFUL = "stir"

#: A gushed cup is stopped late: its beverage mass over the mass aimed at (assumption).
_GUSHED_MASS = 1.12

#: How far the peak of the pressure lies above the held stretch, in bar (assumption).
_PEAK_ABOVE_HOLD_BAR = 0.4


def pull_shots(truth: Truth, plan: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return what happens when a plan is pulled, as nobody at the bench can know it.

    Parameters
    ----------
    truth : Truth
        The laws.
    plan : DataFrame
        One row per shot, as `plan_shots` makes it.
    rng : Generator
        Source of chance.

    Returns
    -------
    DataFrame
        One row per shot by session and position: the plan's columns and the true
        masses, pressures, time, strength and yield, with fate. A choked shot has no
        beverage, time, strength and yield.

    Notes
    -----
    Strength, yield, beverage and dose balance exactly: E D = c B.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan
    >>> rng = np.random.default_rng(1)
    >>> len(pull_shots(Truth(), default_plan(rng), rng))
    60
    """
    ordered = plan.sort_values(["session", "position"], kind="stable", ignore_index=True)
    shots = ordered.assign(**_weighed_and_pressed(truth, ordered, rng))
    shots["fate"] = _fates(truth, shots, rng)
    shots["beverage_g"] *= np.where(shots["fate"] == "gushed", _GUSHED_MASS, 1.0)
    shots["time_s"] = _times(truth, shots, rng)
    shots["ey_pct"] = _yields(truth, shots, rng)
    choked = shots["fate"] == "choked"
    shots.loc[choked, ["beverage_g", "time_s", "ey_pct", "end_bar", "taper_bar"]] = np.nan
    shots["tds_pct"] = strength_for_yield(shots["ey_pct"], shots["beverage_g"], shots["dose_g"])
    return shots


def log_shots(truth: Truth, pulled: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Return shots as the bench's instruments read them.

    Parameters
    ----------
    truth : Truth
        The instruments and how steadily they are read.
    pulled : DataFrame
        One row per shot, as `pull_shots` makes it.
    rng : Generator
        Source of chance.

    Returns
    -------
    DataFrame
        One row per shot, glossary columns in the glossary's order; readings carry
        noise and are rounded to the display. Yield, ratio and taper are left for the
        reader to compute.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan
    >>> rng = np.random.default_rng(1)
    >>> shots = log_shots(Truth(), pull_shots(Truth(), default_plan(rng), rng), rng)
    >>> bool((shots["dose_g"].round(1) == shots["dose_g"]).all())
    True
    """
    hand, meter = truth.hand, truth.refractometer
    errors = {
        "dose_g": (0.0, truth.dose_scale.repeatability_g, truth.dose_scale.resolution_g),
        "beverage_g": (
            0.0,
            truth.beverage_scale.repeatability_g,
            truth.beverage_scale.resolution_g,
        ),
        "time_s": (0.0, hand.clock_sd_s, 1.0),
        "peak_bar": (0.0, hand.gauge_sd_bar, 0.1),
        "hold_bar": (0.0, hand.gauge_sd_bar, 0.1),
        "end_bar": (0.0, hand.gauge_sd_bar, 0.1),
        "tds_pct": (truth.refractometer_offset_pct, meter.repeatability_pct, meter.resolution_pct),
    }
    readings = {
        name: _round_to(pulled[name] + rng.normal(offset, spread, len(pulled)), step)
        for name, (offset, spread, step) in errors.items()
    }
    readings["sample_c"] = pd.Series(rng.integers(21, 27, len(pulled)), pulled.index).astype(float)
    readings["sample_c"] = readings["sample_c"].where(pulled["tds_pct"].notna())
    read = pulled.assign(**readings)
    computed = {"brew_ratio", "ey_pct", "taper_bar", "roast_age_d", "pulled_on", "gap_min"}
    computed |= {"frozen_d", "open_d"}
    names = [entry.name for entry in SHOT_QUANTITIES if entry.name not in computed]
    return read[[name for name in names if name in read]]


def _weighed_and_pressed(
    truth: Truth, plan: pd.DataFrame, rng: np.random.Generator
) -> dict[str, pd.Series[float]]:
    hand, n = truth.hand, len(plan)
    hold = hand.hold_bar + pd.Series(rng.normal(0, hand.pressure_sd_bar, n), plan.index)
    taper = plan["aimed_taper_bar"] + rng.normal(0, hand.pressure_sd_bar, n)
    return {
        "dose_g": plan["dose_target_g"] + rng.normal(0, hand.dose_sd_g, n),
        "beverage_g": plan["beverage_target_g"] + rng.normal(0, hand.beverage_sd_g, n),
        "hold_bar": hold,
        "taper_bar": taper,
        "end_bar": hold - taper,
        "peak_bar": hold + _PEAK_ABOVE_HOLD_BAR + np.abs(rng.normal(0, hand.pressure_sd_bar, n)),
    }


def _fates(truth: Truth, shots: pd.DataFrame, rng: np.random.Generator) -> np.ndarray:
    law = truth.failure
    coarser = settings_from_need(truth, shots).to_numpy()
    careless = (shots["distribution"] != CAREFUL).to_numpy()
    channels = law.channelled_share * np.where(careless, law.careless_times, 1.0)
    chokes = expit((law.choked_at - coarser) / law.width)
    gushes = expit((coarser - law.gushed_at) / law.width)
    draw = rng.random((3, len(shots)))
    return np.select(
        [draw[0] < chokes, draw[1] < gushes, draw[2] < channels],
        ["choked", "gushed", "channelled"],
        default="pulled",
    )


def _times(truth: Truth, shots: pd.DataFrame, rng: np.random.Generator) -> pd.Series[float]:
    law = truth.flow
    noise = _by_session(shots, law.session_sd, rng)
    noise += rng.normal(0, law.shot_sd, len(shots)) * _unsteady(truth, shots)
    leak = np.where(shots["fate"] == "channelled", 1 - law.channelled, 1.0)
    time_s: pd.Series[float] = expected_time(truth, shots) * (np.exp(noise) * leak)
    return time_s


def _yields(truth: Truth, shots: pd.DataFrame, rng: np.random.Generator) -> pd.Series[float]:
    law = truth.extraction
    noise = _by_session(shots, law.session_sd_pct, rng)
    noise += rng.normal(0, law.shot_sd_pct, len(shots)) * _unsteady(truth, shots)
    leak = np.where(shots["fate"] == "channelled", law.channelled_pct, 0.0)
    return (expected_yield(truth, shots) + noise - leak).clip(lower=0.0)


def _unsteady(truth: Truth, shots: pd.DataFrame) -> np.ndarray:
    """Return how many times the usual spread whoever pulled each shot has."""
    times = {person.barista: person.times_sd for person in truth.people}
    if not times or "barista" not in shots:
        return np.ones(len(shots))
    return shots["barista"].map(times).fillna(1.0).to_numpy(dtype=float)


def _by_session(shots: pd.DataFrame, spread: float, rng: np.random.Generator) -> np.ndarray:
    """Return one draw per session, repeated for each of its shots."""
    codes, sessions = pd.factorize(shots["session"])
    return rng.normal(0, spread, len(sessions))[codes]


def _round_to(values: pd.Series[float], step: float) -> pd.Series[float]:
    """Return values on a display's steps, as floats that print short."""
    return ((values / step).round() * step).round(6)
