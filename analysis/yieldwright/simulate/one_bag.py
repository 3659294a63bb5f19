"""The invented bag: two people follow it for six weeks, through a freezer and a cleaning."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta, timezone
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.bench import Grinder
from yieldwright.simulate.benches import Place, bench_text
from yieldwright.simulate.demo_truth import truth_text
from yieldwright.simulate.events import Freeze, Service
from yieldwright.simulate.following import followed_days, what_is_true
from yieldwright.simulate.invented import invent_log
from yieldwright.simulate.laws import AgeingLaw, Bag, ExtractionLaw, FailureLaw, FlowLaw, Person
from yieldwright.simulate.mess import scribble_lines
from yieldwright.simulate.plan import Evening, plan_shots
from yieldwright.simulate.truth import Truth

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FIXED_SETTING", "FOLLOWED", "ONE_BAG_SEED", "one_bag_truth", "write_one_bag"]

#: Seed of the demo that is shipped.
ONE_BAG_SEED = 20260219

#: The bag that is followed, and the setting at which each of its sessions pulls a shot.
FOLLOWED, FIXED_SETTING = "bag-21", 24.0

_PLACE = Place("one-bag", "lever-2", "one lever machine in a kitchen", "Whoever pulls")
_WINTER_TIME = timezone(timedelta(hours=1))
_ROASTED_ON = date(2026, 2, 2)


def _day(age_d: int, roasted_on: date = _ROASTED_ON) -> date:
    return roasted_on + timedelta(days=age_d)


_BAGS = (
    Bag("bag-11", "medium", date(2025, 11, 3), 23.6, 20.8, date(2025, 11, 8)),
    Bag("bag-12", "medium", date(2025, 11, 24), 25.2, 21.3, date(2025, 11, 30)),
    Bag("bag-14", "medium", date(2025, 12, 8), 24.2, 21.0, date(2025, 12, 15)),
    Bag(FOLLOWED, "medium", _ROASTED_ON, 24.5, 21.1, _day(4), (Freeze(_day(17), _day(26)),)),
)

#: Days since the roast and settings of each session, the first shot a warm-up. The bag that
#: is followed is pulled at the day's setting and at that of its first sessions, in turns.
_SESSIONS: tuple[tuple[str, int, tuple[float, ...]], ...] = (
    ("bag-11", 5, (24, 24, 23, 24)),
    ("bag-11", 9, (24, 24, 25, 23)),
    ("bag-11", 14, (23, 23, 24, 23)),
    ("bag-12", 6, (24, 24, 25, 24)),
    ("bag-12", 10, (25, 25, 24, 26)),
    ("bag-12", 16, (24, 24, 25, 24)),
    ("bag-14", 37, (20, 20, 19, 20)),
    ("bag-14", 38, (19, 19, 20, 19)),
    ("bag-14", 40, (19, 19, 18, 19)),
    (FOLLOWED, 4, (24, 24, 25, 24, 23)),
    (FOLLOWED, 6, (24, 24, 23, 24, 25)),
    (FOLLOWED, 8, (24, 24, 25, 24)),
    (FOLLOWED, 11, (24, 24, 23, 25, 24)),
    (FOLLOWED, 14, (24, 23, 24, 23)),
    (FOLLOWED, 17, (23, 23, 24, 22)),
    (FOLLOWED, 28, (23, 23, 24, 22, 24)),
    (FOLLOWED, 31, (22, 24, 22, 22)),
    (FOLLOWED, 34, (22, 22, 24, 21)),
    (FOLLOWED, 37, (21, 21, 24, 20, 20)),
    (FOLLOWED, 40, (19, 24, 19, 18)),
    (FOLLOWED, 43, (18, 18, 24, 18)),
    (FOLLOWED, 45, (18, 24, 18, 17, 24)),
)

_TASTERS = (("t1", "t2", "t3"), ("t1", "t2", "t3", "t4"))


def one_bag_truth() -> Truth:
    """Return the laws of the invented kitchen: a grinder of finer steps, two people, a cleaning.

    Returns
    -------
    Truth

    Examples
    --------
    >>> [person.barista for person in one_bag_truth().people]
    ['p1', 'p2']
    """
    usual = Truth()
    return replace(
        usual,
        bags=_BAGS,
        grinder=Grinder("mill-2", retained_g=0.8, stated=True),
        extraction=ExtractionLaw(per_setting_pct=0.35, turns_at=-4.5, turn_width=2.2),
        flow=FlowLaw(per_setting=0.06, session_sd=0.02, shot_sd=0.035),
        ageing=AgeingLaw(rest_d=8.0, old_per_d=0.17, fresh_per_d=0.2),
        failure=FailureLaw(choked_at=-5.0, gushed_at=8.0, width=0.45),
        taste=replace(
            usual.taste,
            per_ey_squared=0.15,
            best_age_d=18.0,
            per_age_squared=0.009,
            session_sd=0.1,
            shot_sd=0.25,
        ),
        people=(Person("p1", times_sd=0.8), Person("p2", times_sd=1.7)),
        services=(Service("burrs cleaned", _day(37), faster=0.12, more_ey_pct=0.3),),
    )


def write_one_bag(folder: str | Path, seed: int) -> tuple[Path, ...]:
    """Write the demo log of one invented bag, and of three before it, into a folder.

    Parameters
    ----------
    folder : str or Path
        Where to write; made if absent, files of the same names are replaced.
    seed : int
        Seed of all its chance.

    Returns
    -------
    tuple of Path
        bench.toml, shots.csv, tastings.csv and truth.json; the same seed gives the same
        bytes under pinned versions.

    Raises
    ------
    NotWritableError
        If the folder cannot be made or written to.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     [path.name for path in write_one_bag(folder, seed=1)]
    ['bench.toml', 'shots.csv', 'tastings.csv', 'truth.json']
    """
    known = one_bag_truth()
    rng = np.random.default_rng(seed)
    log = invent_log(known, plan_shots(_sessions(), rng, truth=known), rng)
    days = followed_days(known, log.pulled, fixed_setting=FIXED_SETTING)
    following = what_is_true(known, FOLLOWED, fixed_setting=FIXED_SETTING)
    return log.write(
        folder,
        bench=bench_text(known, _PLACE),
        shots="".join(scribble_lines(log.typed)),
        truth=truth_text(seed, known, log.pulled, days=days, following=following),
    )


def _sessions() -> tuple[Evening, ...]:
    roasted = {bag.bag: bag.roasted_on for bag in _BAGS}
    return tuple(
        Evening(
            session=f"e{number:02d}",
            starts=datetime.combine(
                _day(age_d, roasted[bag]), time(17, 10 + 7 * number % 40), _WINTER_TIME
            ),
            bag=bag,
            grinds=grinds,
            bands=("medium",),
            tasters=_TASTERS[number % 2],
            tapers_bar=(2.7,),
            forgets=0.1,
            baristas=("p1", "p2"),
        )
        for number, (bag, age_d, grinds) in enumerate(_SESSIONS, start=1)
    )
