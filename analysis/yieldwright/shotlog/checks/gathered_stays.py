"""Stays in the freezer gathered from the bench and from all rows of a bag."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.shotlog.checks.stays import ENDLESS_D, LINE_D, NO_COFFEE, Stays, on_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["stays_of"]

#: Holds the table of stays where nobody states any.
_NOBODYS = -2


def stays_of(
    coffee: np.ndarray,
    frozen_on: np.ndarray,
    thawed_on: np.ndarray,
    pulled: np.ndarray,
    listed: Iterable[tuple[int, float, float]] = (),
) -> Stays:
    """Return the stays in the freezer that each coffee is known for.

    Parameters
    ----------
    coffee : ndarray of int
        Which coffee each row is of; `NO_COFFEE` where it is not known.
    frozen_on, thawed_on : ndarray of float
        Days in and out that each row states; missing where it does not. [d]
    pulled : ndarray of float
        Day of each pull. [d]
    listed : iterable of tuples of int and two floats
        Coffee, first and last day of what the bench lists.

    Returns
    -------
    Stays

    Notes
    -----
    Two stays that share no day contradict nothing, and both are known. Of stays that do,
    those of the bench come first, then those that most rows state. A day out without a day
    in ends the stay that began last before it.

    Examples
    --------
    >>> nan = float("nan")
    >>> first, last = np.array([nan, 10.0, 28.0]), np.array([nan, 20.0, 39.0])
    >>> pulled = np.array([40.0, 21.0, 40.0])
    >>> found = stays_of(np.zeros(3, dtype=int), first, last, pulled)
    >>> found.days(np.array([0]), np.array([0.0]), np.array([40.0])).tolist()
    [21.0]
    """
    benched = [
        (place, first, ENDLESS_D if np.isnan(last) else last) for place, first, last in listed
    ]
    if not benched and np.isnan(frozen_on).all() and np.isnan(thawed_on).all():
        return _no_stays()  # as in most logs, which say nothing of a freezer
    columns = ["coffee", "first", "last"]
    table = pd.DataFrame([(_NOBODYS, 0.0, 0.0), *benched], columns=columns, dtype=float)
    table = table.assign(rows=np.inf, last_pull=-np.inf)
    stated = _stated(coffee, frozen_on, thawed_on, pulled)
    whole = pd.concat([table, stated], ignore_index=True) if len(stated) else table
    kept = whole.iloc[_apart(whole)].sort_values(["coffee", "first"], kind="stable")
    return Stays(
        coffee=kept["coffee"].to_numpy(dtype=int),
        first=kept["first"].to_numpy(dtype=float),
        last=kept["last"].to_numpy(dtype=float),
        is_by_bench=np.isinf(kept["rows"].to_numpy(dtype=float)),
        last_pull=kept["last_pull"].to_numpy(dtype=float),
    )


def _no_stays() -> Stays:
    """Return the one stay of nobody, which every search may fall on."""
    return Stays(
        coffee=np.array([_NOBODYS], dtype=int),
        first=np.zeros(1),
        last=np.zeros(1),
        is_by_bench=np.ones(1, dtype=bool),
        last_pull=np.full(1, -np.inf),
    )


def _stated(
    coffee: np.ndarray, frozen_on: np.ndarray, thawed_on: np.ndarray, pulled: np.ndarray
) -> pd.DataFrame:
    """Return each different stay that rows state, by how many, and the last of their pulls."""
    says = (coffee != NO_COFFEE) & ~(np.isnan(frozen_on) & np.isnan(thawed_on))
    says &= ~(thawed_on < frozen_on)
    rows = pd.DataFrame(
        {
            "coffee": coffee[says].astype(float),
            "first": frozen_on[says],
            "last": thawed_on[says],
            "last_pull": pulled[says],
        }
    )
    alike = rows.groupby(["coffee", "first", "last"], dropna=False, sort=True)["last_pull"]
    found = alike.agg(["size", "max"]).reset_index()
    found = found.rename(columns={"size": "rows", "max": "last_pull"})
    found["last_pull"] = found["last_pull"].fillna(-np.inf)
    return _ended(found)


def _ended(stated: pd.DataFrame) -> pd.DataFrame:
    """Return stays with both days: one without its last gets it from rows that have it."""
    lacks_first, lacks_last = stated["first"].isna(), stated["last"].isna()
    whole = stated[~lacks_first & ~lacks_last & (stated["last"] > stated["first"])]
    begun = stated[lacks_last]
    known = set(zip(whole["coffee"], whole["first"], strict=True))
    is_open = [pair not in known for pair in zip(begun["coffee"], begun["first"], strict=True)]
    begun = begun[is_open]
    if begun.empty:
        return whole
    starts = np.unique(on_line(*_both(stated[~lacks_first], "first")))
    thaws = np.unique(on_line(*_both(stated[lacks_first], "last")))
    here = on_line(*_both(begun, "first"))
    thaw, again = _next(thaws, here, side="left"), _next(starts, here, side="right")
    line = begun["coffee"].to_numpy() * LINE_D
    is_ended = (thaw <= again) & (thaw - line < ENDLESS_D)
    ended = begun.assign(last=np.where(is_ended, thaw - line, ENDLESS_D))
    ended = ended[ended["last"] > ended["first"]]
    return pd.concat([whole, ended], ignore_index=True)


def _both(table: pd.DataFrame, name: str) -> tuple[np.ndarray, np.ndarray]:
    return table["coffee"].to_numpy(dtype=float), table[name].to_numpy(dtype=float)


def _next(days: np.ndarray, after: np.ndarray, *, side: str) -> np.ndarray:
    """Return the first of some days at or after others; endless where there is none."""
    at = np.searchsorted(days, after, side="left" if side == "left" else "right")
    following: np.ndarray = np.append(days, np.inf)[at]
    return following


def _apart(stays: pd.DataFrame) -> np.ndarray:
    """Return the places of stays to keep, so that no two share a day."""
    first, last = (on_line(*_both(stays, name)) for name in ("first", "last"))
    order = np.lexsort((last, first))
    reach = np.maximum.accumulate(last[order])
    begins = np.concatenate([[True], first[order][1:] >= reach[:-1]])
    cluster = np.cumsum(begins)
    sizes = np.bincount(cluster)
    kept = order[sizes[cluster] == 1].tolist()
    crowded = order[sizes[cluster] > 1]
    is_open = stays["last"].to_numpy()[crowded] >= ENDLESS_D
    rows = stays["rows"].to_numpy()[crowded]
    turn = crowded[np.lexsort((last[crowded], first[crowded], -rows, is_open & (rows < np.inf)))]
    return np.array([*kept, *_first_come(turn.tolist(), first, last)], dtype=int)


def _first_come(turn: Sequence[int], first: np.ndarray, last: np.ndarray) -> list[int]:
    """Return those that share no day with one that came before."""
    firsts: list[float] = []
    lasts: list[float] = []
    kept = []
    for each in turn:
        begin = bisect_right(lasts, first[each])
        if begin == bisect_left(firsts, last[each]):
            firsts.insert(begin, first[each])
            lasts.insert(begin, last[each])
            kept.append(each)
    return kept
