"""A workbook is read cell by cell as a person sees it, every row of it accounted for."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.shotlog.hostile_workbooks import HOSTILE, Refusal
from tests.shotlog.workbook_traps import CELLS, SHEETS, Shown, one_cell
from tests.shotlog.workbooks import (
    SHOTS,
    Cell,
    number,
    packed,
    parts,
    several,
    sheet_xml,
    workbook,
)
from yieldwright.bench import Bench, read_bench
from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog import read_log
from yieldwright.shotlog.formats.source import Grid
from yieldwright.shotlog.formats.texts import Figure
from yieldwright.shotlog.workbooks.workbook import list_sheets, read_workbook


def grid(path: Path, content: bytes, table: Any = "shots", bench: Bench | None = None) -> Grid:
    """Return a workbook as records."""
    path.write_bytes(content)
    return read_workbook(path, table, bench or Bench())


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Return where a test puts its workbook."""
    return tmp_path / "shots.xlsx"


@pytest.mark.parametrize("shown", CELLS, ids=lambda shown: shown.name)
def test_a_cell_is_the_text_a_person_sees(shown: Shown, book: Path) -> None:
    records = grid(book, one_cell(shown.stored)).records
    assert records[1].cells[0] == shown.text


@pytest.mark.parametrize("refusal", HOSTILE, ids=lambda refusal: refusal.name)
def test_harm_and_damage_are_refused_with_their_remedy(refusal: Refusal, book: Path) -> None:
    book.write_bytes(refusal.build())
    with pytest.raises(UnreadableLogError, match=r"^shots\.xlsx") as refused:
        read_workbook(book, "shots", Bench())
    assert refusal.reason in str(refused.value)
    assert refusal.remedy in str(refused.value)


def test_no_two_cases_share_a_name() -> None:
    names = [each.name for each in (*CELLS, *SHEETS, *HOSTILE)]
    assert len(names) == len(set(names)) >= 150


@pytest.mark.parametrize(
    "stored", [18, 18.5, number("0.091", "percent"), number("0.63", "ounces")]
)
def test_a_stored_number_is_told_from_a_written_one(stored: Any, book: Path) -> None:
    assert isinstance(grid(book, one_cell(stored)).records[1].cells[0], Figure)


@pytest.mark.parametrize("stored", ["18", "18,5", number("0.025", "clock")])
def test_a_text_or_a_time_is_no_stored_number(stored: Any, book: Path) -> None:
    assert not isinstance(grid(book, one_cell(stored)).records[1].cells[0], Figure)


def test_the_file_is_left_as_it_was(book: Path) -> None:
    content = workbook(SHOTS)
    grid(book, content)
    assert book.read_bytes() == content
    assert [each.name for each in book.parent.iterdir()] == ["shots.xlsx"]


@pytest.mark.parametrize("library", ["openpyxl", "defusedxml"])
def test_a_workbook_is_read_without_a_library_for_workbooks(
    library: str, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    assert len(grid(book, workbook(SHOTS)).records) == 3


@pytest.mark.parametrize("name", ["shots.csv", "shots.xlsx", "shots"])
def test_content_counts_and_not_the_name(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(workbook(SHOTS))
    assert read_log(path).shots["shot"].tolist() == ["a", "b"]


def test_text_in_a_file_named_like_a_workbook_is_read_as_text(book: Path) -> None:
    book.write_bytes(b"shot,dose_g\na,18\n")
    assert read_log(book).shots["shot"].tolist() == ["a"]


def test_the_bench_names_the_sheet(book: Path) -> None:
    content = several({"shots": [["shot"], ["x"]], "June": SHOTS})
    assert len(grid(book, content, bench=Bench(sheet="june")).records) == 3


def test_the_bench_may_name_a_hidden_sheet(book: Path) -> None:
    content = several({"May": SHOTS, "June": SHOTS[:2]}, June="hidden")
    read = grid(book, content, bench=Bench(sheet="June"))
    assert len(read.records) == 2
    assert any("“June” is hidden; it was asked for" in remark for remark in read.remarks)


def test_a_sheet_that_is_not_there_is_answered_with_those_that_are(book: Path) -> None:
    with pytest.raises(UnreadableLogError, match=r"no sheet “July”.*holds “May” and “June”"):
        grid(book, several({"May": SHOTS, "June": SHOTS}), bench=Bench(sheet="July"))


def test_a_sheet_asked_for_may_not_be_empty(book: Path) -> None:
    with pytest.raises(UnreadableLogError, match="“June” is empty; its first row must name"):
        grid(book, several({"May": SHOTS, "June": []}), bench=Bench(sheet="June"))


def test_tastings_stand_on_a_sheet_of_their_name(book: Path) -> None:
    tasted = [["shot", "taster", "overall"], ["a", "T1", 7]]
    content = several({"May": SHOTS, "Tastings": tasted})
    assert len(grid(book, content, "tastings", Bench(sheet="May")).records) == 2


def test_a_workbook_of_shots_holds_no_tastings_unless_a_sheet_says_so(book: Path) -> None:
    with pytest.raises(UnreadableLogError, match="no sheet named tastings"):
        grid(book, several({"May": SHOTS}), "tastings")


def test_a_workbook_named_tastings_holds_them(tmp_path: Path) -> None:
    path = tmp_path / "tastings.xlsx"
    assert len(grid(path, several({"Sheet1": SHOTS}), "tastings").records) == 3


def test_the_sheets_shown_are_listed(book: Path) -> None:
    book.write_bytes(several({"May": SHOTS, "June": [], "July": []}, June="hidden"))
    assert list_sheets(book) == ("May", "July")


def test_all_rows_have_the_width_of_the_table(book: Path) -> None:
    read = grid(book, workbook([["shot", "dose_g"], ["a"], [], ["b", 18, "x"]]))
    assert [len(record.cells) for record in read.records if record.kind == "row"] == [3, 3, 3]


def test_the_number_of_a_row_is_that_of_the_sheet(book: Path) -> None:
    read = grid(book, workbook({4: ["shot"], 9: ["a"]}))
    assert [record.first_line for record in read.records] == list(range(1, 10))
    assert read.document.line_count == 9


def stored(text: str) -> Any:
    """Return what a spreadsheet stores where a person types a text."""
    return Cell(f"<v>{text}</v>") if re.fullmatch(r"-?[0-9]+(?:[.][0-9]+)?", text) else text


def test_the_published_brews_read_the_same_as_a_workbook(reference: Path, book: Path) -> None:
    """Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H: 162 batches."""
    published = reference / "brews" / "cotter_162_brews.csv"
    bench = read_bench(Path(__file__).parent / "benches" / "brews.toml")
    with published.open(newline="", encoding="utf-8") as lines:
        book.write_bytes(workbook([list(map(stored, row)) for row in csv.reader(lines)]))
    as_text, as_book = read_log(published, bench=bench), read_log(book, bench=bench)
    assert len(as_book.shots) == 162
    for table in ("shots", "tastings", "extras"):
        # a column kept as text shows that a spreadsheet forgets the zero of 87.0
        expected = getattr(as_text, table).replace(r"\.0$", "", regex=True)
        found = getattr(as_book, table)
        pd.testing.assert_frame_equal(
            found.drop(columns="file", errors="ignore"),
            expected.drop(columns="file", errors="ignore"),
            check_exact=True,
        )


FIRST_MOMENT = dt.datetime.fromisoformat("1901-01-01")
STORED = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False).map(lambda value: float(f"{value:.16g}")),
    st.integers(-(10**15), 10**15),
    st.text(
        st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="_\ufffe\uffff"),
        max_size=20,
    ),
    st.booleans(),
    st.integers(0, 6_000_000_000).map(lambda seconds: FIRST_MOMENT + dt.timedelta(0, seconds)),
    st.none(),
)


