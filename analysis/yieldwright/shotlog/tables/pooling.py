"""The rows of all files of one table, below one another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.shotlog.formats.texts import TextColumn, join_columns
from yieldwright.shotlog.tables.columns import Typed, read_columns
from yieldwright.shotlog.tables.naming import Names, name_shots

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.findings import Finding
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.tables.reading import Sheet

__all__ = ["Pool", "pool_sheets"]


@dataclass(frozen=True)
class Pool:
    """Data rows of one file or several, as values and as they stand.

    Attributes
    ----------
    sheets : sequence of Sheet
        The files.
    starts : ndarray of int, shape (number of files + 1,)
        Row at which each file begins; the last entry is the number of rows.
    typed : Typed
        The recognised columns as values.
    names : Names
        The shot each row names.
    extras : mapping of str to TextColumn
        Columns that were not recognised.
    ours : mapping of str to TextColumn
        Columns that an export adds; they tell equal rows of it apart.
    """

    sheets: Sequence[Sheet]
    starts: np.ndarray
    typed: Typed
    names: Names
    extras: Mapping[str, TextColumn]
    ours: Mapping[str, TextColumn]

    def __len__(self) -> int:
        """Return the number of rows."""
        return int(self.starts[-1])

    @property
    def exported(self) -> np.ndarray:
        """Which rows an export of ours wrote, as opposed to a person."""
        return np.concatenate([sheet.exported for sheet in self.sheets])

    def local(self, row: int) -> tuple[int, int]:
        """Return which file a row stands in, and the number it has there.

        Parameters
        ----------
        row : int
            Counted over all files.

        Returns
        -------
        file, row : int
        """
        file = int(np.searchsorted(self.starts, row, side="right")) - 1
        return file, row - int(self.starts[file])

    def record(self, row: int) -> Record:
        """Return a row as it stands in its file.

        Parameters
        ----------
        row : int
            Counted over all files.

        Returns
        -------
        Record
        """
        file, own = self.local(row)
        return self.sheets[file].rows.record(own)

    def place(self, row: int) -> str:
        """Return where a row stands, in words.

        Parameters
        ----------
        row : int
            Counted over all files.

        Returns
        -------
        str
        """
        file, own = self.local(row)
        sheet = self.sheets[file]
        line = f"line {int(sheet.rows.first_lines[own])}"
        return line if len(self.sheets) == 1 else f"{line} of {sheet.file}"

    def cells(self, row: int) -> dict[str, str]:
        """Return what a row holds under each header, outer blanks and empty cells left out.

        Parameters
        ----------
        row : int
            Counted over all files.

        Returns
        -------
        dict of str to str
        """
        return {
            name: text for name, column in self._columns().items() if (text := column[row].strip())
        }

    def fingerprints(self, rows: np.ndarray) -> np.ndarray:
        """Return a number for each of some rows, equal where all cells are.

        Parameters
        ----------
        rows : ndarray of int, shape (n,)
            Counted over all files.

        Returns
        -------
        ndarray of uint64, shape (n,)
        """
        total = np.zeros(len(rows), dtype=np.uint64)
        if not len(rows):
            return total
        for name, column in self._columns().items():
            used, codes = np.unique(column.codes[rows], return_inverse=True)
            stripped = [column.texts[code].strip() for code in used.tolist()]
            seeds = pd.util.hash_array(np.array(stripped, dtype=object), categorize=False)
            is_empty = np.array([not text for text in stripped], dtype=bool)
            total += np.where(is_empty, np.uint64(0), seeds * np.uint64(_odd_number(name)))[codes]
        return total

    def places(self, rows: np.ndarray) -> dict[str, Any]:
        """Return file, first line and number of lines of some rows, as columns.

        Parameters
        ----------
        rows : ndarray of int
            Counted over all files.

        Returns
        -------
        dict
        """
        files = np.searchsorted(self.starts, rows, side="right") - 1
        names = pd.array([sheet.file for sheet in self.sheets], dtype="str")
        first = np.concatenate([sheet.rows.first_lines for sheet in self.sheets])
        counts = np.concatenate([sheet.rows.line_counts for sheet in self.sheets])
        return {"file": names[files], "line": first[rows], "line_count": counts[rows]}

    def extras_of(self, rows: np.ndarray) -> pd.DataFrame:
        """Return the columns that were not recognised, for some rows.

        Parameters
        ----------
        rows : ndarray of int, shape (n,)
            Counted over all files; a row may come more than once.

        Returns
        -------
        DataFrame
            n rows of texts; an empty cell is missing.
        """
        columns = {}
        for header, column in self.extras.items():
            kept = pd.array([text or None for text in column.texts], dtype="str")
            columns[header] = kept[column.codes[rows]]
        return pd.DataFrame(columns, index=pd.RangeIndex(len(rows)))

    def _columns(self) -> dict[str, TextColumn]:
        extras = {f"extra:{name}": column for name, column in {**self.extras, **self.ours}.items()}
        return {**self.typed.texts, **extras}


def pool_sheets(sheets: Sequence[Sheet], bench: Bench) -> Pool:
    r"""Return the rows of several files as one table of values.

    Each file is read by its own dialect; a column that one of them lacks is empty there.

    Parameters
    ----------
    sheets : sequence of Sheet
        At least one.
    bench : Bench
        Says how cells are to be taken.

    Returns
    -------
    Pool

    Raises
    ------
    UnreadableLogError
        If the shots cannot be named as the bench asks.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n", encoding="utf-8")
    ...     pool = pool_sheets([read_sheet(path, "shots", Bench())], Bench())
    >>> pool.place(0), pool.cells(0)
    ('line 2', {'shot': '1', 'dose_g': '18'})
    """
    starts = np.cumsum([0, *(len(sheet.rows) for sheet in sheets)])
    typed = [read_columns(sheet, bench) for sheet in sheets]
    names: list[Names] = []
    after = 0
    for sheet in sheets:
        names.append(name_shots(sheet, bench, after=after))
        after += len(sheet.rows) + len(sheet.set_aside)
    return Pool(
        sheets,
        starts,
        _joined_typed(typed, starts),
        _joined_names(names, starts),
        _joined_texts([sheet.texts("extra") for sheet in sheets], starts),
        _joined_texts([sheet.texts("ours") for sheet in sheets], starts),
    )


def _joined_typed(parts: Sequence[Typed], starts: np.ndarray) -> Typed:
    if len(parts) == 1:
        return parts[0]
    kinds = {str(name): part.frame[name].dtype for part in parts for name in part.frame}
    frames = [part.frame.assign(**_empty(part.frame, kinds)) for part in parts]
    return Typed(
        pd.concat(frames, ignore_index=True),
        _joined_texts([part.texts for part in parts], starts),
        _shifted([part.refused for part in parts], starts),
        _shifted([part.flagged for part in parts], starts),
        [remark for part in parts for remark in part.remarks],
    )


def _empty(frame: pd.DataFrame, kinds: Mapping[str, Any]) -> dict[str, pd.Series[Any]]:
    """Return the columns that a frame lacks, with nothing in them."""
    return {
        name: pd.Series(None, frame.index, dtype=kind)
        for name, kind in kinds.items()
        if name not in frame
    }


def _joined_names(parts: Sequence[Names], starts: np.ndarray) -> Names:
    if len(parts) == 1:
        return parts[0]
    return Names(
        join_columns([part.ids for part in parts]),
        any(part.are_typed for part in parts),
        _shifted([part.refused for part in parts], starts),
    )


def _joined_texts(
    parts: Sequence[Mapping[str, TextColumn]], starts: np.ndarray
) -> dict[str, TextColumn]:
    """Return columns below one another, empty where a file lacks one."""
    names = dict.fromkeys(name for part in parts for name in part)
    lengths = np.diff(starts).tolist()
    return {
        name: join_columns(
            [
                part.get(name, TextColumn(np.zeros(length, dtype=np.int32), [""]))
                for part, length in zip(parts, lengths, strict=True)
            ]
        )
        for name in names
    }


def _shifted(parts: Sequence[list[Finding]], starts: np.ndarray) -> list[Finding]:
    """Return findings by the numbers that their rows have over all files."""
    return [
        finding._replace(row=finding.row + int(start))
        for part, start in zip(parts, starts[:-1].tolist(), strict=True)
        for finding in part
    ]


def _odd_number(name: str) -> int:
    """Return a number that stands for a name, the same on every run."""
    return int(pd.util.hash_array(np.array([name], dtype=object))[0]) | 1
