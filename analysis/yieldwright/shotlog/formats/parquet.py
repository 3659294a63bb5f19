"""Parquet to records: every value as the text a person would type for it.

A value is turned into text once, however many rows hold it. What a file claims to hold is
weighed before anything of it is unpacked.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, count, listing, visible
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.formats._parquet_cells import what_no_cell_holds
from yieldwright.shotlog.formats._parquet_table import Table, plain_kind
from yieldwright.shotlog.formats.encoding import Document, read_bytes
from yieldwright.shotlog.formats.grids import MOST_CELLS
from yieldwright.shotlog.formats.records import Record

if TYPE_CHECKING:
    from pathlib import Path

    import pyarrow as pa
    from pyarrow import parquet as pq

    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.source import Grid

__all__ = ["read_parquet"]

_MOST_COLUMNS = 500
_MOST_UNPACKED = 2**30
#: Packing makes tables a few to some twenty times smaller; a bomb, a thousand times.
_GREATEST_RATIO, _SMALL = 100, 100_000_000
#: Longest text in the description of a file, and longest list.
_THRIFT_LIMIT = 10_000_000
_BATCH = 100_000
_WRITE_AGAIN = "write the file again, or save the table as CSV"


def read_parquet(path: Path, bench: Bench) -> Grid:  # noqa: ARG001 - formats are asked alike
    """Return a Parquet file as records; row n of the table is line n.

    Parameters
    ----------
    path : Path
        The file.
    bench : Bench
        Not asked: the file says itself what its columns hold.

    Returns
    -------
    Grid
        Its header is no line of the file.

    Raises
    ------
    UnreadableLogError
        If pyarrow is not installed, the file is damaged, encrypted or far larger than it
        looks, or a column has no cells: lists, records, bytes, or the name of another.

    Notes
    -----
    A number is written with the fewest digits that give it back at its own precision: a
    single-precision 18.1 is 18.1, not 18.100000381; a decimal keeps all its places. NaN
    and null are empty cells. A duration is written in seconds, with its unit. Instants
    carry the offset of their zone; a column of instants without zone that are all
    midnights is a column of days.
    """
    from yieldwright.shotlog.formats.source import Grid

    raw = read_bytes(path)
    _refuse_encrypted(raw, path.name)
    with _told(path.name):
        table = _read(raw, path.name)
    digest = hashlib.sha256(raw).hexdigest()
    return Grid(
        Document(path.name, digest, "Parquet", len(table)),
        table.records(),
        Record(0, 0, "", table.names, "header"),
        tuple(table.remarks(path.name)),
    )


def _refuse_encrypted(raw: bytes, file: str) -> None:
    if b"PARE" in (raw[:4], raw[-4:]):
        raise UnreadableLogError(f"{file} is encrypted; save it without encryption")


@contextmanager
def _told(file: str) -> Iterator[None]:
    """Turn whatever a damaged file makes the library raise into one sentence."""
    try:
        import pyarrow as pa
    except ImportError:
        raise UnreadableLogError(
            f"{file} is a Parquet file, and reading it needs pyarrow: python -m pip install "
            "'yieldwright[parquet]', or save the table as CSV"
        ) from None
    try:
        yield
    except UnreadableLogError:
        raise
    except (
        *(pa.ArrowException, OSError, ValueError, TypeError, LookupError),
        *(OverflowError, MemoryError, NotImplementedError),
    ) as problem:
        said = clip(visible(str(problem).partition("\n")[0].rstrip(" .")), 120)
        raise UnreadableLogError(
            f"{file} is damaged, cut short or no Parquet file ({said}); {_WRITE_AGAIN}"
        ) from None


def _read(raw: bytes, file: str) -> Table:
    """Return the columns of a file whose claims are within reason."""
    found = _opened(raw, ())
    schema = found.schema_arrow
    _refuse_columns(schema, file)
    _refuse_size(found.metadata, len(raw), file)
    table = Table(schema)
    texts = [field.name for field in schema if _is_text(field.type)]
    for batch in _opened(raw, texts).iter_batches(batch_size=_BATCH):
        table.add(batch)
    if len(table) != found.metadata.num_rows:
        raise ValueError(f"{len(table):,} of {found.metadata.num_rows:,} rows found")
    if table.characters() > _MOST_UNPACKED:
        raise UnreadableLogError(
            f"{file} holds {table.characters() / 1e6:,.0f} million characters, far more than a "
            "log does; shorten its texts, or split it"
        )
    return table


def _opened(raw: bytes, coded: Sequence[str]) -> pq.ParquetFile:
    """Return a file opened; a text that many rows share is then unpacked once."""
    import pyarrow as pa
    from pyarrow import parquet as pq

    return pq.ParquetFile(
        pa.BufferReader(raw),
        read_dictionary=list(coded),
        thrift_string_size_limit=_THRIFT_LIMIT,
        thrift_container_size_limit=_THRIFT_LIMIT,
    )


def _is_text(kind: pa.DataType) -> bool:
    from pyarrow import types as is_a

    return bool(is_a.is_string(kind) or is_a.is_large_string(kind) or is_a.is_string_view(kind))


def _refuse_columns(schema: pa.Schema, file: str) -> None:
    """Raise where a column has no cells, or the name of another."""
    if not schema.names:
        raise UnreadableLogError(f"{file} has no columns; {_WRITE_AGAIN}")
    if len(schema.names) > _MOST_COLUMNS:
        raise UnreadableLogError(
            f"{file} has {len(schema.names):,} columns, and a log has {_MOST_COLUMNS} at most; "
            "keep those that describe a shot"
        )
    twice = [name for name, times in Counter(schema.names).items() if times > 1]
    if twice:
        raise UnreadableLogError(
            f"{file} has more than one column of the name {listing(_shown(twice))}; which one "
            "counts cannot be guessed, so rename or drop all but one"
        )
    odd = [(field.name, what) for field in schema if (what := _no_cells(field.type))]
    if odd:
        told = listing([f"{quoted(name)} holds {what}" for name, what in odd[:3]])
        raise UnreadableLogError(
            f"{file} has {count(len(odd), 'column')} whose cells are no single values: {told}; "
            "drop them, or keep one text or number a cell (tastings go to a table of their own)"
        )


def _no_cells(kind: pa.DataType) -> str:
    return what_no_cell_holds(plain_kind(kind))


def _shown(names: Iterable[str]) -> list[str]:
    return [quoted(name) for name in list(names)[:3]]


def _refuse_size(metadata: pq.FileMetaData, packed: int, file: str) -> None:
    """Raise where a file claims to hold more than a log ever does."""
    cells = metadata.num_rows * metadata.num_columns
    if cells > MOST_CELLS:
        raise UnreadableLogError(
            f"{file} claims to hold {metadata.num_rows:,} rows of "
            f"{count(metadata.num_columns, 'column')}, and a log of more than "
            f"{MOST_CELLS:,} cells is not read; split it, or keep fewer columns"
        )
    groups = map(metadata.row_group, range(metadata.num_row_groups))
    unpacked = sum(group.total_byte_size for group in groups)
    if unpacked > min(_MOST_UNPACKED, max(_SMALL, _GREATEST_RATIO * packed)):
        raise UnreadableLogError(
            f"{file} claims to unpack from {packed / 1e6:,.1f} to {unpacked / 1e6:,.0f} MB, far "
            f"more than a log is; {_WRITE_AGAIN}"
        )
