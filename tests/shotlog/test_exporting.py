"""An export reads back to the same tables, is safe to open, and never touches the log."""

from __future__ import annotations

import io
import json
import re
import shutil
import zipfile
from collections.abc import Callable
from itertools import cycle
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd
import pytest
from hypothesis import Phase, given, settings

from tests.shotlog.trips import (
    FORMS,
    TEXTS,
    export_and_read,
    kept_logs,
    new_doubts,
    require_same,
    written,
)
from tests.shotlog.workbook_traps import SHEETS
from tests.traps.trap import Trap, written_traps
from yieldwright.bench import Bench, read_bench
from yieldwright.errors import NotWritableError, UnknownNameError, YieldwrightError
from yieldwright.shotlog import ShotLog, read_log
from yieldwright.shotlog.exporting import workbook as exporting_workbook
from yieldwright.shotlog.exporting.exporting import export_log, export_set_aside
from yieldwright.shotlog.exporting.places import refuse_place
from yieldwright.shotlog.workbooks import safety as workbook_safety

Reader = Callable[..., ShotLog]

HEAD = "shot,dose_g,beverage_g,time_s,notes\n"
#: A smaller log that fails would take minutes to find; the one that failed is printed.
_NO_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)
FORMULAS = ("=1+1", "+1+1", "-1", "@sum(A1)", "\t=1+1", "＝1+1", " =1+1", "'=1+1", "''=1+1")


def readable(trap: Trap, folder: Path) -> ShotLog | None:
    """Return the log of a trap, None where it is refused as a whole."""
    try:
        return trap.read(folder)
    except YieldwrightError:
        return None


@pytest.fixture
def out(tmp_path: Path) -> Path:
    folder = tmp_path / "out"
    folder.mkdir()
    return folder


@pytest.mark.parametrize("form", FORMS)
def test_the_demo_comes_back_the_same(root: Path, out: Path, form: str) -> None:
    log = read_log(root / "datasets" / "evening-class")
    again = export_and_read(log, out, form)
    require_same(log, again, tastings=form in ("folder", "xlsx"))
    assert again.set_aside.empty
    assert new_doubts(log, again) == set()


def test_a_published_table_comes_back_the_same(reference: Path, out: Path) -> None:
    brews = reference / "brews" / "cotter_162_brews.csv"
    log = read_log(brews, bench=read_bench(Path(__file__).parent / "benches" / "brews.toml"))
    require_same(log, export_and_read(log, out, "folder"))


def test_each_small_log_comes_back_the_same(tmp_path: Path) -> None:
    apart = set()
    traps = [*written_traps(), *SHEETS][::5]
    for at, (trap, form) in enumerate(zip(traps, cycle(("folder", "xlsx", "parquet")))):
        kept, out = tmp_path / f"in{at}", tmp_path / f"out{at}"
        kept.mkdir()
        out.mkdir()
        log = readable(trap, kept)
        if log is None:
            continue
        again = export_and_read(log, out, form)
        require_same(log, again, tastings=form != "parquet")
        if len(again.set_aside) or new_doubts(log, again):
            apart.add(trap.name)
    assert apart == set()


@pytest.mark.parametrize("form", FORMS)
@settings(max_examples=12, phases=_NO_SHRINKING)
@given(texts=kept_logs())
def test_any_log_comes_back_the_same(texts: tuple[str, str], form: str) -> None:
    shots, tastings = texts
    with TemporaryDirectory() as name:
        kept, out = Path(name, "in"), Path(name, "out")
        kept.mkdir()
        out.mkdir()
        (kept / "shots.csv").write_text(shots, "utf-8")
        if tastings:
            (kept / "tastings.csv").write_text(tastings, "utf-8")
        log = read_log(kept)
        again = export_and_read(log, out, form)
        holds_scores = any("score:" in name for name in again.reading.files[0].header)
        require_same(log, again, tastings=form in ("folder", "xlsx") or holds_scores)
        assert again.set_aside.empty
        assert new_doubts(log, again) == set()


