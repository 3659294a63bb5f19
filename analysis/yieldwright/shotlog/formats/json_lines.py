"""JSON lines to records: one object a line, every number as its digits stand in the file.

A line is an object of single values or it is set aside; nothing in it is mended. The
header is the union of all names, in the order in which they first appear.
"""

from __future__ import annotations

import codecs
import hashlib
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import count, listing
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.formats._json_objects import (
    MOST_NAMES,
    UnfitLineError,
    read_object,
    text_of,
)
from yieldwright.shotlog.formats._name_slips import Slip, find_slips
from yieldwright.shotlog.formats.encoding import Document, read_bytes
from yieldwright.shotlog.formats.grids import MOST_CELLS, ColumnRecords
from yieldwright.shotlog.formats.records import Kind, Record
from yieldwright.shotlog.formats.rows import Rows
from yieldwright.shotlog.formats.texts import ColumnBuilder, Figure, TextColumn

if TYPE_CHECKING:
    from pathlib import Path

    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.source import Grid

__all__ = ["read_json_lines"]

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8 with a byte-order mark"),
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_ONE_A_LINE = 'write one object a line, such as {"shot": "1", "dose_g": 18.0}'
_MOST_SHOWN = 5
#: Lines taken at once: enough for speed, few enough to need little memory.
_BLOCK = 4_000


def read_json_lines(path: Path, bench: Bench) -> Grid:  # noqa: ARG001 - formats are asked alike
    r"""Return a file of JSON lines as records, each line accounted for.

    Parameters
    ----------
    path : Path
        The file.
    bench : Bench
        Not asked: JSON says itself what separates values and decimals.

    Returns
    -------
    Grid
        Its header is no line of the file; a name that a line leaves out is an empty cell.

    Raises
    ------
    UnreadableLogError
        If the file is missing or empty, or no line of it is an object, as in one array
        printed over many lines.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.jsonl")
    ...     _ = path.write_text('{"shot": "1", "dose_g": 18.10}\n{"shot": "2"\n')
    ...     grid = read_json_lines(path, Bench())
    >>> grid.header.cells, grid.records[0].cells, grid.records[1].problem
    (['shot', 'dose_g'], ['1', '18.10'], 'the line ends before its object does')
    """
    from yieldwright.shotlog.formats.source import Grid

    document, lines = _opened(path)
    _refuse_array(lines, path.name)
    table = _Table(lines)
    for start in range(0, len(lines), _BLOCK):
        table.take_block(start, lines[start : start + _BLOCK])
        table.refuse_excess(path.name)
    if not table.columns:
        raise UnreadableLogError(_no_object_sentence(table.others, path.name))
    names, records = table.records()
    remark = table.remark(path.name)
    header = Record(0, 0, "", names, "header")
    return Grid(document, records, header, (remark,) if remark else ())


def _opened(path: Path) -> tuple[Document, list[bytes]]:
    """Return what is known of a file, and its physical lines in UTF-8."""
    raw = read_bytes(path)
    encoding, lines = _lines(raw, path.name)
    digest = hashlib.sha256(raw).hexdigest()
    return Document(path.name, digest, f"JSON lines, {encoding}", len(lines)), lines


