"""The invented halves of one bag: one frozen for two weeks, both pulled side by side after."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta, timezone
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.simulate.benches import Place, bench_text
from yieldwright.simulate.demo_truth import truth_text
from yieldwright.simulate.events import Freeze
from yieldwright.simulate.invented import invent_log
from yieldwright.simulate.laws import Bag
from yieldwright.simulate.plan import Evening, plan_shots
from yieldwright.simulate.truth import Truth
from yieldwright.simulate.writing import csv_text

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FROZEN", "KEPT", "TWO_HALVES_SEED", "two_halves_truth", "write_two_halves"]

#: Seed where none is asked for: any would do.
TWO_HALVES_SEED = 20260504

#: The half that was frozen, and the half that stood open.
FROZEN, KEPT = "bag-7a", "bag-7b"

_PLACE = Place("two-halves", "lever-1", "one lever machine of a class", "The class")
_SUMMER_TIME = timezone(timedelta(hours=2))
_ROASTED_ON = date(2026, 4, 6)
_OPENED_ON = _ROASTED_ON + timedelta(days=7)
_FREEZE = Freeze(_ROASTED_ON + timedelta(days=8), _ROASTED_ON + timedelta(days=22))

#: Days since the roast of each session, all after the thaw.
_DAYS = (23, 26, 29, 32, 35, 38, 41, 44)

#: Setting of every shot: what differs is the half alone.
_SETTING = 12.0


def two_halves_truth() -> Truth:
    """Return the laws of the invented halves: coffee that loses taste as it ages.

    Returns
    -------
    Truth

    Examples
    --------
    >>> [bag.bag for bag in two_halves_truth().bags]
    ['bag-7a', 'bag-7b']
    """
    usual = Truth()
    kept = Bag(KEPT, "medium", _ROASTED_ON, _SETTING, 21.1, _OPENED_ON)
    return replace(
        usual,
        bags=(replace(kept, bag=FROZEN, freezes=(_FREEZE,)), kept),
        taste=replace(usual.taste, best_age_d=14.0, per_age_squared=0.0012),
    )


def write_two_halves(folder: str | Path, seed: int) -> tuple[Path, ...]:
    """Write the log of two halves of one invented bag into a folder.

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
    ...     [path.name for path in write_two_halves(folder, seed=1)]
    ['bench.toml', 'shots.csv', 'tastings.csv', 'truth.json']
    """
    known = two_halves_truth()
    rng = np.random.default_rng(seed)
    log = invent_log(known, plan_shots(_sessions(), rng, truth=known), rng)
    return log.write(
        folder,
        bench=bench_text(known, _PLACE),
        shots=csv_text(log.typed),
        truth=truth_text(seed, known, log.pulled),
    )


def _sessions() -> tuple[Evening, ...]:
    """Return sessions of a warm-up and two shots of each half, which take turns to begin."""
    return tuple(
        Evening(
            session=f"e{number}",
            starts=datetime.combine(_ROASTED_ON + timedelta(days=day), time(18, 20), _SUMMER_TIME),
            bag=KEPT,
            bags=_turns(number),
            grinds=(_SETTING,) * 5,
            bands=("medium",),
            tasters=("t1", "t2", "t3"),
            tapers_bar=(2.7,),
            baristas=("p1", "p2"),
        )
        for number, day in enumerate(_DAYS, start=1)
    )


def _turns(number: int) -> tuple[str, ...]:
    first, then = (FROZEN, KEPT) if number % 2 else (KEPT, FROZEN)
    return (then, first, then, then, first)
