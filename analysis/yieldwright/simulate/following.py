"""What is true of a bag that is followed across its roast age, day by day."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.simulate.ages import days_frozen, roast_age
from yieldwright.simulate.brewing import expected_score, expected_time, expected_yield

if TYPE_CHECKING:
    from yieldwright.simulate.laws import Bag
    from yieldwright.simulate.truth import Truth

__all__ = ["Following", "followed_days", "what_is_true"]

#: Ages among which the best one is sought, in days.
_LIFE_D = range(1, 61)


@dataclass(frozen=True, slots=True)
class Following:
    """What is true of one bag across its age, between services.

    Attributes
    ----------
    bag : str
        Code of the bag.
    fixed_setting : float
        Setting to which everything at a fixed grind refers.
    rest_d : float
        Age at which it runs slowest. [d]
    fresh_settings_per_d, old_settings_per_d : float
        Settings each day before and after that age asks for, in the grinder's numbers,
        to hold the time. [1/d]
    best_at_held_time_d : float
        Age with the highest expected score where the grind follows the bag. [d]
    best_at_fixed_setting_d : float
        Age with the highest expected score at the fixed setting. [d]
    session_sd_s, shot_sd_s : float
        Spread of the time between and within sessions, at the law's time. [s]
    session_sd_pct, shot_sd_pct : float
        Spread of the yield between and within sessions. [% by mass]
    times_sd : dict of str to float
        How many times the spread within sessions each barista has.
    """

    bag: str
    fixed_setting: float
    rest_d: float
    fresh_settings_per_d: float
    old_settings_per_d: float
    best_at_held_time_d: float
    best_at_fixed_setting_d: float
    session_sd_s: float
    shot_sd_s: float
    session_sd_pct: float
    shot_sd_pct: float
    times_sd: dict[str, float]

    def rounded(self) -> dict[str, object]:
        """Return its entries, rounded beyond what a machine's chip decides.

        Returns
        -------
        dict
        """
        return {
            name: round(value, 6) if isinstance(value, float) else value
            for name, value in dataclasses.asdict(self).items()
        }


def what_is_true(truth: Truth, code: str, *, fixed_setting: float) -> Following:
    """Return what is true of one bag across its age.

    Parameters
    ----------
    truth : Truth
        The laws.
    code : str
        The bag that is followed.
    fixed_setting : float
        Setting to which everything at a fixed grind refers.

    Returns
    -------
    Following

    Examples
    --------
    >>> from yieldwright.simulate import Truth
    >>> known = what_is_true(Truth(), "bag-17", fixed_setting=12)
    >>> known.fresh_settings_per_d, known.old_settings_per_d
    (0.08, -0.05)
    """
    bag = next(each for each in truth.bags if each.bag == code)
    bag = dataclasses.replace(bag, freezes=())
    still = dataclasses.replace(truth, bags=(bag,), services=())
    life = _as_asked(still, _life(bag), fixed_setting)
    held = life.assign(grind_setting=_holding_setting(still, life))
    step = truth.grinder.coarser_sign * truth.grinder.step
    return Following(
        bag=code,
        fixed_setting=float(fixed_setting),
        rest_d=truth.ageing.rest_d,
        fresh_settings_per_d=step * truth.ageing.fresh_per_d,
        old_settings_per_d=-step * truth.ageing.old_per_d,
        best_at_held_time_d=_best_age(still, held),
        best_at_fixed_setting_d=_best_age(still, life),
        session_sd_s=truth.flow.session_sd * truth.flow.time_s,
        shot_sd_s=truth.flow.shot_sd * truth.flow.time_s,
        session_sd_pct=truth.extraction.session_sd_pct,
        shot_sd_pct=truth.extraction.shot_sd_pct,
        times_sd={person.barista: person.times_sd for person in truth.people},
    )


def followed_days(truth: Truth, pulled: pd.DataFrame, *, fixed_setting: float) -> pd.DataFrame:
    """Return what is true of the coffee on the day of each session.

    Parameters
    ----------
    truth : Truth
        The laws.
    pulled : DataFrame
        One row per shot, as `pull_shots` makes it.
    fixed_setting : float
        Setting at which times, yields and scores are stated.

    Returns
    -------
    DataFrame
        One row per session: age, days frozen, the setting that holds the law's time, and
        expected time, yield and overall score at the fixed setting.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan, pull_shots
    >>> rng = np.random.default_rng(1)
    >>> days = followed_days(
    ...     Truth(), pull_shots(Truth(), default_plan(rng), rng), fixed_setting=12
    ... )
    >>> days["roast_age_d"].tolist()
    [11.0, 13.0, 6.0, 8.0, 25.0, 27.0, 32.0, 22.0]
    """
    days = _as_asked(truth, pulled.drop_duplicates("session"), fixed_setting)
    ey_pct = expected_yield(truth, days)
    return pd.DataFrame(
        {
            "session": days["session"],
            "bag": days["bag"],
            "roast_age_d": roast_age(truth, days),
            "frozen_d": days_frozen(truth, days),
            "holding_setting": _holding_setting(truth, days),
            "time_s": expected_time(truth, days),
            "ey_pct": ey_pct,
            "overall": _scores(truth, days),
        }
    ).reset_index(drop=True)


def _holding_setting(truth: Truth, days: pd.DataFrame) -> pd.Series[float]:
    """Return the setting that gives the law's time on each of some days."""
    too_slow = np.log(expected_time(truth, days) / truth.flow.time_s) / truth.flow.per_setting
    step = truth.grinder.coarser_sign * truth.grinder.step
    setting: pd.Series[float] = days["grind_setting"] + step * too_slow
    return setting


