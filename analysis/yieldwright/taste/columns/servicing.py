"""Stretches between services: what was cleaned or changed breaks a series of shots in two."""

from __future__ import annotations

from itertools import pairwise

import pandas as pd

__all__ = ["service_stretches"]

#: Entries that say that nothing was done.
NOTHING = frozenset({"", "-", "–", "0", "no", "none", "nothing", "n/a", "false"})


def service_stretches(shots: pd.DataFrame) -> pd.Series[str] | None:
    """Return the stretch between two services that each shot lies in.

    Parameters
    ----------
    shots : DataFrame
        One row per shot of a whole log, warm-ups and failures too: a service noted at one
        of them counts for all that follow.

    Returns
    -------
    Series or None
        One row per shot, as ordered levels: `before 2026-05-03`, `since 2026-05-03` and
        so on; numbered where days are not known or two services fell on one. None where
        nothing was serviced after the first shot.

    Notes
    -----
    Shots are put in order of time where every one has it, else of day and position, else
    of the file. The same words at neighbouring shots of one session are one service. What
    was done is not judged: a group cleaned and burrs changed both begin a new stretch.

    Examples
    --------
    >>> shots = pd.DataFrame({"serviced": [None, "burrs brushed", None]})
    >>> service_stretches(shots).tolist()
    ['before service 1', 'since service 1', 'since service 1']
    """
    if "serviced" not in shots or shots.empty:
        return None
    order = _order(shots)
    starts = _starts(shots.loc[order])
    if not starts.iloc[1:].any():
        return None
    number = starts.cumsum()
    names = _names(shots.loc[order], starts)
    words = [names[place] for place in number.tolist()]
    present = list(dict.fromkeys(words))
    found = pd.Categorical(words, categories=present, ordered=True)
    return pd.Series(found, index=order).reindex(shots.index)


def _order(shots: pd.DataFrame) -> pd.Index:
    """Return the rows in the order they were pulled."""
    for keys in (["pulled_at"], ["pulled_on", "position"], ["pulled_on"]):
        if all(key in shots and shots[key].notna().all() for key in keys):
            return shots.sort_values(keys, kind="stable").index
    return shots.index


def _starts(shots: pd.DataFrame) -> pd.Series[bool]:
    """Return at which shots a new stretch begins."""
    said = shots["serviced"].astype("string").fillna("").str.strip().str.casefold()
    session = shots["session"] if "session" in shots else pd.Series("all", index=shots.index)
    repeated = (said == said.shift()) & (session == session.shift())
    return ~said.isin(NOTHING) & ~repeated.fillna(value=False).astype(bool)


def _names(shots: pd.DataFrame, starts: pd.Series[bool]) -> list[str]:
    """Return the name of the stretch before any service, and of each that a service began."""
    days = _days(shots[starts]) or [f"service {place + 1}" for place in range(int(starts.sum()))]
    first = f"before {days[0]}"
    return [first, *(f"since {day}" for day in days)]


def _days(served: pd.DataFrame) -> list[str]:
    """Return the day of each service, told apart where two fell on one; none where unknown."""
    if "pulled_on" not in served or served["pulled_on"].isna().any():
        return []
    days = [day.date().isoformat() for day in served["pulled_on"]]
    place = [1]
    for before, day in pairwise(days):
        place.append(place[-1] + 1 if day == before else 1)
    return [day if n == 1 else f"{day} ({n})" for day, n in zip(days, place, strict=True)]
