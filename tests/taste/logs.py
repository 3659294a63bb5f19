"""Small logs of known truth for the tests of this room."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd

from yieldwright.bench import Attribute, Bench, Grinder
from yieldwright.taste import ComparableSet

#: A bench that describes its grinder and its scale, so that nothing is assumed.
BENCH = Bench(
    grinders=(Grinder("mill", step=1.0, coarser="up", stated=True),),
    attributes=(
        Attribute("overall", stated=True),
        Attribute("bitter", better="less", stated=True),
        Attribute("body", better="middle", stated=True),
    ),
)

BANDS = ("low", "medium", "high")


def log(
    sessions: int = 4,
    shots: int = 6,
    *,
    seed: int = 1,
    noise: float = 0.3,
    grind: float = -0.5,
    band: float = 0.4,
    age: float = 0.05,
    drift: float = 0.0,
    bend: float = 0.0,
    grinds: Sequence[float] = (10.0, 11.0, 12.0),
) -> pd.DataFrame:
    """Return shots whose settings are shuffled inside sessions and whose yield is known."""
    rng = np.random.default_rng(seed)
    shape = (sessions, shots)
    session = np.repeat(np.arange(sessions), shots)
    settings = rng.permuted(np.resize(list(grinds), shape), axis=1).ravel()
    bands = rng.permuted(np.resize(np.arange(3), shape), axis=1).ravel()
    position = np.tile(np.arange(1.0, shots + 1), sessions)
    days = 6.0 + 3 * session
    centred = settings - float(np.mean(list(grinds)))
    ey_pct = 19 + grind * centred + bend * centred**2 + band * bands + age * days
    ey_pct += drift * position + rng.normal(0, noise, sessions * shots)
    first = pd.Timestamp("2026-03-01")
    return pd.DataFrame(
        {
            "shot": [f"{row + 1}" for row in range(sessions * shots)],
            "session": [f"day {number + 1}" for number in session],
            "position": position,
            "pulled_on": [first + pd.Timedelta(days=float(day - 6)) for day in days],
            "roast_age_d": days,
            "grind_setting": settings,
            "temp_band": [BANDS[number] for number in bands],
            "taper_bar": rng.uniform(1, 4, sessions * shots).round(1),
            "dose_g": 18 + rng.normal(0, 0.15, sessions * shots).round(1),
            "ey_pct": ey_pct,
        }
    )


def finer_each_day(sessions: int = 6, shots: int = 4, *, seed: int = 2) -> pd.DataFrame:
    """Return the classic trap: one grind setting a day, one finer every day as the bag ages."""
    shots_of = log(sessions, shots, seed=seed, grind=0.0)
    day = (shots_of["roast_age_d"] - 6) / 3
    return shots_of.assign(grind_setting=15.0 - day)


def comparable(shots: pd.DataFrame, *, as_of: date | None = None) -> ComparableSet:
    """Return shots as a set of one bag and one grinder."""
    return ComparableSet("bag-1", "mill", shots, (), as_of)
