"""Rows that tell the same shot twice: set aside where that is sure, flagged where it may be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.shotlog.findings import Finding, quoted

if TYPE_CHECKING:
    from yieldwright.shotlog.records import Record

__all__ = ["exact_copies", "near_copies", "repeated_ids"]

_SAME_TIME_S = 60.0


def exact_copies(rows: Sequence[Record], considered: Iterable[int]) -> list[Finding]:
    """Return rows whose every cell equals that of an earlier row.

    Parameters
    ----------
    rows : sequence of Record
        All data rows.
    considered : iterable of int
        Those to compare, in order.

    Returns
    -------
    list of Finding
        The later row of each pair.

    Examples
    --------
    >>> from yieldwright.shotlog.records import Record
    >>> rows = [Record(2, 1, "1,18", ["1", "18"]), Record(3, 1, "1,18 ", ["1", "18 "])]
    >>> exact_copies(rows, [0, 1])[0].reason
    'an exact copy of the row at line 2'
    """
    first: dict[tuple[str, ...], int] = {}
    copies: list[Finding] = []
    for row in considered:
        key = tuple(map(str.strip, rows[row].cells))
        earlier = first.setdefault(key, row)
        if earlier != row:
            reason = f"an exact copy of the row at line {rows[earlier].first_line}"
            copies.append(Finding(row, "shot", "", reason, "delete one of them"))
    return copies


def repeated_ids(
    ids: Sequence[str], rows: Sequence[Record], considered: Iterable[int]
) -> list[Finding]:
    """Return rows that carry the shot id of an earlier row.

    Parameters
    ----------
    ids : sequence of str
        Shot id of every data row.
    rows : sequence of Record
        All data rows.
    considered : iterable of int
        Those to compare, in order.

    Returns
    -------
    list of Finding
        The later row of each pair.

    Examples
    --------
    >>> from yieldwright.shotlog.records import Record
    >>> rows = [Record(2, 1, "", []), Record(3, 1, "", [])]
    >>> repeated_ids(["7", "7"], rows, [0, 1])[0].reason
    'shot “7” is already the row at line 2'
    """
    first: dict[str, int] = {}
    found: list[Finding] = []
    for row in considered:
        earlier = first.setdefault(ids[row], row)
        if earlier != row:
            line = rows[earlier].first_line
            reason = f"shot {quoted(ids[row])} is already the row at line {line}"
            found.append(Finding(row, "shot", ids[row], reason, "give it an id of its own"))
    return found


def near_copies(shots: pd.DataFrame) -> list[Finding]:
    """Return shots that may be one: within a minute, same barista, dose and beverage.

    Parameters
    ----------
    shots : DataFrame
        One row per shot; `shot`, and what is there of `pulled_at`, `barista`, `dose_g`,
        `beverage_g`.

    Returns
    -------
    list of Finding
        The later shot of each pair; `row` is the position in `shots`.

    Examples
    --------
    >>> at = pd.to_datetime(["2026-03-07T10:00Z", "2026-03-07T10:01Z"])
    >>> shots = pd.DataFrame({"shot": ["1", "2"], "pulled_at": at, "dose_g": 18.0})
    >>> near_copies(shots.assign(beverage_g=36.0))[0].reason
    'pulled within a minute of shot “1”, with equal dose and beverage: one shot twice?'
    """
    if not {"pulled_at", "dose_g", "beverage_g"} <= set(shots.columns):
        return []
    seconds = _seconds(shots["pulled_at"])
    weights = shots[["dose_g", "beverage_g"]].to_numpy(dtype=float)
    barista = shots["barista"].fillna("") if "barista" in shots else pd.Series("", shots.index)
    who = pd.factorize(barista)[0]
    order = np.lexsort((seconds, weights[:, 1], weights[:, 0], who))
    first, second = order[:-1], order[1:]
    same = (who[first] == who[second]) & (weights[first] == weights[second]).all(axis=1)
    same &= np.abs(seconds[second] - seconds[first]) <= _SAME_TIME_S
    ids = shots["shot"].tolist()
    return [
        _near_copy(ids, before, after)
        for before, after in zip(first[same].tolist(), second[same].tolist(), strict=True)
    ]


def _near_copy(ids: Sequence[str], before: int, after: int) -> Finding:
    reason = (
        f"pulled within a minute of shot {quoted(ids[before])}, with equal dose and beverage: "
        "one shot twice?"
    )
    return Finding(after, "pulled_at", "", reason, "delete one of them, or correct the time")


def _seconds(moments: pd.Series[pd.Timestamp]) -> np.ndarray:
    elapsed = (moments - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(seconds=1)
    return elapsed.to_numpy(dtype=float)
