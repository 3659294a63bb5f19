"""A log written out for spreadsheets and other programs, to be read back just as it was."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.errors import NotWritableError, UnknownNameError
from yieldwright.formatting import count, listing, visible
from yieldwright.shotlog.exporting.aside import aside_tables, aside_text
from yieldwright.shotlog.exporting.parquet import parquet
from yieldwright.shotlog.exporting.places import (
    is_file_name,
    make_folder,
    refuse_strangers,
    refuse_what_is_there,
)
from yieldwright.shotlog.exporting.tables import log_tables
from yieldwright.shotlog.exporting.text import bench_dialect, delimited_table
from yieldwright.shotlog.exporting.workbook import page_of, text_page, workbook
from yieldwright.shotlog.formats.guarding import ESCAPED, GUARDED
from yieldwright.shotlog.writing import writable_place, write_atomically

if TYPE_CHECKING:
    from yieldwright.shotlog.exporting.aside import AsideTable
    from yieldwright.shotlog.exporting.tables import ExportTable
    from yieldwright.shotlog.exporting.workbook import Page
    from yieldwright.shotlog.log import ShotLog

__all__ = ["Export", "export_log", "export_set_aside"]

_BENCH = "bench.toml"
_OF_OURS = {
    GUARDED: "In text files: the cells with a leading ' that is not theirs.",
    ESCAPED: "The cells in which signs that a file cannot hold are written as codes.",
}
_NO_SHEET = re.compile(r"[\[\]:*?/\\\x00-\x1f]|\A'|'\Z")
_LONGEST_TAB = 31


@dataclass(frozen=True, slots=True)
class Export:
    """What was written, and what of the log was not.

    Attributes
    ----------
    files : tuple of (Path, str)
        Each file, and what it holds in words.
    left_out : tuple of str
        Sentences on what the files do not hold.
    """

    files: tuple[tuple[Path, str], ...]
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _File:
    """One file before it is written."""

    path: Path
    content: str | bytes
    holds: str


def export_log(
    log: ShotLog,
    out: str | Path,
    *,
    without: Sequence[str] = (),
    bench_file: Path | None = None,
    replace: bool = False,
) -> Export:
    r"""Write a log so that reading what was written gives the same tables.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    out : str or Path
        A file ending in .csv, .tsv, .xlsx or .parquet, or a folder for text files.
    without : sequence of str
        Columns to leave out.
    bench_file : Path or None
        Copied into a folder, so that the same bench is used again.
    replace : bool
        Whether files that are there are replaced.

    Returns
    -------
    Export

    Raises
    ------
    NotWritableError
        If a file is there already, or the place cannot be written.
    UnknownNameError
        If there is no column of a name in `without`.

    Notes
    -----
    Text that a spreadsheet would take for a formula gets one leading apostrophe in text
    files, and the column `guarded` names the cells; numbers are never touched. Where a
    row stood in its file is not exported: it is true of that file only.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "mine.csv")
    ...     _ = path.write_text("shot,dose_g,notes\n1,18.1,=1+1\n", encoding="utf-8")
    ...     export = export_log(read_log(path), Path(folder, "copy.csv"))
    ...     again = read_log(Path(folder, "copy.csv"))
    >>> export.files[0][1], again.shots["notes"].tolist()
    ('1 shot', ['=1+1'])
    """
    shots, tastings = log_tables(log)
    _require_columns(without, shots, tastings)
    tables = [each.without(without) for each in (shots, tastings) if each is not None]
    place = Path(out)
    if not is_file_name(out):
        files = _folder_files(log, place, tables, bench_file)
        return _written(place, files, (), replace=replace)
    left_out = _left_out(log, tables, place.suffix.lower())
    file = _File(place, _content(log, tables, place.suffix.lower()), _holds(log, tables, place))
    return _written(None, [file], left_out, replace=replace)


def export_set_aside(log: ShotLog, out: str | Path, *, replace: bool = False) -> Export:
    r"""Write the rows that were set aside, to be mended and read as part of the log.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    out : str or Path
        A file ending in .csv, .tsv or .xlsx, or a folder.
    replace : bool
        Whether files that are there are replaced.

    Returns
    -------
    Export

    Raises
    ------
    NotWritableError
        If nothing was set aside, the rows need more than one file, a file is there
        already, or the place cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "mine.csv")
    ...     _ = path.write_text("shot,dose_g\n1,180\n", encoding="utf-8")
    ...     export_set_aside(read_log(path), Path(folder, "mend.csv")).files[0][1]
    '1 row set aside'
    """
    tables = aside_tables(log)
    if not tables:
        raise NotWritableError("nothing was set aside: there is nothing to mend")
    place, ending = Path(out), Path(out).suffix.lower()
    if not is_file_name(out):
        return _written(place, _aside_files(place, tables), (), replace=replace)
    if ending == ".parquet":
        raise NotWritableError(f"{out}: rows to be mended go to .csv, .tsv or .xlsx")
    if ending == ".xlsx":
        content: str | bytes = workbook(_aside_pages(tables, ("shots", "tastings")))
    elif len(tables) > 1:
        raise NotWritableError(
            f"the rows set aside stand under {len(tables)} different headers, and one file of "
            "text holds one: name a folder, or a file that ends in .xlsx"
        )
    else:
        content = aside_text(tables[0])
    held = count(sum(len(table.rows) for table in tables), "row")
    return _written(None, [_File(place, content, f"{held} set aside")], (), replace=replace)


def _require_columns(
    names: Sequence[str], shots: ExportTable, tastings: ExportTable | None
) -> None:
    """Refuse to leave out what is not there, or what the rows need."""
    known = {each.header for table in (shots, tastings) if table for each in table.columns}
    for name in names:
        if name not in known:
            raise UnknownNameError(
                f"the export has no column {visible(name)!r}; it has {listing(sorted(known))}"
            )
        if name == "shot":
            raise UnknownNameError("the column shot cannot be left out: it names the rows")


def _content(log: ShotLog, tables: Sequence[ExportTable], ending: str) -> str | bytes:
    if ending == ".xlsx":
        return workbook(_pages(log, tables))
    if ending == ".parquet":
        return parquet(tables[0])
    return delimited_table(tables[0], *bench_dialect(log.bench, tabs=ending == ".tsv"))


def _pages(log: ShotLog, tables: Sequence[ExportTable]) -> list[Page]:
    """Return the sheets of a workbook: tables, rows set aside, and what the columns are."""
    shots, *others = map(page_of, tables)
    others += _aside_pages(aside_tables(log), ("set aside", "set aside tastings"))
    others.append(_dictionary(tables))
    asked = log.bench.sheet
    taken = {page.name for page in others}
    fits = 0 < len(asked) <= _LONGEST_TAB and not _NO_SHEET.search(asked)
    is_free = fits and asked.casefold() not in taken
    return [shots._replace(name=asked) if is_free else shots, *others]


def _dictionary(tables: Sequence[ExportTable]) -> Page:
    about = [
        (table.name, each.header, each.unit if each.unit != "1" else "", each.meaning)
        for table in tables
        for each in table.columns
    ]
    about += [("", name, "", meaning) for name, meaning in _OF_OURS.items()]
    columns = [list(cells) for cells in zip(*about, strict=True)]
    page = text_page("columns", ["table", "column", "unit", "meaning"], columns)
    return page._replace(headers=page.headers[:4], columns=page.columns[:4])


def _aside_pages(tables: Sequence[AsideTable], names: tuple[str, str]) -> list[Page]:
    pages: list[Page] = []
    for table in tables:
        first = names[0] if table.table == "shots" else names[1]
        used = sum(page.name.startswith(first) for page in pages)
        name = f"{first} {used + 1}" if used else first
        pages.append(text_page(name, table.headers, table.columns))
    return pages


def _folder_files(
    log: ShotLog, folder: Path, tables: Sequence[ExportTable], bench_file: Path | None
) -> list[_File]:
    delimiter, decimal = bench_dialect(log.bench)
    files = [
        _File(
            folder / f"{table.name}.csv",
            delimited_table(table, delimiter, decimal),
            count(table.n_rows, table.name.removesuffix("s")),
        )
        for table in tables
    ]
    files += _aside_files(folder, aside_tables(log))
    if bench_file is not None:
        files.append(_File(folder / _BENCH, bench_file.read_bytes(), "the bench, copied"))
    return files


def _aside_files(folder: Path, tables: Sequence[AsideTable]) -> list[_File]:
    """Return files whose names are ours: no text of a log becomes a path."""
    files: list[_File] = []
    for table in tables:
        stem = f"set-aside-{table.table}"
        used = sum(file.path.stem.startswith(stem) for file in files)
        name = f"{stem}-{used + 1}.csv" if used else f"{stem}.csv"
        held = f"{count(len(table.rows), 'row')} set aside"
        files.append(_File(folder / name, aside_text(table), held))
    return files


def _holds(log: ShotLog, tables: Sequence[ExportTable], place: Path) -> str:
    if place.suffix.lower() != ".xlsx":
        return count(tables[0].n_rows, "shot")
    held = [count(table.n_rows, table.name.removesuffix("s")) for table in tables]
    aside = len(log.set_aside)
    return listing([*held, *([f"{count(aside, 'row')} set aside"] if aside else [])])


def _left_out(log: ShotLog, tables: Sequence[ExportTable], ending: str) -> tuple[str, ...]:
    """Return what one file cannot hold."""
    if ending == ".xlsx":
        return ()
    missing = [count(table.n_rows, table.name.removesuffix("s")) for table in tables[1:]]
    if len(log.set_aside):
        missing.append(f"{count(len(log.set_aside), 'row')} set aside")
    if not missing:
        return ()
    return (f"Not in this file: {listing(missing)}. A folder or a file ending in .xlsx has all.",)


def _written(
    folder: Path | None, files: Sequence[_File], left_out: tuple[str, ...], *, replace: bool
) -> Export:
    """Write all files, or none where one of them is in the way."""
    refuse_what_is_there((file.path for file in files), replace=replace)
    if folder is not None:
        refuse_strangers(folder, (file.path.name for file in files))
        make_folder(folder)
    for file in files:
        writable_place(file.path)
    for file in files:
        write_atomically(file.path, file.content)
    return Export(tuple((file.path, file.holds) for file in files), left_out)
