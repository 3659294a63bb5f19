"""What a class means to pull: evenings, their settings, and the plan of every shot."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone

import numpy as np
import pandas as pd

from yieldwright.errors import MisalignedError, UnknownNameError
from yieldwright.formatting import listing
from yieldwright.simulate.ages import dated_events
from yieldwright.simulate.pulling import CAREFUL
from yieldwright.simulate.truth import Truth

__all__ = ["BAND_C", "EVENINGS", "Evening", "default_plan", "plan_shots"]

#: Set temperature of each band of the invented bench, in °C.
BAND_C = {"low": 87.0, "medium": 91.0, "high": 95.0}

_WINTER_TIME = timezone(timedelta(hours=1))
_TAPERS_BAR = (2.0, 2.7, 3.3)
_BARISTAS = ("p1", "p2", "p3", "p4", "p5", "p6")
_CARELESS = "tap"
_CARELESS_SHARE = 0.15

#: Grounds ground away after a change of setting: usually, and when somebody forgets.
_PURGED_G = (3.0, 1.0)
_FORGETS = 0.2

#: Minutes from one shot to the next, and the wait for the group after a change of band.
_GAP_MIN = (4, 8)
_SOAK_MIN = 7

_CUPS_A_TASTER = 6


@dataclass(frozen=True, slots=True)
class Evening:
    """One session: its coffee and the settings of its shots in order, the first a warm-up.

    Attributes
    ----------
    session : str
        Code in the log.
    starts : datetime
        Time of the first pull, with its offset.
    bag : str
        Code of the coffee.
    grinds : tuple of float
        Grind setting of each shot.
    bands : tuple of str
        Temperature band of each shot; a single one holds for all.
    tasters : tuple of str
        Codes of those who taste.
    tapers_bar : tuple of float
        Tapers aimed at, shuffled over the shots. [bar]
    baristas : tuple of str
        Codes of those who pull, shuffled over the shots.
    forgets : float
        Share of changes of grind after which too little is purged.
    bags : tuple of str
        Code of the coffee of each shot in order, where an evening has several; none for
        `bag` alone.

    Raises
    ------
    MisalignedError
        If there are bands or bags for some of the shots only.
    UnknownNameError
        If a band is none of `BAND_C`.
    """

    session: str
    starts: datetime
    bag: str
    grinds: tuple[float, ...]
    bands: tuple[str, ...]
    tasters: tuple[str, ...]
    tapers_bar: tuple[float, ...] = _TAPERS_BAR
    baristas: tuple[str, ...] = _BARISTAS
    forgets: float = _FORGETS
    bags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse bands and bags that do not fit the shots."""
        if len(self.bands) not in (1, len(self.grinds)):
            raise MisalignedError(
                f"evening {self.session} has {len(self.grinds)} grind settings and "
                f"{len(self.bands)} bands; give one band, or one for each shot"
            )
        if len(self.bags) not in (0, len(self.grinds)):
            raise MisalignedError(
                f"evening {self.session} has {len(self.grinds)} grind settings and "
                f"{len(self.bags)} bags; give none, or one for each shot"
            )
        _require_known("band", self.bands, BAND_C)


def _require_known(what: str, names: Iterable[str], known: Collection[str]) -> None:
    for name in names:
        if name not in known:
            raise UnknownNameError(
                f"there is no {what} {name!r}; known are {listing(list(known))}"
            )


def _on(month: int, day: int, minute: int) -> datetime:
    return datetime(2026, month, day, 18, minute, tzinfo=_WINTER_TIME)


_M, _H = "medium", "high"

#: The invented evening class. Its first coffee is brewed at the low band while fresh and
#: at the medium band when old, so that band and age cannot be told apart; its second
#: coffee changes band within each evening, so that there they can.
EVENINGS: tuple[Evening, ...] = (
    Evening(
        "e1", _on(10, 27, 31), "bag-17", (12, 12, 13, 13, 14, 11, 11), ("low",),
        ("t1", "t2", "t3", "t4"),
    ),
    Evening(
        "e2", _on(10, 29, 34), "bag-17", (12, 11, 11, 13, 13, 10, 9), ("low",),
        ("t1", "t2", "t3", "t5"),
    ),
    Evening(
        "e3", _on(11, 3, 30), "bag-18", (9, 9, 9, 10, 10, 8, 8, 9),
        (_M, _M, _M, _M, _H, _H, _H, _H), ("t2", "t3", "t4", "t5"),
    ),
    Evening(
        "e4", _on(11, 5, 32), "bag-18", (9, 9, 8, 8, 10, 10, 9, 9),
        (_H, _H, _H, _H, _H, _M, _M, _M), ("t1", "t2", "t4", "t5"),
    ),
    Evening(
        "e5", _on(11, 10, 33), "bag-17", (11, 11, 10, 10, 12, 12, 13), (_M,),
        ("t1", "t3", "t4", "t5"),
    ),
    Evening(
        "e6", _on(11, 12, 30), "bag-17", (12, 12, 13, 11, 11, 10, 10), (_M,),
        ("t1", "t2", "t3", "t4"),
    ),
    Evening(
        "e7", _on(11, 17, 32), "bag-17", (11, 11, 12, 12, 10, 10, 11), (_M,),
        ("t1", "t2", "t3", "t5"),
    ),
    Evening(
        "e8", _on(11, 19, 31), "bag-18", (10, 10, 9, 9, 8, 8, 10, 9, 8),
        (_M, _M, _M, _M, _M, _H, _H, _H, _H), ("t2", "t3", "t4", "t5"),
    ),
)  # fmt: skip


