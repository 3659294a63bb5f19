"""The rows of one file, column by column, each with its place in the file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from yieldwright.shotlog.formats.records import Record
from yieldwright.shotlog.formats.texts import TextColumn

__all__ = ["Rows", "rows_of"]


@dataclass(frozen=True, slots=True)
class Rows:
    """Records with a cell for every column.

    Attributes
    ----------
    first_lines : ndarray of int, shape (n,)
        Physical line each row starts on, ascending.
    line_counts : ndarray of int, shape (n,)
        Physical lines it takes.
    columns : sequence of TextColumn
        The cells as typed.
    raw : callable
        Returns the raw text of a row that starts on a line and takes so many.
    """

    first_lines: np.ndarray
    line_counts: np.ndarray
    columns: Sequence[TextColumn]
    raw: Callable[[int, int], str]

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.first_lines)

    def record(self, row: int) -> Record:
        """Return one row as a record.

        Parameters
        ----------
        row : int
            Counted from 0.

        Returns
        -------
        Record
        """
        first, count = int(self.first_lines[row]), int(self.line_counts[row])
        cells = [column[row] for column in self.columns]
        return Record(first, count, self.raw(first, count), cells)

    def take(self, rows: np.ndarray) -> Rows:
        """Return some of the rows.

        Parameters
        ----------
        rows : ndarray of int or bool
            Which, in which order.

        Returns
        -------
        Rows
        """
        columns = [column.take(rows) for column in self.columns]
        return Rows(self.first_lines[rows], self.line_counts[rows], columns, self.raw)

    def blank(self) -> np.ndarray:
        """Return which rows have no cell with anything in it.

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        blank = np.ones(len(self), dtype=bool)
        for column in self.columns:
            if not blank.any():
                break
            blank &= column.is_blank()
        return blank


def rows_of(records: Iterable[Record], width: int) -> Rows:
    """Return records as rows.

    Parameters
    ----------
    records : iterable of Record
        Each with as many cells as there are columns.
    width : int
        Number of columns.

    Returns
    -------
    Rows

    Examples
    --------
    >>> rows = rows_of([Record(2, 1, "1,18", ["1", "18"])], 2)
    >>> rows.columns[1][0], rows.raw(2, 1)
    ('18', '1,18')
    """
    kept = list(records)
    raws = {record.first_line: record.raw for record in kept}
    return Rows(
        np.array([record.first_line for record in kept], dtype=np.int64),
        np.array([record.line_count for record in kept], dtype=np.int64),
        [TextColumn.of(record.cells[at] for record in kept) for at in range(width)],
        lambda first, _: raws[first],
    )
