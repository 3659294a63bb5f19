"""The table of shots: typed and derived columns of the rows that stand, in a fixed order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.glossary import EXTRACTION_CEILING_PCT, SHOT_QUANTITIES
from yieldwright.shotlog.checking import check_rows, targets_as_measurements
from yieldwright.shotlog.columns import Typed, read_columns
from yieldwright.shotlog.deriving import pulled_days, reading_columns
from yieldwright.shotlog.duplicates import exact_copies, near_copies
from yieldwright.shotlog.findings import Finding, gather_by_row
from yieldwright.shotlog.judging import Judged, judge_rows, rows_without
from yieldwright.shotlog.naming import Names, name_shots
from yieldwright.shotlog.ranges import beyond_soft
from yieldwright.shotlog.sessions import place_in_sessions

if TYPE_CHECKING:
    from datetime import date

    from yieldwright.bench import Bench
    from yieldwright.shotlog.reading import Sheet

__all__ = ["ShotTable", "build_shots"]

_AFTER_THE_GLOSSARY = (
    "u_dose_g",
    "u_beverage_g",
    "u_tds_pct",
    "u_ey_pct",
    "cov_tds_ey",
    "typed_tds_pct",
    "typed_ey_pct",
    "typed_brew_ratio",
    "typed_roast_age_d",
    "typed_taper_bar",
    "usable",
    "file",
    "line",
    "line_count",
)


@dataclass(frozen=True)
class ShotTable:
    """What became of the rows of a shot file.

    Attributes
    ----------
    shots : DataFrame
        One row per accepted shot.
    scores : DataFrame
        One row per accepted shot: `shot`, `barista` where known, and a column
        `score:…` per attribute in the file.
    extras : DataFrame
        One row per accepted shot: `shot` and the columns not recognised.
    names : sequence of str
        Shot named by each data row, accepted or not.
    refused : dict of int to list of Finding
        Why data rows were set aside.
    flags : DataFrame
        One row per doubt: `shot`, `column`, `value`, `reason`, `suggestion`.
    remarks : list of str
        What was converted or assumed.
    """

    shots: pd.DataFrame
    scores: pd.DataFrame
    extras: pd.DataFrame
    names: Sequence[str]
    refused: dict[int, list[Finding]]
    flags: pd.DataFrame
    remarks: list[str]


def build_shots(sheet: Sheet, bench: Bench, as_of: date | None) -> ShotTable:
    r"""Return the accepted shots of a sheet with all that follows from them.

    Parameters
    ----------
    sheet : Sheet
        Rows as text.
    bench : Bench
        Ranges, instruments, bands, grinders.
    as_of : date or None
        Later shots are flagged; None checks nothing.

    Returns
    -------
    ShotTable

    Raises
    ------
    UnreadableLogError
        If the shots cannot be named as the bench asks.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18.1\n2,180\n", encoding="utf-8")
    ...     table = build_shots(read_sheet(path, "shots", Bench()), Bench(), None)
    >>> table.shots["shot"].tolist(), table.refused[1][0].suggestion
    (['1'], '180 → 18.0?')
    """
    typed = read_columns(sheet, bench)
    names = name_shots(sheet, bench)
    judged = judge_rows(typed, names, sheet.rows, bench)
    accepted = judged.accepted
    whole, remarks = _in_context(typed, judged, bench)
    shots = _shots(sheet, names, whole, accepted)
    flags = [
        *judged.flagged,
        *beyond_soft(_without_impossible_yields(judged.frame), typed.texts, bench),
        *check_rows(judged.frame, typed.texts, bench, as_of),
        *_near_copies(sheet, names, shots, accepted),
    ]
    return ShotTable(
        shots,
        _scores(typed, names, accepted),
        _extras(sheet, names, accepted),
        names.ids,
        gather_by_row([*judged.refused, *judged.copies]),
        _flag_table(flags, names, accepted, targets_as_measurements(shots, bench)),
        [*typed.remarks, *remarks, *_absences(sheet, names, shots)],
    )


def _in_context(typed: Typed, judged: Judged, bench: Bench) -> tuple[pd.DataFrame, list[str]]:
    """Return all rows but copies with their place in the session; rows set aside were pulled."""
    once = rows_without(judged.copies, len(typed.frame))
    days = pulled_days(typed.frame)
    frame = typed.frame if days is None else typed.frame.assign(pulled_on=days)
    placed, remarks = place_in_sessions(frame.loc[once], bench)
    rest = judged.frame.drop(columns=[name for name in placed if name in judged.frame])
    whole: pd.DataFrame = pd.concat([rest.loc[once], placed], axis=1)
    for name, value in (("machine", bench.machine), ("basket", bench.basket)):
        if value and name not in whole:
            whole[name] = pd.Series(value, index=whole.index, dtype="str")
    return whole, remarks


def _shots(
    sheet: Sheet, names: Names, whole: pd.DataFrame, accepted: Sequence[int]
) -> pd.DataFrame:
    shots = whole.loc[list(accepted)].reset_index(drop=True)
    records = [sheet.rows[row] for row in accepted]
    shots["shot"] = _names_of(names, accepted)
    shots["usable"] = _usable(shots)
    shots["file"] = pd.Series(sheet.file, index=shots.index, dtype="str")
    shots["line"] = np.array([record.first_line for record in records], dtype=int)
    shots["line_count"] = np.array([record.line_count for record in records], dtype=int)
    in_order = [entry.name for entry in SHOT_QUANTITIES]
    in_order += [*reading_columns(shots), *_AFTER_THE_GLOSSARY]
    ordered: pd.DataFrame = shots[[name for name in in_order if name in shots]]
    return ordered


def _usable(shots: pd.DataFrame) -> pd.Series[bool]:
    is_counted = shots["fate"].eq("pulled") & shots["stage"].eq("counted")
    if "ey_pct" not in shots:
        return is_counted
    return is_counted & ~shots["ey_pct"].gt(EXTRACTION_CEILING_PCT)


def _without_impossible_yields(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the table without yields above the ceiling: those have a flag of their own."""
    if "ey_pct" not in frame:
        return frame
    return frame.assign(ey_pct=frame["ey_pct"].where(frame["ey_pct"] <= EXTRACTION_CEILING_PCT))


