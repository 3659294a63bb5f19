"""The account of a log as plain values: what a program reads instead of a person."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldwright.cli.plain_values import plain

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.shotlog import FileReading, ShotLog

__all__ = ["account_of", "account_of_unreadable"]

#: Counts up when a key of the account changes its name or meaning.
_FORMAT = 1


def account_of(log: ShotLog, path: str) -> dict[str, Any]:
    r"""Return the account of a log as plain values, ready for JSON.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    path : str
        How it was named.

    Returns
    -------
    dict
        In this order; a missing value is None:

        - `format` (1), `log` (as named), `verdict` ("clean", "flagged", "rows set aside" or
          "unreadable"), `error` (text), `as_of` (day, year first).
        - `counts`: `shots`, `usable`, `tastings`, `set_aside`, `flags`, `lines_read`,
          `lines_accepted`, `lines_set_aside`, `lines_listed`, `adds_up`.
        - `files`, one object per file: the fields of `FileReading`, and `adds_up`.
        - `remarks`: sentences.
        - `set_aside`, `flags` and `listed`, one object per row of these tables of `ShotLog`,
          with their columns as keys.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     account_of(read_log(path), "shots.csv")["counts"]["shots"]
    1
    """
    return {
        "format": _FORMAT,
        "log": path,
        "verdict": _verdict(log),
        "error": None,
        "as_of": log.as_of.isoformat() if log.as_of is not None else None,
        "counts": _counts(log),
        "files": [_file_account(file) for file in log.reading.files],
        "remarks": list(log.reading.remarks),
        "set_aside": _records(log.set_aside),
        "flags": _records(log.flags),
        "listed": _records(log.listed),
    }


def account_of_unreadable(path: str, problem: Exception) -> dict[str, Any]:
    """Return the account of a log that could not be read, with the keys of `account_of`.

    Parameters
    ----------
    path : str
        How the log was named.
    problem : Exception
        Why it could not be read.

    Returns
    -------
    dict
        `error` holds the reason and the remedy; what is not known is None or empty.

    Examples
    --------
    >>> account_of_unreadable("shots.csv", ValueError("it is empty"))["verdict"]
    'unreadable'
    """
    return {
        "format": _FORMAT,
        "log": path,
        "verdict": "unreadable",
        "error": str(problem),
        "as_of": None,
        "counts": None,
        **{part: [] for part in ("files", "remarks", "set_aside", "flags", "listed")},
    }


def _verdict(log: ShotLog) -> str:
    if len(log.set_aside):
        return "rows set aside"
    return "flagged" if len(log.flags) else "clean"


def _counts(log: ShotLog) -> dict[str, Any]:
    reading = log.reading
    return {
        "shots": len(log.shots),
        "usable": int(log.shots["usable"].sum()),
        "tastings": len(log.tastings),
        "set_aside": len(log.set_aside),
        "flags": len(log.flags),
        "lines_read": reading.lines_read,
        "lines_accepted": reading.lines_accepted,
        "lines_set_aside": reading.lines_set_aside,
        "lines_listed": reading.lines_listed,
        "adds_up": reading.adds_up,
    }


def _file_account(file: FileReading) -> dict[str, Any]:
    return {**plain(file), "adds_up": file.adds_up}


def _records(table: pd.DataFrame) -> Any:  # noqa: ANN401  # what JSON holds
    """Return the rows of a table; a cell that is empty there holds nothing, and is None."""
    return plain(table.astype(object).where(table.notna(), None))
