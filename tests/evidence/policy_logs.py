"""Logs of known truth for each case the model policy distinguishes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.bench import Attribute, Bench, Grinder
from yieldwright.taste.columns.comparable import ComparableSet

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]
Generator = np.random.Generator

BANDS = ("low", "medium", "high")
BENCH = Bench(
    grinders=(Grinder("mill", step=1.0, coarser="up", stated=True),),
    attributes=(Attribute("overall", stated=True),),
)

#: Shots of a log, and the sessions they are pulled in.
SIZES = {12: 3, 16: 4, 24: 4, 40: 8}


@dataclass(frozen=True)
class Case:
    """A way of pulling and tasting shots, and what is true of them.

    Effects are points per setting, per band and per day. The taper does nothing.
    """

    name: str
    grind: float = -0.4
    band: float = 0.3
    age: float = 0.0
    drift: float = 0.0
    session_sd: float = 0.4
    shot_sd: float = 0.5
    band_a_session: bool = False
    unbalanced: bool = False
    sessions: bool = True
    in_order: bool = False
    age_r: float = 0.0
    tasters: int = 0
    model: str = "auto"
    adjusters: tuple[str, ...] = ("roast_age_d", "dose_g", "position")

    @property
    def response(self) -> str:
        """What is explained: yield, or the score where there are tasters."""
        return "score:overall" if self.tasters else "ey_pct"

    def without_effects(self) -> Case:
        """Return the same way of pulling, in which no setting does anything."""
        return Case(**{**self.__dict__, "grind": 0.0, "band": 0.0})

    def truth(self, term: str) -> float:
        """Return the true effect of one step."""
        own = {"grind_setting": self.grind, "temp_band": self.band, "position": self.drift}
        return own.get(term, self.age if term == "roast_age_d" else 0.0)


CASES = (
    Case("independent", session_sd=0.0, sessions=False),
    Case("band a session", band_a_session=True),
    Case("within sessions"),
    Case("within, as mixed", model="mixed"),
    Case("unbalanced", unbalanced=True),
    Case("unbalanced, mixed", unbalanced=True, model="mixed"),
    Case("crossed tasters", tasters=4),
    Case("drift, position in", drift=0.1, in_order=True),
    Case("age r 0.5", age=0.05, age_r=0.5),
    Case("age r 0.8", age=0.05, age_r=0.8),
    Case("age r 0.9", age=0.05, age_r=0.9),
)


def pull(case: Case, n_shots: int, rng: Generator) -> ComparableSet:
    """Return one log of a case."""
    session = _sessions(case, n_shots, rng)
    place = _places(session)
    days = 6.0 + 4 * np.arange(session.max() + 1) + rng.integers(0, 3, session.max() + 1)
    grind, band = _grinds(case, session, days, rng), _bands(case, session, rng)
    value = (
        19.0
        + case.grind * (grind - grind.mean())
        + case.band * band
        + case.age * days[session]
        + case.drift * place
        + rng.normal(0, case.session_sd, session.max() + 1)[session]
        + rng.normal(0, case.shot_sd, n_shots)
    )
    shots = pd.DataFrame(
        {
            "shot": np.arange(n_shots).astype(str),
            "session": session.astype(str),
            "position": place,
            "roast_age_d": days[session],
            "grind_setting": grind,
            "temp_band": [BANDS[number] for number in band],
            "taper_bar": rng.uniform(0.5, 4.0, n_shots).round(1),
            "dose_g": 18 + rng.normal(0, 0.15, n_shots).round(1),
            "ey_pct": value,
        }
    )
    return _tasted(case, shots, rng) if case.tasters else ComparableSet("bag", "mill", shots)


def _sessions(case: Case, n_shots: int, rng: Generator) -> Codes:
    n_sessions = SIZES[n_shots] if case.sessions else 1
    if not case.unbalanced:
        return np.repeat(np.arange(n_sessions), n_shots // n_sessions)
    weights = rng.dirichlet(np.full(n_sessions, 4.0))
    drawn = np.concatenate(
        [np.repeat(np.arange(n_sessions), 2), rng.choice(n_sessions, n_shots, p=weights)]
    )
    return np.sort(drawn[:n_shots])


def _places(session: Codes) -> Array:
    starts = np.searchsorted(session, session)
    return np.arange(len(session)) - starts + 1.0


def _grinds(case: Case, session: Codes, days: Array, rng: Generator) -> Array:
    """Return settings shuffled inside sessions, in order, or drawn along with the age."""
    if case.age_r:
        along = (days[session] - days[session].mean()) / max(days[session].std(), 1e-9)
        own = rng.normal(0, 1, len(session))
        return np.round(11 + 2 * (case.age_r * along + np.sqrt(1 - case.age_r**2) * own), 1)
    spread = np.resize(rng.permutation([10.0, 11.0, 12.0]), len(session))
    for number in range(session.max() + 1):
        own_rows = session == number
        drawn = rng.permutation(spread[own_rows])
        spread[own_rows] = np.sort(drawn) if case.in_order else drawn
    return spread


def _bands(case: Case, session: Codes, rng: Generator) -> Codes:
    if case.band_a_session:
        by_session = rng.permutation(np.resize(np.arange(2), session.max() + 1))
        return np.asarray(by_session[session])
    return np.asarray(rng.permutation(np.resize(np.arange(3), len(session))))


def _tasted(case: Case, shots: pd.DataFrame, rng: Generator) -> ComparableSet:
    """Return shots scored by three of the tasters each, in halves."""
    n_shots, kind = len(shots), rng.normal(0, 0.6, case.tasters)
    taster = np.concatenate([rng.permutation(case.tasters)[:3] for _ in range(n_shots)])
    own = np.repeat(shots["ey_pct"].to_numpy() - 13.0, 3)
    score = np.round(2 * (own + kind[taster] + rng.normal(0, 0.5, 3 * n_shots))) / 2
    tastings = pd.DataFrame(
        {
            "shot": np.repeat(shots["shot"].to_numpy(), 3),
            "taster": [f"t{number}" for number in taster],
            "attribute": "overall",
            "score": score,
        }
    )
    mean = tastings.groupby("shot")["score"].mean()
    scored = shots.assign(**{"score:overall": mean.reindex(shots["shot"]).to_numpy()})
    return ComparableSet("bag", "mill", scored, tastings=tastings)