def _near_copies(
    sheet: Sheet, names: Names, shots: pd.DataFrame, accepted: Sequence[int]
) -> list[Finding]:
    found = [each._replace(row=accepted[each.row]) for each in near_copies(shots)]
    if names.are_typed or "pulled_at" in shots:
        return found
    return [
        copy._replace(reason=f"{copy.reason}: one shot twice?")
        for copy in exact_copies(sheet.rows, accepted)
    ]


def _names_of(names: Names, rows: Iterable[int]) -> pd.Series[str]:
    return pd.Series([names.ids[row] for row in rows], dtype="str")


def _scores(typed: Typed, names: Names, accepted: Sequence[int]) -> pd.DataFrame:
    wanted = [n for n in typed.frame.columns.map(str) if n == "barista" or n.startswith("score:")]
    scores = typed.frame[wanted].take(list(accepted)).reset_index(drop=True)
    return scores.assign(shot=_names_of(names, accepted))


def _extras(sheet: Sheet, names: Names, accepted: Sequence[int]) -> pd.DataFrame:
    columns: dict[str, Any] = {"shot": _names_of(names, accepted)}
    for header, texts in sheet.texts("extra").items():
        kept = [texts[row] or None for row in accepted]
        columns[header if header != "shot" else "shot (as typed)"] = pd.array(kept, dtype="str")
    return pd.DataFrame(columns)


def _flag_table(
    found: Iterable[Finding], names: Names, accepted: Sequence[int], targets: Sequence[str]
) -> pd.DataFrame:
    kept = set(accepted)
    by_row = gather_by_row(finding for finding in found if finding.row in kept)
    rows: list[tuple[str | None, str, str, str, str]] = [
        (names.ids[row], each.column, each.text, each.reason, each.suggestion)
        for row, findings in by_row.items()
        for each in findings
    ]
    rows += [
        (None, name, "", "the same in every shot: a target in place of weighings?", "weigh each")
        for name in targets
    ]
    columns = ["shot", "column", "value", "reason", "suggestion"]
    return pd.DataFrame(rows, columns=columns).astype("str")


def _absences(sheet: Sheet, names: Names, shots: pd.DataFrame) -> Iterable[str]:
    """Yield what the log does not say, and what that means."""
    if not len(sheet.rows):
        yield f"{sheet.file} holds no shots below its header."
    if not names.are_typed:
        yield "No shot column: shots are numbered in the order of the file."
    single = [name for name in ("bag", "grinder") if name not in shots]
    if single:
        yield f"No column for {listing(single)}: all shots are taken as one {listing(single)}."
    if "tds_pct" not in shots:
        yield "No strength (tds_pct): ratio and time only, no extraction yield."
    elif "ey_pct" not in shots:
        yield "No extraction yield: it needs dose_g, beverage_g and tds_pct."
    if "typed_ey_pct" in shots and "ey_pct" not in shots:
        yield "Typed yields are not used: without a strength they cannot be checked."
    unusable = int((~shots["usable"]).sum())
    if unusable:
        yield (
            f"{count(unusable, 'shot')} kept but left out of slopes: failed, warm-up, transition, "
            "or above what water can dissolve."
        )