def _as_asked(truth: Truth, shots: pd.DataFrame, setting: float) -> pd.DataFrame:
    """Return one shot a day just as asked for: masses, temperature and taper as meant."""
    return pd.DataFrame(
        {
            "session": shots["session"],
            "bag": shots["bag"],
            "pulled_at": shots["pulled_at"],
            "grind_setting": float(setting),
            "purged_g": 0.0,
            "temp_c": truth.heat.reference_c,
            "aimed_taper_bar": truth.taste.usual_taper_bar,
            "dose_target_g": shots["dose_target_g"],
            "beverage_target_g": shots["beverage_target_g"],
        }
    )


def _life(bag: Bag) -> pd.DataFrame:
    """Return a shot on each day of a bag's life."""
    days = pd.Series([pd.Timestamp(bag.roasted_on) + pd.Timedelta(days=age) for age in _LIFE_D])
    return pd.DataFrame(
        {
            "session": [f"day {age}" for age in _LIFE_D],
            "bag": bag.bag,
            "pulled_at": days.dt.tz_localize("UTC"),
            "dose_target_g": 18.0,
            "beverage_target_g": 36.0,
        }
    )


def _scores(truth: Truth, days: pd.DataFrame) -> pd.Series[float]:
    ey_pct = expected_yield(truth, days)
    tds_pct = ey_pct * days["dose_target_g"] / days["beverage_target_g"]
    age_d = roast_age(truth, days)
    scores = expected_score(truth, tds_pct, ey_pct, days["aimed_taper_bar"], age_d=age_d)
    overall: pd.Series[float] = scores[truth.attributes[0].name]
    return overall


def _best_age(truth: Truth, life: pd.DataFrame) -> float:
    """Return the age with the highest score, from a parabola through the best three days."""
    scores = _scores(truth, life).to_numpy(dtype=float)
    top = int(np.clip(np.argmax(scores), 1, len(scores) - 2))
    before, best, after = scores[top - 1 : top + 2]
    bend = before - 2 * best + after
    turn = (before - after) / (2 * bend) if bend < 0 else 0.0
    return float(_LIFE_D[top] + turn)
