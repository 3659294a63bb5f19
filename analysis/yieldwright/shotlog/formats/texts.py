"""A column of cells as they were typed, each different text kept once.

A log repeats itself: a hundred thousand shots hold a few hundred different doses. What
has to be found out about a text is found out once, and spread over its rows by number.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import overload

import numpy as np
import pandas as pd

__all__ = ["ColumnBuilder", "Figure", "TextColumn", "join_columns"]

#: Where more of the first rows than this share differ, looking for repeats does not pay.
_MOSTLY_DIFFERENT = 0.5


class Figure(str):
    """A cell that its file stores as a number: a point in it is a decimal point for certain.

    Examples
    --------
    >>> Figure("18.5")
    '18.5'
    """

    __slots__ = ()


class TextColumn(Sequence[str]):
    """One column as typed: for each row the number of its text.

    Parameters
    ----------
    codes : ndarray of int, shape (n,)
        For each row, where its text stands in `texts`.
    texts : sequence of str
        The texts; in a column that hardly repeats itself one may stand there twice.

    Examples
    --------
    >>> column = TextColumn.of(["18", "18.5", "18"])
    >>> column.texts, column.codes.tolist(), column[2]
    (['18', '18.5'], [0, 1, 0], '18')
    """

    __slots__ = ("codes", "texts")

    def __init__(self, codes: np.ndarray, texts: Sequence[str]) -> None:
        self.codes = codes
        self.texts = texts

    @classmethod
    def of(cls, cells: Iterable[str]) -> TextColumn:
        """Return a column of cells that come one by one.

        Parameters
        ----------
        cells : iterable of str
            As typed.

        Returns
        -------
        TextColumn
        """
        number: dict[tuple[str, type], int] = {}  # a figure is another text than its letters
        codes = [number.setdefault((cell, type(cell)), len(number)) for cell in cells]
        return cls(np.array(codes, dtype=np.int32), [text for text, _ in number])

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.codes)

    @overload
    def __getitem__(self, row: int) -> str: ...
    @overload
    def __getitem__(self, row: slice) -> TextColumn: ...
    def __getitem__(self, row: int | slice) -> str | TextColumn:
        """Return the text of a row, or the column of some rows."""
        if isinstance(row, slice):
            return TextColumn(self.codes[row], self.texts)
        text: str = self.texts[self.codes[row]]
        return text

    def __iter__(self) -> Iterator[str]:
        """Yield the text of each row."""
        return map(self.texts.__getitem__, self.codes.tolist())

    def __eq__(self, other: object) -> bool:
        """Return whether the rows hold the same texts."""
        if not isinstance(other, Sequence):
            return NotImplemented
        return len(self) == len(other) and all(
            mine == theirs for mine, theirs in zip(self, other, strict=True)
        )

    def __hash__(self) -> int:
        """Return a hash by content."""
        return hash(tuple(self))

    def __repr__(self) -> str:
        """Return the first texts."""
        return f"TextColumn({list(self[:3])!r}{', …' if len(self) > 3 else ''})"

    def take(self, rows: np.ndarray) -> TextColumn:
        """Return the column of some rows.

        Parameters
        ----------
        rows : ndarray of int or bool
            Which rows, in which order.

        Returns
        -------
        TextColumn
        """
        return TextColumn(self.codes[rows], self.texts)

    def is_blank(self) -> np.ndarray:
        """Return which rows hold nothing but blanks.

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        if all(map(str.strip, self.texts)):
            return np.zeros(len(self), dtype=bool)
        blank = np.array([not text.strip() for text in self.texts], dtype=bool)
        spread: np.ndarray = blank[self.codes]
        return spread

    def as_series(self) -> pd.Series[str]:
        """Return the texts row by row, as a column of pandas.

        Returns
        -------
        Series of str, shape (n,)
        """
        if not len(self):  # taking nothing of an array of Arrow's leaves one that does not join
            return pd.Series(dtype="str")
        return pd.Series(pd.array(self.texts, dtype="str")[self.codes])


class ColumnBuilder:
    """Puts a column together from the cells of one block of rows after another.

    Examples
    --------
    >>> builder = ColumnBuilder()
    >>> builder.add(np.array(["a", "b", "a"], dtype=object))
    >>> builder.finish().codes.tolist()
    [0, 1, 0]
    """

    def __init__(self) -> None:
        self._number: dict[str, int] | None = {}
        self._texts: list[str] = []
        self._codes: list[np.ndarray] = []

    def add(self, cells: np.ndarray) -> None:
        """Add the cells of a block.

        Parameters
        ----------
        cells : ndarray of object, shape (n,)
            Texts.
        """
        if self._number is None:
            self._add_as_they_come(cells)
            return
        block, different = pd.factorize(cells)  # none is missing
        if not self._codes and len(different) > max(_MOSTLY_DIFFERENT * len(cells), 1000):
            self._number = None
            self._add_as_they_come(cells)
            return
        number = self._number
        known = [number.setdefault(text, len(number)) for text in different]
        self._codes.append(np.array(known, dtype=np.int32)[block])

    def finish(self) -> TextColumn:
        """Return the column.

        Returns
        -------
        TextColumn
        """
        codes = np.concatenate(self._codes) if self._codes else np.empty(0, dtype=np.int32)
        return TextColumn(codes, self._texts if self._number is None else list(self._number))

    def _add_as_they_come(self, cells: np.ndarray) -> None:
        start = len(self._texts)
        self._texts.extend(cells.tolist())
        self._codes.append(np.arange(start, len(self._texts), dtype=np.int32))


def join_columns(columns: Sequence[TextColumn]) -> TextColumn:
    """Return several columns below one another as one.

    Parameters
    ----------
    columns : sequence of TextColumn
        At least one.

    Returns
    -------
    TextColumn

    Examples
    --------
    >>> join_columns([TextColumn.of(["a", "b"]), TextColumn.of(["b"])]).codes.tolist()
    [0, 1, 1]
    """
    if len(columns) == 1:
        return columns[0]
    number: dict[str, int] = {}
    parts = []
    for column in columns:
        known = [number.setdefault(text, len(number)) for text in column.texts]
        parts.append(np.array(known, dtype=np.int32)[column.codes])
    return TextColumn(np.concatenate(parts), list(number))
