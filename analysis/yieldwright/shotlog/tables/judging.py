"""Which rows stand, once every cell of theirs was checked and what follows from it too."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.shotlog.checks.checking import contradictions, unknown_bands
from yieldwright.shotlog.checks.duplicates import (
    exact_copies,
    have_moment,
    repeated_ids,
    with_shared_id,
)
from yieldwright.shotlog.checks.ranges import beyond_hard
from yieldwright.shotlog.headers.entries import reading_columns
from yieldwright.shotlog.headers.exported import by_people, echoed_names
from yieldwright.shotlog.tables.deriving import derive

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.findings import Finding
    from yieldwright.shotlog.tables.pooling import Pool

__all__ = ["Judged", "judge_rows", "rows_without"]


@dataclass(frozen=True)
class Judged:
    """Data rows after every check.

    Attributes
    ----------
    frame : DataFrame
        One row per data row: typed and derived columns; derived ones are missing where
        the row does not stand.
    accepted : ndarray of int
        Rows that stand.
    refused : list of Finding
        Why others do not.
    copies : list of Finding
        Rows that repeat an accepted one.
    flagged : list of Finding
        Doubts about cells.
    """

    frame: pd.DataFrame
    accepted: np.ndarray
    refused: list[Finding]
    copies: list[Finding]
    flagged: list[Finding]


def judge_rows(pool: Pool, bench: Bench) -> Judged:
    r"""Return which rows stand, deriving from those without a mistake what follows.

    Parameters
    ----------
    pool : Pool
        The rows, as values and as they stand.
    bench : Bench
        Ranges, instruments, bands.

    Returns
    -------
    Judged

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.pooling import pool_sheets
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n2,180\n", encoding="utf-8")
    ...     pool = pool_sheets([read_sheet(path, "shots", Bench())], Bench())
    >>> judge_rows(pool, Bench()).accepted.tolist()
    [0]
    """
    typed, exported = pool.typed, pool.exported
    beyond, spared = beyond_hard(typed.frame, typed.texts, bench)
    beyond = by_people(beyond, exported)
    no_band, odd_band = unknown_bands(typed.frame, bench)
    contrary = contradictions(typed.frame, typed.texts)
    refused = [*typed.refused, *pool.names.refused, *beyond, *no_band, *contrary]
    sound = rows_without(refused, len(pool))
    whole = len(sound) == len(pool)
    derived = derive(typed.frame if whole else typed.frame.iloc[sound], bench)
    impossible, odd = beyond_hard(_computed(derived, typed.frame), {}, bench)
    refused += impossible
    copies = _copies(pool, rows_without(refused, len(pool)))
    accepted = rows_without([*refused, *copies], len(pool))
    echoes = [echoed_names(sheet.headers) for sheet in pool.sheets]
    spared = [each for each in spared if each.column not in echoes[pool.local(each.row)[0]]]
    flagged = [*typed.flagged, *spared, *odd_band, *odd]
    return Judged(_merged(typed.frame, derived), accepted, refused, copies, flagged)


def rows_without(findings: Iterable[Finding], n_rows: int) -> np.ndarray:
    """Return the rows that no finding concerns.

    Parameters
    ----------
    findings : iterable of Finding
        In any order.
    n_rows : int
        How many rows there are.

    Returns
    -------
    ndarray of int

    Examples
    --------
    >>> from yieldwright.shotlog.findings import Finding
    >>> rows_without([Finding(1, "dose_g", "", "odd")], 3).tolist()
    [0, 2]
    """
    stands = np.ones(n_rows, dtype=bool)
    stands[[finding.row for finding in findings]] = False
    return np.flatnonzero(stands)


def _computed(derived: pd.DataFrame, typed: pd.DataFrame) -> pd.DataFrame:
    """Return what was not typed, on all rows, with the fate that may excuse it."""
    computed = derived[[name for name in derived if name not in typed]].reindex(typed.index)
    return computed.assign(fate=typed["fate"]) if "fate" in typed else computed


def _merged(typed: pd.DataFrame, derived: pd.DataFrame) -> pd.DataFrame:
    """Return typed columns, the derived ones in place of those they stand for."""
    beside = {}
    if "tds_pct" in typed and reading_columns(typed):
        beside["typed_tds_pct"] = typed["tds_pct"]
    own = derived if len(derived) == len(typed) else derived.reindex(typed.index)
    merged = {str(name): typed[name] for name in typed if name not in derived} | beside
    return pd.DataFrame(merged | {str(name): own[name] for name in own}, typed.index)


def _copies(pool: Pool, sound: np.ndarray) -> list[Finding]:
    """Return rows that repeat an earlier one, where rows can be told apart at all."""
    if not pool.names.are_typed:  # equal shots of one day need be no copies
        return exact_copies(pool, sound[have_moment(pool, sound)])
    shared = with_shared_id(pool, sound)
    copies = exact_copies(pool, shared)
    return copies + repeated_ids(pool, np.setdiff1d(shared, [copy.row for copy in copies]))
