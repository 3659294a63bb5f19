"""The state of the bench that a level of a bag is told for: the service in force, usual levels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.trend.rows import AGE

if TYPE_CHECKING:
    from collections.abc import Hashable

    from yieldwright.ageing.trend.rows import BagRows

__all__ = ["SERVICE", "service_at", "state_at", "usual_level"]

SERVICE = "service_stretch"


def state_at(rows: BagRows, age_d: float | None = None) -> dict[str, Hashable]:
    """Return the level of each factor beside the age that a bag had at one age.

    Parameters
    ----------
    rows : BagRows
        Rows of one bag.
    age_d : float or None
        Roast age; None for the last one. [d]

    Returns
    -------
    dict
        Level by column: of services the stretch in force at that age, of every other factor
        the level of most shots. Numbers are not in it: they stand at their mean.

    Notes
    -----
    A level for half a service, or for a band between two, is that of no shot: what is told
    for a day must name one state.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aabbccddeeff"), "time_s": 36.0})
    >>> shots["roast_age_d"] = [4.0, 4.0, 6.0, 6.0, 8.0, 8.0, 10.0, 10.0, 12.0, 12.0, 14.0, 14.0]
    >>> since = ["before 2026-05-03"] * 6 + ["since 2026-05-03"] * 6
    >>> shots["service_stretch"] = pd.Categorical(since, ordered=True)
    >>> rows = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> state_at(rows, 9.0), state_at(rows)
    ({'service_stretch': 'before 2026-05-03'}, {'service_stretch': 'since 2026-05-03'})
    """
    state = {
        each.column: usual_level(rows, each.column)
        for each in rows.beside
        if each.levels and each.column != SERVICE
    }
    service = service_at(rows, age_d)
    return state if service is None else {**state, SERVICE: service}


def service_at(rows: BagRows, age_d: float | None = None) -> Hashable | None:
    """Return the stretch between two services in force at one age.

    Parameters
    ----------
    rows : BagRows
        Rows of one bag.
    age_d : float or None
        Roast age; None for the last one. [d]

    Returns
    -------
    hashable or None
        That of the last shot pulled up to this age: a service before the first shot of a day
        is in force on that day. None where no service is taken off.
    """
    service = rows.predictor(SERVICE)
    if service is None:
        return None
    if age_d is None:
        return service.levels[-1]
    frame = rows.prepared.frame
    places = np.array([service.levels.index(level) for level in frame[SERVICE]])
    until = places[frame[AGE].to_numpy(dtype=float) <= age_d + 1e-9]
    return service.levels[int(until.max()) if len(until) else 0]


def usual_level(rows: BagRows, column: str) -> Hashable:
    """Return the level that most shots of a bag had, of several the one pulled last.

    Parameters
    ----------
    rows : BagRows
        Rows of one bag.
    column : str
        A factor beside the age.

    Returns
    -------
    hashable
    """
    levels = rows.prepared.frame[column]
    counts = levels.value_counts()
    most = set(counts.index[counts == counts.max()])
    usual: Hashable = next(level for level in reversed(levels.tolist()) if level in most)
    return usual
