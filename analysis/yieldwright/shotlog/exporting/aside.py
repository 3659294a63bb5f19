"""Rows that were set aside, under their own headers, so that they can be mended and read again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from yieldwright.shotlog.exporting.text import bench_dialect, safe_text
from yieldwright.shotlog.formats.guarding import (
    ESCAPED,
    GUARDED,
    UNFIT_FOR_HEADER,
    looks_like_formula,
)
from yieldwright.shotlog.formats.texts import TextColumn
from yieldwright.shotlog.headers.exported import restored_columns
from yieldwright.shotlog.headers.exported_headers import SET_ASIDE, kept_header

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.source import Delimiter
    from yieldwright.shotlog.headers.headers import Table
    from yieldwright.shotlog.log import FileReading, ShotLog

__all__ = ["AsideTable", "aside_tables", "aside_text"]

_ABOUT = ("file", "line", "reason", "suggestion", "raw")


@dataclass(frozen=True, slots=True)
class AsideTable:
    """Rows set aside that stood under the same headers.

    Attributes
    ----------
    table : {"shots", "tastings"}
        What the rows describe.
    delimiter : {"comma", "semicolon", "tab"}
        What stood between cells.
    headers : tuple of str
        As in the file, behind columns of ours that say what is wrong.
    units : tuple of str
        The row of units that stood below the headers, if any did.
    rows : list of tuple of str
        The cells as they were typed; where a record cannot be told apart into cells they
        are empty, and the whole record stands in `set_aside_raw`.
    """

    table: Table
    delimiter: Delimiter
    headers: tuple[str, ...]
    units: tuple[str, ...] = ()
    rows: list[tuple[str, ...]] = field(default_factory=list)

    @property
    def columns(self) -> list[list[str]]:
        """The cells, column by column, those of the row of units first."""
        rows = [self.units, *self.rows] if self.units else self.rows
        return [list(cells) for cells in zip(*rows, strict=True)]


def aside_tables(log: ShotLog) -> list[AsideTable]:
    r"""Return the rows that were set aside, one table for each set of headers.

    Parameters
    ----------
    log : ShotLog
        A log that was read.

    Returns
    -------
    list of AsideTable
        Empty where nothing was set aside.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,180\n2,18,5\n", encoding="utf-8")
    ...     (table,) = aside_tables(read_log(path))
    >>> table.headers[1:4]
    ('set_aside_line', 'set_aside_reason', 'set_aside_suggestion')
    >>> [row[4:] for row in table.rows]
    [('', '1', '180'), ('2,18,5', '', '')]
    """
    found: dict[tuple[object, ...], AsideTable] = {}
    names = ["file", "line", "reason", "suggestion", "raw"]
    rows = log.set_aside[names].itertuples(index=False)
    for row, (at, cells) in zip(rows, log.set_aside_cells, strict=True):
        reading = log.reading.files[at]
        delimiter = reading.delimiter or bench_dialect(log.bench)[0]
        headers = _written(reading.header)
        units = _units(reading)
        table = AsideTable(reading.table, delimiter, headers, units)
        aside = found.setdefault((table.table, delimiter, headers, units), table)
        aside.rows.append(_row(row, reading.header, cells))
    return list(found.values())


def aside_text(table: AsideTable) -> str:
    """Return rows set aside as delimited text that is safe to open.

    Parameters
    ----------
    table : AsideTable
        From `aside_tables`.

    Returns
    -------
    str

    Examples
    --------
    >>> table = AsideTable("shots", "comma", ("shot", "notes"), rows=[("1", "=1")])
    >>> aside_text(table).splitlines()[1]
    "1,'=1,notes"
    """
    texts = dict(zip(table.headers, table.columns, strict=True))
    return safe_text(table.headers, {}, texts, table.delimiter)


def _units(reading: FileReading) -> tuple[str, ...]:
    """Return the row of units under the headers that are written."""
    if not reading.units:
        return ()
    return (*("" for _ in _ABOUT), *(reading.units[at] for at in _kept(reading.header)))


def _row(
    about: tuple[str, int, str, str, str], header: Sequence[str], cells: Sequence[str]
) -> tuple[str, ...]:
    """Return what is wrong with a record, and its cells without those of our own making."""
    file, line, reason, suggestion, raw = about
    if not cells:
        return file, str(line), reason, suggestion, raw, *("" for _ in _kept(header))
    as_typed = restored_columns(header, [TextColumn.of([cell]) for cell in cells])
    own = (as_typed[at][0] for at in _kept(header))
    return file, str(line), reason, suggestion, "", *own


def _kept(header: Sequence[str]) -> list[int]:
    """Return which columns of a file are not of our own making."""
    ours = (GUARDED, ESCAPED)
    names = [text.strip() for text in header]
    return [
        at for at, name in enumerate(names) if name not in ours and not name.startswith(SET_ASIDE)
    ]


def _written(header: Sequence[str]) -> tuple[str, ...]:
    own = (header[at].strip() or f"column {at + 1}" for at in _kept(header))
    return (*(f"{SET_ASIDE}{name}" for name in _ABOUT), *map(_safe_header, own))


def _safe_header(text: str) -> str:
    is_safe = not looks_like_formula(text) and not UNFIT_FOR_HEADER.search(text)
    return text if is_safe else kept_header(text)
