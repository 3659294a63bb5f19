"""The table of shots: typed and derived columns of the rows that stand, in a fixed order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.glossary import EXTRACTION_CEILING_PCT, SHOT_QUANTITIES
from yieldwright.shotlog.checks.checking import check_rows
from yieldwright.shotlog.checks.duplicates import exact_copies, have_moment, near_copies
from yieldwright.shotlog.checks.far_days import far_days
from yieldwright.shotlog.checks.gaps import missing_positions, missing_shots, repeated_positions
from yieldwright.shotlog.checks.ranges import beyond_soft
from yieldwright.shotlog.checks.targets import targets_as_measurements
from yieldwright.shotlog.checks.unit_jumps import unit_jumps
from yieldwright.shotlog.findings import NO_ROW, Finding, gather_by_row
from yieldwright.shotlog.headers.entries import reading_columns
from yieldwright.shotlog.headers.exported import by_people, echoed_names
from yieldwright.shotlog.tables.deriving import pulled_days
from yieldwright.shotlog.tables.framing import framed
from yieldwright.shotlog.tables.judging import Judged, judge_rows, rows_without
from yieldwright.shotlog.tables.pooling import Pool, pool_sheets
from yieldwright.shotlog.tables.sessions import place_in_sessions

if TYPE_CHECKING:
    from datetime import date

    from yieldwright.bench import Bench
    from yieldwright.shotlog.tables.reading import Sheet

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
    "typed_frozen_d",
    "typed_open_d",
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
    pool : Pool
        All data rows, accepted or not.
    shots : DataFrame
        One row per accepted shot.
    scores : DataFrame
        One row per accepted shot: `shot`, `barista` where known, and a column
        `score:…` per attribute in the file.
    extras : DataFrame
        One row per accepted shot: `shot` and the columns not recognised.
    refused : dict of int to list of Finding
        Why data rows were set aside.
    flags : DataFrame
        One row per doubt: `shot`, `column`, `value`, `reason`, `suggestion`.
    remarks : list of str
        What was converted or assumed.
    """

    pool: Pool
    shots: pd.DataFrame
    scores: pd.DataFrame
    extras: pd.DataFrame
    refused: dict[int, list[Finding]]
    flags: pd.DataFrame
    remarks: list[str]


def build_shots(sheets: Sequence[Sheet], bench: Bench, as_of: date | None) -> ShotTable:
    r"""Return the accepted shots of one or several sheets with all that follows from them.

    Parameters
    ----------
    sheets : sequence of Sheet
        Rows as text, at least one sheet.
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
    >>> from yieldwright.shotlog.tables.reading import read_sheet
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose_g\n1,18.1\n2,180\n", encoding="utf-8")
    ...     table = build_shots([read_sheet(path, "shots", Bench())], Bench(), None)
    >>> table.shots["shot"].tolist(), table.refused[1][0].suggestion
    (['1'], '180 → 18.0?')
    """
    pool = pool_sheets(sheets, bench)
    judged = judge_rows(pool, bench)
    whole, remarks = _in_context(pool, judged, bench)
    shots = _shots(pool, whole, judged.accepted)
    texts = pool.typed.texts
    flags = [
        *judged.flagged,
        *by_people(
            [
                *beyond_soft(_without_impossible_yields(judged.frame), texts, bench),
                *repeated_positions(whole, texts),
            ],
            pool.exported,
        ),
        *check_rows(judged.frame, texts, bench, as_of),
        *_near_copies(pool, shots, judged.accepted),
        *(each._replace(row=int(judged.accepted[each.row])) for each in far_days(shots)),
        *unit_jumps(pool.typed.frame, texts, bench),
        *targets_as_measurements(shots, bench),
        *_skipped(pool, whole),
    ]
    return ShotTable(
        pool,
        shots,
        _scores(pool, judged.accepted, shots["shot"]),
        _extras(pool, judged.accepted, shots["shot"]),
        gather_by_row([*judged.refused, *judged.copies]),
        _flag_table(flags, pool, judged.accepted),
        [*pool.typed.remarks, *remarks, *_absences(pool, shots)],
    )


def _in_context(pool: Pool, judged: Judged, bench: Bench) -> tuple[pd.DataFrame, list[str]]:
    """Return all rows but copies with their place in the session; rows set aside were pulled."""
    frame = judged.frame
    typed = pool.typed.frame
    days = pulled_days(typed)
    if days is not None:
        frame = frame.assign(pulled_on=days)
    twice = [*judged.copies, *_written_again(pool, judged)]
    if twice:
        frame = frame.iloc[rows_without(twice, len(frame))]
    placed, remarks = place_in_sessions(frame, bench)
    if "gap_min" in typed:  # an export knows of shots that stay aside, and leaves some gaps out
        placed["gap_min"] = placed["gap_min"].mask(pool.exported[frame.index], typed["gap_min"])
    rest = judged.frame.drop(columns=[name for name in placed if name in judged.frame])
    if len(frame) < len(rest):
        rest = rest.loc[frame.index]
    whole: pd.DataFrame = pd.concat([rest, placed], axis=1)
    for name, value in (("machine", bench.machine), ("basket", bench.basket)):
        if value and name not in whole:
            whole[name] = pd.Series(value, index=whole.index, dtype="str")
    return whole, remarks