@settings(max_examples=60)
@given(text=TEXTS, note=TEXTS)
def test_any_text_comes_back_from_text_files(text: str, note: str) -> None:
    with TemporaryDirectory() as name:
        path = Path(name, "kept.csv")
        path.write_text(written(["shot", "bag", "notes"], [("1", text, note)]), "utf-8")
        log = read_log(path)
        require_same(log, export_and_read(log, Path(name), "csv"))


@pytest.mark.parametrize("form", FORMS)
def test_signs_that_a_format_cannot_hold_come_back(tmp_path: Path, form: str) -> None:
    texts = ["a\rb", "c\r\nd", "\0", "\ufffe\uffff", "_x000D_", "x005F_", "\\r", "\ufeff="]
    rows = [{"shot": str(at), "notes": text, text: text} for at, text in enumerate(texts)]
    kept = tmp_path / "kept.jsonl"
    kept.write_text("\n".join(map(json.dumps, rows)), "utf-8")
    log = read_log(kept)
    assert log.shots["notes"].tolist() == texts
    (tmp_path / "out").mkdir()
    require_same(log, export_and_read(log, tmp_path / "out", form))


def test_an_export_of_an_export_has_the_same_bytes(read: Reader, out: Path) -> None:
    log = read(HEAD + "a,18.1,36,30,=1+1\nb,~18,36.5,31,\n", as_of=None)
    export_log(log, out / "one.csv")
    export_log(read_log(out / "one.csv", bench=log.bench), out / "two.csv")
    assert (out / "one.csv").read_bytes() == (out / "two.csv").read_bytes()


@pytest.mark.parametrize("form", ["csv", "tsv", "xlsx", "parquet"])
def test_the_same_log_gives_the_same_bytes(read: Reader, out: Path, form: str) -> None:
    log = read(HEAD + "a,18.1,36,30,x\n")
    export_log(log, out / f"one.{form}")
    export_log(log, out / f"two.{form}")
    assert (out / f"one.{form}").read_bytes() == (out / f"two.{form}").read_bytes()


def test_a_bench_of_semicolons_and_commas_is_written_so(read: Reader, out: Path) -> None:
    bench = Bench(delimiter="semicolon", decimal="comma")
    log = read("shot;dose_g;notes\n1;18,15;x\n", bench=bench)
    export_log(log, out / "copy.csv")
    assert ";18,15;" in (out / "copy.csv").read_text("utf-8-sig")
    require_same(log, read_log(out / "copy.csv", bench=bench))


def test_headers_of_ones_own_do_not_come_between(read: Reader, out: Path) -> None:
    bench = Bench(columns={"dose_g": "purged_g", "In": "dose_g"}, shot_id=("Day", "No"))
    log = read("Day,No,In,dose_g\n1,a,18,2\n1,b,18.5,3\n", bench=bench)
    again = export_and_read(log, out, "folder")
    assert again.shots["dose_g"].tolist() == [18.0, 18.5]
    require_same(log, again)


@pytest.mark.parametrize("offset", ["Z", "+13:00", "-11:00"])
def test_day_and_instant_survive_whatever_the_offset(read: Reader, out: Path, offset: str) -> None:
    log = read(f"shot,pulled_at\n1,2026-03-07T00:25{offset}\n2,2026-03-07T23:50{offset}\n")
    again = export_and_read(log, out, "csv")
    assert again.shots["pulled_on"].dt.strftime("%Y-%m-%d").tolist() == ["2026-03-07"] * 2
    require_same(log, again)


def test_what_was_typed_of_a_computed_quantity_stays_apart(read: Reader, out: Path) -> None:
    log = read("shot,dose_g,beverage_g,tds_pct,ey_pct\n1,18,36,10,21.5\n2,18,36,9,\n")
    again = export_and_read(log, out, "csv")
    assert again.shots["typed_ey_pct"].tolist()[:1] == [21.5]
    assert again.shots["ey_pct"].tolist() == [20.0, 18.0]


