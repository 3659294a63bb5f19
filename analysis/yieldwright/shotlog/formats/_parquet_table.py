"""The columns of a Parquet file as texts, filled block by block."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.formats._parquet_cells import MIDNIGHT, Text, known_zone, texts_of
from yieldwright.shotlog.formats.grids import ColumnRecords
from yieldwright.shotlog.formats.rows import Rows
from yieldwright.shotlog.formats.texts import TextColumn

if TYPE_CHECKING:
    import pyarrow as pa

__all__ = ["Table", "plain_kind"]

_INDEX = "__index_level_"
_CORRECT = "correct that cell, or empty it"
_NO_TEXT = "\N{REPLACEMENT CHARACTER}"


def plain_kind(kind: pa.DataType) -> pa.DataType:
    """Return the type of the values behind codes and extensions.

    Parameters
    ----------
    kind : DataType
        Type of a column.

    Returns
    -------
    DataType
    """
    import pyarrow as pa

    if isinstance(kind, pa.BaseExtensionType):
        return plain_kind(kind.storage_type)
    return plain_kind(kind.value_type) if pa.types.is_dictionary(kind) else kind


class _Column:
    """The texts of one column so far, and the rows that hold each."""

    def __init__(self, field: pa.Field) -> None:
        self.name: str = field.name
        self.kind = plain_kind(field.type)
        self._number: dict[Text, int] = {"": 0}
        self._codes: list[np.ndarray] = []
        self._last: tuple[pa.Array, np.ndarray] | None = None

    def add(self, values: pa.Array) -> None:
        """Add the values of some rows."""
        import pyarrow as pa

        if isinstance(values, pa.ExtensionArray):
            values = values.storage
        coded = values if pa.types.is_dictionary(values.type) else values.dictionary_encode()
        known = self._known(coded.dictionary)
        missing = len(known) - 1
        at = coded.indices.cast(pa.int32()).fill_null(missing).to_numpy(zero_copy_only=False)
        if len(at) and at.min() < 0:
            raise ValueError("a code stands for no value")
        self._codes.append(known[at])

    def finish(self) -> TextColumn:
        """Return the column; where a cell is unreadable it has a sign for that."""
        texts = [text if isinstance(text, str) else _NO_TEXT for text in self._number]
        if self._is_of_days():
            texts = [text.removesuffix(MIDNIGHT) for text in texts]
        return TextColumn(self._all_codes(), texts)

    def characters(self) -> int:
        """Return how long the texts of all rows are together."""
        lengths = np.array([len(text) for text in self._number], dtype=np.int64)
        return sum(int(lengths[codes].sum()) for codes in self._codes)

    def unreadable(self) -> Iterator[tuple[int, str]]:
        """Yield which rows have no text here, and what they hold instead."""
        held = {code: text for text, code in self._number.items() if not isinstance(text, str)}
        if held:
            codes = self._all_codes()
            for row in np.flatnonzero(np.isin(codes, list(held))).tolist():
                yield row, held[codes[row]].holds

    def remark(self) -> str:
        """Return what to say about the way in which the column is read."""
        from pyarrow import types as is_a

        name = quoted(self.name)
        if self.name.startswith(_INDEX):
            return f"{name} holds the row numbers of a data frame."
        if is_a.is_float32(self.kind) or is_a.is_float16(self.kind):
            return f"{name} is stored to few digits, and read as the shortest number they mean."
        if is_a.is_timestamp(self.kind) and self.kind.tz and not known_zone(self.kind.tz):
            return f"the zone {quoted(self.kind.tz)} of {name} is not known; its times are in UTC."
        return ""

    def _is_of_days(self) -> bool:
        from pyarrow import types as is_a

        if not is_a.is_timestamp(self.kind) or self.kind.tz:
            return False
        return all(
            isinstance(text, str) and text.endswith(MIDNIGHT) for text in self._number if text
        )

    def _all_codes(self) -> np.ndarray:
        return np.concatenate([np.empty(0, dtype=np.int32), *self._codes])

    def _known(self, dictionary: pa.Array) -> np.ndarray:
        """Return the numbers of texts, and behind them that of a missing one."""
        if self._last is not None and self._last[0].equals(dictionary):
            return self._last[1]
        number = self._number
        known = [number.setdefault(text, len(number)) for text in texts_of(dictionary)]
        self._last = dictionary, np.array([*known, 0], dtype=np.int32)
        return self._last[1]


class Table:
    """The columns of a file, filled block by block."""

    def __init__(self, schema: pa.Schema) -> None:
        self.names: list[str] = list(schema.names)
        self._columns = [_Column(field) for field in schema]
        self._length = 0

    def __len__(self) -> int:
        return self._length

    def add(self, batch: pa.RecordBatch) -> None:
        """Add a block of rows.

        Parameters
        ----------
        batch : RecordBatch
            A value for every column in each row.
        """
        for column, values in zip(self._columns, batch.columns, strict=True):
            column.add(values)
        self._length += batch.num_rows

    def characters(self) -> int:
        """Return how long the texts of all rows are together.

        Returns
        -------
        int
        """
        return sum(column.characters() for column in self._columns)

    def records(self) -> ColumnRecords:
        """Return all rows; those that are blank or damaged stand apart.

        Returns
        -------
        ColumnRecords
        """
        first = np.arange(1, len(self) + 1, dtype=np.int64)
        columns = [column.finish() for column in self._columns]
        rows = Rows(first, np.ones_like(first), columns, lambda line, _: _line(columns, line - 1))
        apart = rows.blank()
        damaged = dict(self._unreadable())
        apart[list(damaged)] = True
        others = [
            rows.record(row)._replace(kind="blank")
            if row not in damaged
            else rows.record(row)._replace(
                kind="damaged", problem=damaged[row], suggestion=_CORRECT
            )
            for row in np.flatnonzero(apart).tolist()
        ]
        return ColumnRecords(rows.take(~apart), others)

    def _unreadable(self) -> Iterator[tuple[int, str]]:
        for column in reversed(self._columns):
            for row, holds in column.unreadable():
                yield row, f"{quoted(column.name)} holds {holds}"

    def remarks(self, file: str) -> list[str]:
        """Return what to say about the way in which columns are read.

        Parameters
        ----------
        file : str
            Name of the file.

        Returns
        -------
        list of str
        """
        said = [remark for column in self._columns if (remark := column.remark())]
        return [f"{file}: {remark}" for remark in said]


def _line(columns: Sequence[TextColumn], row: int) -> str:
    """Return a row as a line of a text file: it has no other form to show."""
    line = io.StringIO()
    csv.writer(line, lineterminator="").writerow([column[row] for column in columns])
    return line.getvalue()
