"""From physical lines to records: cells, and how many lines each record takes.

A quoted cell may span lines. A quote that is opened and never properly closed must not
swallow the rows below it: the line it stands on is damaged, and the rows are read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Literal, NamedTuple

__all__ = ["Kind", "Record", "record_at", "split_cells", "split_records"]

Kind = Literal["row", "blank", "comment", "title", "header", "damaged"]

_CONTENT = re.compile(r'(?:[^"]|"")*+')
_OPENED = re.compile(r' *"(?:[^"]|"")*+\Z')
#: Below this many columns, a line of a quoted note can look like a row by chance.
_TELLING_WIDTH = 4
#: Cells a record may reach where the header is not known yet.
_WIDEST_HEADER = 200


class Record(NamedTuple):
    """One record of a file, of whatever format.

    Attributes
    ----------
    first_line : int
        Physical line it starts on, counted from 1.
    line_count : int
        Physical lines it takes.
    raw : str
        As it stands in the file, its lines joined by line feeds.
    cells : list of str
        As typed, quotes resolved.
    kind : str
        What the record is: a row, or something that holds none.
    problem : str
        Why a damaged record cannot be read.
    suggestion : str
        What would mend it.
    """

    first_line: int
    line_count: int
    raw: str
    cells: list[str]
    kind: Kind = "row"
    problem: str = ""
    suggestion: str = ""


class _Reach(NamedTuple):
    """How far a record with an open quote reaches, and the cells it then has."""

    last: int
    cells: list[str]


def split_cells(text: str, delimiter: str) -> tuple[list[str], bool]:
    """Return the cells of a text, and whether its last quote is left open.

    A quote that does not enclose a whole cell is an ordinary character.

    Parameters
    ----------
    text : str
        One or more physical lines.
    delimiter : str
        What stands between cells.

    Returns
    -------
    cells : list of str
        As typed, quotes resolved.
    is_open : bool
        Whether a cell begins with a quote that nothing closes.

    Examples
    --------
    >>> split_cells('1,"sweet, long",4" tray', ",")
    (['1', 'sweet, long', '4" tray'], False)
    >>> split_cells('1,"sweet, long', ",")
    (['1', '"sweet', ' long'], True)
    """
    if '"' not in text:
        return text.split(delimiter), False
    if f'{delimiter}"' not in text and f'{delimiter} "' not in text and text.lstrip(" ")[0] != '"':
        return text.split(delimiter), False
    return _split_quoted(text, delimiter)


def split_records(
    lines: Sequence[str], delimiter: str, *, width: int | None = None, start: int = 0
) -> Iterator[Record]:
    r"""Yield the records of a text in order; every physical line belongs to just one.

    Parameters
    ----------
    lines : sequence of str
        Physical lines.
    delimiter : str
        What stands between cells.
    width : int or None
        Cells a row should have, where the header is known.
    start : int
        Index of the line to start from.

    Yields
    ------
    Record
        Rows, blanks, comments and damaged records.

    Examples
    --------
    >>> [r.line_count for r in split_records(["1,18", '2,"two', 'lines"'], ",", width=2)]
    [1, 2]
    """
    at = start
    while at < len(lines):
        record = record_at(lines, at, delimiter, width)
        yield record
        at += record.line_count


def record_at(lines: Sequence[str], at: int, delimiter: str, width: int | None) -> Record:
    """Return the record that begins on a line.

    Parameters
    ----------
    lines : sequence of str
        Physical lines.
    at : int
        Index of the line.
    delimiter : str
        What stands between cells.
    width : int or None
        Cells a row should have, where the header is known.

    Returns
    -------
    Record

    Examples
    --------
    >>> record_at(["# warm-up not logged"], 0, ",", 2).kind
    'comment'
    """
    line = lines[at]
    if line.startswith("#"):
        return Record(at + 1, 1, line, line.split(delimiter), "comment")
    cells, is_open = split_cells(line, delimiter)
    if not is_open:
        return Record(at + 1, 1, line, cells, _kind_of(line, cells))
    reach = _reach(lines, at, delimiter, width)
    if reach is None:
        return _lone_quote(line, at, cells)
    return _spanning(lines, at, reach, delimiter, width)


def _split_quoted(text: str, delimiter: str) -> tuple[list[str], bool]:
    quoted = _quoted_cell(delimiter)
    cells: list[str] = []
    at = 0
    while True:
        found = quoted.match(text, at)
        if found:
            cells.append(found[1].replace('""', '"'))
            at = found.end()
            if found[2] == "":
                return cells, False
        elif _OPENED.match(text, at):
            return [*cells, *text[at:].split(delimiter)], True
        else:
            end = text.find(delimiter, at)
            if end < 0:
                return [*cells, text[at:]], False
            cells.append(text[at:end])
            at = end + 1


@cache
def _quoted_cell(delimiter: str) -> re.Pattern[str]:
    return re.compile(rf' *"((?:[^"]|"")*+)" *({re.escape(delimiter)}|\Z)')


@cache
def _closing(delimiter: str) -> re.Pattern[str]:
    return re.compile(rf'" *(?:{re.escape(delimiter)}|\Z)')


def _kind_of(line: str, cells: list[str]) -> Kind:
    is_blank = not line or line.isspace() or not any(cell.strip() for cell in cells)
    return "blank" if is_blank else "row"


def _reach(lines: Sequence[str], at: int, delimiter: str, width: int | None) -> _Reach | None:
    """Return where the quote opened on a line is properly closed; None where it is not."""
    last = at
    while True:
        last = _closing_line(lines, last + 1, delimiter)
        if last < 0:
            return None
        cells, is_open = split_cells("\n".join(lines[at : last + 1]), delimiter)
        if not is_open:
            return _Reach(last, cells)
        if len(cells) > (width or _WIDEST_HEADER):
            return None


def _closing_line(lines: Sequence[str], at: int, delimiter: str) -> int:
    """Return the index of the line that closes an open quote; -1 where none does so."""
    for index in range(at, len(lines)):
        line = lines[index]
        if '"' in line:
            content = _CONTENT.match(line)
            end = content.end() if content else 0
            if end < len(line):
                return index if _closing(delimiter).match(line, end) else -1
    return -1


def _spanning(
    lines: Sequence[str], at: int, reach: _Reach, delimiter: str, width: int | None
) -> Record:
    """Return a record of several lines, or what is left of it where rows hide inside."""
    count = reach.last - at + 1
    raw = "\n".join(lines[at : reach.last + 1])
    record = Record(at + 1, count, raw, reach.cells, _kind_of(raw, reach.cells))
    if width is None or not _hides_rows(lines[at + 1 : reach.last + 1], delimiter, width):
        return record
    if len(reach.cells) != width:
        return _lone_quote(lines[at], at, reach.cells)
    return record._replace(
        kind="damaged",
        problem=f"the quote opened on line {at + 1} is closed on line {reach.last + 1} only, "
        "and the lines between look like rows of their own",
        suggestion=f"close the quote on line {at + 1}, or keep such a note to one line",
    )


def _hides_rows(lines: Sequence[str], delimiter: str, width: int) -> bool:
    if width < _TELLING_WIDTH:
        return False
    return any(len(split_cells(line, delimiter)[0]) == width for line in lines)


def _lone_quote(line: str, at: int, cells: list[str]) -> Record:
    return Record(
        at + 1,
        1,
        line,
        cells,
        "damaged",
        "a cell opens a quote that is not properly closed",
        "close the quote, or write it twice where it belongs to the text",
    )
