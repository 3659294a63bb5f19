"""What the laws expect of a shot, before chance: time, yield and score.

Every function takes shots in the order they were pulled, the shots of a session side
by side, with at least the columns of a plan.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.glossary import EXTRACTION_CEILING_PCT
from yieldwright.simulate.ages import is_after, roast_age

if TYPE_CHECKING:
    from yieldwright.simulate.truth import Truth

__all__ = [
    "expected_score",
    "expected_time",
    "expected_yield",
    "heat_left",
    "settings_from_need",
]


def expected_time(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    r"""Return the time that the flow law expects of each shot.

    Parameters
    ----------
    truth : Truth
        The laws.
    shots : DataFrame
        One row per shot.

    Returns
    -------
    time_s : Series
        Time from the lever to the end of the pull. [s]

    Notes
    -----
    .. math:: t = t_0 \, e^{-a x - b \, \Delta T + d \, \Delta p} (B / B_0)^m

    with :math:`x` the settings coarser than needed; finer is always slower. Each service
    done by then takes its share off.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan
    >>> plan = default_plan(np.random.default_rng(1))
    >>> bool(expected_time(Truth(), plan).between(15, 70).all())
    True
    """
    law = truth.flow
    taper = _taper(shots) - truth.taste.usual_taper_bar
    exponent = (
        -law.per_setting * settings_from_need(truth, shots)
        - law.per_c * _warmer(truth, shots)
        + law.per_taper_bar * taper
    )
    mass = _beverage(shots) / shots["beverage_target_g"]
    time_s: pd.Series[float] = law.time_s * mass**law.mass_power * np.exp(exponent)
    for service in truth.services:
        time_s = time_s.where(~is_after(service, shots), (1 - service.faster) * time_s)
    return time_s.rename("time_s")


def expected_yield(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    r"""Return the extraction yield that the law expects of each shot.

    Parameters
    ----------
    truth : Truth
        The laws.
    shots : DataFrame
        One row per shot.

    Returns
    -------
    ey_pct : Series
        Extraction yield. [% by mass]

    Notes
    -----
    .. math:: E = E_0 - a \left(u + w (e^{-u / w} - 1)\right) + b \, \Delta T
              + r (B / D - 2) - d \, \Delta A, \quad u = x - x_0

    The bracket is zero at the turn :math:`x_0`, grows as a line on the coarse side and
    as an exponential on the fine side. Each service done by then adds its own. No more
    dissolves than water can dissolve.

    References
    ----------
    .. [1] Cameron et al. 2020, Matter 2:631: yield rises, then falls at very fine
       settings; the form of the curve here is ours.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan
    >>> plan = default_plan(np.random.default_rng(1))
    >>> bool(expected_yield(Truth(), plan).between(15, 25).all())
    True
    """
    law = truth.extraction
    ratio = _beverage(shots) / _dose(shots)
    coffee = {bag.bag: bag.most_ey_pct for bag in truth.bags}
    most = shots["bag"].map(coffee).astype(float)
    others = (
        law.per_c_pct * _warmer(truth, shots)
        + law.per_ratio_pct * (ratio - 2)
        - law.per_day_pct * (roast_age(truth, shots) - truth.ageing.rest_d)
    )
    ey_pct = most - _lost_to_grind(truth, shots) + others
    for service in truth.services:
        ey_pct += service.more_ey_pct * is_after(service, shots)
    return ey_pct.clip(0, EXTRACTION_CEILING_PCT).rename("ey_pct")


def expected_score(
    truth: Truth,
    tds_pct: pd.Series[float],
    ey_pct: pd.Series[float],
    taper_bar: pd.Series[float],
    *,
    age_d: pd.Series[float] | float | None = None,
) -> pd.DataFrame:
    """Return what the taste law expects of each cup, before rounding and clipping.

    Parameters
    ----------
    truth : Truth
        The laws.
    tds_pct : Series
        Strength. [% by mass]
    ey_pct : Series
        Extraction yield. [% by mass]
    taper_bar : Series
        Held pressure less end pressure. [bar]
    age_d : Series or float, optional
        Roast age; by default that at which the coffee tastes best. [d]

    Returns
    -------
    DataFrame
        One row per cup, one column per attribute.

    Examples
    --------
    >>> from yieldwright.simulate import Truth
    >>> one = pd.Series([1.0])
    >>> expected_score(Truth(), one * 10.2, one * 20.4, one * 2.7)["overall"].item()
    7.0
    """
    law = truth.taste
    overall, bitter = (attribute.name for attribute in truth.attributes)
    taper = taper_bar - law.usual_taper_bar
    more = ey_pct - law.peak_ey_pct
    away = (law.best_age_d if age_d is None else age_d) - law.best_age_d
    missed = law.per_ey_squared * more**2 + law.per_tds_squared * (tds_pct - law.peak_tds_pct) ** 2
    return pd.DataFrame(
        {
            overall: law.peak_score
            - missed
            - law.per_age_squared * away**2
            + law.per_taper_bar * taper,
            bitter: law.bitter_score + law.bitter_per_ey * more + law.bitter_per_taper_bar * taper,
        }
    )


def settings_from_need(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    """Return how many settings coarser than its coffee needs each shot ran.

    Old grounds that a purge left behind count with their share of the dose, and age
    moves what the coffee needs.

    Parameters
    ----------
    truth : Truth
        The laws.
    shots : DataFrame
        One row per shot.

    Returns
    -------
    Series
        Settings; positive ran coarser, negative finer.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan
    >>> plan = default_plan(np.random.default_rng(1))
    >>> bool(settings_from_need(Truth(), plan).abs().max() < 5)
    True
    """
    grinder, law = truth.grinder, truth.ageing
    needs = shots["bag"].map({bag.bag: bag.needs_setting for bag in truth.bags}).astype(float)
    steps = (_ground(truth, shots) - needs) * grinder.coarser_sign / grinder.step
    older = roast_age(truth, shots) - law.rest_d
    aged = law.old_per_d * older.clip(lower=0) - law.fresh_per_d * older.clip(upper=0)
    return (steps + aged).rename("settings_from_need")


def heat_left(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    """Return the heat that earlier shots of the session left in the group.

    Parameters
    ----------
    truth : Truth
        The laws.
    shots : DataFrame
        One row per shot.

    Returns
    -------
    Series
        Degrees above the set temperature; zero for the first shot. [°C]

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan
    >>> float(heat_left(Truth(), default_plan(np.random.default_rng(1)))[0])
    0.0
    """
    law = truth.heat
    sessions = shots.groupby("session", sort=False)
    minutes = sessions["pulled_at"].diff().dt.total_seconds().to_numpy() / 60
    keeps = np.exp(-np.nan_to_num(minutes) / law.fades_min)
    place = sessions.cumcount().to_numpy()
    heat = np.zeros(len(shots))
    for at in range(1, int(place.max(initial=0)) + 1):
        here = np.flatnonzero(place == at)
        heat[here] = (heat[here - 1] + law.rise_c) * keeps[here]
    return pd.Series(heat, index=shots.index, name="heat_c")


def _lost_to_grind(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    law = truth.extraction
    beyond = settings_from_need(truth, shots) - law.turns_at
    bend = law.turn_width * np.expm1(-beyond / law.turn_width)
    lost: pd.Series[float] = law.per_setting_pct * (beyond + bend)
    return lost


def _ground(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    """Return the setting the dose was ground at on the whole, old grounds included."""
    before = shots.groupby("session", sort=False)["grind_setting"].shift()
    retained = truth.grinder.retained_g or 0.0
    if retained == 0.0:
        return shots["grind_setting"]
    old_g = retained * np.exp(-shots["purged_g"].fillna(0.0) / retained)
    change = (before - shots["grind_setting"]).fillna(0.0)
    ground: pd.Series[float] = shots["grind_setting"] + change * old_g / _dose(shots)
    return ground


def _warmer(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    return shots["temp_c"] + heat_left(truth, shots) - truth.heat.reference_c


def _dose(shots: pd.DataFrame) -> pd.Series[float]:
    return shots["dose_g"] if "dose_g" in shots else shots["dose_target_g"]


def _beverage(shots: pd.DataFrame) -> pd.Series[float]:
    return shots["beverage_g"] if "beverage_g" in shots else shots["beverage_target_g"]


def _taper(shots: pd.DataFrame) -> pd.Series[float]:
    return shots["taper_bar"] if "taper_bar" in shots else shots["aimed_taper_bar"]
