"""What an export holds: the tables of a log, column by column, under names that come back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.glossary import TASTING_QUANTITIES, Kind, find_quantity
from yieldwright.shotlog.headers.exported_headers import (
    TASTING_NUMBER,
    USABLE,
    kept_header,
    score_header,
)
from yieldwright.shotlog.tables.tasting_table import melt_scores

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.log import ShotLog

__all__ = ["ExportColumn", "ExportTable", "log_tables", "moment_text"]

#: Where a row stood in the file it came from: true of that file only.
_OF_THE_FILE = frozenset({"file", "line", "line_count"})
_FARTHEST_OFFSET = timedelta(hours=14)
_HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class ExportColumn:
    """One column of an export.

    Attributes
    ----------
    header : str
        As it will be written.
    kind : str
        What its cells hold, as in the glossary.
    unit : str
        Unit of its numbers, empty for text.
    meaning : str
        One sentence.
    cells : Series
        Its values; a missing one is missing.
    offsets : sequence of timedelta
        For a moment, the offset from UTC of each cell at the bench.
    """

    header: str
    kind: Kind
    unit: str
    meaning: str
    cells: pd.Series[Any]
    offsets: Sequence[timedelta] = ()


@dataclass(frozen=True, slots=True)
class ExportTable:
    """One table of an export.

    Attributes
    ----------
    name : {"shots", "tastings"}
        What its rows are.
    columns : tuple of ExportColumn
        In the order they are written.
    n_rows : int
        How many rows.
    """

    name: str
    columns: tuple[ExportColumn, ...]
    n_rows: int

    def without(self, headers: Iterable[str]) -> ExportTable:
        """Return the table without some columns.

        Parameters
        ----------
        headers : iterable of str
            Those to leave out; the shot's own name always stays.

        Returns
        -------
        ExportTable
        """
        left_out = frozenset(headers) - {"shot"}
        kept = tuple(each for each in self.columns if each.header not in left_out)
        return ExportTable(self.name, kept, self.n_rows)


def log_tables(log: ShotLog) -> tuple[ExportTable, ExportTable | None]:
    r"""Return the tables of a log as they are exported.

    Parameters
    ----------
    log : ShotLog
        A log that was read.

    Returns
    -------
    shots : ExportTable
        With a column per score where every score is the barista's own.
    tastings : ExportTable or None
        None where the shots hold every score, or nothing was scored.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g,overall\n1,18.1,6\n", encoding="utf-8")
    ...     shots, tastings = log_tables(read_log(path))
    >>> [each.header for each in shots.columns][-3:], tastings
    (['u_dose_g', 'usable', 'score:overall'], None)
    """
    wide = _wide_scores(log)
    columns = [*_shot_columns(log), *(wide or ()), *_extra_columns(log.extras)]
    shots = ExportTable("shots", tuple(columns), len(log.shots))
    return shots, None if wide is not None else _tasting_table(log)


def _shot_columns(log: ShotLog) -> Iterable[ExportColumn]:
    for name in log.shots.columns.map(str):
        if name in _OF_THE_FILE:
            continue
        kind, unit, meaning = _described(name)
        offsets = _offsets(log.shots, log.bench) if name == "pulled_at" else ()
        yield ExportColumn(name, kind, unit, meaning, log.shots[name], offsets)


def _described(name: str) -> tuple[Kind, str, str]:
    """Return kind, unit and meaning of a column of shots."""
    if name == USABLE:
        return "flag", "", "Whether the shot may enter slopes; found anew when read."
    for prefix, words in (
        ("typed_", "As typed in the log"),
        ("half_width_", "Half-width stated in the log"),
    ):
        parent = find_quantity(name.removeprefix(prefix)) if name.startswith(prefix) else None
        if parent is not None:
            return "number", parent.unit, f"{words}: {parent.meaning}"
    entry = find_quantity(name)
    return (entry.kind, entry.unit, entry.meaning) if entry else ("text", "", "")


def _extra_columns(extras: pd.DataFrame) -> Iterable[ExportColumn]:
    for name in extras.columns.map(str):
        if name != "shot":
            meaning = "Not recognised: kept as text."
            yield ExportColumn(kept_header(name), "text", "", meaning, extras[name])


def _offsets(shots: pd.DataFrame, bench: Bench) -> list[timedelta]:
    """Return, for each shot, an offset from UTC that keeps the day it was pulled on."""
    preferred = _as_offset(bench.time_zone_offset)
    offsets = [preferred] * len(shots)
    days = shots["pulled_on"].to_numpy().astype("datetime64[D]")
    moments = shots["pulled_at"].dt.tz_convert(None).to_numpy().astype("datetime64[us]")
    local = (moments + np.timedelta64(preferred)).astype("datetime64[D]")
    elsewhere = (local != days) & ~np.isnat(moments) & ~np.isnat(days)
    for row in np.flatnonzero(elsewhere).tolist():
        offsets[row] = _keeping(moments[row].item(), days[row].item(), preferred)
    return offsets


def _as_offset(text: str) -> timedelta:
    return datetime.strptime(text, "%z").utcoffset() or timedelta(0)


def _keeping(moment: datetime, day: date, preferred: timedelta) -> timedelta:
    """Return the offset nearest to the bench's own at which a moment falls on a day."""
    midnight = datetime.combine(day, datetime.min.time())
    first = midnight - moment
    if first <= preferred < first + timedelta(days=1):
        return preferred
    after = -(-first // _HOUR) * _HOUR
    before = (first + timedelta(days=1) - timedelta(microseconds=1)) // _HOUR * _HOUR
    nearest = after if preferred < first else before
    return nearest if abs(nearest) <= _FARTHEST_OFFSET else preferred


def _wide_scores(log: ShotLog) -> list[ExportColumn] | None:
    """Return a column per score, or None where the shots alone cannot hold the tastings."""
    tastings = log.tastings
    if tastings.empty:
        return []
    if log.tasting_extras.notna().any(axis=None):
        return None
    if tastings.duplicated(["shot", "attribute"]).any() or tastings["score"].isna().any():
        return None
    names = [str(name) for name in tastings["attribute"].unique()]
    headers = [score_header(name) for name in names]
    if "" in headers:
        return None
    scores = tastings.pivot_table(index="shot", columns="attribute", values="score")
    scores = scores.reindex(index=log.shots["shot"], columns=names).reset_index(drop=True)
    wide = scores.rename(columns=lambda name: f"score:{name}").assign(shot=log.shots["shot"])
    if "barista" in log.shots:
        wide["barista"] = log.shots["barista"]
    if not melt_scores(wide).equals(tastings):
        return None
    meaning = "The score by the barista, on the bench's scale."
    return [
        ExportColumn(header, "number", "1", meaning, scores[name])
        for header, name in zip(headers, names, strict=True)
    ]


def _tasting_table(log: ShotLog) -> ExportTable:
    tastings = log.tastings
    columns = [
        ExportColumn(each.name, each.kind, each.unit, each.meaning, tastings[each.name])
        for each in TASTING_QUANTITIES
    ]
    number = pd.Series(np.arange(1.0, len(tastings) + 1.0))
    meaning = "Running number of the tasting: two equal scores are two rows."
    columns.append(ExportColumn(TASTING_NUMBER, "integer", "1", meaning, number))
    columns += _extra_columns(log.tasting_extras)
    return ExportTable("tastings", tuple(columns), len(tastings))


def moment_text(moment: datetime, offset: timedelta) -> str:
    """Return a moment as ISO 8601 with its offset, no shorter than exact.

    Parameters
    ----------
    moment : datetime
        In UTC.
    offset : timedelta
        Of the bench from UTC.

    Returns
    -------
    str

    Examples
    --------
    >>> moment_text(datetime(2026, 3, 6, 23, 25), timedelta(hours=1))
    '2026-03-07T00:25+01:00'
    """
    local = moment.replace(tzinfo=UTC).astimezone(timezone(offset))
    is_whole = local.second == 0 and local.microsecond == 0
    return local.isoformat(timespec="minutes") if is_whole else local.isoformat()
