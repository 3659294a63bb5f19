"""How a text is written, found out rather than asked: its delimiter and its header."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.formats.bulk import split_rows
from yieldwright.shotlog.formats.records import Record, split_records
from yieldwright.shotlog.formats.source import (
    HEADER_WITHIN,
    Delimiter,
    Source,
    no_header_sentence,
)

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.encoding import Document

__all__ = ["read_delimited"]

_MARKS: dict[Delimiter, str] = {"comma": ",", "semicolon": ";", "tab": "\t"}


class _Found(NamedTuple):
    """A record that may be the header: the most known names win, then the most cells."""

    known: int
    width: int
    earlier: int
    preference: int
    delimiter: Delimiter
    header: Record


def read_delimited(
    document: Document,
    lines: Sequence[str],
    is_known: Callable[[str], bool],
    bench: Bench,
    progress: Callable[[float], None] | None = None,
) -> Source:
    r"""Return a text file as rows.

    Parameters
    ----------
    document : Document
        What is known of the file.
    lines : sequence of str
        Its physical lines.
    is_known : callable
        Whether a header names a column we know.
    bench : Bench
        May force the delimiter.
    progress : callable or None
        Told the share of lines done.

    Returns
    -------
    Source

    Raises
    ------
    UnreadableLogError
        If no line of it names columns.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.formats.encoding import read_text
    >>> document, lines = read_text(b"shot;dose_g\n1;18,1\n", "shots.csv")
    >>> source = read_delimited(document, lines, {"shot", "dose_g"}.__contains__, Bench())
    >>> source.delimiter, source.header.cells, len(source.rows)
    ('semicolon', ['shot', 'dose_g'], 1)
    """
    delimiters: list[Delimiter] = [bench.delimiter] if bench.delimiter else list(_MARKS)
    found = max(_headers(lines, delimiters, is_known), default=None)
    if found is None or not found.known:
        forced = f" when split at {bench.delimiter}s as the bench asks" if bench.delimiter else ""
        first = next(line for line in lines if line.strip())
        raise UnreadableLogError(no_header_sentence(document.file, first, forced))
    header, mark = found.header, _MARKS[found.delimiter]
    start = header.first_line + header.line_count - 1
    split = split_rows(lines, mark, len(header.cells), start=start, progress=progress)
    others = [*_head(lines, mark, header), header, *split.others]
    return Source(document, found.delimiter, header, split.rows, others)


def _headers(
    lines: Sequence[str], delimiters: Iterable[Delimiter], is_known: Callable[[str], bool]
) -> Iterable[_Found]:
    for rank, delimiter in enumerate(delimiters):
        records = islice(split_records(lines, _MARKS[delimiter]), HEADER_WITHIN)
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
