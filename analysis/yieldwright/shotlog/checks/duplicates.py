"""Rows that tell the same shot twice: set aside where that is sure, flagged where it may be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.shotlog.findings import Finding, quoted

if TYPE_CHECKING:
    from yieldwright.shotlog.tables.pooling import Pool

__all__ = ["exact_copies", "have_moment", "near_copies", "repeated_ids", "with_shared_id"]

_SAME_TIME_S = 60.0


def exact_copies(pool: Pool, considered: np.ndarray) -> list[Finding]:
    r"""Return rows whose every cell equals that of an earlier row, outer blanks aside.

    Parameters
    ----------
    pool : Pool
        All data rows.
    considered : ndarray of int
        Those to compare, in order.

    Returns
    -------
    list of Finding
        The later row of each pair.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.pooling import pool_sheets
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n1,18 \n", encoding="utf-8")
    ...     pool = pool_sheets([read_sheet(path, "shots", Bench())], Bench())
    >>> exact_copies(pool, np.array([0, 1]))[0].reason
    'an exact copy of the row at line 2'
    """
    copies: list[Finding] = []
    if pool.names.are_typed:  # a copy has the name of its original
        considered = with_shared_id(pool, considered)
    for earlier, row in _repeated(pool.fingerprints(considered), considered):
        if pool.cells(row) == pool.cells(earlier):
            reason = f"an exact copy of the row at {pool.place(earlier)}"
            copies.append(Finding(row, "shot", "", reason, "delete one of them"))
    return copies


def have_moment(pool: Pool, rows: np.ndarray) -> np.ndarray:
    """Return which rows say the time of their pull, and not its day alone.

    Parameters
    ----------
    pool : Pool
        All data rows.
    rows : ndarray of int
        Those to look at.

    Returns
    -------
    ndarray of bool, one per row asked for
    """
    if "pulled_at" not in pool.typed.frame:
        return np.zeros(len(rows), dtype=bool)
    timed: np.ndarray = pool.typed.frame["pulled_at"].notna().to_numpy(dtype=bool)[rows]
    return timed


def repeated_ids(pool: Pool, considered: np.ndarray) -> list[Finding]:
    r"""Return rows that carry the shot id of an earlier row.

    Parameters
    ----------
    pool : Pool
        All data rows.
    considered : ndarray of int
        Those to compare, in order.

    Returns
    -------
    list of Finding
        The later row of each pair.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.pooling import pool_sheets
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n7,18\n7,19\n", encoding="utf-8")
    ...     pool = pool_sheets([read_sheet(path, "shots", Bench())], Bench())
    >>> repeated_ids(pool, np.array([0, 1]))[0].reason
    'shot “7” is already the row at line 2'
    """
    ids = pool.names.ids
    considered = with_shared_id(pool, considered)
    keys = np.array([ids[row] for row in considered.tolist()], dtype=object)
    return [
        Finding(
            row,
            "shot",
            ids[row],
            f"shot {quoted(ids[row])} is already the row at {pool.place(earlier)}",
            "give it an id of its own",
        )
        for earlier, row in _repeated(keys, considered)
    ]


def _repeated(keys: np.ndarray, rows: np.ndarray) -> Iterator[tuple[int, int]]:
    """Yield pairs of rows with one key: the first of them, and each later one."""
    series = pd.Series(keys)
    later = series.duplicated().to_numpy()
    if not later.any():
        return
    again = series.isin(series[later])
    first: dict[object, int] = {}
    for key, row in zip(series[again].tolist(), rows[again.to_numpy()].tolist(), strict=True):
        earlier = first.setdefault(key, row)
        if earlier != row:
            yield earlier, row


def with_shared_id(pool: Pool, rows: np.ndarray) -> np.ndarray:
    r"""Return those rows that share their shot id with another of them.

    Parameters
    ----------
    pool : Pool
        All data rows.
    rows : ndarray of int
        Those to compare.

    Returns
    -------
    ndarray of int

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.pooling import pool_sheets
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n7,18\n8,18\n7,19\n", encoding="utf-8")
    ...     pool = pool_sheets([read_sheet(path, "shots", Bench())], Bench())
    >>> with_shared_id(pool, np.arange(3)).tolist()
    [0, 2]
    """
    if not len(rows):
        return rows
    ids = pool.names.ids.take(rows)
    texts = pd.Series(ids.texts, dtype=object)
    if not texts.duplicated().any():  # each text once: the numbers tell as much
        shared = pd.Series(ids.codes).duplicated(keep=False)
    else:
        shared = pd.Series(texts.to_numpy()[ids.codes], dtype=object).duplicated(keep=False)
    repeated: np.ndarray = rows[shared.to_numpy()]
    return repeated


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
    close = _close_in_time(_seconds(shots["pulled_at"]))
    return [each._replace(row=int(close[each.row])) for each in _near(shots.iloc[close])]


def _close_in_time(seconds: np.ndarray) -> np.ndarray:
    """Return, in order, the shots pulled within a minute of another."""
    order = np.argsort(seconds, kind="stable")
    follows = np.zeros(len(seconds) + 1, dtype=bool)
    follows[1:-1] = np.diff(seconds[order]) <= _SAME_TIME_S
    close: np.ndarray = np.sort(order[follows[:-1] | follows[1:]])
    return close


def _near(shots: pd.DataFrame) -> list[Finding]:
    """Return near copies among shots of which each is close in time to another."""
    seconds = _seconds(shots["pulled_at"])
    weights = shots[["dose_g", "beverage_g"]].to_numpy(dtype=float)
    barista = shots["barista"].fillna("") if "barista" in shots else pd.Series("", shots.index)
    who = pd.factorize(barista)[0]
    order = np.lexsort((seconds, weights[:, 1], weights[:, 0], who))
    first, second = order[:-1], order[1:]
    same = (who[first] == who[second]) & (weights[first] == weights[second]).all(axis=1)
    same &= np.abs(seconds[second] - seconds[first]) <= _SAME_TIME_S
    ids = shots["shot"]
    return [
        _near_copy(ids.iloc[before], after)
        for before, after in zip(first[same].tolist(), second[same].tolist(), strict=True)
    ]


def _near_copy(before: str, after: int) -> Finding:
    reason = (
        f"pulled within a minute of shot {quoted(before)}, with equal dose and beverage: "
        "one shot twice?"
    )
    return Finding(after, "pulled_at", "", reason, "delete one of them, or correct the time")


def _seconds(moments: pd.Series[pd.Timestamp]) -> np.ndarray:
    # from a text, whose microseconds reach beyond 2262, where nanoseconds end
    elapsed = (moments - pd.Timestamp("1970-01-01T00:00Z")) / pd.Timedelta(seconds=1)
    return elapsed.to_numpy(dtype=float)
