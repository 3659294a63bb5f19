"""Which files of a folder make one log; what is left out is named, never passed over."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, NamedTuple

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, listing, visible

__all__ = ["READABLE_ENDINGS", "LogFiles", "find_files"]

#: Endings of the formats that a log may be kept in.
READABLE_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".parquet", ".jsonl", ".ndjson")

_BENCH = "bench.toml"
_REMEDIES = {
    ".xls": "save it as .xlsx",
    ".xlsb": "save it as .xlsx",
    ".xlsm": "save it as .xlsx, without macros",
    ".ods": "save it as .xlsx or .csv",
    ".numbers": "export it as .xlsx or .csv",
    ".json": "write one object a line, and call it .jsonl",
    ".zip": "unpack it",
    ".gz": "unpack it",
}
_OF_THE_LOG = re.compile(r"(shots|tastings)(?:[-_].+)?", re.DOTALL)
_ALMOST = re.compile(r"(?:.*\W)?(shot|tasting)", re.DOTALL)
_COPY = re.compile(r".*[-_ .(](?:backup|bak|copy|old|orig)[\W\d_]*", re.DOTALL)
_SET_ASIDE = re.compile(r"(?:.*[-_ ])?set[-_ ]?aside(?:[-_ .(].*)?", re.DOTALL)
_MOST_NAMED = 3
_ZIPPED = b"PK\x03\x04"

Table = Literal["shots", "tastings"]
Sheets = Callable[[Path], Iterable[str]]


@dataclass(frozen=True, slots=True)
class LogFiles:
    """The files of one log.

    Attributes
    ----------
    shots : tuple of Path
        One table of shots together, in natural order.
    tastings : tuple of Path
        One table of tastings together; a workbook stands here too where a sheet of it
        is named so.
    bench : Path or None
        The description of the bench.
    remarks : tuple of str
        Sentences: what is read as one, and what is left out and why.
    """

    shots: tuple[Path, ...]
    tastings: tuple[Path, ...]
    bench: Path | None
    remarks: tuple[str, ...] = ()


def find_files(path: Path, *, sheet_names: Sheets | None = None) -> LogFiles:
    """Return the files of a log: those of a folder, or one file and the bench beside it.

    Parameters
    ----------
    path : Path
        A folder, or one file of shots.
    sheet_names : callable or None
        Returns the names of the sheets of a workbook; without it no tastings are looked
        for in workbooks of shots.

    Returns
    -------
    LogFiles

    Raises
    ------
    UnreadableLogError
        If there is nothing at `path`, no file of shots in the folder, or one table in
        two formats.

    Notes
    -----
    In a folder, shots.csv and shots-march.csv are read as one log, whatever their
    endings. Folders inside are not looked into.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     for name in ("shots-10.csv", "shots-9.csv", "tastings.jsonl", ".shots.csv"):
    ...         Path(folder, name).touch()
    ...     files = find_files(Path(folder))
    >>> [path.name for path in files.shots], [path.name for path in files.tastings]
    (['shots-9.csv', 'shots-10.csv'], ['tastings.jsonl'])
    >>> files.remarks
    ('shots-9.csv and shots-10.csv are read as one table of shots.',)
    """
    try:
        files = _found(path)
        return _with_sheets(files, sheet_names) if sheet_names else files
    except OSError as problem:
        raise UnreadableLogError(
            f"{path} cannot be looked into ({problem.strerror}); check the path, and that you "
            "may open it"
        ) from None


class _Entry(NamedTuple):
    """One file that belongs to the log by its name."""

    path: Path
    table: Table
    stem: str


def _found(path: Path) -> LogFiles:
    if path.is_dir():
        return _files_in(path)
    if not path.exists():
        raise UnreadableLogError(
            f"there is no {path}; check the path, or let 'yieldwright start FOLDER' make a "
            "folder to begin with"
        )
    beside = path.with_name(_BENCH)
    return LogFiles((path,), (), beside if beside.is_file() else None)


def _files_in(folder: Path) -> LogFiles:
    paths = sorted(folder.iterdir(), key=_natural)
    entries = [entry for path in paths if (entry := _entry(path)) and path.is_file()]
    left_out = [f"{_named(path)} is not read: {why}." for path in paths if (why := _omitted(path))]
    if not any(entry.table == "shots" for entry in entries):
        raise UnreadableLogError(_nothing_sentence(folder, paths))
    _refuse_two_formats(folder, entries)
    shots, tastings = _table(entries, "shots"), _table(entries, "tastings")
    remarks = [_as_one(shots, "shots"), _as_one(tastings, "tastings"), *_links(entries), *left_out]
    return LogFiles(shots, tastings, _bench(paths), tuple(filter(None, remarks)))


def _natural(path: Path) -> tuple[list[str | int], str]:
    """Return a name so that 9 comes before 10."""
    parts = re.split(r"([0-9]+)", path.stem.casefold())
    return [int(part) if at % 2 else part for at, part in enumerate(parts)], path.name


def _entry(path: Path) -> _Entry | None:
    """Return a path as part of the log; None where its name says that it is none."""
    stem = path.stem.casefold()
    found = _OF_THE_LOG.fullmatch(stem)
    is_readable = path.suffix.casefold() in READABLE_ENDINGS
    if not found or not is_readable or _COPY.fullmatch(stem) or _SET_ASIDE.fullmatch(stem):
        return None
    table: Table = "shots" if found[1] == "shots" else "tastings"
    return _Entry(path, table, stem.replace("_", "-"))


def _omitted(path: Path) -> str:
    """Return why a file that may belong to the log is left out; empty for all others."""
    stem, ending = path.stem.casefold(), path.suffix.casefold()
    if stem.startswith((".", "~$")):
        return ""
    if _entry(path):
        return _no_file(path)
    if stem == _BENCH:
        return f"the bench is described in {_BENCH}, so take the {path.suffix} away"
    if _OF_THE_LOG.fullmatch(stem) and ending in _REMEDIES:
        return _REMEDIES[ending]
    return _unread(stem, ending) if ending in READABLE_ENDINGS else ""


def _unread(stem: str, ending: str) -> str:
    """Return why the name of a readable file keeps it from being read."""
    table = "tastings" if "tasting" in stem else "shots"
    if _SET_ASIDE.fullmatch(stem):
        return f"it holds rows set aside; once corrected, name it {table}-corrected{ending}"
    if not _ALMOST.match(stem):
        return ""
    doubt = "it is named like a copy; " if _COPY.fullmatch(stem) else ""
    return f"{doubt}if it belongs to the log, name it {table}-more{ending}"


def _no_file(path: Path) -> str:
    """Return what a path is that is no file; empty where it is one."""
    if path.is_file():
        return ""
    if path.is_dir():
        return "it is a folder"
    return "it is a link to nothing" if path.is_symlink() else "it is no ordinary file"


def _refuse_two_formats(folder: Path, entries: Sequence[_Entry]) -> None:
    """Raise where one name comes with two endings: most likely one log saved twice."""
    for entry in entries:
        same = [each.path for each in entries if each.stem == entry.stem]
        if len(same) > 1:
            names = listing([_named(path) for path in same])
            raise UnreadableLogError(
                f"{folder} holds {names}: one table saved twice? Move all but one of them away, "
                f"or give them names of their own, such as {entry.table}-march and "
                f"{entry.table}-april, if all belong to the log"
            )


def _table(entries: Sequence[_Entry], table: Table) -> tuple[Path, ...]:
    """Return the files of one table, each once."""
    once = {_identity(entry.path): entry.path for entry in reversed(entries)}
    kept = set(once.values())
    return tuple(entry.path for entry in entries if entry.table == table and entry.path in kept)


def _links(entries: Sequence[_Entry]) -> Iterable[str]:
    """Yield which names are links to a file that is read already."""
    first: dict[tuple[int, int], Path] = {}
    for entry in entries:
        path = first.setdefault(_identity(entry.path), entry.path)
        if path is not entry.path:
            yield f"{_named(entry.path)} is not read: it is the same file as {_named(path)}."


def _identity(path: Path) -> tuple[int, int]:
    found = path.stat()
    return found.st_dev, found.st_ino


def _as_one(paths: Sequence[Path], table: Table) -> str:
    if len(paths) < 2:
        return ""
    names = [_named(path) for path in paths]
    return f"{listing(names)} are read as one table of {table}."


def _bench(paths: Iterable[Path]) -> Path | None:
    """Return the file of the bench; small letters come first where a disk tells them apart."""
    found = [path for path in paths if path.name.casefold() == _BENCH and path.is_file()]
    return min(found, key=lambda path: path.name != _BENCH, default=None)


def _with_sheets(files: LogFiles, sheet_names: Sheets) -> LogFiles:
    """Return the files with those workbooks of shots that hold tastings, too."""
    books = [
        path
        for path in files.shots
        if _is_zipped(path)
        and any(name.strip().casefold() == "tastings" for name in sheet_names(path))
    ]
    remarks = [f"The sheet “tastings” of {_named(path)} is read, too." for path in books]
    return LogFiles(
        files.shots, (*files.tastings, *books), files.bench, (*files.remarks, *remarks)
    )


def _is_zipped(path: Path) -> bool:
    """Return whether a file begins as a workbook does, whatever its ending."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(_ZIPPED)) == _ZIPPED