def _written_again(pool: Pool, judged: Judged) -> list[Finding]:
    """Return the rows set aside whose shot stands in another row: one pull, mended since."""
    if not judged.refused or not pool.names.are_typed:
        return []
    ids = pool.names.ids
    wanted = {ids[each.row] for each in judged.refused}
    codes = [code for code, text in enumerate(ids.texts) if text in wanted]
    stands = judged.accepted[np.isin(ids.codes[judged.accepted], codes)]
    found = {ids[row] for row in stands.tolist()}
    return [each for each in judged.refused if ids[each.row] in found]


def _shots(pool: Pool, whole: pd.DataFrame, accepted: np.ndarray) -> pd.DataFrame:
    kept = whole if len(accepted) == len(whole) else whole.loc[accepted]
    shots = kept.reset_index(drop=True)
    _clear_echoes(shots, pool, accepted)
    own = {
        "shot": pool.names.ids.take(accepted).as_series(),
        "usable": _usable(shots),
        **pool.places(accepted),
    }
    in_order = [entry.name for entry in SHOT_QUANTITIES]
    in_order += [*reading_columns(shots), *_AFTER_THE_GLOSSARY]
    known = dict.fromkeys(shots.columns.tolist())
    in_order[-4:-4] = [name for name in known if name.startswith("half_width_")]
    found = {name: own.get(name, shots.get(name)) for name in in_order if name in known | own}
    return pd.DataFrame(found, index=shots.index)


def _clear_echoes(shots: pd.DataFrame, pool: Pool, accepted: np.ndarray) -> None:
    """Take out what an export computed and nobody typed, now that it was compared."""
    files = np.searchsorted(pool.starts, accepted, side="right") - 1
    echoes = [echoed_names(sheet.headers) for sheet in pool.sheets]
    for name in frozenset().union(*echoes):
        is_echo = np.array([name in each for each in echoes])
        if f"typed_{name}" in shots and is_echo.all():
            del shots[f"typed_{name}"]
        elif f"typed_{name}" in shots:
            shots[f"typed_{name}"] = shots[f"typed_{name}"].mask(is_echo[files])


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


def _near_copies(pool: Pool, shots: pd.DataFrame, accepted: np.ndarray) -> list[Finding]:
    found = [each._replace(row=int(accepted[each.row])) for each in near_copies(shots)]
    if pool.names.are_typed:
        return found
    return found + [
        copy._replace(reason=f"{copy.reason}: one shot twice?")
        for copy in exact_copies(pool, accepted[~have_moment(pool, accepted)])
    ]


def _scores(pool: Pool, accepted: np.ndarray, shots: pd.Series[str]) -> pd.DataFrame:
    frame = pool.typed.frame
    wanted = [n for n in frame.columns.tolist() if n == "barista" or n.startswith("score:")]
    scores = {name: frame[name].array[accepted] for name in wanted}
    return pd.DataFrame({**scores, "shot": shots})


def _extras(pool: Pool, accepted: np.ndarray, shots: pd.Series[str]) -> pd.DataFrame:
    extras = pool.extras_of(accepted).rename(columns={"shot": "shot (as typed)"})
    extras.insert(0, "shot", shots)
    return extras


def _skipped(pool: Pool, whole: pd.DataFrame) -> list[Finding]:
    """Return what the numbers of the shots, or else their positions, leave out."""
    named: list[Finding] = []
    if pool.exported.any():  # what an export leaves out was set aside, and told then
        return named
    if pool.names.are_typed:
        named = missing_shots(pool.names.ids, _ids_aside(pool))
    if named or any(sheet.set_aside for sheet in pool.sheets):  # they had a position too
        return named
    return missing_positions(whole, pool.typed.texts)


def _ids_aside(pool: Pool) -> Iterable[str]:
    """Yield what stands in the column of names on lines that are no data rows."""
    for sheet in pool.sheets:
        at = next((at for at, each in enumerate(sheet.headers) if each.name == "shot"), None)
        for aside in sheet.set_aside:
            cells = aside.record.cells
            if at is not None and cells and at < len(cells):
                yield cells[at].strip()


def _flag_table(found: Sequence[Finding], pool: Pool, accepted: np.ndarray) -> pd.DataFrame:
    """Return what is said of accepted rows, in their order, and then of the log."""
    is_kept = np.zeros(len(pool), dtype=bool)
    is_kept[accepted] = True
    of_rows = (each for each in found if each.row != NO_ROW and is_kept[each.row])
    rows: list[tuple[str | None, str, str, str, str]] = [
        (pool.names.ids[row], each.column, each.text, each.reason, each.suggestion)
        for row, findings in gather_by_row(of_rows).items()
        for each in findings
    ]
    rows += [(None, *each[1:]) for each in found if each.row == NO_ROW]
    columns = ["shot", "column", "value", "reason", "suggestion"]
    return framed(rows, columns)


def _absences(pool: Pool, shots: pd.DataFrame) -> Iterable[str]:
    """Yield what the log does not say, and what that means."""
    if not len(pool):
        files = listing([sheet.file for sheet in pool.sheets])
        yield f"{files} {'holds' if len(pool.sheets) == 1 else 'hold'} no shots below the header."
    if not pool.names.are_typed:
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