def as_text(value: object) -> str:
    """Return what must stand in the cell of a value."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return value.isoformat(timespec="seconds" if value.second else "minutes")
    return str(value)


def is_same_cell(text: str, value: object) -> bool:
    """Return whether a text stands for a value; numbers need to be equal to the last bit."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return isinstance(text, Figure) and float(text) == value
    return text == as_text(value)


@given(rows=st.lists(st.lists(STORED, min_size=3, max_size=3), max_size=6))
def test_what_the_usual_library_writes_is_read_to_the_last_bit(
    rows: list[list[Any]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Reference engine: openpyxl, which shares no code with ours and writes sixteen digits."""
    made = openpyxl.Workbook()
    for at, row in enumerate([["x", "y", "z"], *rows], start=1):
        made.active.cell(at, 1).value = "shot"
        for column, value in enumerate(row, start=2):
            made.active.cell(at, column).value = value
            if isinstance(value, str):
                made.active.cell(at, column).data_type = "s"
    raw = io.BytesIO()
    made.save(raw)
    read = grid(tmp_path_factory.mktemp("made") / "shots.xlsx", raw.getvalue())
    for record, row in zip(read.records[1:], rows, strict=True):
        assert all(map(is_same_cell, record.cells[1:], row))


DAMAGE = st.lists(
    st.tuples(
        st.floats(0, 1, exclude_max=True),
        st.integers(0, 9),
        st.one_of(st.binary(max_size=3), st.sampled_from([b"<c>", b"</row>", b"<v>", b'r="A1"'])),
    ),
    min_size=1,
    max_size=4,
)


def damaged(raw: bytes, damage: list[tuple[float, int, bytes]]) -> bytes:
    """Return bytes with some of them replaced, here and there."""
    changed = bytearray(raw)
    for where, taken, put in damage:
        start = int(where * len(changed))
        changed[start : start + taken] = put
    return bytes(changed)


def rows_or_refusal(path: Path, content: bytes) -> list[int]:
    """Return the numbers of the rows read; none where the file is refused."""
    try:
        return [record.first_line for record in grid(path, content).records]
    except UnreadableLogError:
        return []


@given(damage=DAMAGE)
def test_a_damaged_file_is_read_row_by_row_or_refused(
    damage: list[tuple[float, int, bytes]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("damaged") / "shots.xlsx"
    found = rows_or_refusal(path, damaged(workbook(SHOTS), damage))
    assert found == list(range(1, len(found) + 1))


@given(damage=DAMAGE, part=st.sampled_from(sorted(parts(sheet_xml(SHOTS)))))
def test_a_damaged_part_is_read_row_by_row_or_refused(
    damage: list[tuple[float, int, bytes]], part: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("damaged") / "shots.xlsx"
    content = {name: str(xml).encode() for name, xml in parts(sheet_xml(SHOTS)).items()}
    content[part] = damaged(content[part], damage)
    found = rows_or_refusal(path, packed(content))
    assert found == list(range(1, len(found) + 1))
