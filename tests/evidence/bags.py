"""Simulated bags of known truth: one bag pulled across its roast age, in many ways.

Each value is a sum: level, grind, dose, what age does, a service, its session, its shot. Every law
is a line in grind, so that a ratio of slopes has one true value; nothing is rounded but what is
set or weighed, so that the spreads are the ones stated.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.bench import Attribute, Bench, Grinder

Array = npt.NDArray[np.float64]
Generator = np.random.Generator

BENCH = Bench(
    grinders=(Grinder("mill", step=1.0, coarser="up", stated=True),),
    attributes=(Attribute("overall", stated=True),),
)

#: Setting and dose at which the levels hold.
USUAL_SETTING, USUAL_DOSE_G = 12.0, 18.0

ROASTED_ON = pd.Timestamp("2026-03-02")


@dataclass(frozen=True)
class Response:
    """What acts on one response, and how it spreads.

    `grind` is per setting coarser, `dose` per gram, `line` per day, `bend` per day squared
    away from the best age, `before` and `after` per day on either side of a break, `step`
    what a service adds.
    """

    level: float
    grind: float
    dose: float
    line: float
    bend: float
    before: float
    after: float
    step: float
    session_sd: float
    shot_sd: float


RESPONSES = MappingProxyType(
    {
        "time_s": Response(36.0, -4.0, 1.0, -0.25, -0.02, 0.10, -0.45, -3.0, 1.2, 2.0),
        "ey_pct": Response(20.0, -0.6, -0.3, -0.03, -0.004, 0.02, -0.08, 0.5, 0.3, 0.5),
        "score:overall": Response(7.0, -0.3, 0.0, -0.03, -0.006, 0.03, -0.09, 0.4, 0.3, 0.5),
    }
)


@dataclass(frozen=True)
class Case:
    """A way of following a bag, and what age does to it.

    Attributes
    ----------
    name : str
        What the case is.
    shape : str
        flat, line, curve or break: what age does at a fixed grind.
    sessions, shots : int
        Sessions, and shots in each.
    grind_r : float
        Correlation of the setting with the age; negative went finer as the bag aged.
    follows : bool
        Whether the setting is a function of the age: one a session, finer with every one.
    session_r : float
        Correlation of one session's shift with the next one's.
    best_age_d : float or None
        Age at which a curve turns. [d]
    break_age_d : float or None
        Age at which two lines meet. [d]
    size : float
        Times the usual size of what age does.
    frozen_d : int
        Days in the freezer after half of the sessions; they add nothing to the age. [d]
    serviced : bool
        Whether something is serviced before the session after two thirds of them.
    first_d, last_d : float
        Ages between which the sessions lie, give or take a day. [d]
    """

    name: str
    shape: str
    sessions: int = 12
    shots: int = 3
    grind_r: float = 0.0
    follows: bool = False
    session_r: float = 0.0
    best_age_d: float | None = None
    break_age_d: float | None = None
    size: float = 1.0
    frozen_d: int = 0
    serviced: bool = False
    first_d: float = 5.0
    last_d: float = 40.0

    @property
    def n_shots(self) -> int:
        """Shots of one log."""
        return self.sessions * self.shots

    @property
    def falls_d(self) -> float | None:
        """An age inside what was pulled at which the bag goes down, None where it never does."""
        if self.shape == "flat" or (self.best_age_d or 0) > self.last_d:
            return None
        return 30.0 if self.shape == "curve" else 28.0

    @property
    def best_is_inside(self) -> bool:
        """Whether there is a best age, more than two days inside what was pulled."""
        best = self.best_age_d
        return best is not None and self.first_d + 2 < best < self.last_d - 2

    def drift(self, response: str, age_d: npt.ArrayLike) -> Array:
        """Return what age adds to a response at a fixed grind."""
        law, age = RESPONSES[response], np.asarray(age_d, dtype=float)
        if self.shape == "line":
            return self.size * law.line * age
        if self.shape == "curve":
            return self.size * law.bend * (age - _known(self.best_age_d)) ** 2
        if self.shape == "break":
            beyond = age - _known(self.break_age_d)
            return self.size * np.where(beyond < 0, law.before, law.after) * beyond
        return np.zeros_like(age)

    def per_day(self, response: str, age_d: float = 20.0) -> float:
        """Return what one more day does at that age and a fixed grind."""
        # A step short enough for the line on either side, and exact for a parabola.
        ends = self.drift(response, [age_d - 1e-3, age_d + 1e-3])
        return float(np.diff(ends)[0] / 2e-3)

    def settings_per_day(self, age_d: float = 20.0, *, of: str = "time_s") -> float:
        """Return how many settings coarser each day holds a response at that age."""
        return -self.per_day(of, age_d) / RESPONSES[of].grind


def _known(age_d: float | None) -> float:
    if age_d is None:
        raise ValueError("a curve needs its best age, two lines the age of their break")
    return age_d


CASES = (
    Case("flat", "flat", sessions=8),
    Case("flat, grind along", "flat", grind_r=-0.5),
    Case("line", "line"),
    Case("twelve shots", "line", sessions=4),
    Case("few sessions", "line", sessions=5, shots=4),
    Case("one shot a day", "line", sessions=20, shots=1),
    Case("curve with a peak inside", "curve", shots=4, best_age_d=20.0),
    Case("faint curve", "curve", best_age_d=20.0, size=0.25),
    Case("peak at the edge", "curve", best_age_d=41.0),
    Case("two lines with a break", "break", sessions=15, shots=4, break_age_d=18.0),
    Case("two lines, few sessions", "break", sessions=8, shots=4, break_age_d=18.0),
    Case("grind follows age partly", "line", grind_r=-0.7),
    Case("always ground finer", "line", follows=True),
    Case("serially correlated sessions", "line", session_r=0.5),
    Case("flat, serially correlated", "flat", session_r=0.5),
    Case("frozen in the middle", "line", frozen_d=9),
    Case("curve, frozen", "curve", shots=4, best_age_d=20.0, frozen_d=9),
    Case("line with a service", "line", sessions=15, serviced=True),
)


def case_of(name: str) -> Case:
    """Return the case of that name."""
    return next(case for case in CASES if case.name == name)


def bag_logs(case: Case | str, n_logs: int, rng: Generator) -> list[pd.DataFrame]:
    """Return a table of shots for each of many bags.

    Parameters
    ----------
    case : Case or str
        How the bags are followed, or the name of a case.
    n_logs : int
        How many bags.
    rng : Generator
        Source of chance.

    Returns
    -------
    list of DataFrame
        One per bag, in the columns of `many_bags`.
    """
    known = case_of(case) if isinstance(case, str) else case
    shots, size = many_bags(known, n_logs, rng), known.n_shots
    return [
        shots.iloc[start : start + size].reset_index(drop=True)
        for start in range(0, len(shots), size)
    ]


def many_bags(case: Case, n_bags: int, rng: Generator) -> pd.DataFrame:
    """Return the shots of many bags one below the other, under the glossary's names.

    `roast_age_d` is what the bag felt: days since the roast less `frozen_d`, the days frozen
    so far. A bag that was frozen has `frozen_on` and `thawed_on` from its thaw on, and one
    that was serviced says so at the shot after it.
    """
    age = _ages(case, n_bags, rng)
    session = np.repeat(np.arange(case.sessions), case.shots)
    position = np.tile(np.arange(1, case.shots + 1), case.sessions)
    grind = _grinds(case, age, session, rng)
    dose = (USUAL_DOSE_G + rng.normal(0, 0.15, grind.shape)).round(1)
    values = {
        name: _values(case, name, (age, session, grind, dose), rng).ravel() for name in RESPONSES
    }
    number = [f"{bag + 1:04d}" for bag in range(n_bags)]
    each = np.tile(np.arange(case.n_shots), n_bags)
    columns = {
        "shot": [f"{bag}-{shot + 1:02d}" for bag in number for shot in range(case.n_shots)],
        "session": [f"{bag}-day-{place + 1:02d}" for bag in number for place in session],
        "position": position[each],
        "fate": "pulled",
        "stage": "counted",
        "bag": np.repeat([f"bag-{bag}" for bag in number], case.n_shots),
        "roast_level": "medium",
        "roasted_on": ROASTED_ON,
        "roast_age_d": age[:, session].ravel(),
        "dose_g": dose.ravel(),
        "time_from": "lever",
        "grinder": "mill",
        "grind_setting": grind.ravel(),
        "temp_band": "medium",
        "barista": "p1",
    }
    return _dated(case, pd.DataFrame(columns | values), age, session)


def _ages(case: Case, n_bags: int, rng: Generator) -> Array:
    """Return the age on each session's day: whole days, evenly spread, give or take one."""
    even = np.linspace(case.first_d, case.last_d, case.sessions).round()
    loose = rng.integers(-1, 2, (n_bags, case.sessions))
    moved = bool(np.diff(even).min() > 2)
    return np.asarray(even + loose * moved, dtype=float)