class _Column:
    """The cells of one name, and how many rows leave it out."""

    def __init__(self, before: int) -> None:
        self.left_out = 0
        self._builder = ColumnBuilder()
        self._is_figure: list[np.ndarray] = []
        if before:
            self.add([None] * before)

    def add(self, cells: Sequence[str | None]) -> None:
        """Add the cells of a block of rows, None where a row leaves the name out."""
        kinds = set(map(type, cells))
        if type(None) in kinds:
            self.left_out += cells.count(None)
            cells = ["" if cell is None else cell for cell in cells]
        block = np.empty(len(cells), dtype=object)
        block[:] = cells
        self._builder.add(block)
        self._is_figure.append(
            np.array([type(cell) is Figure for cell in cells])
            if len(kinds) > 1
            else np.full(len(cells), kinds == {Figure})
        )

    def finish(self) -> TextColumn:
        """Return the column; a text that looks like a number of the file is told from it."""
        column = self._builder.finish()
        is_figure = np.concatenate(self._is_figure)
        if is_figure.all() or not is_figure.any():
            return column
        codes, different = pd.factorize(2 * column.codes.astype(np.int64) + is_figure)
        texts = [(str, Figure)[each % 2](column.texts[each // 2]) for each in different.tolist()]
        return TextColumn(codes.astype(np.int32), texts)


class _Table:
    """Lines sorted out so far: rows column by column, all others as records."""

    def __init__(self, lines: Sequence[bytes]) -> None:
        self.columns: dict[str, _Column] = {}
        self.others: list[Record] = []
        self._lines = lines
        self._first_lines: list[int] = []

    def take_block(self, start: int, lines: Sequence[bytes]) -> None:
        """Sort out the lines behind those taken so far."""
        before = len(self._first_lines)
        rows = []
        for number, line in enumerate(lines, start=start + 1):
            cells = self._row(number, line, before)
            if cells:
                rows.append(cells)
                self._first_lines.append(number)
        names = tuple(self.columns)
        if rows and all(tuple(row) == names for row in rows):
            columns = zip(*map(dict.values, rows), strict=True)
            for column, values in zip(self.columns.values(), columns, strict=True):
                column.add(values)
        else:
            for name, column in self.columns.items():
                column.add([row.get(name) for row in rows])

    def refuse_excess(self, file: str) -> None:
        """Raise where a few lines blow the table up with names that the others leave out."""
        if len(self.columns) * len(self._first_lines) > MOST_CELLS:
            raise UnreadableLogError(
                f"{file} has {count(len(self.columns), 'name')} in all its lines together, and a "
                f"log of more than {MOST_CELLS:,} cells is not read; split it, or use fewer names"
            )

    def records(self) -> tuple[list[str], ColumnRecords]:
        """Return the header and all records; a slip in a name makes no second column."""
        first = np.array(self._first_lines, dtype=np.int64)
        columns = {name: column.finish() for name, column in self.columns.items()}
        aside: dict[int, Record] = {}
        for slip in find_slips(columns):
            self._join(slip)
            del columns[slip.name]
            aside |= {row: self._slipped(slip, int(first[row])) for row in slip.rows.tolist()}
        rows = Rows(first, np.ones_like(first), list(columns.values()), self._raw)
        is_kept = np.ones(len(first), dtype=bool)
        is_kept[list(aside)] = False
        others = sorted([*self.others, *aside.values()], key=lambda record: record.first_line)
        return list(columns), ColumnRecords(rows.take(is_kept), others)

    def remark(self, file: str) -> str:
        """Return which names are missing in some rows: one of them may be misspelt."""
        n = len(self._first_lines)
        partly = [
            f"{quoted(name)} in {column.left_out:,} of {count(n, 'row')}"
            for name, column in self.columns.items()
            if column.left_out > 0
        ]
        if not partly:
            return ""
        more = [f"{len(partly) - _MOST_SHOWN} more"] if len(partly) > _MOST_SHOWN else []
        shown = listing([*partly[:_MOST_SHOWN], *more])
        return f"{file}: names left out, the cells taken as empty: {shown}."

    def _join(self, slip: Slip) -> None:
        """Count a name as not left out where it is there with a slip."""
        del self.columns[slip.name]
        self.columns[slip.meant].left_out -= len(slip.rows)

    def _slipped(self, slip: Slip, line: int) -> Record:
        return Record(
            *(line, 1, self._raw(line, 1), [], "damaged"),
            f"the line names {quoted(slip.name)}, where others name {quoted(slip.meant)}",
            "use one spelling on every line",
        )

    def _row(self, number: int, line: bytes, before: int) -> dict[str, str]:
        """Return the cells of a line; of one that is no row none, its record kept."""
        text = ""
        try:
            text = text_of(line)
            if not text or text.isspace():
                return self._other(number, text, "blank")
            if text.startswith("#"):
                return self._other(number, text, "comment")
            cells = read_object(text)
            self._meet(cells, before)
        except UnfitLineError as why:
            return self._other(number, text or _shown(line), "damaged", why)
        has_any = any(cell and not cell.isspace() for cell in cells.values())
        return cells if has_any else self._other(number, text, "blank")

    def _other(
        self, number: int, text: str, kind: Kind, why: UnfitLineError | None = None
    ) -> dict[str, str]:
        told = (why.problem, why.suggestion) if why else ("", "")
        self.others.append(Record(number, 1, text, [], kind, *told))
        return {}

    def _meet(self, cells: dict[str, str], before: int) -> None:
        """Take new names up as columns, which the rows so far leave empty."""
        if cells.keys() <= self.columns.keys():
            return
        new = [name for name in cells if name not in self.columns]
        if len(self.columns) + len(new) > MOST_NAMES:
            raise UnfitLineError(
                f"the line adds {quoted(new[0])} to a table of {count(MOST_NAMES, 'column')}",
                "use the same names on every line",
            )
        for name in new:
            self.columns[name] = _Column(before)

    def _raw(self, first_line: int, _: int) -> str:
        return _shown(self._lines[first_line - 1])


def _shown(line: bytes) -> str:
    """Return a line as text, whatever its bytes."""
    return line.decode("utf-8", "backslashreplace")


def _lines(raw: bytes, file: str) -> tuple[str, list[bytes]]:
    """Return how the bytes were taken, and the physical lines in UTF-8."""
    for mark, codec, words in _MARKS:
        if raw.startswith(mark):
            try:
                raw = raw[len(mark) :] if codec == "utf-8-sig" else raw.decode(codec).encode()
            except UnicodeError:
                raise UnreadableLogError(
                    f"{file} is not proper {words}; save it in UTF-8, as JSON lines are"
                ) from None
            break
    else:
        words = "UTF-8"
    if raw.count(0) > len(raw) // 4:
        raise UnreadableLogError(
            f"{file} is full of zero bytes: UTF-16 without its mark, or no text; save it in UTF-8"
        )
    lines = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    return words, lines[:-1] if lines[-1] == b"" else lines


def _no_object_sentence(others: Sequence[Record], file: str) -> str:
    """Return why a file without a single row is no log."""
    damaged = [record for record in others if record.kind == "damaged"]
    if not damaged:
        return f"{file} is empty; {_ONE_A_LINE}"
    first = damaged[0]
    return (
        f"{file} holds no line that is a row by itself, first line {first.first_line}: "
        f"{first.problem}; {_ONE_A_LINE}, and none over several lines"
    )


def _refuse_array(lines: Sequence[bytes], file: str) -> None:
    """Raise where the whole file is one list."""
    first = next((line for line in lines if line.strip()), b"").strip()
    last = next((line for line in reversed(lines) if line.strip()), b"").strip()
    if first.startswith(b"[") and last.endswith(b"]"):
        raise UnreadableLogError(
            f"{file} is one list over the whole file, not JSON lines; write each object on a "
            "line of its own, without the [ ] around them and the commas between"
        )