def test_a_computed_value_is_not_taken_for_typed(read: Reader, out: Path) -> None:
    log = read("shot,dose_g,beverage_g,tds_pct\n1,18,36,10\n")
    again = export_and_read(log, out, "csv")
    assert "ey_pct" in again.reading.files[0].header
    assert "typed_ey_pct" not in again.shots


def test_an_edited_cell_no_longer_fits_what_was_computed(read: Reader, out: Path) -> None:
    export_log(read("shot,dose_g,beverage_g,tds_pct\n1,18,36,10\n"), out / "copy.csv")
    text = corrected(out / "copy.csv", ("counted,18,", "counted,17,"))
    (out / "copy.csv").write_text(text, "utf-8")
    again = read_log(out / "copy.csv")
    assert again.shots["ey_pct"].tolist() == [pytest.approx(360 / 17)]
    assert {"ey_pct", "brew_ratio", "dose_g"} & set(again.flags["column"])


def test_a_row_added_to_an_export_is_read_as_any_row(read: Reader, out: Path) -> None:
    log = read("shot,pulled_at\n1,2026-03-07T10:00\n2,2026-03-07T10:08\n")
    export_log(log, out / "copy.csv")
    path = out / "copy.csv"
    head = path.read_text("utf-8-sig").splitlines()[0].split(",")
    row = [{"shot": "3", "pulled_at": "2026-03-07T10:20"}.get(name, "") for name in head]
    path.write_text(path.read_text("utf-8-sig") + ",".join(row) + "\n", "utf-8")
    again = read_log(path)
    assert again.shots["gap_min"].tolist()[1:] == [8.0, 12.0]


def test_a_long_gap_and_a_late_place_come_back(read: Reader, out: Path) -> None:
    rows = "".join(f"{at},2026-03-{1 + at // 400:02}T10:00,all\n" for at in range(600))
    log = read("shot,pulled_at,session\n" + rows)
    assert log.shots["gap_min"].max() > 600
    assert log.shots["position"].max() > 500
    again = export_and_read(log, out, "csv")
    require_same(log, again)
    assert again.set_aside.empty


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_is_guarded_in_text_and_comes_back(
    read: Reader, out: Path, formula: str
) -> None:
    log = read(written(["shot", "notes"], [("1", formula)]))
    export_log(log, out / "copy.csv")
    cells = pd.read_csv(out / "copy.csv", dtype=str, keep_default_na=False)
    assert cells.loc[0, "notes"] == f"'{formula}"
    assert cells.loc[0, "guarded"] == "notes"
    require_same(log, read_log(out / "copy.csv"))


def test_numbers_are_never_guarded(read: Reader, out: Path) -> None:
    export_log(read("shot;grind_setting\n1;-3.5\n2;+2\n"), out / "copy.csv")
    cells = pd.read_csv(out / "copy.csv", dtype=str, keep_default_na=False)
    assert cells["grind_setting"].tolist() == ["-3.5", "2"]
    assert cells["guarded"].tolist() == ["", ""]


@pytest.mark.parametrize("header", ["=1+1", "@x", "-x", "+x", "usable", "guarded", "typed_ey_pct"])
def test_a_header_is_safe_and_comes_back(read: Reader, out: Path, header: str) -> None:
    log = read(written(["shot", "dose_g", header], [("1", "18", "mine")]))
    export_log(log, out / "copy.csv")
    first = (out / "copy.csv").read_text("utf-8-sig").splitlines()[0]
    assert not re.search(r'(?:^|,)"?[=+\-@]', first)
    require_same(log, read_log(out / "copy.csv"))


@pytest.mark.parametrize("mark", [";", "\t", "\n"])
@pytest.mark.parametrize("formula", ["=1+1", " @sum(A1)", '"=1', "+cmd|'/C x'!A1"])
def test_no_cell_of_another_separator_begins_with_a_formula(
    read: Reader, out: Path, mark: str, formula: str
) -> None:
    log = read(written(["shot", "notes"], [("1", f"sweet{mark}{formula}")]))
    export_log(log, out / "copy.csv")
    row = (out / "copy.csv").read_text("utf-8-sig").split("\n", 1)[1]
    assert not re.search(rf"{re.escape(mark)}[\s\"']*[=@+]", row.rstrip("\n"))
    require_same(log, read_log(out / "copy.csv"))


