"""How a file is written, found out rather than asked: format, delimiter, header, decimals.

A format that is no delimited text gives back a `Grid`: its records, cells as text. All
formats end as a `Source`: rows column by column, and the records that are none. A further
format needs one function from a path to a `Grid`, and a line in `open_source`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, count, visible
from yieldwright.shotlog.bulk import split_rows
from yieldwright.shotlog.encoding import Document, read_bytes, read_text
from yieldwright.shotlog.grids import ColumnRecords, refuse_unknown_names
from yieldwright.shotlog.records import Record, split_records
from yieldwright.shotlog.rows import Rows, rows_of
from yieldwright.shotlog.texts import Figure, TextColumn

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.headers import Vocabulary

__all__ = ["Decimal", "Delimiter", "Grid", "Source", "find_decimal", "open_source"]

Delimiter = Literal["comma", "semicolon", "tab"]
Decimal = Literal["point", "comma"]

_MARKS: dict[Delimiter, str] = {"comma": ",", "semicolon": ";", "tab": "\t"}
#: Records above the header, such as titles and comments, that are looked through.
_HEADER_WITHIN = 30
_POINT = re.compile(r"[0-9]\.[0-9]")
_COMMA = re.compile(r"[0-9],[0-9]")
_JSON_LINES = frozenset({".jsonl", ".ndjson"})


class Grid(NamedTuple):
    """One file as records of texts, in a format that is no delimited text.

    Attributes
    ----------
    document : Document
        The file's name, digest and format.
    records : sequence of Record
        Every physical row in order. A cell the file stores as a number is a `Figure`.
    header : Record or None
        The names of the columns where the format itself gives them; it takes no line.
        None where one of the records is the header.
    remarks : tuple of str
        What to tell about the reading.
    """

    document: Document
    records: Sequence[Record]
    header: Record | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Source:
    """One file as rows, whatever its format.

    Attributes
    ----------
    document : Document
        The file's name, digest, encoding and number of lines.
    delimiter : {"comma", "semicolon", "tab"} or None
        What stands between cells; None where the format needs nothing.
    header : Record
        The record that names the columns.
    rows : Rows
        Records with a cell for every column, blank ones left out.
    others : sequence of Record
        All other records in order, the header among them where it takes a line.
    remarks : tuple of str
        What the format gives reason to say.
    """

    document: Document
    delimiter: Delimiter | None
    header: Record
    rows: Rows
    others: Sequence[Record]
    remarks: tuple[str, ...] = ()


class _Found(NamedTuple):
    """A record that may be the header: the most known names win, then the most cells."""

    known: int
    width: int
    earlier: int
    preference: int
    delimiter: Delimiter
    header: Record


def open_source(
    path: Path,
    vocabulary: Vocabulary,
    bench: Bench,
    progress: Callable[[float], None] | None = None,
) -> Source:
    r"""Return a file as rows.

    Parameters
    ----------
    path : Path
        The file.
    vocabulary : Vocabulary
        The headers we know.
    bench : Bench
        May force the delimiter, the decimal mark and the sheet of a workbook.
    progress : callable or None
        Told the share of lines done.

    Returns
    -------
    Source

    Raises
    ------
    UnreadableLogError
        If it is in no format we read, or no line of it names columns.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.headers import Vocabulary
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot;dose_g\n1;18,1\n", encoding="utf-8")
    ...     source = open_source(path, Vocabulary("shots", Bench()), Bench())
    >>> source.delimiter, source.header.cells, len(source.rows)
    ('semicolon', ['shot', 'dose_g'], 1)
    """
    grid = _read_grid(path, vocabulary.table, bench)
    if grid is not None:
        return _source_of_grid(grid, vocabulary.knows)
    document, lines = read_text(read_bytes(path), path.name)
    return _read_delimited(document, lines, vocabulary.knows, bench, progress)


def find_decimal(columns: Iterable[Sequence[str]], bench: Bench) -> tuple[Decimal, str]:
    """Return what stands before decimals, and a remark where both marks are used.

    Parameters
    ----------
    columns : iterable of sequence of str
        The columns that should hold numbers.
    bench : Bench
        May force the decimal mark.

    Returns
    -------
    decimal : {"point", "comma"}
        The mark used more often; a point where there is none.
    remark : str
        Empty where all is clear.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> find_decimal([["18,1", "36"]], Bench())
    ('comma', '')
    """
    texts = list(columns)
    points = sum(_occurrences(_POINT, column) for column in texts)
    commas = sum(_occurrences(_COMMA, column) for column in texts)
    decimal: Decimal = bench.decimal or ("comma" if commas > points else "point")
    others = points if decimal == "comma" else commas
    if not others:
        return decimal, ""
    return decimal, (
        f"decimals are taken to be written with a {decimal}; {count(others, 'number')} with the "
        "other mark cannot be told from thousands, and the rows are set aside"
    )


def _occurrences(mark: re.Pattern[str], column: Sequence[str]) -> int:
    """Return how often a mark was written between figures, in all rows of a column."""
    if not isinstance(column, TextColumn):
        return len(mark.findall("\n".join(column)))
    if not mark.search("\n".join(column.texts)):
        return 0
    each = [0 if isinstance(text, Figure) else len(mark.findall(text)) for text in column.texts]
    return int(np.array(each, dtype=np.int64)[column.codes].sum())


def _read_grid(path: Path, table: Literal["shots", "tastings"], bench: Bench) -> Grid | None:
    """Return a file that is no delimited text; None where it is one."""
    start = _start(path)
    if start.startswith(b"PK\x03\x04"):
        from yieldwright.shotlog.workbook import read_workbook

        return read_workbook(path, table, bench)
    if start.startswith(b"PAR1"):
        from yieldwright.shotlog.parquet import read_parquet

        return read_parquet(path, bench)
    if path.suffix.casefold() in _JSON_LINES or start.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{":
        from yieldwright.shotlog.json_lines import read_json_lines

        return read_json_lines(path, bench)
    return None


def _start(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(200)
    except (OSError, ValueError):
        return b""  # `read_bytes` will say why


def _source_of_grid(grid: Grid, is_known: Callable[[str], bool]) -> Source:
    if grid.header is not None:
        names = grid.header.cells
        refuse_unknown_names(names, map(is_known, names), grid.document.file)
    if grid.header is not None and isinstance(grid.records, ColumnRecords):
        rows, others = grid.records.rows, grid.records.others
        return Source(grid.document, None, grid.header, rows, others, grid.remarks)
    records = list(grid.records)
    header = grid.header or _header_among(records, grid.document, is_known)
    width = len(header.cells)
    head: list[Record] = []
    if grid.header is None:
        above = records[: records.index(header)]
        head = [r._replace(kind="title") if r.kind in ("row", "damaged") else r for r in above]
        records = records[len(above) + 1 :]
        header = header._replace(kind="header")
        head.append(header)
    is_row = [record.kind == "row" and len(record.cells) == width for record in records]
    rows = rows_of((r for r, whole in zip(records, is_row, strict=True) if whole), width)
    others = head + [r for r, whole in zip(records, is_row, strict=True) if not whole]
    return Source(grid.document, None, header, rows, others, grid.remarks)


def _header_among(
    records: Sequence[Record], document: Document, is_known: Callable[[str], bool]
) -> Record:
    found = [
        (sum(map(is_known, record.cells)), -at, record)
        for at, record in enumerate(records[:_HEADER_WITHIN])
        if record.kind == "row"
    ]
    known, _, header = max(found, default=(0, 0, None), key=lambda each: each[:2])
    if header is None or not known:
        first = next((record.raw for record in records if record.raw.strip()), "")
        raise UnreadableLogError(_no_header_sentence(document.file, first, ""))
    return header


def _read_delimited(
    document: Document,
    lines: Sequence[str],
    is_known: Callable[[str], bool],
    bench: Bench,
    progress: Callable[[float], None] | None,
) -> Source:
    """Return a text file as rows: the format the package starts from."""
    delimiters: list[Delimiter] = [bench.delimiter] if bench.delimiter else list(_MARKS)
    found = max(_headers(lines, delimiters, is_known), default=None)
    if found is None or not found.known:
        forced = f" when split at {bench.delimiter}s as the bench asks" if bench.delimiter else ""
        first = next(line for line in lines if line.strip())
        raise UnreadableLogError(_no_header_sentence(document.file, first, forced))
    header, mark = found.header, _MARKS[found.delimiter]
    start = header.first_line + header.line_count - 1
    split = split_rows(lines, mark, len(header.cells), start=start, progress=progress)
    others = [*_head(lines, mark, header), header, *split.others]
    return Source(document, found.delimiter, header, split.rows, others)


def _headers(
    lines: Sequence[str], delimiters: Iterable[Delimiter], is_known: Callable[[str], bool]
) -> Iterable[_Found]:
    for rank, delimiter in enumerate(delimiters):
        records = islice(split_records(lines, _MARKS[delimiter]), _HEADER_WITHIN)
        for index, record in enumerate(records):
            known = sum(map(is_known, record.cells))
            named = record._replace(kind="header")
            if record.kind == "row" or (record.kind == "comment" and is_known(record.cells[0])):
                yield _Found(known, len(record.cells), -index, -rank, delimiter, named)


def _head(lines: Sequence[str], mark: str, header: Record) -> list[Record]:
    """Return the records above the header; none of them is a row."""
    above = lines[: header.first_line - 1]
    return [
        record._replace(kind="title") if record.kind in ("row", "damaged") else record
        for record in split_records(above, mark)
    ]


def _no_header_sentence(file: str, first: str, forced: str) -> str:
    return (
        f"{file} names no column we know{forced}; its first line reads "
        f"“{clip(visible(first), 60)}”. Separate cells by commas, semicolons or tabs, and give "
        "the first line the names of the data dictionary (shot, pulled_at, dose_g, beverage_g, "
        "time_s, tds_pct …), or say what your own headers mean under [columns] in bench.toml"
    )
