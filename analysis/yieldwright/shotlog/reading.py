"""From records to a table of texts: which lines are rows, and what becomes of the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import count
from yieldwright.glossary import find_quantity
from yieldwright.shotlog.dialect import Decimal, Source, find_decimal, open_source
from yieldwright.shotlog.headers import Header, Table, Vocabulary, read_headers
from yieldwright.shotlog.units import convert, is_unit_word

if TYPE_CHECKING:
    from pathlib import Path

    from yieldwright.bench import Bench
    from yieldwright.shotlog.records import Record

__all__ = ["Listed", "SetAside", "Sheet", "read_sheet"]


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
        The file as records.
    table : {"shots", "tastings"}
        What the rows describe.
    headers : sequence of Header
        One per column.
    rows : sequence of Record
        Records with a cell for every column.
    columns : sequence of sequence of str
        The cells of `rows`, column by column.
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
    rows: Sequence[Record]
    columns: Sequence[Sequence[str]]
    set_aside: Sequence[SetAside]
    listed: Sequence[Listed]
    decimal: Decimal
    remarks: tuple[str, ...]

    @property
    def file(self) -> str:
        """Name of the file."""
        return self.source.document.file

    def texts(self, role: Literal["quantity", "attribute", "extra"]) -> dict[str, Sequence[str]]:
        """Return the columns of one role by name.

        Parameters
        ----------
        role : {"quantity", "attribute", "extra"}
            What the columns are to us.

        Returns
        -------
        dict of str to sequence of str
        """
        pairs = zip(self.headers, self.columns, strict=True)
        return {header.name: texts for header, texts in pairs if header.role == role}


def read_sheet(path: Path, table: Table, bench: Bench) -> Sheet:
    r"""Return the rows of a file as text, with an account of every other record.

    Parameters
    ----------
    path : Path
        The file.
    table : {"shots", "tastings"}
        What its rows describe.
    bench : Bench
        Maps headers, and may force delimiter and decimals.

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
    >>> sheet.columns, sheet.set_aside[0].reason
    ([('1',), ('18',)], '3 cells where the header has 2')
    """
    vocabulary = Vocabulary(table, bench)
    source = open_source(path, vocabulary.knows, bench)
    headers = read_headers(source.header.cells, vocabulary, source.document.file)
    sorted_out = _sort_out(source, headers)
    columns = _transposed(sorted_out.rows, len(headers))
    decimal, doubt = find_decimal(_number_columns(headers, columns), bench)
    remarks = (_dialect_sentence(source, decimal), *filter(None, (doubt, _comment_doubt(source))))
    return Sheet(
        source,
        table,
        headers,
        sorted_out.rows,
        columns,
        sorted_out.set_aside,
        sorted_out.listed,
        decimal,
        remarks,
    )


@dataclass(frozen=True, slots=True)
class _Sorted:
    """Records by what becomes of them."""

    rows: list[Record]
    set_aside: list[SetAside]
    listed: list[Listed]


def _sort_out(source: Source, headers: Sequence[Header]) -> _Sorted:
    out = _Sorted([], [], [])
    names = _folded(source.header.cells)
    after_header = False
    for record in source.records:
        kind = _kind(record, names, headers, after_header=after_header)
        after_header = kind in ("header", "repeated header") or (
            after_header and kind in ("blank", "comment")
        )
        if kind == "row":
            out.rows.append(record)
        elif kind == "damaged":
            out.set_aside.append(_set_aside(record, source, headers))
        else:
            if kind == "units":
                _refuse_other_units(record, headers, source.document.file)
            out.listed.append(Listed(record, kind))
    return out


def _kind(
    record: Record, names: list[str], headers: Sequence[Header], *, after_header: bool
) -> str:
    if record.kind != "row":
        return record.kind
    if len(record.cells) != len(names):
        return "damaged"
    if record.cells[0].strip().casefold() == names[0] and _folded(record.cells) == names:
        return "repeated header"
    return "units" if after_header and _is_units(record.cells, headers) else "row"


def _folded(cells: Sequence[str]) -> list[str]:
    return [cell.strip().casefold() for cell in cells]


def _is_units(cells: Sequence[str], headers: Sequence[Header]) -> bool:
    """Return whether each number column holds a unit or nothing, and one holds a unit."""
    typed = [
        cell.strip()
        for cell, header in zip(cells, headers, strict=True)
        if _is_number(header) and cell.strip()
    ]
    return bool(typed) and all(map(is_unit_word, typed))


def _refuse_other_units(record: Record, headers: Sequence[Header], file: str) -> None:
    """Raise where a row of units gives a column another unit than its name does."""
    for cell, header in zip(record.cells, headers, strict=True):
        unit = cell.strip(" ()[]")
        entry = find_quantity(header.name) if header.role == "quantity" else None
        if not unit or entry is None or not entry.is_numeric:
            continue
        turned = convert(1.0, unit, entry.unit)
        if turned.is_changed or turned.refusal:
            raise UnreadableLogError(
                f"{file}: the row of units at line {record.first_line} says {unit} for "
                f"{header.name}; convert the column to {entry.unit or 'plain numbers'}, or "
                "correct that row"
            )


def _is_number(header: Header) -> bool:
    entry = find_quantity(header.name) if header.role == "quantity" else None
    return header.role == "attribute" or (entry is not None and entry.is_numeric)


def _set_aside(record: Record, source: Source, headers: Sequence[Header]) -> SetAside:
    if record.problem:
        return SetAside(record, record.problem, record.suggestion)
    reason = f"{count(len(record.cells), 'cell')} where the header has {len(headers)}"
    return SetAside(record, reason, _width_suggestion(record, source, headers))


def _width_suggestion(record: Record, source: Source, headers: Sequence[Header]) -> str:
    """Return what most likely went wrong with the number of cells."""
    cells, width = record.cells, len(headers)
    missing = width - len(cells)
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


def _transposed(rows: Sequence[Record], width: int) -> list[tuple[str, ...]]:
    if not rows:
        return [()] * width
    return list(zip(*(row.cells for row in rows), strict=True))


def _number_columns(
    headers: Sequence[Header], columns: Sequence[Sequence[str]]
) -> list[Sequence[str]]:
    pairs = zip(headers, columns, strict=True)
    return [column for header, column in pairs if _is_number(header)]


def _dialect_sentence(source: Source, decimal: Decimal) -> str:
    return (
        f"{source.document.file}: {source.document.encoding}, cells separated by "
        f"{source.delimiter}s, decimals after a {decimal}."
    )


def _comment_doubt(source: Source) -> str:
    """Return a remark where comments have as many cells as a row."""
    width = len(source.header.cells)
    like_rows = sum(
        record.kind == "comment" and len(record.cells) == width > 1 for record in source.records
    )
    if not like_rows:
        return ""
    return (
        f"{source.document.file}: {count(like_rows, 'comment line')} with as many cells as a row; "
        "take the # away where a row was meant."
    )
