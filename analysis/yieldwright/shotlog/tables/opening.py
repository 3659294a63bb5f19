"""Which format a file is in, by its first bytes, and its rows by the reader for that.

A further format needs one function from a path to a `Grid`, and a line here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.formats.delimited import read_delimited
from yieldwright.shotlog.formats.encoding import Document, read_bytes, read_text
from yieldwright.shotlog.formats.grids import ColumnRecords, refuse_unknown_names
from yieldwright.shotlog.formats.rows import rows_of
from yieldwright.shotlog.formats.source import HEADER_WITHIN, Grid, Source, no_header_sentence

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.headers.headers import Vocabulary

__all__ = ["open_source"]

_JSON_LINES = frozenset({".jsonl", ".ndjson"})


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
    >>> from yieldwright.shotlog.headers.headers import Vocabulary
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
    return read_delimited(document, lines, vocabulary.knows, bench, progress)


def _read_grid(path: Path, table: Literal["shots", "tastings"], bench: Bench) -> Grid | None:
    """Return a file that is no delimited text; None where it is one."""
    start = _start(path)
    if start.startswith(b"PK\x03\x04"):
        from yieldwright.shotlog.workbooks.workbook import read_workbook

        return read_workbook(path, table, bench)
    if start.startswith(b"PAR1"):
        from yieldwright.shotlog.formats.parquet import read_parquet

        return read_parquet(path, bench)
    if path.suffix.casefold() in _JSON_LINES or start.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{":
        from yieldwright.shotlog.formats.json_lines import read_json_lines

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
        for at, record in enumerate(records[:HEADER_WITHIN])
        if record.kind == "row"
    ]
    known, _, header = max(found, default=(0, 0, None), key=lambda each: each[:2])
    if header is None or not known:
        first = next((record.raw for record in records if record.raw.strip()), "")
        raise UnreadableLogError(no_header_sentence(document.file, first))
    return header
