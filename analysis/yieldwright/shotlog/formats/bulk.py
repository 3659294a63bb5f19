"""Many lines at once: those that can hold no surprise go through a parser written in C.

A line without a quote, a hash in front or a NUL, and with the right number of marks, is
one row whichever way one looks at it. So is a line whose every quote encloses a whole cell.
All other lines are looked at one by one, by the rules of `records`.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from itertools import repeat
from typing import NamedTuple

import numpy as np
import pandas as pd

from yieldwright.shotlog.formats.records import Record, record_at
from yieldwright.shotlog.formats.rows import Rows
from yieldwright.shotlog.formats.texts import ColumnBuilder

__all__ = ["Split", "split_rows"]

#: Lines taken at once: enough for speed, few enough that their cells need little memory.
_BLOCK = 20_000
_MARK = "\ufeff"


class Split(NamedTuple):
    """Lines sorted out.

    Attributes
    ----------
    rows : Rows
        Records with the right number of cells, blank ones left out.
    others : list of Record
        All other records, in order.
    """

    rows: Rows
    others: list[Record]


def split_rows(
    lines: Sequence[str],
    delimiter: str,
    width: int,
    *,
    start: int = 0,
    progress: Callable[[float], None] | None = None,
) -> Split:
    r"""Return the rows of a text, and the records that are none.

    Parameters
    ----------
    lines : sequence of str
        Physical lines.
    delimiter : str
        What stands between cells.
    width : int
        Cells of a row.
    start : int
        Index of the line to start from.
    progress : callable or None
        Told the share of lines done.

    Returns
    -------
    Split

    Examples
    --------
    >>> split = split_rows(["1,18", "", '2,"two', 'lines"', "3,18,5"], ",", 2)
    >>> split.rows.first_lines.tolist(), [record.kind for record in split.others]
    ([1, 3], ['blank', 'row'])
    """
    work = _Work(lines, delimiter, width)
    at = start
    while at < len(lines):
        at = work.take_block(at, min(at + _BLOCK, len(lines)))
        if progress is not None:
            progress(at / len(lines))
    return work.finish()


class _Work:
    """Rows and records gathered so far."""

    def __init__(self, lines: Sequence[str], delimiter: str, width: int) -> None:
        self.lines = lines
        self.delimiter = delimiter
        self.width = width
        self.builders = [ColumnBuilder() for _ in range(width)]
        self.first_lines: list[np.ndarray] = []
        self.odd_rows: list[Record] = []
        self.others: list[Record] = []

    def take_block(self, start: int, end: int) -> int:
        """Sort out the lines of a block; return where the next one begins."""
        block = self.lines[start:end]
        is_row = self._sure_rows(block)
        end = self._one_by_one(is_row, start, end)
        at = np.flatnonzero(is_row[: end - start])
        kept = block if len(at) == len(block) else [block[index] for index in at.tolist()]
        if kept:
            self._parse(kept)
            self.first_lines.append(at + start + 1)
        return end

    def finish(self) -> Split:
        """Return all rows in the order of the file, and the other records."""
        odd = self.odd_rows
        for at, builder in enumerate(self.builders if odd else ()):
            builder.add(_objects([record.cells[at] for record in odd]))
        first = np.concatenate([np.empty(0, dtype=np.int64), *self.first_lines])
        counts = np.r_[np.ones(len(first), dtype=np.int64), [r.line_count for r in odd]]
        first = np.r_[first, [r.first_line for r in odd]].astype(np.int64)
        columns = [builder.finish() for builder in self.builders]
        rows = Rows(first, counts.astype(np.int64), columns, self._raw)
        if odd:
            rows = rows.take(np.argsort(first, kind="stable"))
        return self._without_blanks(rows)

    def _sure_rows(self, block: Sequence[str]) -> np.ndarray:
        """Return which lines are a row of one line for certain."""
        marks = np.fromiter(
            map(str.count, block, repeat(self.delimiter)), dtype=np.int64, count=len(block)
        )
        sure: np.ndarray = marks == self.width - 1
        together = "\n".join(block)
        if '"' in together:
            is_regular = _regular(self.delimiter, self.width).fullmatch
            quoted = [index for index, line in enumerate(block) if '"' in line]
            sure[quoted] = [bool(is_regular(block[index])) for index in quoted]
        if "#" in together:
            sure &= ~_mask(line.startswith("#") for line in block)
        if "\0" in together:
            sure &= ~_mask("\0" in line for line in block)
        if self.width == 1:
            sure &= _mask(map(bool, block))
        return sure

    def _one_by_one(self, is_row: np.ndarray, start: int, end: int) -> int:
        """Look at each line that is no row for certain; return where the block ends."""
        done = start
        for at in (np.flatnonzero(~is_row) + start).tolist():
            if at < done:
                continue
            record = record_at(self.lines, at, self.delimiter, self.width)
            done = at + record.line_count
            is_row[at - start : done - start] = False
            is_whole = record.kind == "row" and len(record.cells) == self.width
            (self.odd_rows if is_whole else self.others).append(record)
        return max(done, end)

    def _parse(self, lines: Sequence[str]) -> None:
        together = "\n".join(lines)
        if together.startswith(_MARK):  # the parser takes one away wherever a text begins with it
            together = _MARK + together
        table = pd.read_csv(
            io.StringIO(together),
            sep=self.delimiter,
            header=None,
            index_col=False,
            dtype=object,
            na_filter=False,
            quoting=0 if '"' in together else 3,
            skip_blank_lines=False,
            low_memory=False,
        )
        for at, builder in enumerate(self.builders):
            builder.add(table[at].to_numpy())

    def _without_blanks(self, rows: Rows) -> Split:
        blank = rows.blank()
        if not blank.any():
            return Split(rows, self.others)
        records = [
            rows.record(row)._replace(kind="blank") for row in np.flatnonzero(blank).tolist()
        ]
        others = sorted([*self.others, *records], key=lambda record: record.first_line)
        return Split(rows.take(~blank), others)

    def _raw(self, first_line: int, line_count: int) -> str:
        return "\n".join(self.lines[first_line - 1 : first_line - 1 + line_count])


@cache
def _regular(delimiter: str, width: int) -> re.Pattern[str]:
    """Return what a line looks like whose every quote encloses a whole cell."""
    mark = re.escape(delimiter)
    cell = rf'(?:"(?:[^"]|"")*+"|[^"{mark}]*+)'
    return re.compile(rf"{cell}(?:{mark}{cell}){{{width - 1}}}")


def _mask(truths: Iterable[bool]) -> np.ndarray:
    return np.fromiter(truths, dtype=bool)


def _objects(cells: Sequence[str]) -> np.ndarray:
    block = np.empty(len(cells), dtype=object)
    block[:] = cells
    return block
