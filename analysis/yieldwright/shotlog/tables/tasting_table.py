"""The table of tastings: one row per shot, taster and attribute, from either file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count
from yieldwright.shotlog.checks.duplicates import exact_copies
from yieldwright.shotlog.checks.ranges import beyond_hard, beyond_soft
from yieldwright.shotlog.findings import Finding, findings_of, gather_by_row, quoted
from yieldwright.shotlog.headers.headers import RESERVED_ATTRIBUTES
from yieldwright.shotlog.tables.judging import rows_without
from yieldwright.shotlog.tables.pooling import Pool, pool_sheets

if TYPE_CHECKING:
    from yieldwright.bench import Attribute, Bench
    from yieldwright.shotlog.tables.columns import Typed
    from yieldwright.shotlog.tables.naming import Names
    from yieldwright.shotlog.tables.reading import Sheet

__all__ = [
    "TASTING_COLUMNS",
    "TastingTable",
    "build_tastings",
    "melt_scores",
    "unstated_attributes",
]

TASTING_COLUMNS = (
    "shot",
    "taster",
    "tasting_order",
    "blind_code",
    "attribute",
    "score",
    "swallowed",
)
_UNNAMED = "unnamed"
_KEYS = ["shot", "taster", "attribute", "tasting_order", "blind_code"]


@dataclass(frozen=True)
class TastingTable:
    """What became of the rows of a tasting file.

    Attributes
    ----------
    pool : Pool
        All data rows, accepted or not.
    tastings : DataFrame
        One row per shot, taster and attribute.
    extras : DataFrame
        One row per row of `tastings`: the columns not recognised.
    refused : dict of int to list of Finding
        Why data rows were set aside.
    flagged : list of tuple
        Shot, column, value, reason and suggestion of each doubt.
    remarks : list of str
        What was converted or assumed.
    """

    pool: Pool
    tastings: pd.DataFrame
    extras: pd.DataFrame
    refused: dict[int, list[Finding]]
    flagged: list[tuple[str, str, str, str, str]]
    remarks: list[str]


def build_tastings(
    sheets: Sequence[Sheet], bench: Bench, shots: Mapping[str, str]
) -> TastingTable:
    r"""Return the accepted tastings of sheets, long or with a column per attribute.

    Parameters
    ----------
    sheets : sequence of Sheet
        Rows as text, at least one sheet.
    bench : Bench
        Gives attributes and their scales.
    shots : mapping of str to str
        Shots of the log; the value says why one was set aside, empty where it was not.

    Returns
    -------
    TastingTable

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
    ...     path = Path(folder, "tastings.csv")
    ...     _ = path.write_text("shot,taster,overall\n1,t1,6\n9,t1,7\n", encoding="utf-8")
    ...     sheet = read_sheet(path, "tastings", Bench())
    >>> table = build_tastings([sheet], Bench(), {"1": ""})
    >>> table.tastings["score"].tolist(), table.refused[1][0].reason
    ([6.0], 'no shot of the log is named “9”')
    """
    pool = pool_sheets(sheets, bench)
    typed, ids = pool.typed, pool.names.ids
    long = _long(typed, pool.names, bench)
    refused = _refused(typed, pool.names, long, bench, shots)
    refused += exact_copies(pool, rows_without(refused, len(pool)))
    accepted = rows_without(refused, len(pool))
    kept = long[long["row"].isin(accepted)]
    stands = set(accepted.tolist())
    flagged = [
        (ids[each.row], each.column, each.text, each.reason, each.suggestion)
        for each in [*typed.flagged, *beyond_soft(typed.frame, typed.texts, bench)]
        if each.row in stands
    ]
    return TastingTable(
        pool,
        _final(kept),
        pool.extras_of(kept["row"].to_numpy()),
        gather_by_row(refused),
        flagged + _scale_flags(kept, bench) + _repeat_flags(kept),
        [*typed.remarks, *_remarks(typed, pool.names, bench)],
    )


def melt_scores(scores: pd.DataFrame) -> pd.DataFrame:
    """Return the scores of a shot table as tastings by its barista.

    Parameters
    ----------
    scores : DataFrame
        One row per shot: `shot`, `barista` where known, a column `score:…` per attribute.

    Returns
    -------
    DataFrame
        One row per shot and attribute that was scored.

    Examples
    --------
    >>> melted = melt_scores(pd.DataFrame({"shot": ["1"], "score:overall": [6.0]}))
    >>> melted[["taster", "attribute", "score"]].values.tolist()
    [['unnamed', 'overall', 6.0]]
    """
    if not any(name.startswith("score:") for name in scores.columns.tolist()):
        return _no_tastings().copy()
    frame = scores.rename(columns={"barista": "taster"})
    melted = _melted(frame.assign(row=np.arange(len(frame))))
    return _final(melted.sort_values("row", kind="stable"))


def _long(typed: Typed, names: Names, bench: Bench) -> pd.DataFrame:
    """Return one row per score, with the data row it stands on."""
    frame = typed.frame.drop(columns=["shot"], errors="ignore")
    frame = frame.assign(
        row=np.arange(len(frame)), shot=names.ids.as_series().set_axis(frame.index)
    )
    melted = _melted(frame)
    if "score" not in frame:
        return melted.sort_values("row", kind="stable")
    attribute = pd.Series(bench.attributes[0].name, frame.index, dtype="str")
    if "attribute" in frame:
        spelling = {each.name.casefold(): each.name for each in bench.attributes}
        attribute = frame["attribute"].map(lambda w: spelling.get(w.casefold(), w), "ignore")
    direct = frame.assign(attribute=attribute.astype("str"))
    both = pd.concat([direct, melted] if len(melted) else [direct], ignore_index=True)
    return both.sort_values("row", kind="stable")


def _melted(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the columns `score:…` below one another, gaps left out."""
    scores = [name for name in frame.columns.tolist() if name.startswith("score:")]
    kept = [name for name in (*TASTING_COLUMNS, "row") if name in frame and name != "score"]
    parts = [
        frame[kept].assign(
            attribute=pd.Series(name.removeprefix("score:"), frame.index, dtype="str"),
            score=frame[name],
        )
        for name in scores
    ]
    empty = (
        frame[kept].iloc[:0].assign(attribute=pd.Series(dtype="str"), score=pd.Series(dtype=float))
    )
    melted = pd.concat(parts, ignore_index=True) if parts else empty
    return melted.dropna(subset=["score"])


