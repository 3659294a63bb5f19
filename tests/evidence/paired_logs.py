"""Two bags pulled side by side in invented sessions whose difference is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from numpy.random import Generator

from tests.evidence.bags import BENCH
from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["BENCH", "CASES", "FIRST", "SCORE", "SECOND", "PairedCase", "case_of", "paired_log"]

FIRST, SECOND, SCORE = "bag-7a", "bag-7b", "score:overall"

#: Points for each setting coarser, for each gram, and of the day, the cup and the pour.
PER_SETTING, PER_G, DAY_SD, SHOT_SD = -0.3, 0.5, 0.5, 0.5

FIRST_DAY = pd.Timestamp("2026-05-04")
DAYS_BETWEEN = 4


@dataclass(frozen=True)
class PairedCase:
    """A way of pulling two bags in the same sessions, and how they truly differ.

    Attributes
    ----------
    name : str
        What the case is.
    sessions : int
        Sessions with both.
    each : pair of int
        Fewest and most shots of a bag in a session.
    cell_sd : float
        What one bag gains or loses in one session by itself. [points]
    difference, per_day : float
        First less second half-way, and its change per day. [points, points per d]
    control_per_day : float
        Drift of the second bag with palate, water and weather. [points per d]
    dose_sd : float
        Scatter of the dose. [g]
    settings : int
        Settings that both bags are pulled at.
    finer : float
        By how many settings the second bag is always ground finer.
    """

    name: str
    sessions: int = 8
    each: tuple[int, int] = (2, 2)
    cell_sd: float = 0.3
    difference: float = 0.4
    per_day: float = 0.0
    control_per_day: float = 0.0
    dose_sd: float = 0.0
    settings: int = 1
    finer: float = 0.0

    @property
    def exact(self) -> bool:
        """Whether the answer is the paired t test, which covers what it says."""
        return self.each[0] == self.each[1] and not self.dose_sd and self.settings == 1


CASES = (
    PairedCase("two of each"),
    PairedCase("two of each, alike", difference=0.0),
    PairedCase("one of each", sessions=12, each=(1, 1)),
    PairedCase("one of each, alike", sessions=12, each=(1, 1), difference=0.0),
    PairedCase("four sessions", sessions=4, cell_sd=0.0),
    PairedCase("four sessions, one to three", sessions=4, each=(1, 3)),
    PairedCase("one to three", each=(1, 3), cell_sd=0.5),
    PairedCase("one to three, cells alike", each=(1, 3), cell_sd=0.0),
    PairedCase("one to three, bags alike", sessions=12, each=(1, 3), difference=0.0),
    PairedCase("growing apart", sessions=12, per_day=0.03, control_per_day=-0.03),
    PairedCase("growing, one to three", sessions=12, each=(1, 3), per_day=0.03),
    PairedCase("dose scatters", dose_sd=0.2, control_per_day=-0.02),
    PairedCase("two settings, alike", sessions=6, settings=2, difference=0.0),
    PairedCase("always ground finer", finer=1.0, difference=0.0),
)


def case_of(name: str) -> PairedCase:
    """Return the case of that name."""
    return next(case for case in CASES if case.name == name)


def paired_log(case: PairedCase, rng: Generator) -> ComparableSet:
    """Return the shots of both bags, the one that comes first taking turns."""
    counts = rng.integers(case.each[0], case.each[1] + 1, (case.sessions, 2))
    session = np.repeat(np.arange(case.sessions), counts.sum(axis=1))
    first = np.concatenate([_turns(pair, n) for n, pair in enumerate(counts)])
    place = np.concatenate([np.arange(pair.sum()) for pair in counts])
    half, day = np.where(first, 0.5, -0.5), DAYS_BETWEEN * session
    dose = (18 + rng.normal(0, case.dose_sd, len(day))).round(1) if case.dose_sd else 18.0
    grind = 12.0 + (place // 2) % case.settings - case.finer * ~first
    level = 7 + case.control_per_day * day + rng.normal(0, DAY_SD, case.sessions)[session]
    cells = rng.normal(0, case.cell_sd, (case.sessions, 2))[session, first.astype(int)]
    apart = case.difference + case.per_day * (day - DAYS_BETWEEN * (case.sessions - 1) / 2)
    set_to = PER_SETTING * (grind - 12) + PER_G * (dose - 18)
    score = level + (half + 0.5) * apart + set_to + cells + rng.normal(0, SHOT_SD, len(day))
    values = {"session": session, "first": first, "dose": dose, "grind": grind, "score": score}
    return ComparableSet("", "mill", _table(place, values))


def _turns(pair: npt.NDArray[np.int64], session: int) -> npt.NDArray[np.bool_]:
    """Return which shots of a session are of the first bag, in turns as far as both last."""
    kinds = [np.arange(pair[0]) * 2 + session % 2, np.arange(pair[1]) * 2 + (session + 1) % 2]
    order = np.argsort(np.concatenate(kinds), kind="stable")
    return np.repeat([True, False], pair)[order]


def _table(place: npt.NDArray[np.int64], values: Mapping[str, npt.ArrayLike]) -> pd.DataFrame:
    """Return the shots under the glossary's names: the first bag frozen until each session."""
    session, first = np.asarray(values["session"]), np.asarray(values["first"])
    pulled = FIRST_DAY + pd.to_timedelta(DAYS_BETWEEN * session, unit="D")
    minutes = pd.to_timedelta(540 + 7 * place, unit="min")
    return pd.DataFrame(
        {
            "shot": [f"s{n:03d}" for n in range(len(session))],
            "session": [f"day-{n:02d}" for n in session],
            "position": place + 1,
            "pulled_on": pulled,
            "pulled_at": (pulled + minutes).tz_localize("UTC"),
            "bag": np.where(first, FIRST, SECOND),
            "roast_level": "medium",
            "roasted_on": FIRST_DAY - pd.Timedelta(days=10),
            "frozen_d": np.where(first, DAYS_BETWEEN * session, 0).astype(float),
            "roast_age_d": 10.0 + np.where(first, 0, DAYS_BETWEEN * session),
            "grinder": "mill",
            "dose_g": values["dose"],
            "grind_setting": values["grind"],
            SCORE: values["score"],
        }
    )