def test_a_file_that_does_not_say_guarded_keeps_its_apostrophes(read: Reader) -> None:
    log = read("shot,notes\n1,'=1+1\n")
    assert log.shots["notes"].tolist() == ["'=1+1"]


def test_only_the_cells_that_are_named_lose_their_apostrophe(read: Reader) -> None:
    log = read("shot,bag,notes,guarded\n1,'=b,'=n,notes\n2,'=b,'=n,\n")
    assert log.shots["notes"].tolist() == ["=n", "'=n"]
    assert log.shots["bag"].tolist() == ["'=b", "'=b"]


def test_a_workbook_holds_no_formula(read: Reader, out: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    rows = [(str(at), formula) for at, formula in enumerate(FORMULAS)]
    log = read(written(["shot", "notes", "=header"], [(*row, "x") for row in rows]))
    export_log(log, out / "copy.xlsx")
    book = openpyxl.load_workbook(out / "copy.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n", "d", "b"}
    notes = {cell.value: cell.quotePrefix for cell in cells if cell.value in FORMULAS}
    assert notes["=1+1"] is True


def test_a_workbook_knows_numbers_and_days(read: Reader, out: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    log = read("shot,roasted_on,dose_g,notes\n007,2026-03-01,18.1,1E5\n")
    export_log(log, out / "copy.xlsx")
    sheet = openpyxl.load_workbook(out / "copy.xlsx")["shots"]
    cells = {head.value: cell for head, cell in zip(sheet[1], sheet[2], strict=True)}
    assert cells["dose_g"].value == 18.1
    assert cells["roasted_on"].value.date().isoformat() == "2026-03-01"
    assert (cells["shot"].value, cells["notes"].value) == ("007", "1E5")
    assert sheet.freeze_panes == "A2"


@pytest.mark.parametrize("form", FORMS)
def test_a_shot_that_looks_like_a_comment_comes_back(read: Reader, out: Path, form: str) -> None:
    log = read(written(["shot", "dose_g"], [("#1", "18"), ("#", "18.5"), ("2", "19")]))
    require_same(log, export_and_read(log, out, form))


def test_a_workbook_keeps_seventeen_figures(read: Reader, out: Path) -> None:
    log = read("shot,dose_g\n1,17.900000000000002\n2,18.099999999999998\n")
    require_same(log, export_and_read(log, out, "xlsx"))


def test_a_workbook_bears_no_time_of_day(read: Reader, out: Path) -> None:
    export_log(read("shot,dose_g\n1,18\n"), out / "copy.xlsx")
    packed = zipfile.ZipFile(io.BytesIO((out / "copy.xlsx").read_bytes()))
    assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_a_text_longer_than_a_cell_is_told(read: Reader, out: Path) -> None:
    log = read(written(["shot", "mood"], [("1", "x" * 40_000)]))
    with pytest.raises(NotWritableError, match="32,767 characters, and one under “mood” has"):
        export_log(log, out / "copy.xlsx")
    require_same(log, export_and_read(log, out, "csv"))


def test_a_workbook_that_could_not_be_read_again_is_told(
    read: Reader, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exporting_workbook, "_LARGEST_UNPACKED", 1000)
    with pytest.raises(NotWritableError, match="too large to be read again"):
        export_log(read("shot,dose_g\n1,18\n"), out / "copy.xlsx")
    assert list(out.iterdir()) == []


def test_the_limit_of_an_export_is_within_that_of_reading() -> None:
    assert exporting_workbook._LARGEST_PACKED <= workbook_safety._LARGEST_FILE
    assert exporting_workbook._LARGEST_UNPACKED < workbook_safety._LARGEST_UNPACKED


def test_the_sheet_a_bench_asks_for_is_the_one_written(read: Reader, out: Path) -> None:
    log = read("shot,dose_g\n1,18\n", bench=Bench(sheet="Season 2"))
    require_same(log, export_and_read(log, out, "xlsx"))


def test_parquet_columns_carry_kind_and_unit(read: Reader, out: Path) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    log = read("shot,pulled_at,roasted_on,dose_g,filtered\n1,2026-03-07T10:00,2026-03-01,18,yes\n")
    export_log(log, out / "copy.parquet")
    schema = parquet.read_schema(out / "copy.parquet")
    kinds = {name: str(schema.field(name).type) for name in schema.names}
    assert kinds["dose_g"] == "double"
    assert kinds["roasted_on"] == "date32[day]"
    assert kinds["filtered"] == "bool"
    assert kinds["pulled_at"] == "timestamp[us, tz=UTC]"
    assert schema.field("dose_g").metadata[b"unit"] == b"g"


def test_one_file_says_what_it_does_not_hold(root: Path, out: Path) -> None:
    log = read_log(root / "datasets" / "evening-class")
    (sentence,) = export_log(log, out / "copy.csv").left_out
    assert sentence.startswith("Not in this file: 306 tastings and 4 rows set aside.")


def test_a_column_can_be_left_out(read: Reader, out: Path) -> None:
    export_log(read(HEAD + "a,18,36,30,who knows\n"), out / "copy.csv", without=["notes"])
    assert "who knows" not in (out / "copy.csv").read_text("utf-8")


@pytest.mark.parametrize(("name", "reason"), [("mood", "no column 'mood'"), ("shot", "names")])
def test_what_cannot_be_left_out_is_told(read: Reader, out: Path, name: str, reason: str) -> None:
    with pytest.raises(UnknownNameError, match=reason):
        export_log(read("shot,dose_g\n1,18\n"), out / "copy.csv", without=[name])


def test_the_bench_comes_along_into_a_folder(tmp_path: Path, root: Path) -> None:
    bench = root / "datasets" / "evening-class" / "bench.toml"
    export_log(read_log(bench.parent), tmp_path / "out", bench_file=bench)
    assert (tmp_path / "out" / "bench.toml").read_bytes() == bench.read_bytes()


@pytest.mark.parametrize("form", ["csv", "xlsx", "parquet", "folder"])
def test_nothing_is_replaced_unasked(read: Reader, tmp_path: Path, form: str) -> None:
    log = read("shot,dose_g\n1,18\n")
    target = tmp_path / "out" if form == "folder" else tmp_path / f"copy.{form}"
    export_log(log, target)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    with pytest.raises(NotWritableError, match=r"there already.*--replace"):
        export_log(log, target)
    assert before == {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    export_log(log, target, replace=True)


def test_a_folder_with_another_log_is_refused(read: Reader, out: Path) -> None:
    (out / "shots-may.csv").write_text("shot\n1\n", "utf-8")
    with pytest.raises(NotWritableError, match=r"shots-may\.csv, which would be read together"):
        export_log(read("shot,dose_g\n1,18\n"), out, replace=True)


def test_an_unknown_ending_is_told(read: Reader, out: Path) -> None:
    with pytest.raises(NotWritableError, match=r"ends in \.ods, which is not written; end it in"):
        export_log(read("shot,dose_g\n1,18\n"), out / "copy.ods")


def test_a_file_of_the_log_is_never_written(tmp_path: Path) -> None:
    log, link = tmp_path / "shots.csv", tmp_path / "link.csv"
    log.write_text("shot\n1\n", "utf-8")
    link.hardlink_to(log)
    with pytest.raises(NotWritableError, match="is a file of the log itself"):
        refuse_place(link, [log], tmp_path)


@pytest.mark.parametrize("name", [".", "shots-copy.csv", "Tastings.xlsx"])
def test_a_place_that_would_be_read_with_the_log_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(NotWritableError, match=r"folder of the log|part of the log"):
        refuse_place(tmp_path / name, [tmp_path / "shots.csv"], tmp_path)


def test_any_other_name_beside_the_log_will_do(tmp_path: Path) -> None:
    refuse_place(tmp_path / "copy.csv", [tmp_path / "shots.csv"], tmp_path)


BAD = (
    "shot,dose_g,beverage_g,time_s,notes\n"
    "a,18,36,30,fine\n"
    "b,180,36,30,=1+1\n"
    "c,18,36,30,sweet, long\n"
    'd,18.5,36,30,"two\nlines"\n'
    "e,18 clicks,36,30,\n"
)


def corrected(path: Path, *changes: tuple[str, str]) -> str:
    """Return a file of rows set aside as a person would correct it in a spreadsheet."""
    text = path.read_text("utf-8-sig")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def test_rows_set_aside_are_mended_and_join_the_log(tmp_path: Path) -> None:
    log, mend = tmp_path / "log", tmp_path / "mend.csv"
    log.mkdir()
    (log / "shots.csv").write_text(BAD, "utf-8")
    export_set_aside(read_log(log), mend)
    whole = '"c,18,36,30,sweet, long"'
    split = f'{whole},c,18,36,30,"sweet, long"'
    text = corrected(mend, ("b,180,", "b,18.0,"), ("18 clicks", "18"), (f"{whole},,,,,", split))
    (log / "shots-corrected.csv").write_text(text, "utf-8")
    again = read_log(log)
    assert sorted(again.shots["shot"]) == ["a", "b", "c", "d", "e"]
    notes = dict(zip(again.shots["shot"], again.shots["notes"], strict=True))
    assert (notes["b"], notes["c"]) == ("=1+1", "sweet, long")
    assert again.reading.adds_up
    assert list(again.extras) == ["shot"]


def test_rows_read_again_before_they_are_mended_are_set_aside_again(tmp_path: Path) -> None:
    log = tmp_path / "log"
    log.mkdir()
    (log / "shots.csv").write_text(BAD, "utf-8")
    first = read_log(log)
    export_set_aside(first, tmp_path / "mend.csv")
    shutil.copy(tmp_path / "mend.csv", log / "shots-corrected.csv")
    again = read_log(log)
    assert len(again.shots) == len(first.shots)
    assert len(again.set_aside) == 2 * len(first.set_aside)


def test_a_row_that_cannot_be_split_stands_whole(read: Reader, out: Path) -> None:
    export_set_aside(read(BAD), out / "mend.csv")
    cells = pd.read_csv(out / "mend.csv", dtype=str, keep_default_na=False)
    row = cells[cells["set_aside_line"] == "4"].iloc[0]
    assert row["set_aside_raw"] == "c,18,36,30,sweet, long"
    assert row["shot"] == ""


def test_a_reason_and_a_suggestion_stand_before_the_cells(read: Reader, out: Path) -> None:
    export_set_aside(read(BAD), out / "mend.csv")
    cells = pd.read_csv(out / "mend.csv", dtype=str, keep_default_na=False)
    row = cells[cells["shot"] == "b"].iloc[0]
    assert row["dose_g"] == "180"
    assert row["set_aside_reason"] == "dose_g is 180 g, outside 5–30 g"
    assert "18.0?" in row["set_aside_suggestion"]


def test_headers_of_ones_own_are_kept_for_mending(tmp_path: Path) -> None:
    log = tmp_path / "log"
    log.mkdir()
    (log / "bench.toml").write_text('[columns]\n"In (g)" = "dose_g"\n', "utf-8")
    (log / "shots.csv").write_text("shot;In (g);=odd\n1;18,5;x\n2;185,5;y\n3;18,6;z\n", "utf-8")
    export_set_aside(read_log(log), tmp_path / "mend.csv")
    text = corrected(tmp_path / "mend.csv", (";2;185,5;", ";2;18,5;"))
    (log / "shots-corrected.csv").write_text(text, "utf-8")
    again = read_log(log)
    assert dict(zip(again.shots["shot"], again.shots["dose_g"], strict=True))["2"] == 18.5
    assert dict(zip(again.extras["shot"], again.extras["=odd"], strict=True))["2"] == "y"


def test_a_row_of_units_comes_along_for_mending(tmp_path: Path) -> None:
    log = tmp_path / "log"
    log.mkdir()
    rows = "shot,dose_g,temp_c\n,oz,°F\n1,0.63,199\n2,6.3,199\n"
    (log / "shots.csv").write_text(rows, "utf-8")
    export_set_aside(read_log(log), tmp_path / "mend.csv")
    text = corrected(tmp_path / "mend.csv", (",2,6.3,", ",2,0.63,"))
    (log / "shots-corrected.csv").write_text(text, "utf-8")
    shots = read_log(log).shots
    assert len(set(shots["dose_g"])) == len(set(shots["temp_c"])) == 1
    assert sorted(shots["shot"]) == ["1", "2"]


def test_rows_set_aside_can_be_mended_in_a_workbook(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    log = tmp_path / "log"
    log.mkdir()
    (log / "shots.csv").write_text(BAD, "utf-8")
    export_set_aside(read_log(log), tmp_path / "mend.xlsx")
    book = openpyxl.load_workbook(tmp_path / "mend.xlsx")
    sheet = book["shots"]
    place = {cell.value: cell.column for cell in sheet[1]}
    row = next(row[0].row for row in sheet.iter_rows() if row[place["shot"] - 1].value == "b")
    sheet.cell(row, place["dose_g"]).value = 18.0
    book.save(log / "shots-corrected.xlsx")
    assert "b" in read_log(log).shots["shot"].tolist()


def test_rows_under_different_headers_need_a_folder(tmp_path: Path) -> None:
    (tmp_path / "shots.csv").write_text("shot,dose_g\n1,18\n2,180\n", "utf-8")
    (tmp_path / "tastings.csv").write_text("shot,taster,overall\n1,t1,99\n", "utf-8")
    log = read_log(tmp_path)
    with pytest.raises(NotWritableError, match=r"2 different headers.*name a folder"):
        export_set_aside(log, tmp_path / "mend.csv")
    export = export_set_aside(log, tmp_path / "mend")
    assert [path.name for path, _ in export.files] == [
        "set-aside-shots.csv",
        "set-aside-tastings.csv",
    ]


def test_nothing_to_mend_is_told(read: Reader, out: Path) -> None:
    with pytest.raises(NotWritableError, match="nothing was set aside"):
        export_set_aside(read("shot,dose_g\n1,18\n"), out / "mend.csv")


def test_rows_of_an_export_set_aside_keep_their_formulas(tmp_path: Path) -> None:
    kept, out = tmp_path / "kept.csv", tmp_path / "copy.csv"
    kept.write_text(HEAD + "a,18,36,30,=1+1\n", "utf-8")
    export_log(read_log(kept), out)
    out.write_text(out.read_text("utf-8-sig").replace(",18,36,", ",180,36,"), "utf-8")
    export_set_aside(read_log(out), tmp_path / "mend.csv")
    cells = pd.read_csv(tmp_path / "mend.csv", dtype=str, keep_default_na=False)
    assert cells.loc[0, "notes"] == "'=1+1"
    assert list(cells.columns).count("guarded") == 1


def test_a_mended_row_counts_once_in_its_session(tmp_path: Path) -> None:
    rows = "a,18,36,30,\nb,180,36,30,\nc,18,36,31,\n"
    (tmp_path / "shots.csv").write_text(HEAD + rows, "utf-8")
    before = read_log(tmp_path).shots
    (tmp_path / "shots-corrected.csv").write_text(HEAD + "b,18.0,36,30,\n", "utf-8")
    after = read_log(tmp_path).shots
    assert dict(zip(before["shot"], before["position"], strict=True)) == {"a": 1, "c": 3}
    assert sorted(after["position"]) == [1, 2, 3]


def test_the_outcome_of_a_failed_pull_is_doubted_no_more_than_before(tmp_path: Path) -> None:
    path = tmp_path / "mine.csv"
    path.write_text("shot,fate,dose_g,beverage_g\n1,choked,18,3\n", encoding="utf-8")
    log = read_log(path)
    export_log(log, tmp_path / "copy.csv")
    again = read_log(tmp_path / "copy.csv", bench=log.bench)
    assert again.flags["reason"].tolist() == log.flags["reason"].tolist() != []
