"""A table as a page shows it: strings in cells, a caption, and a count of what was cut."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import pandas as pd

__all__ = ["SheetColumn", "SheetTable"]


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """One column of a printed table.

    Attributes
    ----------
    head : str
        What stands above it, unit included.
    cells : tuple of str
        One text per row.
    numeric : bool
        Whether its cells line up on the right.
    """

    head: str
    cells: tuple[str, ...]
    numeric: bool = False

    @property
    def is_empty(self) -> bool:
        """Whether no cell says anything."""
        return not any(cell.strip("–") for cell in self.cells)


@dataclass(frozen=True, slots=True)
class SheetTable:
    """A table ready to print; the first column heads its rows.

    Attributes
    ----------
    caption : str
        What one row is and how to read the cells.
    columns : tuple of SheetColumn
        Columns of equal length.
    remark : str
        What was cut, and where the rest is; empty where nothing was.
    print_remark : str
        The same for paper, where fewer rows fit.
    first_printed : int
        Rows before this one are shown on screen only.
    """

    caption: str
    columns: tuple[SheetColumn, ...]
    remark: str = ""
    print_remark: str = ""
    first_printed: int = 0

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """The cells row by row."""
        return tuple(zip(*(column.cells for column in self.columns), strict=True))

    def to_frame(self) -> pd.DataFrame:
        """Return the texts as a table, one row per row shown."""
        return pd.DataFrame({column.head: list(column.cells) for column in self.columns})

    def without_empty_columns(self) -> SheetTable:
        """Return the table without columns in which no cell says anything."""
        head, *others = self.columns
        kept = (head, *(column for column in others if not column.is_empty))
        return dataclasses.replace(self, columns=kept)
