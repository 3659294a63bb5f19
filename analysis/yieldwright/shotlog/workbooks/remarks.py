"""What to tell about a workbook, so that nothing in it goes unsaid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from yieldwright.formatting import clip, count, listing, visible
from yieldwright.shotlog.workbooks.parts import Book, SheetPart, related_parts
from yieldwright.shotlog.workbooks.rows import Merge, SheetRows, column_letters

__all__ = ["Peculiarities", "remarks_on", "sheet_list"]

_MOST_NAMED = 4


class Peculiarities(NamedTuple):
    """What was found out about the layout of a sheet.

    Attributes
    ----------
    header : int
        Number of the row that names the columns, 0 where none does.
    columns : sequence of int
        The columns in use, counted from 1.
    filled : sequence of Merge
        Ranges whose value was given to several rows.
    totals : sequence of int
        Rows that sum up a table.
    """

    header: int
    columns: Sequence[int]
    filled: Sequence[Merge]
    totals: Sequence[int]


def remarks_on(
    book: Book, sheet: SheetPart, rows: SheetRows, found: Peculiarities
) -> tuple[str, ...]:
    """Return what to tell about a sheet that was read.

    Parameters
    ----------
    book : Book
        The workbook.
    sheet : SheetPart
        The sheet read.
    rows : SheetRows
        What it holds.
    found : Peculiarities
        What was found out about its layout.

    Returns
    -------
    tuple of str
        Sentences.
    """
    said = [
        *_on_other_sheets(book, sheet),
        *_on_hidden_rows(rows),
        *_on_hidden_columns(rows, found.columns),
        *_on_merges(found.filled),
        *_on_cells(rows),
        *_on_nameless(rows, found.header, found.columns),
        *_on_notes(book, sheet),
    ]
    said += [f"row {row} sums up the table and is no row of it." for row in found.totals]
    if book.from_1904:
        said.append("its days are counted from 1904, and were read so.")
    return tuple(f"{book.package.file}: {sentence}" for sentence in said)


def sheet_list(sheets: Sequence[SheetPart]) -> str:
    """Return the names of sheets as a sentence lists them.

    Parameters
    ----------
    sheets : sequence of SheetPart
        Any.

    Returns
    -------
    str
    """
    return listing([f"“{clip(visible(sheet.name), 40)}”" for sheet in sheets])


def _is_of_tastings(sheet: SheetPart) -> bool:
    """Return whether a sheet is read by its name as the table of tastings."""
    return not sheet.is_hidden and sheet.name.strip().casefold() == "tastings"


def _on_other_sheets(book: Book, sheet: SheetPart) -> Iterator[str]:
    if _is_of_tastings(sheet):  # the reading of the shots tells of the others
        return
    others = [each for each in book.sheets if each is not sheet and not _is_of_tastings(each)]
    hidden = [each for each in others if each.is_hidden]
    shown = [each for each in others if not each.is_hidden]
    if shown:
        yield f"{count(len(shown), 'other sheet')} not read here: {sheet_list(shown)}."
    if hidden:
        yield f"{count(len(hidden), 'hidden sheet')} not read: {sheet_list(hidden)}."
    if sheet.is_hidden:
        yield f"the sheet {sheet_list([sheet])} is hidden; it was asked for and is read."


def _on_hidden_rows(rows: SheetRows) -> Iterator[str]:
    hidden = rows.hidden_rows
    if hidden:
        by = "by a filter or by hand" if rows.has_filter else "by hand"
        verb = "is" if len(hidden) == 1 else "are"
        yield (
            f"{count(len(hidden), 'row')} hidden {by} {verb} read like all others, first row "
            f"{hidden[0]}."
        )


def _on_hidden_columns(rows: SheetRows, columns: Sequence[int]) -> Iterator[str]:
    hidden = [
        column_letters(column)
        for column in columns
        if any(first <= column <= last for first, last in rows.hidden_columns)
    ]
    if hidden:
        verb = "is" if len(hidden) == 1 else "are"
        yield (
            f"{count(len(hidden), 'hidden column')} {verb} read like all others: {_some(hidden)}."
        )


def _on_merges(filled: Sequence[Merge]) -> Iterator[str]:
    if filled:
        ranges = "1 merged range" if len(filled) == 1 else f"{len(filled):,} merged ranges"
        yield f"the value of {ranges} was given to each of its rows: {_some(filled)}."


def _on_cells(rows: SheetRows) -> Iterator[str]:
    counts, firsts = rows.counts, rows.firsts
    if n := counts["formula"]:
        yield (
            f"{count(n, 'formula')}, first {firsts['formula']}: the values stored in the file "
            "are used, nothing is computed anew."
        )
    if n := counts["formula without a value"]:
        yield (
            f"{count(n, 'formula')} without a stored value, first "
            f"{firsts['formula without a value']}: open the workbook in a spreadsheet program "
            "and save it, or type the values."
        )
    if n := counts["error"]:
        yield f"{count(n, 'cell')} with an error such as #DIV/0!, first {firsts['error']}."


def _on_nameless(rows: SheetRows, header: int, columns: Sequence[int]) -> Iterator[str]:
    """Tell of columns that hold something and have no name in the header."""
    for at, column in enumerate(columns, start=1):
        if not header or rows.cell(header, column).strip():
            continue
        holding = [row for row in rows.cells if row > header and rows.cell(row, column).strip()]
        letters = column_letters(column)
        yield (
            f"column {letters} has no header and holds {count(len(holding), 'cell')}, first "
            f"{letters}{holding[0]}: kept as text in “column {at}”."
        )


def _on_notes(book: Book, sheet: SheetPart) -> Iterator[str]:
    kinds = ("comments", "threadedComment")
    if any(related_parts(book.package, sheet.part, kind) for kind in kinds):
        yield "notes pinned to single cells are not read; what belongs to a shot needs a column."


def _some(ranges: Sequence[object]) -> str:
    named = list(map(str, ranges[:_MOST_NAMED]))
    if len(ranges) > _MOST_NAMED:
        named.append(f"{len(ranges) - _MOST_NAMED:,} more")
    return listing(named)