def default_plan(rng: np.random.Generator, *, truth: Truth | None = None) -> pd.DataFrame:
    """Return the plan of the invented evening class: sixty shots on eight evenings.

    Parameters
    ----------
    rng : Generator
        Source of chance: gaps, tapers, purges, who pulls and who tastes.
    truth : Truth, optional
        Whose coffees and grinder; by default those of the demo.

    Returns
    -------
    DataFrame
        One row per shot, as `plan_shots` makes it.

    Examples
    --------
    >>> default_plan(np.random.default_rng(1))["session"].nunique()
    8
    """
    return plan_shots(EVENINGS, rng, truth=truth or Truth())


def plan_shots(
    evenings: tuple[Evening, ...], rng: np.random.Generator, *, truth: Truth
) -> pd.DataFrame:
    """Return what is meant to be pulled on some evenings.

    Tapers are shuffled within an evening, but for one shot that repeats the one before
    it; a change of grind is followed by a purge, a
    change of band by a wait. A shot after a change counts only where at least twice
    what the grinder retains was purged.

    Parameters
    ----------
    evenings : tuple of Evening
        Sessions and their settings.
    rng : Generator
        Source of chance: gaps, tapers, purges, who pulls and who tastes.
    truth : Truth
        Whose coffees and grinder.

    Returns
    -------
    DataFrame
        One row per shot: settings under their names in the glossary, besides
        `aimed_taper_bar` and `tasters` (codes with blanks between them). Days of opening
        and freezing, and services, where the truth has any.

    Raises
    ------
    UnknownNameError
        If an evening brews a coffee that the truth does not know.

    Examples
    --------
    >>> plan = plan_shots(EVENINGS[:1], np.random.default_rng(1), truth=Truth())
    >>> plan["stage"].iloc[0]
    'warm_up'
    """
    brewed = [code for each in evenings for code in (each.bags or (each.bag,))]
    _require_known("bag", brewed, [bag.bag for bag in truth.bags])
    plan = pd.concat([_evening(each, rng, truth) for each in evenings], ignore_index=True)
    plan.insert(0, "shot", [f"s{number:02d}" for number in range(1, len(plan) + 1)])
    coffees = pd.DataFrame(
        [(bag.bag, bag.roast_level, bag.roasted_on) for bag in truth.bags],
        columns=["bag", "roast_level", "roasted_on"],
    )
    known = plan.merge(coffees, on="bag", how="left", validate="many_to_one")
    return known.join(dated_events(truth, known))


def _evening(evening: Evening, rng: np.random.Generator, truth: Truth) -> pd.DataFrame:
    n = len(evening.grinds)
    grind = pd.Series(evening.grinds, dtype=float)
    band = pd.Series(evening.bands * (n if len(evening.bands) == 1 else 1))
    purged = _purged(evening, grind, rng)
    careless = rng.random(n) < _CARELESS_SHARE
    return pd.DataFrame(
        {
            "session": evening.session,
            "position": np.arange(1, n + 1),
            "pulled_at": _moments(evening.starts, band, rng),
            "stage": _stages(purged, truth.grinder.retained_g or 0.0),
            "bag": list(evening.bags) or evening.bag,
            "dose_target_g": 18.0,
            "beverage_target_g": 36.0,
            "time_from": "lever",
            "grinder": truth.grinder.name,
            "grind_setting": grind,
            "purged_g": purged,
            "temp_band": band,
            "temp_c": band.map(BAND_C).astype(float),
            "aimed_taper_bar": _tapers(evening, grind, rng),
            "distribution": np.where(careless, _CARELESS, CAREFUL),
            "barista": rng.permutation(np.resize(evening.baristas, n)),
            "tasters": _cups(rng.permutation(evening.tasters).tolist(), n),
        }
    )


def _tapers(evening: Evening, grind: pd.Series[float], rng: np.random.Generator) -> np.ndarray:
    """Return a taper for each shot, the first repeat of a grind setting with the same taper."""
    tapers = rng.permutation(np.resize(evening.tapers_bar, len(grind)))
    repeats = np.flatnonzero(grind.diff().to_numpy()[2:] == 0.0) + 2
    for second in repeats[:1]:
        alike = np.flatnonzero(tapers == tapers[second - 1])
        for other in alike[alike != second - 1][:1]:
            tapers[[second, other]] = tapers[[other, second]]
    return tapers


def _purged(evening: Evening, grind: pd.Series[float], rng: np.random.Generator) -> np.ndarray:
    """Return grams purged before each shot: some after a change of setting, else none."""
    usual, hasty = _PURGED_G
    amount = np.where(rng.random(len(grind)) < evening.forgets, hasty, usual)
    return np.where(grind.diff().fillna(0.0) != 0.0, amount, 0.0)


def _stages(purged: np.ndarray, retained_g: float) -> np.ndarray:
    """Return warm-up for the first shot, transition after too small a purge, else counted."""
    stages = np.where((purged > 0) & (purged < 2 * retained_g), "transition", "counted")
    stages[:1] = "warm_up"
    return stages


def _moments(starts: datetime, band: pd.Series[str], rng: np.random.Generator) -> pd.Series:
    gaps = rng.integers(*_GAP_MIN, len(band), endpoint=True)
    gaps = gaps + np.where(band != band.shift(), _SOAK_MIN, 0)
    gaps[0] = 0
    return pd.Series(pd.Timestamp(starts) + pd.to_timedelta(np.cumsum(gaps), unit="min"))


def _cups(tasters: list[str], n: int) -> list[str]:
    """Return who tastes each shot: not the warm-up, all but one in turn, six cups at most."""
    left = dict.fromkeys(tasters, _CUPS_A_TASTER)
    cups = [""]
    for place in range(1, n):
        resting = tasters[place % len(tasters)]
        drinking = [code for code in tasters if code != resting and left[code]]
        for code in drinking:
            left[code] -= 1
        cups.append(" ".join(sorted(drinking)))
    return cups