@cache
def _no_tastings() -> pd.DataFrame:
    """Return a tasting table without rows."""
    return _final(pd.DataFrame({"shot": pd.Series(dtype="str"), "score": pd.Series(dtype=float)}))


def _final(long: pd.DataFrame) -> pd.DataFrame:
    """Return the columns of the tasting table, each of its kind."""
    texts = ("shot", "taster", "blind_code", "attribute")
    gaps = {name: pd.Series(pd.NA, long.index, dtype="str") for name in texts if name not in long}
    final = long.assign(**gaps)
    final["taster"] = final["taster"].fillna(_UNNAMED)
    for name in ("tasting_order", "score"):
        final[name] = final[name].astype(float) if name in final else np.nan
    swallowed = final["swallowed"] if "swallowed" in final else pd.Series(pd.NA, final.index)
    final["swallowed"] = swallowed.astype("boolean")
    return final[list(TASTING_COLUMNS)].reset_index(drop=True)


def _refused(
    typed: Typed, names: Names, long: pd.DataFrame, bench: Bench, shots: Mapping[str, str]
) -> list[Finding]:
    beyond, _ = beyond_hard(typed.frame, typed.texts, bench)
    return [
        *typed.refused,
        *names.refused,
        *beyond,
        *_unknown_shots(names.ids, shots),
        *_wrong_attributes(long),
        *_off_the_scale(typed, long, bench),
    ]


def _unknown_shots(ids: Sequence[str], shots: Mapping[str, str]) -> list[Finding]:
    found: list[Finding] = []
    for row, name in enumerate(ids):
        if name and name not in shots:
            reason = f"no shot of the log is named {quoted(name)}"
            found.append(Finding(row, "shot", name, reason, "correct the name, or log the shot"))
        elif name and shots[name]:
            reason = f"shot {quoted(name)} is set aside: {shots[name]}"
            found.append(Finding(row, "shot", name, reason, "mend the shot first"))
    return found