def _nothing_sentence(folder: Path, paths: Sequence[Path]) -> str:
    """Return that a folder has no shots, what it has instead, and what to do."""
    tables = [_named(path) for path in paths if _is_readable(path)]
    omitted = [f"{_named(path)} is not read: {why}" for path in paths if (why := _omitted(path))]
    inside = [_named(path) for path in paths if path.is_dir() and _has_shots(path)]
    hints = [f"it holds {_few(tables)}"] if tables else []
    hints += omitted[:_MOST_NAMED]
    hints += [f"the folder {_few(inside)} in it has shots: give that path"] if inside else []
    hint = f" ({'; '.join(hints)})" if hints else ""
    return (
        f"{folder} holds no shots.csv{hint}; name the log so, or shots.xlsx, shots.parquet or "
        "shots.jsonl, give the path of the file, "
        f"or let 'yieldwright start {folder}' put a template there"
    )


def _is_readable(path: Path) -> bool:
    return path.suffix.casefold() in READABLE_ENDINGS and path.is_file()


def _has_shots(folder: Path) -> bool:
    try:
        entries = map(_entry, folder.iterdir())
        return any(entry is not None and entry.table == "shots" for entry in entries)
    except OSError:
        return False


def _few(names: Sequence[str]) -> str:
    more = [f"{len(names) - _MOST_NAMED} more"] if len(names) > _MOST_NAMED else []
    return listing([*names[:_MOST_NAMED], *more])


def _named(path: Path) -> str:
    return clip(visible(path.name), 60)