def _grinds(case: Case, age: Array, session: npt.NDArray[np.intp], rng: Generator) -> Array:
    """Return settings that follow the age, go along with it, or are shuffled in each session."""
    shape = (len(age), case.n_shots)
    if case.follows:
        finer = (age - age.mean(axis=1, keepdims=True)) * case.settings_per_day()
        return np.asarray(USUAL_SETTING + (2 * finer).round() / 2)[:, session]
    if case.grind_r:
        along = (age - age.mean(axis=1, keepdims=True)) / age.std(axis=1, keepdims=True)
        own = np.sqrt(1 - case.grind_r**2) * rng.normal(0, 1, shape)
        drawn = USUAL_SETTING + case.grind_r * along[:, session] + own
        return np.asarray((10 * drawn).round() / 10)
    if case.shots == 1:
        return np.asarray(USUAL_SETTING + rng.integers(-1, 2, shape), dtype=float)
    levels = np.resize([-1.0, 0.0, 1.0], case.shots)
    days = np.broadcast_to(levels, (len(age), case.sessions, case.shots))
    return USUAL_SETTING + rng.permuted(days, axis=2).reshape(shape)


def _values(
    case: Case,
    name: str,
    settings: tuple[Array, npt.NDArray[np.intp], Array, Array],
    rng: Generator,
) -> Array:
    age, session, grind, dose = settings
    law = RESPONSES[name]
    serviced = (np.arange(case.sessions) >= _service_at(case)) & case.serviced
    by_session = case.drift(name, age) + law.step * serviced + _shifts(case, law, len(age), rng)
    by_shot = law.grind * (grind - USUAL_SETTING) + law.dose * (dose - USUAL_DOSE_G)
    return law.level + by_session[:, session] + by_shot + rng.normal(0, law.shot_sd, grind.shape)


