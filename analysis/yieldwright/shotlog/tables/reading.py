"""From records to a table of texts: which lines are rows, and what becomes of the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from yieldwright.formatting import count
from yieldwright.shotlog.formats.decimal_mark import find_decimal
from yieldwright.shotlog.headers.exported import exported_rows, restored_columns
from yieldwright.shotlog.headers.exported_headers import own_vocabulary
from yieldwright.shotlog.headers.headers import (
    Header,
    Table,
    Vocabulary,
    header_remarks,
    read_headers,
)
from yieldwright.shotlog.headers.other_tables import other_tables
from yieldwright.shotlog.headers.unit_rows import is_unit_row, state_units
from yieldwright.shotlog.tables.opening import open_source

if TYPE_CHECKING:
    from pathlib import Path

    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.formats.rows import Rows
    from yieldwright.shotlog.formats.source import Decimal, Source
    from yieldwright.shotlog.formats.texts import TextColumn

__all__ = ["Listed", "SetAside", "Sheet", "read_sheet"]

#: Rows of units that may follow one another below a header.
_UNITS_WITHIN = 5


@dataclass(frozen=True, slots=True)
class SetAside:
    """One record that cannot be taken as a row.

    Attributes
    ----------
    record : Record
        Where it stands, and its raw text.
    reason : str
        Why not.
    suggestion : str
        What may have been meant, or what to do.
    """

    record: Record
    reason: str
    suggestion: str


@dataclass(frozen=True, slots=True)
class Listed:
    """One record that holds no row and was not meant to.

    Attributes
    ----------
    record : Record
        Where it stands, and its raw text.
    kind : str
        Header, blank, comment, title, repeated header or units.
    """

    record: Record
    kind: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file's rows under their columns, every cell still text.

    Attributes
    ----------
    source : Source
        How the file is written.
    table : {"shots", "tastings"}
        What the rows describe.
    headers : sequence of Header
        One per column.
    rows : Rows
        Records with a cell for every column, each cell as typed.
    set_aside : sequence of SetAside
        Records that are not.
    listed : sequence of Listed
        Headers, blanks, comments and the like.
    decimal : {"point", "comma"}
        What stands before decimals.
    remarks : tuple of str
        What to tell about the reading.
    """

    source: Source
    table: Table
    headers: Sequence[Header]
    rows: Rows
    set_aside: Sequence[SetAside]
    listed: Sequence[Listed]
    decimal: Decimal
    remarks: tuple[str, ...]

    @property
    def file(self) -> str:
        """Name of the file."""
        return self.source.document.file

    @property
    def exported(self) -> np.ndarray:
        """Which rows an export of ours wrote, as opposed to a person."""
        return exported_rows(self.headers, self.rows.columns, len(self.rows))

    def texts(
        self, role: Literal["quantity", "attribute", "extra", "ours"]
    ) -> dict[str, TextColumn]:
        """Return the columns of one role by name.

        Parameters
        ----------
        role : {"quantity", "attribute", "extra", "ours"}
            What the columns are to us.

        Returns
        -------
        dict of str to TextColumn
        """
        pairs = zip(self.headers, self.rows.columns, strict=True)
        return {header.name: texts for header, texts in pairs if header.role == role}


def read_sheet(
    path: Path, table: Table, bench: Bench, progress: Callable[[float], None] | None = None
) -> Sheet:
    r"""Return the rows of a file as text, with an account of every other record.

    Parameters
    ----------
    path : Path
        The file.
    table : {"shots", "tastings"}
        What its rows describe.
    bench : Bench
        Maps headers, and may force delimiter and decimals.
    progress : callable or None
        Told the share of lines done.

    Returns
    -------
    Sheet

    Raises
    ------
    UnreadableLogError
        If the file cannot be read at all.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18\n2,18,5\n", encoding="utf-8")
    ...     sheet = read_sheet(path, "shots", Bench())
    >>> len(sheet.rows), sheet.set_aside[0].reason
    (1, '3 cells where the header has 2')
    """
    source = open_source(path, Vocabulary(table, bench), bench, progress)
    vocabulary = own_vocabulary(table, bench, source.header.cells)
    headers = read_headers(source.header.cells, vocabulary, source.document.file)
    kinds = _rows_that_are_none(source, headers)
    units = [source.rows.record(row) for row, kind in kinds.items() if kind == "units"]
    headers = state_units(headers, units, vocabulary, source.document.file)
    is_row = np.ones(len(source.rows), dtype=bool)
    is_row[list(kinds)] = False
    apart = _rows_of_other_tables(source, vocabulary, kinds)
    is_row[list(apart)] = False
    rows = source.rows if is_row.all() else source.rows.take(is_row)
    rows = replace(rows, columns=restored_columns(source.header.cells, rows.columns))
    decimal, doubt = find_decimal(_number_columns(headers, rows.columns), bench)
    dialect = (_dialect_sentence(source, decimal), *source.remarks, doubt)
    said = (*dialect, *header_remarks(headers), _comment_doubt(source))
    set_aside = [_set_aside(each, source, headers) for each in source.others if _is_damaged(each)]
    set_aside += apart.values()
    listed = [Listed(each, each.kind) for each in source.others if not _is_damaged(each)]
    listed += [Listed(source.rows.record(row), kind) for row, kind in kinds.items()]
    listed.sort(key=lambda each: each.record.first_line)
    return Sheet(
        source, table, headers, rows, set_aside, listed, decimal, tuple(filter(None, said))
    )


