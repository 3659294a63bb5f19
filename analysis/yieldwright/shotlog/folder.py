"""From a folder or a file to a checked log, with an account of every line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.bench import Bench
from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import listing
from yieldwright.shotlog.findings import Finding, quoted
from yieldwright.shotlog.headers import nearest_name
from yieldwright.shotlog.log import FileReading, Reading, ShotLog
from yieldwright.shotlog.reading import SetAside, Sheet, read_sheet
from yieldwright.shotlog.shot_table import ShotTable, build_shots
from yieldwright.shotlog.tasting_table import (
    TastingTable,
    build_tastings,
    melt_scores,
    unstated_attributes,
)

if TYPE_CHECKING:
    from yieldwright.shotlog.records import Record

__all__ = ["read_log"]

_BENCH = "bench.toml"
_SHOTS = "shots.csv"
_TASTINGS = "tastings.csv"
_MOST_REASONS = 3


def read_log(
    path: str | Path, *, bench: Bench | None = None, as_of: date | None = None
) -> ShotLog:
    r"""Return a log as checked tables; no line is lost, none is guessed.

    Parameters
    ----------
    path : str or Path
        A folder with `shots.csv`, optional `bench.toml` and `tastings.csv`, or one file
        of shots; a `bench.toml` beside it is used.
    bench : Bench or None
        In place of the bench file.
    as_of : date or None
        Day on which the log is judged: later shots are flagged. By default the day of
        the newest shot.

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
    files = _find(Path(path))
    used, remark = _bench(files, bench)
    sheet = read_sheet(files.shots, "shots", used)
    table = build_shots(sheet, used, as_of)
    tasted = None
    if files.tastings is not None:
        tasting_sheet = read_sheet(files.tastings, "tastings", used)
        tasted = (tasting_sheet, build_tastings(tasting_sheet, used, _shots_known(sheet, table)))
    return _assembled(used, remark, (sheet, table), tasted, as_of)


@dataclass(frozen=True, slots=True)
class _Files:
    """The files of one log."""

    shots: Path
    tastings: Path | None
    bench: Path | None


def _find(path: Path) -> _Files:
    if not path.exists():
        raise UnreadableLogError(
            f"there is no {path}; check the path, or let 'yieldwright start FOLDER' make a "
            "folder to begin with"
        )
    if path.is_dir():
        return _files_in(path)
    beside = path.with_name(_BENCH)
    return _Files(path, None, beside if beside.is_file() else None)


def _files_in(folder: Path) -> _Files:
    shots, tastings, bench = (folder / name for name in (_SHOTS, _TASTINGS, _BENCH))
    if not shots.is_file():
        tables = sorted(each.name for each in folder.glob("*.[ct]sv"))
        hint = f" (it holds {', '.join(tables[:3])})" if tables else ""
        raise UnreadableLogError(
            f"{folder} holds no {_SHOTS}{hint}; name the log so, give the path of the file, "
            f"or let 'yieldwright start {folder}' put a template there"
        )
    return _Files(
        shots, tastings if tastings.is_file() else None, bench if bench.is_file() else None
    )


def _bench(files: _Files, given: Bench | None) -> tuple[Bench, str]:
    from yieldwright.bench.reading import read_bench

    if given is not None:
        return given, ""
    if files.bench is None:
        return Bench(), (
            f"No {_BENCH}: instruments, temperature bands, recipe and scales are assumed."
        )
    return read_bench(files.bench), f"The bench is the one of {_BENCH} beside {files.shots.name}."


def _shots_known(sheet: Sheet, table: ShotTable) -> dict[str, str]:
    """Return the shots that rows name; for those set aside, why."""
    known = {
        table.names[row]: f"{_reasons(findings)} (line {sheet.rows[row].first_line})"
        for row, findings in table.refused.items()
    }
    return known | dict.fromkeys(table.shots["shot"].tolist(), "")


def _assembled(
    bench: Bench,
    remark: str,
    shots: tuple[Sheet, ShotTable],
    tasted: tuple[Sheet, TastingTable] | None,
    as_of: date | None,
) -> ShotLog:
    sheet, table = shots
    sheets = [(sheet, table.refused)]
    tastings, flags, tasting_remarks = melt_scores(table.scores), table.flags, []
    if tasted is not None:
        tasting_sheet, tasting = tasted
        sheets.append((tasting_sheet, tasting.refused))
        tastings = _stacked([tastings, tasting.tastings])
        flags = _stacked([flags, _flag_frame(tasting.flagged, flags)])
        tasting_remarks = [*tasting_sheet.remarks, *tasting.remarks]
    remarks = [remark, *sheet.remarks, *table.remarks, *tasting_remarks]
    remarks += [*_unrecognised(sheets, bench), unstated_attributes(tastings, bench)]
    aside = [_set_aside(each, refused) for each, refused in sheets]
    files = tuple(_file_reading(each, rows) for (each, _), rows in zip(sheets, aside, strict=True))
    return ShotLog(
        shots=table.shots,
        tastings=tastings,
        set_aside=_set_aside_frame(zip(files, aside, strict=True)),
        flags=flags,
        listed=_listed_frame(each for each, _ in sheets),
        reading=Reading(files, tuple(filter(None, remarks))),
        bench=bench,
        as_of=as_of or _newest_day(table.shots),
        extras=table.extras,
    )


