"""What one sheet of a workbook holds: its rows, and what is peculiar about them."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

__all__ = ["Merge", "SheetRows", "column_letters", "column_number", "read_range"]

_RANGE = re.compile(
    r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})(?::\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6}))?"
)


class Merge(NamedTuple):
    """A range of cells, rows and columns counted from 1.

    Attributes
    ----------
    top, left, bottom, right : int
        Its first row and column, its last ones.
    """

    top: int
    left: int
    bottom: int
    right: int

    def __str__(self) -> str:
        """Return the range as spreadsheets write it."""
        first, last = column_letters(self.left), column_letters(self.right)
        return f"{first}{self.top}:{last}{self.bottom}"


@dataclass(slots=True)
class SheetRows:
    """What one sheet holds.

    Attributes
    ----------
    cells : dict of int to list of str
        By the number of the row, its cells up to the last filled one; empty rows left out.
    merges : list of Merge
        In the order of the file.
    hidden_rows : list of int
        Filled rows that the sheet hides.
    hidden_columns : list of tuple of int
        First and last column of the ranges that the sheet hides.
    has_filter : bool
        Whether a filter chooses the rows shown.
    counts : Counter of str
        How many cells hold a formula, a formula without a value, an error.
    firsts : dict of str to str
        Where the first of each stands.
    """

    cells: dict[int, list[str]] = field(default_factory=dict)
    merges: list[Merge] = field(default_factory=list)
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    has_filter: bool = False
    counts: Counter[str] = field(default_factory=Counter)
    firsts: dict[str, str] = field(default_factory=dict)

    @property
    def last(self) -> int:
        """Number of the last filled row; 0 without any."""
        return next(reversed(self.cells), 0)

    def note(self, what: str, where: str) -> None:
        """Count one more of something.

        Parameters
        ----------
        what : str
            What it is.
        where : str
            The cell.
        """
        self.counts[what] += 1
        self.firsts.setdefault(what, where)

    def cell(self, row: int, column: int) -> str:
        """Return the text of a cell, empty where there is none.

        Parameters
        ----------
        row, column : int
            Counted from 1.

        Returns
        -------
        str
        """
        cells = self.cells.get(row, [])
        return cells[column - 1] if column <= len(cells) else ""

    def fill(self, row: int, column: int, text: str) -> None:
        """Set the text of a cell in a row that is there.

        Parameters
        ----------
        row, column : int
            Counted from 1.
        text : str
            What the cell is to hold.
        """
        cells = self.cells[row]
        cells.extend([""] * (column - len(cells)))
        cells[column - 1] = text


@cache
def column_letters(column: int) -> str:
    """Return the letters of a column.

    Parameters
    ----------
    column : int
        Counted from 1.

    Returns
    -------
    str

    Examples
    --------
    >>> column_letters(1), column_letters(27)
    ('A', 'AA')
    """
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Return the number of a column, 0 where the letters name none.

    Parameters
    ----------
    letters : str
        As in the reference of a cell.

    Returns
    -------
    int

    Examples
    --------
    >>> column_number("A"), column_number("AA"), column_number("a1")
    (1, 27, 0)
    """
    if not letters.isascii() or not letters.isalpha() or not letters.isupper() or len(letters) > 3:
        return 0
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def read_range(text: str) -> Merge | None:
    """Return a range as spreadsheets write it, None where the text is none.

    Parameters
    ----------
    text : str
        Such as B3:B9.

    Returns
    -------
    Merge or None

    Examples
    --------
    >>> read_range("B3:B9")
    Merge(top=3, left=2, bottom=9, right=2)
    """
    found = _RANGE.fullmatch(text)
    if not found:
        return None
    top, left = int(found[2]), column_number(found[1])
    return Merge(top, left, int(found[4] or top), column_number(found[3] or found[1]))
