"""Small logs of several bags whose differences, steps and settings are known without an error."""

from __future__ import annotations

import numpy as np
import pandas as pd

from yieldwright.bench import Bench, Grinder
from yieldwright.taste.columns.comparable import ComparableSet

BENCH = Bench(grinders=(Grinder("mill", step=0.5, coarser="up", stated=True),))

#: Seconds at setting 12 and age 0, per setting coarser and per day.
LEVEL_S, PER_SETTING_S, PER_DAY_S = 40.0, -4.0, -0.25

FIRST_DAY = pd.Timestamp("2026-03-02")


def bag(
    code: str,
    ages: list[float],
    *,
    level: float = 0.0,
    per_day: float = PER_DAY_S,
    grinds: tuple[float, ...] = (11.0, 12.0, 13.0),
    after_d: int = 0,
    seed: int = 1,
    spread: float = 0.3,
    roast_level: str = "medium",
) -> pd.DataFrame:
    """Return one session a day of age, each setting once, with a little spread."""
    rng = np.random.default_rng(seed)
    rows = []
    for day, age in enumerate(ages):
        shift = rng.normal(0, spread)
        for grind in grinds:
            value = LEVEL_S + level + per_day * age + PER_SETTING_S * (grind - 12)
            rows.append(
                {
                    "shot": f"{code}-{len(rows)}",
                    "session": f"{code}, day {day}",
                    "bag": code,
                    "roast_level": roast_level,
                    "roast_age_d": float(age),
                    "pulled_on": FIRST_DAY + pd.Timedelta(days=after_d + age),
                    "grinder": "mill",
                    "grind_setting": grind,
                    "time_s": value + shift + rng.normal(0, spread),
                }
            )
    return pd.DataFrame(rows)


def together(*bags: pd.DataFrame) -> ComparableSet:
    """Return bags as shots of one grinder."""
    return ComparableSet("", "mill", pd.concat(bags, ignore_index=True))


def serviced(shots: pd.DataFrame, session: str, words: str, step: float = 0.0) -> pd.DataFrame:
    """Return shots with a service before a session, and a step from then on in its rows."""
    at = shots.index[shots["session"] == session][0]
    said = shots["serviced"] if "serviced" in shots else pd.Series(None, shots.index, dtype="str")
    said = said.astype("str").where(said.notna())
    said[at] = words
    later = shots["pulled_on"] >= shots.loc[at, "pulled_on"]
    return shots.assign(serviced=said, time_s=shots["time_s"] + step * later)