def _stacked(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else frames[0]


def _flag_frame(rows: Iterable[tuple[str, ...]], like: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=like.columns).astype("str")


def _set_aside(sheet: Sheet, refused: dict[int, list[Finding]]) -> list[SetAside]:
    """Return all records of a file that were set aside, by line."""
    rows = [
        SetAside(sheet.rows[row], _reasons(findings), _suggestions(findings))
        for row, findings in refused.items()
    ]
    return sorted([*sheet.set_aside, *rows], key=lambda each: each.record.first_line)


def _reasons(findings: Iterable[Finding]) -> str:
    return _first_few(finding.reason for finding in findings)


def _suggestions(findings: Iterable[Finding]) -> str:
    return _first_few(finding.suggestion for finding in findings if finding.suggestion)


def _first_few(sentences: Iterable[str]) -> str:
    """Return sentences as one, the number of those beyond the first few for the rest."""
    different = list(dict.fromkeys(sentences))
    beyond = len(different) - _MOST_REASONS
    more = [f"and {beyond} more"] if beyond > 0 else []
    return "; ".join([*different[:_MOST_REASONS], *more])


def _file_reading(sheet: Sheet, set_aside: Sequence[SetAside]) -> FileReading:
    """Return where the lines of a file went, each count taken from its own rows."""
    aside = {each.record.first_line for each in set_aside}
    document = sheet.source.document
    return FileReading(
        file=document.file,
        table=sheet.table,
        sha256=document.sha256,
        encoding=document.encoding,
        delimiter=sheet.source.delimiter,
        decimal=sheet.decimal,
        lines_read=len(document.lines),
        lines_accepted=_lines(row for row in sheet.rows if row.first_line not in aside),
        lines_set_aside=_lines(each.record for each in set_aside),
        lines_listed=_lines(each.record for each in sheet.listed),
    )


def _lines(records: Iterable[Record]) -> int:
    return sum(record.line_count for record in records)


def _set_aside_frame(files: Iterable[tuple[FileReading, Sequence[SetAside]]]) -> pd.DataFrame:
    rows = [
        (file.file, *_place(each.record), each.record.raw, each.reason, each.suggestion)
        for file, set_aside in files
        for each in set_aside
    ]
    columns = ["file", "line", "line_count", "raw", "reason", "suggestion"]
    return _typed_frame(rows, columns)


def _listed_frame(sheets: Iterable[Sheet]) -> pd.DataFrame:
    rows = [
        (sheet.file, *_place(each.record), each.kind, each.record.raw)
        for sheet in sheets
        for each in sheet.listed
    ]
    return _typed_frame(rows, ["file", "line", "line_count", "kind", "raw"])


def _place(record: Record) -> tuple[int, int]:
    return record.first_line, record.line_count


def _typed_frame(rows: Sequence[tuple[object, ...]], columns: list[str]) -> pd.DataFrame:
    whole = ("line", "line_count")
    kinds = {name: "int64" if name in whole else "str" for name in columns}
    return pd.DataFrame(rows, columns=columns).astype(kinds)


def _unrecognised(sheets: Iterable[tuple[Sheet, object]], bench: Bench) -> Iterable[str]:
    """Yield which columns we do not know, and what they may stand for."""
    for sheet, _ in sheets:
        extra = [
            h.text for h in sheet.headers if h.role == "extra" and h.text not in bench.shot_id
        ]
        if extra:
            shown = listing([quoted(text) for text in extra])
            yield f"{sheet.file}: kept as text only, since not recognised: {shown}."
        near = {text: nearest_name(text, sheet.table) for text in extra}
        for text, name in near.items():
            if name:
                yield f"{quoted(text)} may be {name}: say so under [columns] in {_BENCH}."


def _newest_day(shots: pd.DataFrame) -> date | None:
    if "pulled_on" not in shots or shots["pulled_on"].isna().all():
        return None
    newest: date = shots["pulled_on"].max().date()
    return newest
