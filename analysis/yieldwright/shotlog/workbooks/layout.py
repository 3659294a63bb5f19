"""From the filled cells of a sheet to records: every row once, all of one width."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.formats.records import Record

if TYPE_CHECKING:
    from yieldwright.shotlog.workbooks.merges import Oddity
    from yieldwright.shotlog.workbooks.rows import SheetRows

__all__ = ["columns_in_use", "lay_out"]

_MOST_CELLS = 30_000_000
_ERROR_WORD = re.compile(r"#(?:N/A|[A-Z_0-9/]+[!?])")


def columns_in_use(rows: SheetRows, header: int) -> list[int]:
    """Return the columns that hold something in the header or below it.

    Parameters
    ----------
    rows : SheetRows
        A sheet.
    header : int
        Number of the row that names the columns; 0 where all rows count.

    Returns
    -------
    list of int
        Counted from 1, ascending. A column that is empty throughout shifts nothing by its
        absence; one without a name stays.
    """
    empty = set(range(max(map(len, rows.cells.values()), default=0)))
    width = len(empty)
    for row, cells in rows.cells.items():
        if row >= header:
            empty -= {at for at in empty if at < len(cells) and cells[at].strip()}
        if not empty:
            break
    return [at + 1 for at in range(width) if at not in empty]


def lay_out(
    rows: SheetRows, columns: Sequence[int], odd: Mapping[int, Oddity], file: str
) -> list[Record]:
    """Return the rows of a sheet as records, the empty ones among them.

    Parameters
    ----------
    rows : SheetRows
        A sheet, its merged cells settled.
    columns : sequence of int
        The columns in use, counted from 1.
    odd : mapping of int to Oddity
        Rows that are no plain rows.
    file : str
        For the message.

    Returns
    -------
    list of Record
        One for each row from the first to the last filled one.

    Raises
    ------
    UnreadableLogError
        If the table they span has more cells than we read from a workbook.
    """
    if rows.last * len(columns) > _MOST_CELLS:
        raise UnreadableLogError(
            f"{file} spans {rows.last:,} rows and {len(columns)} columns, over the "
            f"{_MOST_CELLS:,} cells read from a workbook; save the sheet as CSV"
        )
    return list(_records(rows, columns, odd))


def _records(
    rows: SheetRows, columns: Sequence[int], odd: Mapping[int, Oddity]
) -> Iterator[Record]:
    width = len(columns)
    is_gapless = list(columns) == list(range(1, width + 1))
    for number in range(1, rows.last + 1):
        cells = rows.cells.get(number)
        if cells is None:
            yield Record(number, 1, "", [], "blank")
            continue
        if is_gapless:
            kept = cells[:width] + [""] * (width - len(cells))
        else:
            kept = [cells[at - 1] if at <= len(cells) else "" for at in columns]
        yield _record(number, cells, kept, odd.get(number))


def _record(number: int, cells: Sequence[str], kept: list[str], oddity: Oddity | None) -> Record:
    """Return one row; its raw text holds all its cells, with tabs between them."""
    raw = "\t".join(kept)
    if oddity is not None:
        return Record(number, 1, raw, kept, oddity.kind, oddity.problem, oddity.suggestion)
    first = kept[0] if kept else ""
    if first.startswith("#") and not _ERROR_WORD.fullmatch(first):
        return Record(number, 1, "\t".join(cells), list(cells), "comment")
    if not any(map(str.strip, kept)):
        above = "\t".join(filter(None, cells))
        return Record(number, 1, above, list(cells), "title" if above.strip() else "blank")
    return Record(number, 1, raw, kept)
