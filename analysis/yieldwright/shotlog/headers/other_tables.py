"""Tables that stand below one another in a file, each with columns of its own."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.formatting import clip, visible

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.rows import Rows
    from yieldwright.shotlog.formats.texts import TextColumn
    from yieldwright.shotlog.headers.vocabulary import Vocabulary

__all__ = ["OtherTable", "other_tables"]

#: In a longer column only the names of the first header are looked for.
_MOST_TEXTS = 5_000
_LONGEST_NAME = 60


class OtherTable(NamedTuple):
    """Rows that a second header heads.

    Attributes
    ----------
    header : int
        The row that names the columns.
    stop : int
        The row behind the last of the table.
    line : int
        Physical line of its header.
    names : str
        What the header says, in short.
    """

    header: int
    stop: int
    line: int
    names: str

    @property
    def suggestion(self) -> str:
        """What to do with the table."""
        return (
            f"move the table that begins at line {self.line} to a file of its own, such as "
            "shots-2.csv"
        )

    def reason(self, row: int) -> str:
        """Return why a row of it cannot be read.

        Parameters
        ----------
        row : int
            From `header` up to `stop`.

        Returns
        -------
        str
        """
        if row == self.header:
            return f"names other columns than the header, or in another order: {self.names}"
        return f"stands below line {self.line}, which names other columns than the header"


def other_tables(
    rows: Rows, header: Sequence[str], vocabulary: Vocabulary, repeated: Collection[int]
) -> list[OtherTable]:
    """Return the tables below a header that is not the first one.

    Under the first header their cells would be taken for something else.

    Parameters
    ----------
    rows : Rows
        With a cell for every column.
    header : sequence of str
        The first header.
    vocabulary : Vocabulary
        The headers we know.
    repeated : collection of int
        Rows that repeat the first header: below them it holds again.

    Returns
    -------
    list of OtherTable
        In the order of the file.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.formats.records import split_records
    >>> from yieldwright.shotlog.formats.rows import rows_of
    >>> from yieldwright.shotlog.headers.vocabulary import Vocabulary
    >>> rows = rows_of(split_records(["1,36,30", "shot,time_s,beverage_g", "2,31,37"], ","), 3)
    >>> header, shots = ["shot", "beverage_g", "time_s"], Vocabulary("shots", Bench())
    >>> [(table.line, table.stop) for table in other_tables(rows, header, shots, [])]
    [(2, 3)]
    """
    candidates = _rows_that_begin_with_a_name(rows.columns[0], header, vocabulary)
    heads = [
        row
        for row in candidates
        if row not in repeated and _is_header(rows.record(row).cells, vocabulary)
    ]
    ends = sorted([*heads, *repeated, len(rows)])
    return [_table(rows, row, next(end for end in ends if end > row)) for row in heads]


def _table(rows: Rows, row: int, stop: int) -> OtherTable:
    names = ", ".join(cell.strip() for cell in rows.record(row).cells)
    return OtherTable(
        row, stop, int(rows.first_lines[row]), f"“{clip(visible(names), _LONGEST_NAME)}”"
    )


def _rows_that_begin_with_a_name(
    column: TextColumn, header: Sequence[str], vocabulary: Vocabulary
) -> list[int]:
    names = {cell.strip().casefold() for cell in header if cell.strip()}
    together = "\n".join(column.texts).casefold()
    if len(column.texts) > _MOST_TEXTS and not any(name in together for name in names):
        return []
    is_name = np.array([_is_name(text, names, vocabulary, column) for text in column.texts])
    return np.flatnonzero(is_name[column.codes]).tolist() if is_name.any() else []


def _is_name(text: str, names: set[str], vocabulary: Vocabulary, column: TextColumn) -> bool:
    if text.strip().casefold() in names:
        return True
    return len(column.texts) <= _MOST_TEXTS and vocabulary.knows(text)


def _is_header(cells: Sequence[str], vocabulary: Vocabulary) -> bool:
    """Return whether at least two cells, and half of those with a text, name columns."""
    filled = [cell for cell in cells if cell.strip()]
    known = sum(map(vocabulary.knows, filled))
    return known >= 2 and 2 * known >= len(filled)
