"""From checked tables to the log: every row of every file told once, by what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import listing
from yieldwright.shotlog.checks.far_days import newest_day
from yieldwright.shotlog.findings import Finding, quoted
from yieldwright.shotlog.headers.headers import nearest_name
from yieldwright.shotlog.log import FileReading, Reading, ShotLog
from yieldwright.shotlog.tables.framing import framed
from yieldwright.shotlog.tables.reading import SetAside
from yieldwright.shotlog.tables.tasting_table import melt_scores, unstated_attributes

if TYPE_CHECKING:
    from datetime import date

    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.tables.pooling import Pool
    from yieldwright.shotlog.tables.reading import Sheet
    from yieldwright.shotlog.tables.shot_table import ShotTable
    from yieldwright.shotlog.tables.tasting_table import TastingTable

__all__ = ["assemble", "shots_known"]

_BENCH = "bench.toml"
_MOST_REASONS = 3
_WHOLE = ("line", "line_count")


def shots_known(table: ShotTable) -> dict[str, str]:
    """Return the shots that rows name; for those set aside, why.

    Parameters
    ----------
    table : ShotTable
        What became of the rows of the shot files.

    Returns
    -------
    dict of str to str
        The reason is empty for accepted shots.
    """
    pool = table.pool
    known = {
        pool.names.ids[row]: f"{_reasons(findings)} ({pool.place(row)})"
        for row, findings in table.refused.items()
    }
    return known | dict.fromkeys(table.shots["shot"].tolist(), "")


def assemble(
    table: ShotTable,
    tasted: TastingTable | None,
    *,
    bench: Bench,
    remarks: Sequence[str],
    as_of: date | None,
) -> ShotLog:
    """Return the log that tables of shots and tastings make.

    Parameters
    ----------
    table : ShotTable
        What became of the rows of the shot files.
    tasted : TastingTable or None
        What became of those of the tasting files, where there are any.
    bench : Bench
        The bench they were read for.
    remarks : sequence of str
        What to tell before all else.
    as_of : date or None
        Day on which the log is judged; by default that of the newest shot.

    Returns
    -------
    ShotLog
    """
    files = _accounts(table.pool, table.refused)
    tastings, flags = melt_scores(table.scores), table.flags
    tasting_extras = pd.DataFrame(index=tastings.index)
    said = [*remarks, *_remarks_of(table.pool), *table.remarks]
    if tasted is not None:
        files += _accounts(tasted.pool, tasted.refused)
        tastings = _stacked([tastings, tasted.tastings])
        tasting_extras = pd.concat([tasting_extras, tasted.extras], ignore_index=True)
        flags = _stacked([flags, _flag_frame(tasted.flagged, flags)])
        said += [*_remarks_of(tasted.pool), *tasted.remarks]
    said += _unrecognised([sheet for sheet, _ in files], bench)
    said.append(unstated_attributes(tastings, bench))
    readings = tuple(_file_reading(sheet, aside) for sheet, aside in files)
    return ShotLog(
        shots=table.shots,
        tastings=tastings,
        set_aside=_set_aside_frame(files),
        flags=flags,
        listed=_listed_frame(sheet for sheet, _ in files),
        reading=Reading(readings, tuple(dict.fromkeys(filter(None, said)))),
        bench=bench,
        as_of=as_of or newest_day(table.shots),
        extras=table.extras,
        tasting_extras=tasting_extras,
        set_aside_cells=tuple(
            (at, _cells(each.record, sheet))
            for at, (sheet, set_aside) in enumerate(files)
            for each in set_aside
        ),
    )


def _remarks_of(pool: Pool) -> Iterable[str]:
    return [remark for sheet in pool.sheets for remark in sheet.remarks]


def _stacked(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else frames[0]


def _flag_frame(rows: Iterable[tuple[str, ...]], like: pd.DataFrame) -> pd.DataFrame:
    return framed(list(rows), like.columns.tolist())


def _accounts(pool: Pool, refused: dict[int, list[Finding]]) -> list[tuple[Sheet, list[SetAside]]]:
    """Return for each file all its records that were set aside, by line."""
    files = [(sheet, list(sheet.set_aside)) for sheet in pool.sheets]
    for row, findings in refused.items():
        aside = SetAside(pool.record(row), _reasons(findings), _suggestions(findings))
        files[pool.local(row)[0]][1].append(aside)
    return [
        (sheet, sorted(aside, key=lambda each: each.record.first_line)) for sheet, aside in files
    ]


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
    from_rows = {each.record.first_line for each in set_aside}
    stands = ~np.isin(sheet.rows.first_lines, list(from_rows))
    document = sheet.source.document
    return FileReading(
        file=document.file,
        table=sheet.table,
        sha256=document.sha256,
        encoding=document.encoding,
        delimiter=sheet.source.delimiter,
        decimal=sheet.decimal,
        lines_read=document.line_count,
        lines_accepted=int(sheet.rows.line_counts[stands].sum()),
        lines_set_aside=_lines(each.record for each in set_aside),
        lines_listed=_lines(each.record for each in sheet.listed),
        header=tuple(sheet.source.header.cells),
        units=next((tuple(e.record.cells) for e in sheet.listed if e.kind == "units"), ()),
    )


def _lines(records: Iterable[Record]) -> int:
    return sum(record.line_count for record in records)


def _set_aside_frame(files: Iterable[tuple[Sheet, Sequence[SetAside]]]) -> pd.DataFrame:
    rows = [
        (sheet.file, *_place(each.record), each.record.raw, each.reason, each.suggestion)
        for sheet, set_aside in files
        for each in set_aside
    ]
    columns = ["file", "line", "line_count", "raw", "reason", "suggestion"]
    return framed(rows, columns, whole=_WHOLE)


def _listed_frame(sheets: Iterable[Sheet]) -> pd.DataFrame:
    rows = [
        (sheet.file, *_place(each.record), each.kind, each.record.raw)
        for sheet in sheets
        for each in sheet.listed
    ]
    return framed(rows, ["file", "line", "line_count", "kind", "raw"], whole=_WHOLE)


def _cells(record: Record, sheet: Sheet) -> tuple[str, ...]:
    """Return the cells of a record under their headers; none where they cannot be told."""
    width = len(sheet.headers)
    if record.problem or len(record.cells) < width or any(map(str.strip, record.cells[width:])):
        return ()
    return tuple(record.cells[:width])


def _place(record: Record) -> tuple[int, int]:
    return record.first_line, record.line_count


def _unrecognised(sheets: Iterable[Sheet], bench: Bench) -> Iterable[str]:
    """Yield which columns we do not know, and what they may stand for."""
    for sheet in sheets:
        extra = [
            h.text for h in sheet.headers if h.role == "extra" and h.text not in bench.shot_id
        ]
        if extra:
            shown = listing([quoted(text) for text in extra])
            yield f"{sheet.file}: kept as text only, since not recognised: {shown}."
        asked = {header.text for header in sheet.headers if header.doubt}
        near = {text: nearest_name(text, sheet.table) for text in extra if text not in asked}
        for text, name in near.items():
            if name:
                yield f"{quoted(text)} may be {name}: say so under [columns] in {_BENCH}."