def _wrong_attributes(long: pd.DataFrame) -> list[Finding]:
    found: list[Finding] = []
    for row, name in zip(long["row"].tolist(), long["attribute"].fillna("").tolist(), strict=True):
        if not name:
            found.append(Finding(row, "attribute", "", "the row does not say what was scored"))
        elif name in RESERVED_ATTRIBUTES:
            reason = f"an attribute cannot be named {quoted(name)}"
            found.append(Finding(row, "attribute", name, reason, "give it another name"))
    return found


def _off_the_scale(typed: Typed, long: pd.DataFrame, bench: Bench) -> list[Finding]:
    """Return long rows whose score lies beyond the scale of its attribute."""
    if "score" not in typed.frame:
        return []
    score = long["score"].to_numpy(dtype=float)
    scales = [bench.attribute(name) for name in long["attribute"].fillna("").tolist()]
    low = np.array([scale.low for scale in scales], dtype=float)
    high = np.array([scale.high for scale in scales], dtype=float)
    beyond = np.flatnonzero((score < low) | (score > high)).tolist()
    rows = long["row"].tolist()
    return [
        Finding(
            rows[at],
            "score",
            typed.texts["score"][rows[at]],
            f"score is {score[at]:g}, outside {low[at]:g}–{high[at]:g}",
            "another scale? state it under [[attributes]] in bench.toml",
        )
        for at in beyond
    ]


def _scale_flags(long: pd.DataFrame, bench: Bench) -> list[tuple[str, str, str, str, str]]:
    """Return doubts about scores that fall between the steps of their scale."""
    scales = [bench.attribute(name) for name in long["attribute"].fillna("").tolist()]
    step = np.array([scale.step for scale in scales], dtype=float)
    low = np.array([scale.low for scale in scales], dtype=float)
    score = long["score"].to_numpy(dtype=float)
    steps = (score - low) / step
    shots = long["shot"].tolist()
    between = findings_of(
        np.abs(steps - np.round(steps)) > 1e-6, "score", {}, "falls between the steps of its scale"
    )
    return [
        (shots[each.row], "score", f"{score[each.row]:g}", each.reason, "") for each in between
    ]


def _repeat_flags(long: pd.DataFrame) -> list[tuple[str, str, str, str, str]]:
    """Return doubts about scores given twice by one taster for one cup."""
    keys = [name for name in _KEYS if name in long]
    twice = long[long.duplicated(keys)]
    reason = "scored twice by one taster; the mean counts"
    pairs = zip(twice["shot"].tolist(), twice["score"].tolist(), strict=True)
    return [(shot, "score", f"{score:g}", reason, "") for shot, score in pairs]


def _remarks(typed: Typed, names: Names, bench: Bench) -> list[str]:
    columns = typed.frame.columns.tolist()
    has_scores = any(name == "score" or name.startswith("score:") for name in columns)
    remarks: list[str] = []
    if not has_scores:
        remarks.append("The tasting file has no score column: nothing was scored.")
    if "score" in typed.frame and "attribute" not in typed.frame:
        headline = bench.attributes[0].name
        remarks.append(f"No attribute column: each score is taken as {headline}.")
    if "taster" not in typed.frame and len(names.ids):
        remarks.append(f"No taster column: {count(len(names.ids), 'tasting')} by one person.")
    return remarks


def unstated_attributes(tastings: pd.DataFrame, bench: Bench) -> str:
    """Return a remark on attributes whose scale the bench does not state, empty without any.

    Parameters
    ----------
    tastings : DataFrame
        One row per shot, taster and attribute.
    bench : Bench
        States scales.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> unstated_attributes(pd.DataFrame({"attribute": ["overall"]}), Bench())
    'Scales not stated in full are taken as: overall 0 to 10, more is better.'
    """
    names = [str(name) for name in tastings["attribute"].dropna().unique()]
    unstated = sorted(name for name in names if not bench.attribute(name).stated)
    if not unstated:
        return ""
    taken = "; ".join(_taken(bench.attribute(name)) for name in unstated)
    return f"Scales not stated in full are taken as: {taken}."


def _taken(scale: Attribute) -> str:
    """Return a scale as it is used, stated or assumed."""
    good = {"more": "more", "middle": "the middle", "less": "less"}[scale.better]
    name = quoted(scale.name).strip("“”")
    return f"{name} {scale.low:g} to {scale.high:g}, {good} is better"