def _is_damaged(record: Record) -> bool:
    return record.kind in ("row", "damaged")


def _rows_that_are_none(source: Source, headers: Sequence[Header]) -> dict[int, str]:
    """Return the rows that repeat the header or give units, and which they do."""
    names = [cell.strip().casefold() for cell in source.header.cells]
    repeated = _repeated_headers(source.rows, names)
    kinds = dict.fromkeys(repeated, "repeated header")
    ends = [source.header.first_line + source.header.line_count]
    ends += [int(source.rows.first_lines[row]) + 1 for row in repeated]
    for end in ends:
        for row in _rows_right_below(source, end):
            record = source.rows.record(row)
            if not is_unit_row(record.cells, headers):
                break
            kinds[row] = "units"
    return kinds


def _repeated_headers(rows: Rows, names: Sequence[str]) -> list[int]:
    first = rows.columns[0]
    if names[0] not in "\n".join(first.texts).casefold():
        return []
    same = np.array([text.strip().casefold() == names[0] for text in first.texts], dtype=bool)
    if not same.any():
        return []
    candidates = np.flatnonzero(same[first.codes]).tolist()
    return [
        row
        for row in candidates
        if all(
            column[row].strip().casefold() == name
            for column, name in zip(rows.columns, names, strict=True)
        )
    ]


def _rows_of_other_tables(
    source: Source, vocabulary: Vocabulary, kinds: Mapping[int, str]
) -> dict[int, SetAside]:
    """Return the rows below a header that is not the first one."""
    repeated = [row for row, kind in kinds.items() if kind == "repeated header"]
    return {
        row: SetAside(source.rows.record(row), table.reason(row), table.suggestion)
        for table in other_tables(source.rows, source.header.cells, vocabulary, repeated)
        for row in range(table.header, table.stop)
        if row not in kinds
    }


def _rows_right_below(source: Source, line: int) -> list[int]:
    """Return the rows from a line on, up to the first record that is no blank or comment."""
    start = int(np.searchsorted(source.rows.first_lines, line))
    stop = next(
        (
            each.first_line
            for each in source.others
            if _is_damaged(each) and each.first_line >= line
        ),
        np.inf,
    )
    below = source.rows.first_lines[start : start + _UNITS_WITHIN]
    return [start + at for at, first in enumerate(below.tolist()) if first < stop]


def _set_aside(record: Record, source: Source, headers: Sequence[Header]) -> SetAside:
    if record.problem:
        return SetAside(record, record.problem, record.suggestion)
    reason = f"{count(len(record.cells), 'cell')} where the header has {len(headers)}"
    return SetAside(record, reason, _width_suggestion(record, source, headers))


def _width_suggestion(record: Record, source: Source, headers: Sequence[Header]) -> str:
    """Return what most likely went wrong with the number of cells."""
    cells, width = record.cells, len(headers)
    missing = width - len(cells)
    if source.delimiter is None:
        return "give the row a cell for every column"
    if missing > 0:
        return (
            f"add {count(missing, source.delimiter)}: an empty cell keeps its {source.delimiter}"
        )
    if not any(cell.strip() for cell in cells[width:]):
        return f"remove the {source.delimiter} at the end of the line"
    quoting = f"put a text that holds a {source.delimiter} in double quotes"
    if source.delimiter == "comma" and _has_split_decimals(cells):
        return f"{quoting}; or was it a decimal comma? write 18.5, or semicolons between cells"
    return quoting


def _has_split_decimals(cells: Sequence[str]) -> bool:
    """Return whether a whole number is followed by one that may be its decimals."""
    return any(
        left.strip().isdecimal() and right.isdecimal() and len(right) <= 2
        for left, right in pairwise(cells)
    )


def _number_columns(headers: Sequence[Header], columns: Sequence[TextColumn]) -> list[TextColumn]:
    pairs = zip(headers, columns, strict=True)
    return [column for header, column in pairs if header.is_numeric]


def _dialect_sentence(source: Source, decimal: Decimal) -> str:
    separated = f", cells separated by {source.delimiter}s" if source.delimiter else ""
    document = source.document
    return f"{document.file}: {document.encoding}{separated}, decimals after a {decimal}."


def _comment_doubt(source: Source) -> str:
    """Return a remark where comments have as many cells as a row."""
    width = len(source.header.cells)
    like_rows = sum(
        record.kind == "comment" and len(record.cells) == width > 1 for record in source.others
    )
    if not like_rows:
        return ""
    return (
        f"{source.document.file}: {count(like_rows, 'comment line')} with as many cells as a row; "
        "take the # away where a row was meant."
    )
