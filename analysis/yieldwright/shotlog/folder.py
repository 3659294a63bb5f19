"""From a folder or a file to a checked log, with an account of every line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.bench import Bench
from yieldwright.shotlog.assembling import assemble, shots_known
from yieldwright.shotlog.formats.files import LogFiles, find_files
from yieldwright.shotlog.tables.reading import read_sheet
from yieldwright.shotlog.tables.shot_table import build_shots
from yieldwright.shotlog.tables.tasting_table import build_tastings

if TYPE_CHECKING:
    from yieldwright.shotlog.log import ShotLog
    from yieldwright.shotlog.tables.reading import Sheet

__all__ = ["read_log"]

_BENCH = "bench.toml"
#: Share of the work that reading the files takes; checking what they hold is the rest.
_SHARE_OF_READING = 0.6


def read_log(
    path: str | Path,
    *,
    bench: Bench | None = None,
    as_of: date | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> ShotLog:
    r"""Return a log as checked tables; no line is lost, none is guessed.

    Parameters
    ----------
    path : str or Path
        A folder, or one file of shots with a `bench.toml` beside it. In a folder the files
        whose names begin with `shots` are one table, those that begin with `tastings`
        another; each may be text, a workbook, Parquet or JSON lines.
    bench : Bench or None
        In place of the bench file.
    as_of : date or None
        Day on which the log is judged: later shots are flagged. By default the day of
        the newest shot.
    progress : callable or None
        Told the share of the work that is done, and what is done next.

    Returns
    -------
    ShotLog

    Raises
    ------
    UnreadableLogError
        If there is no log at `path`, or it cannot be read as a whole.
    BenchFileError
        If the bench file is wrong.

    Notes
    -----
    Lines read = lines accepted + set aside + listed, always; `Reading.adds_up` tells.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text(
    ...         "shot,dose_g,beverage_g,tds_pct\n1,18.0,36.0,10\n2,180,36,9\n", encoding="utf-8"
    ...     )
    ...     log = read_log(path)
    >>> log
    ShotLog(1 shot, 1 row set aside, 0 flags)
    >>> log.shots["ey_pct"].tolist()
    [20.0]
    >>> log.set_aside.loc[0, "suggestion"]
    '180 → 18.0?'
    """
    files = find_files(Path(path), sheet_names=_sheet_names)
    used, remark = _bench(files, bench)
    steps = _Steps(progress, len(files.shots) + len(files.tastings))
    sheets = [read_sheet(each, "shots", used, steps.reading(each)) for each in files.shots]
    steps.turn_to("checking the shots")
    table = build_shots(sheets, used, as_of)
    tasted = None
    if files.tastings:
        tables = [
            _told_apart(read_sheet(each, "tastings", used, steps.reading(each)), files)
            for each in files.tastings
        ]
        steps.turn_to("checking the tastings")
        tasted = build_tastings(tables, used, shots_known(table))
    return assemble(table, tasted, bench=used, remarks=[remark, *files.remarks], as_of=as_of)


def _told_apart(sheet: Sheet, files: LogFiles) -> Sheet:
    """Return a sheet of tastings, under a name of its own where its file holds shots too."""
    source, document = sheet.source, sheet.source.document
    if document.file not in {path.name for path in files.shots}:
        return sheet
    named = replace(document, file=f"{document.file} (tastings)")
    return replace(sheet, source=replace(source, document=named))


class _Steps:
    """Tells how far the reading of a log is; most of it is the reading of its files."""

    def __init__(self, tell: Callable[[float, str], None] | None, n_files: int) -> None:
        self._tell = tell
        self._each = _SHARE_OF_READING / n_files
        self._read = 0

    def reading(self, path: Path) -> Callable[[float], None] | None:
        """Return what to tell the share of one file to, as it is read."""
        tell, done = self._tell, self._read * self._each
        self._read += 1
        if tell is None:
            return None
        return lambda share: tell(done + share * self._each, f"reading {path.name}")

    def turn_to(self, step: str) -> None:
        """Tell what comes once a table is read."""
        if self._tell is not None:
            self._tell(self._read * self._each, step)


def _bench(files: LogFiles, given: Bench | None) -> tuple[Bench, str]:
    from yieldwright.bench.reading import read_bench

    if given is not None:
        return given, ""
    if files.bench is None:
        return Bench(), (
            f"No {_BENCH}: instruments, temperature bands, recipe and scales are assumed."
        )
    beside = files.shots[0].name
    return read_bench(files.bench), f"The bench is the one of {_BENCH} beside {beside}."


def _sheet_names(path: Path) -> Iterable[str]:
    from yieldwright.shotlog.workbooks.workbook import list_sheets

    return list_sheets(path)
