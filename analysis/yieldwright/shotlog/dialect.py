"""How a file is written, found out rather than asked: delimiter, header, decimals.

One function per format turns a file into a `Source`, the same for all: records with
their first line, line count, raw text and cells. A further format needs such a function
and a line in `open_source`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, count, visible
from yieldwright.shotlog.encoding import Document, read_document
from yieldwright.shotlog.records import Record, split_records

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["Decimal", "Delimiter", "Source", "find_decimal", "open_source"]

Delimiter = Literal["comma", "semicolon", "tab"]
Decimal = Literal["point", "comma"]

_MARKS: dict[Delimiter, str] = {"comma": ",", "semicolon": ";", "tab": "\t"}
#: Records above the header, such as titles and comments, that are looked through.
_HEADER_WITHIN = 30
_POINT = re.compile(r"[0-9]\.[0-9]")
_COMMA = re.compile(r"[0-9],[0-9]")


@dataclass(frozen=True, slots=True)
class Source:
    """One file as records, whatever its format.

    Attributes
    ----------
    document : Document
        The file's name, digest, encoding and lines.
    delimiter : {"comma", "semicolon", "tab"}
        What stands between cells.
    header : Record
        The record that names the columns.
    records : sequence of Record
        All records in order, the header among them.
    """

    document: Document
    delimiter: Delimiter
    header: Record
    records: Sequence[Record]


class _Found(NamedTuple):
    """A record that may be the header: the most known names win, then the most cells."""

    known: int
    width: int
    earlier: int
    preference: int
    delimiter: Delimiter
    header: Record


def open_source(path: Path, is_known: Callable[[str], bool], bench: Bench) -> Source:
    r"""Return a file as records.

    Parameters
    ----------
    path : Path
        The file.
    is_known : callable
        Whether a header names a column we know.
    bench : Bench
        May force the delimiter.

    Returns
    -------
    Source

    Raises
    ------
    UnreadableLogError
        If it is no text, or no line of it names columns.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot;dose_g\n1;18,1\n", encoding="utf-8")
    ...     source = open_source(path, {"shot", "dose_g"}.__contains__, Bench())
    >>> source.delimiter, source.header.cells
    ('semicolon', ['shot', 'dose_g'])
    """
    return _read_delimited(read_document(path), is_known, bench)


def find_decimal(texts: Iterable[Sequence[str]], bench: Bench) -> tuple[Decimal, str]:
    """Return what stands before decimals, and a remark where both marks are used.

    Parameters
    ----------
    texts : iterable of sequence of str
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
    joined = ["\n".join(column) for column in texts]
    points = sum(len(_POINT.findall(column)) for column in joined)
    commas = sum(len(_COMMA.findall(column)) for column in joined)
    decimal: Decimal = bench.decimal or ("comma" if commas > points else "point")
    others = points if decimal == "comma" else commas
    if not others:
        return decimal, ""
    return decimal, (
        f"decimals are taken to be written with a {decimal}; {count(others, 'number')} with the "
        "other mark cannot be told from thousands, and the rows are set aside"
    )


def _read_delimited(document: Document, is_known: Callable[[str], bool], bench: Bench) -> Source:
    """Return a text file as records: the format the package starts from."""
    delimiters: list[Delimiter] = [bench.delimiter] if bench.delimiter else list(_MARKS)
    found = max(_headers(document, delimiters, is_known), default=None)
    if found is None or not found.known:
        raise UnreadableLogError(_no_header_sentence(document, bench))
    start = found.header.first_line + found.header.line_count - 1
    mark = _MARKS[found.delimiter]
    head = _head(document, mark, found.header)
    width = len(found.header.cells)
    rows = split_records(document.lines, mark, width=width, start=start)
    return Source(document, found.delimiter, found.header, [*head, found.header, *rows])


def _headers(
    document: Document, delimiters: Iterable[Delimiter], is_known: Callable[[str], bool]
) -> Iterable[_Found]:
    for rank, delimiter in enumerate(delimiters):
        records = islice(split_records(document.lines, _MARKS[delimiter]), _HEADER_WITHIN)
        for index, record in enumerate(records):
            known = sum(map(is_known, record.cells))
            named = record._replace(kind="header")
            if record.kind == "row" or (record.kind == "comment" and is_known(record.cells[0])):
                yield _Found(known, len(record.cells), -index, -rank, delimiter, named)


def _head(document: Document, mark: str, header: Record) -> list[Record]:
    """Return the records above the header; none of them is a row."""
    above = document.lines[: header.first_line - 1]
    return [
        record._replace(kind="title") if record.kind in ("row", "damaged") else record
        for record in split_records(above, mark)
    ]


def _no_header_sentence(document: Document, bench: Bench) -> str:
    first = next(line for line in document.lines if line.strip())
    forced = f" when split at {bench.delimiter}s as the bench asks" if bench.delimiter else ""
    return (
        f"{document.file} names no column we know{forced}; its first line reads "
        f"“{clip(visible(first), 60)}”. Separate cells by commas, semicolons or tabs, and give "
        "the first line the names of the data dictionary (shot, pulled_at, dose_g, beverage_g, "
        "time_s, tds_pct …), or say what your own headers mean under [columns] in bench.toml"
    )
