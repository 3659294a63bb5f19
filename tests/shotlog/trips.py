"""Logs to send on a round trip, and how two readings of one log are compared."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

import pandas as pd
from hypothesis import strategies as st

from yieldwright.shotlog import ShotLog, read_log
from yieldwright.shotlog.exporting.exporting import export_log

#: Where a row stood: true of one file only.
PLACE = ["file", "line", "line_count"]
FORMS = ("csv", "tsv", "xlsx", "parquet", "folder")

#: Texts that programs like to change.
_ODD = st.sampled_from(
    (
        *("NA", "None", "007", "1E5", "1,5", "nan", "TRUE", "yes", "-", "'", "'=1+1", "=1+1"),
        *("@sum(A1)", "+49 30", "-2 clicks", "\t=1", "＝1", "#1", '"', '""', 'a"b', '"a', "a;=1"),
        *("a,@x", "a\n=1", "a\nb", "a\\nb", "\\u0041", "_x000D_", "x005F_", "\u2028", "\x85"),
        *("x\x00y", "x\x1by", "a\x0bb", " outer ", "\ufeffmark", "<b>&amp;", "kept:x", "ÿ €"),
        *("2026-03-04", "1:2", "a,b,c,d,e,f,g,h,i,j,k,l", "…", "\U0001f375", "\ufffe"),
    )
)
_ANY = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r"), max_size=12)
TEXTS = _ODD | _ANY
_HEADERS = _ODD | _ANY


def _number(low: float, high: float) -> st.SearchStrategy[str]:
    exact = st.floats(low, high).map(repr)
    short = st.integers(int(low * 10), int(high * 10)).map(lambda tenths: str(tenths / 10))
    return st.just("") | short | exact | short.map(lambda text: f"~{text}")


_DAYS = st.dates(pd.Timestamp("2026-01-01").date(), pd.Timestamp("2026-02-20").date())
_OFFSETS = st.sampled_from(("", "Z", "+01:00", "-11:30", "+14:00"))
_CLOCKS = st.sampled_from(("00:05", "10:25", "23:59:59", "12:00:00.125"))

#: Cells of each column, wrong ones among them now and then.
CELLS: dict[str, st.SearchStrategy[str]] = {
    "session": st.sampled_from(("", "e1", "e2", "=e3")),
    "position": st.sampled_from(("", "1", "2", "3", "17")),
    "pulled_at": st.builds("{}T{}{}".format, _DAYS, _CLOCKS, _OFFSETS) | _DAYS.map(str),
    "pulled_on": st.just("") | _DAYS.map(str),
    "fate": st.sampled_from(("", "pulled", "choked", "gushed")),
    "stage": st.sampled_from(("", "counted", "warm up", "transition")),
    "bag": TEXTS,
    "roasted_on": st.just("") | _DAYS.map(str),
    "frozen_d": st.sampled_from(("", "0", "12")),
    "roast_age_d": st.sampled_from(("", "9", "12.5")),
    "dose_g": _number(17, 19) | st.sampled_from(("180", "18±0.1", "0.63 oz", "x")),
    "beverage_g": _number(30, 45) | st.sampled_from(("36 mL", "35-37")),
    "brew_ratio": st.sampled_from(("", "1:2", "2.0", "2.31")),
    "time_s": st.sampled_from(("", "0:36", "31", "29.5")),
    "grinder": st.sampled_from(("", "mill-1", "mill-2")),
    "grind_setting": _number(-3, 20) | st.sampled_from(("1e-7", "1e300")),
    "temp_c": st.sampled_from(("", "91", "199 °F", "84.5")),
    "temp_band": st.sampled_from(("", "low", "HIGH")),
    "gap_min": st.sampled_from(("", "4", "700")),
    "hold_bar": st.sampled_from(("", "8.7", "8.5")),
    "end_bar": st.sampled_from(("", "5.1", "6")),
    "taper_bar": st.sampled_from(("", "3", "2.4")),
    "tds_pct": _number(8, 11) | st.sampled_from(("10%", "9.4±0.05")),
    "tds_1_pct": _number(8, 11),
    "tds_2_pct": st.sampled_from(("", "9.4", "9.5±0.1")),
    "ey_pct": st.sampled_from(("", "20", "19.8", "21.55")),
    "filtered": st.sampled_from(("", "yes", "no")),
    "barista": st.sampled_from(("", "b1", "=b2", "unnamed")),
    "notes": TEXTS | st.lists(TEXTS, max_size=3).map("\n".join),
    "overall": st.sampled_from(("", "6", "7.5", "11")),
    "score:finish": st.sampled_from(("", "3", "9")),
}

_TASTED: dict[str, st.SearchStrategy[str]] = {
    "taster": st.sampled_from(("", "t1", "=t2", "b1")),
    "tasting_order": st.sampled_from(("", "1", "2")),
    "blind_code": st.sampled_from(("", "047", "=1", "1E2")),
    "attribute": st.sampled_from(("overall", "Sweet", "=bitter", "")),
    "score": st.sampled_from(("", "6", "6.5", "7", "12")),
    "swallowed": st.sampled_from(("", "yes", "no")),
    "mood": TEXTS,
}


def written(headers: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return rows as a file that somebody kept."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    writer.writerow(headers)
    writer.writerows(rows)
    return out.getvalue()


@st.composite
def kept_logs(draw: st.DrawFn) -> tuple[str, str]:
    """Return the texts of a file of shots and one of tastings, the latter perhaps empty."""
    names = draw(st.lists(st.sampled_from(sorted(CELLS)), min_size=1, unique=True))
    extras = draw(st.lists(_HEADERS, max_size=2, unique_by=lambda text: text.strip().casefold()))
    n_rows = draw(st.integers(1, 5))
    ids = draw(st.lists(TEXTS, min_size=n_rows, max_size=n_rows))
    is_named = draw(st.booleans())
    columns = [draw(st.lists(CELLS[name], min_size=n_rows, max_size=n_rows)) for name in names]
    columns += [draw(st.lists(TEXTS, min_size=n_rows, max_size=n_rows)) for _ in extras]
    headers = [*names, *extras]
    if is_named:
        headers, columns = ["shot", *headers], [ids, *columns]
    shots = written(headers, list(zip(*columns, strict=True)))
    return shots, draw(_tastings(ids if is_named else [str(at + 1) for at in range(n_rows)]))


@st.composite
def _tastings(draw: st.DrawFn, ids: Sequence[str]) -> str:
    if draw(st.booleans()):
        return ""
    names = draw(st.lists(st.sampled_from(sorted(_TASTED)), unique=True))
    rows = draw(
        st.lists(st.tuples(st.sampled_from(ids), *(_TASTED[name] for name in names)), max_size=6)
    )
    return written(["shot", *names], rows)


def export_and_read(log: ShotLog, folder: Path, form: str) -> ShotLog:
    """Return a log as it is read from an export in one of the forms."""
    target = folder if form == "folder" else folder / f"copy.{form}"
    export_log(log, target)
    return read_log(target, bench=log.bench, as_of=log.as_of)


def require_same(one: ShotLog, other: ShotLog, *, tastings: bool = True) -> None:
    """Fail unless two readings gave the same tables, to the last bit."""
    kept, again = (log.shots.drop(columns=PLACE) for log in (one, other))
    pd.testing.assert_frame_equal(kept, again, check_exact=True)
    pd.testing.assert_frame_equal(one.extras, other.extras, check_exact=True)
    if tastings:
        pd.testing.assert_frame_equal(one.tastings, other.tastings, check_exact=True)
        kept, again = (log.tasting_extras.dropna(axis=1, how="all") for log in (one, other))
        pd.testing.assert_frame_equal(kept, again, check_exact=True, check_column_type=False)


def new_doubts(one: ShotLog, other: ShotLog) -> set[tuple[str, ...]]:
    """Return the flags of the second reading that the first did not have.

    How closely a typed value must agree with its row depends on how it was written:
    such columns are left out.
    """
    before, after = (
        set(log.flags[["shot", "column", "reason"]].fillna("").itertuples(index=False, name=None))
        for log in (one, other)
    )
    return {doubt for doubt in after - before if f"typed_{doubt[1]}" not in one.shots}
