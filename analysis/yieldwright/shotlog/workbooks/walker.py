"""The cells of one sheet, taken as its file streams by: a sheet is never held as a tree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NoReturn

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.workbooks.cells import Show, iso_text, plain_number, unescape
from yieldwright.shotlog.workbooks.package import SAVE_AGAIN, StopWalking, walk
from yieldwright.shotlog.workbooks.rows import (
    SheetRows,
    column_letters,
    column_number,
    read_range,
)

if TYPE_CHECKING:
    from yieldwright.shotlog.workbooks.parts import Book, SheetPart

__all__ = ["is_empty_sheet", "read_rows"]

_MOST_ROWS = 1_100_000
_MOST_COLUMNS = 300
_MOST_MERGES = 10_000
_DEEPEST = 64
#: Empty rows between two filled ones; more of them mean a slip far below the table.
_WIDEST_GAP = 10_000
_MOST_TOLD = 100_000
_HOLDERS = frozenset({"v", "f", "t"})
_TRUE = frozenset({"1", "true", "on"})


def read_rows(book: Book, sheet: SheetPart, texts: Sequence[str]) -> SheetRows:
    """Return the rows of a sheet.

    Parameters
    ----------
    book : Book
        The workbook.
    sheet : SheetPart
        One of its sheets.
    texts : sequence of str
        The workbook's shared texts.

    Returns
    -------
    SheetRows

    Raises
    ------
    UnreadableLogError
        If the sheet is damaged, or larger than we read.
    """
    walker = _Walker(book.package.file, texts, book.shows)
    walk(book.package, sheet.part, start=walker.start, end=walker.end, text=walker.take)
    return walker.rows


def is_empty_sheet(book: Book, sheet: SheetPart) -> bool:
    """Return whether a sheet has no cell with anything in it.

    Parameters
    ----------
    book : Book
        The workbook.
    sheet : SheetPart
        One of its sheets.

    Returns
    -------
    bool
    """
    found: list[str] = []

    def start(name: str, _: dict[str, str]) -> None:
        if name.rpartition(":")[2] in ("v", "f", "is"):
            found.append(name)
            raise StopWalking

    walk(book.package, sheet.part, start=start)
    return not found


class _Walker:
    """Gathers the rows of one sheet from the elements of its part.

    Called several times for each cell: what is frequent is asked first.
    """

    def __init__(self, file: str, texts: Sequence[str], shows: Mapping[str, Show]) -> None:
        self.rows = SheetRows()
        self._file = file
        self._texts = texts
        self._shows = shows
        self._told: dict[tuple[str, str], str] = {}
        self._row = 0
        self._row_digits = ""
        self._cells: list[str] = []
        self._columns: dict[str, int] = {}
        self._column = 0
        self._cell: dict[str, str] | None = None
        self._value: str | None = None
        self._formula: str | None = None
        self._formula_key = ""
        self._masters: dict[str, str] = {}
        self._pieces: list[str] | None = None
        self._is_spoken = False
        self._depth = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Begin a row, a cell or what it holds; the rest of a sheet is looks."""
        if name == "c" and self._cell is None:
            self._cell = attributes
        elif name in _HOLDERS:
            self._begin_holder(name, attributes)
        elif name == "row":
            self._begin_row(attributes)
        elif ":" in name:
            self.start(name.rpartition(":")[2], attributes)
        else:
            self._begin_other(name, attributes)

    def take(self, text: str) -> None:
        """Add letters to what a cell holds."""
        if self._pieces is not None:
            self._pieces.append(text)

    def end(self, name: str) -> None:
        """End what began."""
        if name == "c":
            self._end_cell()
        elif name in _HOLDERS:
            self._end_holder(name)
        elif name == "row":
            self._end_row()
        elif ":" in name:
            self.end(name.rpartition(":")[2])
        else:
            self._depth -= 1
            self._is_spoken = self._is_spoken and name != "rPh"

    def _begin_row(self, attributes: dict[str, str]) -> None:
        number = attributes.get("r", "")
        row = int(number) if number.isdecimal() and len(number) < 9 else self._row + 1
        if self._row_digits or row <= self._row:
            self._refuse(f"row {row} follows row {self._row}, or stands inside it")
        if row > _MOST_ROWS:
            raise UnreadableLogError(
                f"{self._file} has a row {row:,}, over the {_MOST_ROWS:,} read from a sheet; "
                "delete the rows below the log, or save the sheet as CSV"
            )
        self._row, self._row_digits = row, str(row)
        self._column = 0
        self._cells = []
        if attributes.get("hidden") in _TRUE:
            self.rows.hidden_rows.append(row)

    def _end_row(self) -> None:
        self._row_digits = ""
        if not self._cells:
            if self.rows.hidden_rows[-1:] == [self._row]:
                self.rows.hidden_rows.pop()
            return
        gap = self._row - self.rows.last - 1
        if gap > _WIDEST_GAP:
            raise UnreadableLogError(
                f"{self._file} has {gap:,} empty rows before row {self._row:,}; delete them, or "
                "what stands there, and save it again"
            )
        self.rows.cells[self._row] = self._cells

    def _begin_holder(self, name: str, attributes: dict[str, str]) -> None:
        if self._cell is None or self._is_spoken:
            return
        if self._pieces is not None:
            self._refuse(f"a cell in row {self._row} holds one value inside another")
        self._pieces = []
        if name == "f":
            self._formula_key = attributes.get("si", "")

    def _end_holder(self, name: str) -> None:
        if self._pieces is None or self._is_spoken:
            return
        text = "".join(self._pieces)
        self._pieces = None
        if name == "v":
            self._value = text
        elif name == "f":
            self._formula = text
        else:
            self._value = (self._value or "") + text

    def _begin_other(self, name: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > _DEEPEST or name == "c":
            self._refuse(f"elements stand too deep inside one another in row {self._row}")
        if name == "rPh":
            self._is_spoken = True
        elif name == "mergeCell":
            self._add_merge(attributes.get("ref", ""))
        elif name == "filterColumn":
            self.rows.has_filter = True
        elif name == "col" and attributes.get("hidden") in _TRUE:
            first, last = attributes.get("min", ""), attributes.get("max", "")
            if first.isdecimal() and last.isdecimal() and len(first + last) < 12:
                self.rows.hidden_columns.append((int(first), int(last)))

    def _add_merge(self, reference: str) -> None:
        merge = read_range(reference)
        if merge is not None and (merge.top, merge.left) != (merge.bottom, merge.right):
            self.rows.merges.append(merge)
        if len(self.rows.merges) > _MOST_MERGES:
            raise UnreadableLogError(
                f"{self._file} has over {_MOST_MERGES:,} merged ranges; unmerge the cells, or "
                "save the sheet as CSV"
            )

    def _end_cell(self) -> None:
        cell = self._cell or {}
        column = self._column_of(cell)
        if self._value is not None or self._formula is not None:
            text = self._text(cell, self._value or "", column)
            if text:
                self._place(column, text)
        self._cell = self._value = self._formula = None

    def _text(self, cell: Mapping[str, str], value: str, column: int) -> str:
        kind = cell.get("t", "n")
        if self._formula is not None and self._lacks_value(kind, column):
            return self._formula_text()
        if not value:
            return ""
        if kind == "n":
            return self._number(cell.get("s", ""), value)
        return self._typed(kind, value, column)

    def _column_of(self, cell: Mapping[str, str]) -> int:
        """Return the column of a cell, which says its place or follows the one before."""
        if not self._row_digits:
            self._refuse(f"a cell stands outside the rows, after row {self._row}")
        reference = cell.get("r")
        if reference is None:
            self._column += 1
            return self._column
        letters = reference.removesuffix(self._row_digits)
        column = self._columns.get(letters)
        if column is None:
            column = self._columns[letters] = column_number(letters)
        if not column:
            self._refuse(f"a cell in row {self._row} says it is {reference[:20]!r}")
        self._column = column
        return column

    def _number(self, style: str, value: str) -> str:
        """Return the text of a number; logs repeat themselves, so each is told once."""
        text = self._told.get((style, value))
        if text is None:
            if len(self._told) > _MOST_TOLD:
                self._told.clear()
            show = self._shows.get(style, plain_number)
            text = self._told[style, value] = show(value)
        return text

    def _typed(self, kind: str, value: str, column: int) -> str:
        """Return the text of a cell that holds no number."""
        if kind == "s":
            return self._shared(value)
        if kind == "b":
            return "yes" if value in _TRUE else "no"
        if kind == "d":
            return iso_text(value)
        if kind == "e":
            self.rows.note("error", f"{column_letters(column)}{self._row}")
            return value
        return unescape(value)

    def _shared(self, value: str) -> str:
        if value.isdecimal() and len(value) < 9 and int(value) < len(self._texts):
            return self._texts[int(value)]
        return self._refuse(f"a cell in row {self._row} names a text that is not there")

    def _lacks_value(self, kind: str, column: int) -> bool:
        """Return whether a formula has no stored value; an empty text is one."""
        if self._formula and self._formula_key:
            self._masters.setdefault(self._formula_key, self._formula)
        has_value = bool(self._value) or (kind == "str" and self._value is not None)
        what = "formula" if has_value else "formula without a value"
        self.rows.note(what, f"{column_letters(column)}{self._row}")
        return not has_value

    def _formula_text(self) -> str:
        if not self._formula and self._formula_key in self._masters:
            return f"={self._masters[self._formula_key]} (copied down)"
        return f"={unescape(self._formula or '')}"

    def _place(self, column: int, text: str) -> None:
        if column > _MOST_COLUMNS:
            raise UnreadableLogError(
                f"{self._file} has a value in column {column_letters(column)}, row {self._row}, "
                f"beyond the {_MOST_COLUMNS} columns read from a sheet; delete it, or move it "
                "beside the log"
            )
        missing = column - 1 - len(self._cells)
        if missing > 0:
            self._cells.extend([""] * missing)
        elif missing < 0:
            self._place_back(column, text)
            return
        self._cells.append(text)

    def _place_back(self, column: int, text: str) -> None:
        """Place a cell that stands in the file behind one of its right neighbours."""
        if self._cells[column - 1]:
            self._refuse(f"two cells say they are {column_letters(column)}{self._row}")
        self._cells[column - 1] = text

    def _refuse(self, what: str) -> NoReturn:
        raise UnreadableLogError(f"{self._file} is damaged: {what}; {SAVE_AGAIN}")
