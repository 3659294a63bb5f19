"""Which rows stand, once every cell of theirs was checked and what follows from it too."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.shotlog.checking import contradictions, unknown_bands
from yieldwright.shotlog.deriving import derive, reading_columns
from yieldwright.shotlog.duplicates import exact_copies, repeated_ids
from yieldwright.shotlog.ranges import beyond_hard

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.columns import Typed
    from yieldwright.shotlog.findings import Finding
    from yieldwright.shotlog.naming import Names
    from yieldwright.shotlog.records import Record

__all__ = ["Judged", "judge_rows", "rows_without"]


@dataclass(frozen=True)
class Judged:
    """Data rows after every check.

    Attributes
    ----------
    frame : DataFrame
        One row per data row: typed and derived columns; derived ones are missing where
        the row does not stand.
    accepted : list of int
        Rows that stand.
    refused : list of Finding
        Why others do not.
    copies : list of Finding
        Rows that repeat an accepted one.
    flagged : list of Finding
        Doubts about cells.
    """

    frame: pd.DataFrame
    accepted: list[int]
    refused: list[Finding]
    copies: list[Finding]
    flagged: list[Finding]


def judge_rows(typed: Typed, names: Names, rows: Sequence[Record], bench: Bench) -> Judged:
    """Return which rows stand, deriving from those without a mistake what follows.

    Parameters
    ----------
    typed : Typed
        Cells as values.
    names : Names
        The shot each row names.
    rows : sequence of Record
        The rows as they stand in the file.
    bench : Bench
        Ranges, instruments, bands.

    Returns
    -------
    Judged

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.columns import Typed
    >>> from yieldwright.shotlog.naming import Names
    >>> from yieldwright.shotlog.records import Record
    >>> typed = Typed(pd.DataFrame({"dose_g": [18.0, 180.0]}), {"dose_g": ["18", "180"]})
    >>> rows = [Record(2, 1, "1,18", ["1", "18"]), Record(3, 1, "2,180", ["2", "180"])]
    >>> judge_rows(typed, Names(["1", "2"], True, []), rows, Bench()).accepted
    [0]
    """
    beyond, spared = beyond_hard(typed.frame, typed.texts, bench)
    no_band, odd_band = unknown_bands(typed.frame, bench)
    contrary = contradictions(typed.frame, typed.texts)
    refused = [*typed.refused, *names.refused, *beyond, *no_band, *contrary]
    derived = derive(typed.frame.loc[rows_without(refused, len(rows))], bench)
    impossible, odd = beyond_hard(_computed(derived, typed.frame), {}, bench)
    refused += impossible
    copies = _copies(typed, names, rows, rows_without(refused, len(rows)))
    accepted = rows_without([*refused, *copies], len(rows))
    flagged = [*typed.flagged, *spared, *odd_band, *odd]
    return Judged(_merged(typed.frame, derived), accepted, refused, copies, flagged)


def rows_without(findings: Iterable[Finding], n_rows: int) -> list[int]:
    """Return the rows that no finding concerns.

    Parameters
    ----------
    findings : iterable of Finding
        In any order.
    n_rows : int
        How many rows there are.

    Returns
    -------
    list of int

    Examples
    --------
    >>> from yieldwright.shotlog.findings import Finding
    >>> rows_without([Finding(1, "dose_g", "", "odd")], 3)
    [0, 2]
    """
    named = {finding.row for finding in findings}
    return [row for row in range(n_rows) if row not in named]


def _computed(derived: pd.DataFrame, typed: pd.DataFrame) -> pd.DataFrame:
    """Return what was not typed, on all rows, with the fate that may excuse it."""
    computed = derived[[name for name in derived if name not in typed]].reindex(typed.index)
    return computed.assign(fate=typed["fate"]) if "fate" in typed else computed


def _merged(typed: pd.DataFrame, derived: pd.DataFrame) -> pd.DataFrame:
    """Return typed columns, the derived ones in place of those they stand for."""
    beside = {}
    if "tds_pct" in typed and reading_columns(typed):
        beside["typed_tds_pct"] = typed["tds_pct"]
    kept = typed.drop(columns=[name for name in derived if name in typed])
    return pd.concat([kept.assign(**beside), derived.reindex(typed.index)], axis=1)


def _copies(
    typed: Typed, names: Names, rows: Sequence[Record], sound: Sequence[int]
) -> list[Finding]:
    """Return rows that repeat an earlier one, where rows can be told apart at all."""
    if not names.are_typed and "pulled_at" not in typed.frame:
        return []
    copies = exact_copies(rows, sound)
    named = {copy.row for copy in copies}
    rest = [row for row in sound if row not in named]
    return copies + (repeated_ids(names.ids, rows, rest) if names.are_typed else [])