def _shifts(case: Case, law: Response, n_bags: int, rng: Generator) -> Array:
    """Return what each session adds, one like the last as far as they correlate."""
    shifts = rng.normal(0, law.session_sd, (n_bags, case.sessions))
    fresh = np.sqrt(1 - case.session_r**2)
    for place in range(1, case.sessions):
        shifts[:, place] = case.session_r * shifts[:, place - 1] + fresh * shifts[:, place]
    return shifts


def _service_at(case: Case) -> int:
    return 2 * case.sessions // 3


def _dated(
    case: Case, shots: pd.DataFrame, age: Array, session: npt.NDArray[np.intp]
) -> pd.DataFrame:
    """Return the shots with their days: after a freeze, later by the days it took."""
    thawed = (session >= case.sessions // 2) & (case.frozen_d > 0)
    frozen_d = np.tile(case.frozen_d * thawed, len(age))
    days = pd.to_timedelta(shots["roast_age_d"] + frozen_d, unit="D")
    minutes = pd.to_timedelta(18 * 60 + 7 * shots["position"], unit="min")
    pulled_on = ROASTED_ON + days
    dated = shots.assign(
        pulled_on=pulled_on, pulled_at=(pulled_on + minutes).dt.tz_localize("UTC")
    )
    if case.frozen_d:
        froze = np.repeat(age[:, case.sessions // 2 - 1], case.n_shots)
        frozen_on = (ROASTED_ON + pd.to_timedelta(froze, unit="D")).to_series(index=shots.index)
        frozen_on = frozen_on.where(frozen_d > 0)
        thawed_on = frozen_on + pd.Timedelta(days=case.frozen_d)
        dated = dated.assign(frozen_on=frozen_on, thawed_on=thawed_on, frozen_d=frozen_d)
    if case.serviced:
        first = (session == _service_at(case)) & (shots["position"][: len(session)] == 1)
        said = pd.Series("burrs cleaned", index=shots.index)
        dated = dated.assign(serviced=said.where(np.tile(first, len(age))))
    return dated
