"""Charts of several quantities of one log, and the likeliest lasting move of each."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.errors import TooFewShotsError
from yieldwright.repeatability.charts.lasting_move import LastingMove, lasting_move
from yieldwright.repeatability.charts.watch_cautions import with_a_move
from yieldwright.repeatability.charts.watching import SEED, Watch, watch

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["watched_with_moves"]


def watched_with_moves(
    comparable: ComparableSet,
    columns: Sequence[str],
    log: ShotLog,
    *,
    baseline: int | None = None,
    rng: np.random.Generator,
) -> tuple[tuple[Watch, ...], tuple[LastingMove, ...]]:
    r"""Return the chart of each quantity, or why there is none, and its likeliest lasting move.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    columns : sequence of str
        Measured columns.
    log : ShotLog
        The log they are of.
    baseline : int or None
        How many of the first shots limits rest on; None for all. [count]
    rng : Generator
        Source of chance for steady benches drawn to compare with.

    Returns
    -------
    watches : tuple of Watch
        One per column; where a move is clear, that the coffee aged is a thing to care for.
    moves : tuple of LastingMove
        Of those columns that have shots enough to look between.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> from yieldwright.taste.asking import named_set
    >>> times = [36.0, 36.4, 35.7, 36.1, 35.9, 36.2, 33.1, 32.8, 33.3, 32.9, 33.0, 33.2]
    >>> lines = ["shot,time_s", *(f"{n},{time}" for n, time in enumerate(times))]
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("\n".join(lines), encoding="utf-8")
    ...     log = read_log(path)
    >>> chance = np.random.default_rng(1)
    >>> watches, moves = watched_with_moves(named_set(log), ["time_s"], log, rng=chance)
    >>> watches[0].n_shots, moves[0].first_after, moves[0].clear
    (12, '6', True)
    """
    # One seed for all charts: shots judged alike have the same chance of an alarm.
    drawn = int(rng.integers(2**32))
    watches = [_watched(comparable, name, log, baseline, drawn) for name in columns]
    moves = tuple(_moves(comparable, watches, log, rng))
    return tuple(_beside_moves(watches, moves)), moves


def _watched(
    comparable: ComparableSet,
    name: str,
    log: ShotLog,
    baseline: int | None,
    seed: int,
) -> Watch:
    """Return the chart of one quantity, or why there is none."""
    rng = np.random.default_rng(seed)
    try:
        return watch(
            comparable, name, bench=log.bench, baseline=baseline, told_in=log.shots, rng=rng
        )
    except TooFewShotsError as problem:  # the baseline is longer than the series
        return Watch(response=name, n_shots=0, missing=f"{problem}.", sentences=(f"{problem}.",))


def _moves(
    comparable: ComparableSet, watches: Sequence[Watch], log: ShotLog, rng: np.random.Generator
) -> Iterator[LastingMove]:
    """Yield the likeliest lasting move of each series.

    It is looked for with settings taken out by all shots, whatever limits rest on: carried
    on from a few, what they do would itself look like a move.
    """
    for each in watches:
        whole = each
        if each.baseline < each.n_shots or not each.baseline:
            whole = _watched(comparable, each.response, log, None, SEED)
        found = lasting_move(whole, rng=rng)
        if found is not None:
            yield found


def _beside_moves(watches: Sequence[Watch], moves: Sequence[LastingMove]) -> Iterator[Watch]:
    """Yield each chart, age a thing to care for where a lasting move is told."""
    clear = {each.response for each in moves if each.clear}
    for each in watches:
        moved = each.response in clear
        yield replace(each, cautions=with_a_move(each.cautions)) if moved else each
