"""The shots of one grinder that bags are compared in, in the order they were pulled."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.errors import UnknownNameError
from yieldwright.models.wording import nearest, quoted
from yieldwright.results import Dropped
from yieldwright.taste.asking import named_set
from yieldwright.taste.columns.comparable import pooled_bags
from yieldwright.taste.columns.predictors import response_values
from yieldwright.taste.words.bag_words import bag_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["bag_name", "in_order", "narrowed", "shots_of_grinder", "with_ages"]

AGE = "roast_age_d"

#: Why a shot stays out whose age is not known.
AGELESS = "without a roast age"

#: Columns that tell in which order shots were pulled, the best first.
ORDERS = (["pulled_at"], ["pulled_on", "position"], ["pulled_on"])


def shots_of_grinder(
    log: ShotLog, *, grinder: str = "", bags: Sequence[str] = ()
) -> ComparableSet:
    r"""Return the usable shots of the bags of one grinder, in the sessions of the log.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    grinder : str
        Its code; empty for that of the bag that ends last in the log.
    bags : sequence of str
        Codes of the bags meant; none for all of them.

    Returns
    -------
    ComparableSet
        Bags pulled in one session share that session, and so what the day did to both.

    Raises
    ------
    UnknownNameError
        If the log has no such grinder or bag.
    TooFewShotsError
        If the log holds no shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,session,bag\n1,m,a\n2,m,b\n3,n,b\n", encoding="utf-8")
    ...     shots = shots_of_grinder(read_log(path)).shots
    >>> shots["session"].tolist()
    ['m', 'm', 'n']
    """
    pooled = pooled_bags(log, grinder=grinder or named_set(log).grinder)
    shots = pooled.shots
    if "session" in log.shots:
        sessions = dict(zip(log.shots["shot"], log.shots["session"], strict=True))
        shots = shots.assign(session=shots["shot"].map(sessions))
    return narrowed(replace(pooled, shots=shots), bags)


def narrowed(comparable: ComparableSet, bags: Sequence[str]) -> ComparableSet:
    """Return the shots of some bags alone.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    bags : sequence of str
        Codes of the bags meant; none for all of them.

    Returns
    -------
    ComparableSet

    Raises
    ------
    UnknownNameError
        If there is no such bag.

    Examples
    --------
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> both = ComparableSet("", "", pd.DataFrame({"bag": ["a", "b"]}))
    >>> narrowed(both, ["b"]).shots["bag"].tolist()
    ['b']
    """
    for code in bags:
        if code not in comparable.bags:
            raise UnknownNameError(
                f"no shot that may be compared is of bag {quoted(code)}; "
                f"{nearest(code, comparable.bags)}"
            )
    if not bags:
        return comparable
    kept = comparable.shots["bag"].fillna("").isin(list(bags))
    return replace(comparable, shots=comparable.shots[kept].reset_index(drop=True))


def with_ages(
    comparable: ComparableSet, response: str, *, bench: Bench
) -> tuple[ComparableSet, tuple[Dropped, ...]]:
    """Return the shots with a roast age and the response, and how many have none.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    response : str
        Column explained.
    bench : Bench
        Whose scales to use.

    Returns
    -------
    comparable : ComparableSet
    dropped : tuple of Dropped

    Notes
    -----
    An age that is not known is a reason to leave a shot out; it never counts as none.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"roast_age_d": [4.0, None], "time_s": [36.0, 35.0]})
    >>> kept, dropped = with_ages(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> len(kept.shots), [str(each) for each in dropped]
    (1, ['1 shot without a roast age'])
    """
    shots = comparable.shots
    nothing = pd.Series(float("nan"), index=shots.index)
    aged = (shots[AGE].astype(float) if AGE in shots else nothing).notna()
    answered = response_values(shots, response, bench).notna()
    kept = shots[aged & answered].reset_index(drop=True)
    losses = (
        (int((~answered).sum()), "without what is followed"),
        (int((answered & ~aged).sum()), AGELESS),
    )
    dropped = tuple(Dropped(number, why) for number, why in losses if number)
    return replace(comparable, shots=kept), dropped


def in_order(shots: pd.DataFrame) -> pd.DataFrame:
    """Return shots in the order they were pulled, as far as the log tells.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.

    Returns
    -------
    DataFrame
        By time where every shot has it, else by day and position, else as in the file.

    Examples
    --------
    >>> in_order(pd.DataFrame({"pulled_on": ["2026-05-04", "2026-05-03"]})).index.tolist()
    [1, 0]
    """
    for keys in ORDERS:
        if all(key in shots and shots[key].notna().all() for key in keys):
            return shots.sort_values(keys, kind="stable")
    return shots
