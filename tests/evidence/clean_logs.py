"""Balanced, randomised, fully logged shots of known truth, for mistakes to be planted in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd

from yieldwright.bench import Attribute, Bench, Grinder
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.taste.columns.comparable import ComparableSet, set_of

Generator = np.random.Generator

BANDS = ("low", "medium")
TAPERS_BAR = (2.0, 2.7, 3.3)
GRINDS = (10.0, 11.0, 12.0)

#: A bench that states its grinder and its scale, so that nothing is assumed.
BENCH = Bench(
    grinders=(Grinder("mill", step=1.0, coarser="up", retained_g=1.0, stated=True),),
    attributes=(Attribute("overall", stated=True),),
)

#: Effects on the yield in points per setting, band, bar and day, and the spreads.
GRIND, BAND, TAPER, AGE, SESSION_SD, SHOT_SD = -0.4, 0.3, 0.2, 0.05, 0.3, 0.5

#: Share of pulls that fail and are logged so (a careful series reported 15–25 % outliers).
FAILS = 0.15


@dataclass(frozen=True)
class Size:
    """Sessions of a clean log; six counted shots each, one of each combination."""

    sessions: int

    @property
    def shots(self) -> int:
        """Counted shots."""
        return 6 * self.sessions

    def __str__(self) -> str:
        return f"{self.shots} in {self.sessions}"


def clean(size: Size, rng: Generator) -> pd.DataFrame:
    """Return a log as a careful class keeps it: warm-ups and failures logged, purges large."""
    tapers = rng.permutation(np.resize(TAPERS_BAR, size.shots)).reshape(size.sessions, 6)
    rows = [row for number in range(size.sessions) for row in _pulls(number, tapers[number], rng)]
    session, position, grind, band, aimed, fate, stage = (
        np.array(column) for column in zip(*rows, strict=True)
    )
    n_shots = len(rows)
    hold = rng.normal(8.5, 0.2, n_shots).round(1)
    end = (hold - aimed + rng.normal(0, 0.1, n_shots)).round(1)
    day = pd.Timestamp("2026-03-01") + pd.to_timedelta(3 * session, unit="D")
    shots = pd.DataFrame(
        {
            "shot": [f"s{row + 1}" for row in range(n_shots)],
            "session": [f"day {number + 1}" for number in session],
            "position": position.astype(float),
            "pulled_at": (day + pd.to_timedelta(600 + 7 * position, unit="min")).tz_localize(
                "UTC"
            ),
            "pulled_on": day,
            "fate": fate,
            "stage": stage,
            "bag": "bag-1",
            "roast_level": "medium",
            "roasted_on": "2026-02-23",
            "roast_age_d": 6.0 + 3 * session,
            "grinder": "mill",
            "grind_setting": grind,
            "purged_g": np.where(np.diff(grind, prepend=grind[0]) != 0, 4.0, 0.0),
            "temp_band": band,
            "hold_bar": hold,
            "end_bar": end,
            "taper_bar": hold - end,
            "time_from": "lever",
            "barista": "p1",
        }
    )
    return with_outcomes(shots, rng)


def with_outcomes(
    shots: pd.DataFrame,
    rng: Generator,
    *,
    grind: float = GRIND,
    drift: float = 0.0,
    warm_up: float = 0.0,
) -> pd.DataFrame:
    """Return the shots with what came of them, in the glossary's columns.

    Parameters
    ----------
    shots : DataFrame
        One row per pull: its settings, session, position and day.
    rng : Generator
        Source of chance.
    grind : float
        Effect of a setting. [points of yield]
    drift : float
        Effect of a place in the session. [points of yield]
    warm_up : float
        Effect of being the first of a session. [points of yield]
    """
    codes = shots["session"].factorize()[0]
    n_shots = len(shots)
    ey_pct = (
        19
        + grind * (shots["grind_setting"] - 11)
        + BAND * (shots["temp_band"] != BANDS[0])
        + TAPER * (shots["taper_bar"] - 2.7)
        + AGE * shots["roast_age_d"]
        + drift * shots["position"]
        + warm_up * (shots["position"] == 1)
        + rng.normal(0, SESSION_SD, int(codes.max()) + 1)[codes]
        + rng.normal(0, SHOT_SD, n_shots)
    )
    ey_pct = ey_pct.to_numpy(dtype=float)
    dose, beverage = (rng.normal(mean, sd, n_shots).round(1) for mean, sd in ((18, 0.15), (36, 1)))
    tds = (ey_pct * dose / beverage).round(2)
    time_s = 36 - 3 * (shots["grind_setting"] - 11) + rng.normal(0, 2, n_shots)
    score = 6 + 0.8 * (ey_pct - 19) + rng.normal(0, 0.6, n_shots)
    return shots.assign(
        dose_g=dose,
        beverage_g=beverage,
        time_s=time_s.round(),
        tds_pct=tds,
        ey_pct=tds * beverage / dose,
        overall=(2 * score).round().clip(0, 20) / 2,
    )


def comparable(shots: pd.DataFrame) -> ComparableSet:
    """Return the usable shots as a set, as reading the log would give it."""
    return set_of(shots.rename(columns={"overall": "score:overall"}))


def written(shots: pd.DataFrame) -> ShotLog:
    """Return a log that was written to a file and read from it."""
    computed = ["ey_pct", "taper_bar", "roast_age_d", "pulled_on"]
    told = shots.drop(columns=computed, errors="ignore").assign(
        pulled_at=lambda frame: [moment.isoformat() for moment in frame["pulled_at"]]
    )
    with TemporaryDirectory() as folder:
        path = Path(folder, "shots.csv")
        told.to_csv(path, index=False)
        return read_log(path, bench=BENCH)


def _pulls(
    number: int, tapers: np.ndarray, rng: Generator
) -> list[tuple[int, int, float, str, float, str, str]]:
    """Return a warm-up, six combinations in random order, and the failures between them."""
    plan = [(grind, band) for grind in GRINDS for band in BANDS]
    order = [plan[place] for place in rng.permutation(len(plan))]
    rows = [(*order[0], 2.7, "pulled", "warm_up")]
    for (grind, band), aimed in zip(order, tapers.tolist(), strict=True):
        while rng.random() < FAILS:
            rows.append((grind, band, aimed, "channelled", "counted"))
        rows.append((grind, band, aimed, "pulled", "counted"))
    return [(number, place + 1, *row) for place, row in enumerate(rows)]
