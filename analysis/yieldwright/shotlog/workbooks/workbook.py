"""A workbook as rows of texts: one sheet, every row of it accounted for.

Read by our own walker: the usual library, asked for speed, shows neither merged cells nor
hidden rows, gives a formula or its value but not both, and takes a sheet's word for its size.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, visible
from yieldwright.shotlog.formats.encoding import Document
from yieldwright.shotlog.formats.source import Grid
from yieldwright.shotlog.headers.headers import Vocabulary
from yieldwright.shotlog.workbooks.layout import columns_in_use, lay_out
from yieldwright.shotlog.workbooks.merges import Oddity, find_header, settle_merges
from yieldwright.shotlog.workbooks.parts import (
    Book,
    SheetPart,
    read_book,
    read_shared_texts,
    rows_of_totals,
)
from yieldwright.shotlog.workbooks.remarks import Peculiarities, remarks_on, sheet_list
from yieldwright.shotlog.workbooks.safety import open_package
from yieldwright.shotlog.workbooks.walker import is_empty_sheet, read_rows

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["list_sheets", "read_workbook"]


def list_sheets(path: Path) -> tuple[str, ...]:
    """Return the names of the sheets that a workbook shows.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    tuple of str
        In their order.

    Raises
    ------
    UnreadableLogError
        If the file is no workbook, or one that is refused.
    """
    package, _ = open_package(path)
    return tuple(sheet.name for sheet in read_book(package).sheets if not sheet.is_hidden)


def read_workbook(path: Path, table: Literal["shots", "tastings"], bench: Bench) -> Grid:
    """Return one sheet of a workbook, its cells as the texts a person sees there.

    Parameters
    ----------
    path : Path
        The file; only ever opened for reading.
    table : {"shots", "tastings"}
        What the rows describe.
    bench : Bench
        May name the sheet of the shots, and knows headers.

    Returns
    -------
    Grid
        One record for each row from the first to the last filled one, `first_line` its
        number in the sheet.

    Raises
    ------
    UnreadableLogError
        If the file is no workbook, could act instead of being read, is damaged or too
        large, or if it is not clear which sheet is meant.

    Notes
    -----
    A number is given as it is stored, not as it is rounded for display. Days, times and
    percentages are told by their formats. A formula counts by its stored value; without one
    its text stands in the cell.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.xlsx")
    ...     _ = path.write_text("shot,dose_g", encoding="utf-8")
    ...     read_workbook(path, "shots", Bench())  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    yieldwright.errors.UnreadableLogError: shots.xlsx is no workbook, whatever its name says; ...
    """
    package, raw = open_package(path)
    book = read_book(package)
    sheet = _chosen(book, table, bench.sheet if table == "shots" else "", path)
    rows = read_rows(book, sheet, read_shared_texts(book))
    if not rows.cells:
        raise UnreadableLogError(
            f"{path.name}: the sheet {sheet_list([sheet])} is empty; its first row must name "
            "the columns"
        )
    header = find_header(rows, Vocabulary(table, bench).knows)
    odd, filled = settle_merges(rows, header, path.name)
    totals = [row for row in rows_of_totals(book, sheet) if row > header and row in rows.cells]
    odd |= dict.fromkeys(totals, Oddity("title"))
    columns = columns_in_use(rows, header)
    found = Peculiarities(header, columns, filled, totals)
    remarks = remarks_on(book, sheet, rows, found)
    named = f"a workbook, sheet {sheet_list([sheet])}"
    document = Document(path.name, hashlib.sha256(raw).hexdigest(), named, rows.last)
    return Grid(document, lay_out(rows, columns, odd, path.name), None, remarks)


def _chosen(book: Book, table: str, asked: str, path: Path) -> SheetPart:
    """Return the sheet asked for, else the one named like the table, else the only one."""
    shown = [sheet for sheet in book.sheets if not sheet.is_hidden]
    if asked:
        return _named(book.sheets, asked) or _refuse(
            book, f"has no sheet “{clip(visible(asked), 40)}”, which bench.toml asks for"
        )
    named = _named(shown, table)
    if named is not None:
        return named
    if table == "tastings" and not path.stem.casefold().startswith(table):
        return _refuse(book, "has no sheet named tastings")
    filled = shown
    if len(shown) > 1:
        filled = [sheet for sheet in shown if not is_empty_sheet(book, sheet)]
    if len(filled) == 1:
        return filled[0]
    return _refuse(book, "has several filled sheets" if filled else "shows no filled sheet")


def _named(sheets: Sequence[SheetPart], name: str) -> SheetPart | None:
    """Return the sheet of a name, its exact spelling preferred."""
    wanted = name.strip().casefold()
    alike = [sheet for sheet in sheets if sheet.name.strip().casefold() == wanted]
    return next((sheet for sheet in alike if sheet.name == name), next(iter(alike), None))


def _refuse(book: Book, what: str) -> SheetPart:
    shown = [sheet for sheet in book.sheets if not sheet.is_hidden]
    hidden = [sheet for sheet in book.sheets if sheet.is_hidden]
    held = f"it holds {sheet_list(shown)}" if shown else "it shows none"
    also = f" and hides {sheet_list(hidden)}" if hidden else ""
    raise UnreadableLogError(
        f'{book.package.file} {what}: {held}{also}; write sheet = "…" with the name of the '
        "right one under [reading] in bench.toml"
    )
