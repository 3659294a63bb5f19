"""Parquet: every value is the text a person would type for it, or its row is set aside."""

from __future__ import annotations

import datetime as dt
import io
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldwright.bench import Bench
from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog.formats import parquet
from yieldwright.shotlog.formats.parquet import read_parquet
from yieldwright.shotlog.formats.source import Grid
from yieldwright.shotlog.formats.texts import Figure

pa = pytest.importorskip("pyarrow", reason="Parquet is an extra")
pq = pytest.importorskip("pyarrow.parquet", reason="Parquet is an extra")

DAY = dt.date(2026, 3, 7)
PULLED = dt.datetime(2026, 3, 7, 10, 25)  # noqa: DTZ001 - the file has none
HALF_PAST = dt.datetime(2026, 3, 7, 10, 25, 30, 500_000)  # noqa: DTZ001
MIDNIGHT = dt.datetime(2026, 3, 7)  # noqa: DTZ001


@dataclass(frozen=True)
class Trap:
    """One column of values, and the cells they must become.

    Attributes
    ----------
    name : str
        What the trap is.
    values : callable
        Returns the column.
    cells : list of str
        Expected texts; an unreadable cell shows a sign.
    figures : bool
        Whether the cells that hold something are numbers of the file.
    damaged : dict
        Part of the problem by row.
    remark : str
        Part of a remark.
    """

    name: str
    values: Callable[[], Any]
    cells: list[str]
    figures: bool = False
    damaged: dict[int, str] = field(default_factory=dict)
    remark: str = ""


def column(name: str, values: list[Any], kind: Any, cells: list[str], **more: Any) -> Trap:
    """Return a trap of a column whose values are given in Python."""
    return Trap(name, lambda: pa.array(values, type=kind), cells, **more)


def stored(name: str, values: list[Any], kind: Any, cells: list[str], **more: Any) -> Trap:
    """Return a trap of a column whose values are given as they are stored."""
    bits = pa.int32() if kind.bit_width == 32 else pa.int64()
    return Trap(name, lambda: pa.array(values, type=bits).view(kind), cells, **more)


NUMBERS = (
    column("whole numbers", [18, None, -1], pa.int64(), ["18", "", "-1"], figures=True),
    column("small whole numbers", [18, 127], pa.int8(), ["18", "127"], figures=True),
    column("the largest whole number", [2**64 - 1], pa.uint64(), [str(2**64 - 1)], figures=True),
    column(
        "floats",
        [18.1, 36.0, 0.1 + 0.2],
        pa.float64(),
        ["18.1", "36", "0.30000000000000004"],
        figures=True,
    ),
    column(
        "not a number is missing",
        [float("nan"), None, 1.5],
        pa.float64(),
        ["", "", "1.5"],
        figures=True,
    ),
    column("infinity", [float("inf"), float("-inf")], pa.float64(), ["inf", "-inf"], figures=True),
    column(
        "very large and very small",
        [1e15, 1e16, 1e300, 1e-6, 1e-7, 5e-324],
        pa.float64(),
        ["1000000000000000", "1e+16", "1e+300", "0.000001", "1e-07", "5e-324"],
        figures=True,
    ),
    column(
        "single precision",
        [18.1, 0.63, 36.0],
        pa.float32(),
        ["18.1", "0.63", "36"],
        figures=True,
        remark="“x” is stored to few digits, and read as the shortest number",
    ),
    Trap(
        "half precision",
        lambda: pa.array(np.array([18.1, 9.5], dtype=np.float16)),
        ["18.1", "9.5"],
        figures=True,
        remark="stored to few digits",
    ),
    column(
        "decimals keep their places",
        [Decimal("18.10"), None],
        pa.decimal128(6, 2),
        ["18.10", ""],
        figures=True,
    ),
    column(
        "wide decimals",
        [Decimal("1e-30")],
        pa.decimal256(60, 30),
        [f"0.{'0' * 29}1"],
        figures=True,
    ),
    column("coded numbers", [2, 1, 2], pa.int64(), ["2", "1", "2"], figures=True),
)

TEXTS = (
    column(
        "texts stay texts",
        ["007", "NA", "None", "1E5", " a ", "=1+1"],
        pa.string(),
        ["007", "NA", "None", "1E5", " a ", "=1+1"],
    ),
    column("a missing text", ["a", None, ""], pa.string(), ["a", "", ""]),
    column(
        "long texts", ["two\nlines", "x" * 5000], pa.large_string(), ["two\nlines", "x" * 5000]
    ),
    column("views of texts", ["café", None], pa.string_view(), ["café", ""]),
    Trap(
        "coded texts",
        lambda: pa.array(["a", None, "b", "a"]).dictionary_encode(),
        ["a", "", "b", "a"],
    ),
    Trap(
        "codes of eight bits that are all used",
        lambda: pa.DictionaryArray.from_arrays(
            pa.array([*range(128), None], pa.int8()), [f"t{at}" for at in range(128)]
        ),
        [*(f"t{at}" for at in range(128)), ""],
    ),
    Trap(
        "a text without end",
        lambda: pa.array(["x" * 1_000_001, "b"]),
        ["\ufffd", "b"],
        damaged={1: "“x” holds a text of 1,000,001 characters"},
    ),
    Trap(
        "a text that is not in UTF-8",
        lambda: pa.array([b"caf\xe9", b"ok", None]).view(pa.string()),
        ["\ufffd", "ok", ""],
        damaged={1: "“x” holds a text that is not in UTF-8"},
    ),
    column("yes and no", [True, False, None], pa.bool_(), ["yes", "no", ""]),
    column("nothing at all", [None, None], pa.null(), ["", ""]),
)

TIMES = (
    column("days", [DAY, None], pa.date32(), ["2026-03-07", ""]),
    column("days in milliseconds", [DAY], pa.date64(), ["2026-03-07"]),
    stored("a day no calendar has", [2**31 - 1, 0], pa.date32(), ["\ufffd", "1970-01-01"],
           damaged={1: "“x” holds a day that no calendar has"}),
    column("instants without zone", [PULLED, HALF_PAST, None], pa.timestamp("us"),
           ["2026-03-07T10:25", "2026-03-07T10:25:30.5", ""]),
    column("instants to the second", [PULLED.replace(second=5), MIDNIGHT], pa.timestamp("s"),
           ["2026-03-07T10:25:05", "2026-03-07T00:00"]),
    column("instants that are days", [MIDNIGHT, None], pa.timestamp("ns"), ["2026-03-07", ""]),
    stored("nanoseconds", [1_000_000_001], pa.timestamp("ns"), ["1970-01-01T00:00:01.000000001"]),
    stored("before the epoch", [-1, -60_000], pa.timestamp("ms"),
           ["1969-12-31T23:59:59.999", "1969-12-31T23:59"]),
    column("instants in a zone", [PULLED, MIDNIGHT], pa.timestamp("us", "Europe/Berlin"),
           ["2026-03-07T11:25+01:00", "2026-03-07T01:00+01:00"]),
    column("instants in UTC", [MIDNIGHT], pa.timestamp("ns", "UTC"), ["2026-03-07T00:00+00:00"]),
    column("instants at an offset", [PULLED], pa.timestamp("s", "-03:30"),
           ["2026-03-07T06:55-03:30"]),
    stored("an unknown zone", [0], pa.timestamp("s", "../Nowhere"), ["1970-01-01T00:00+00:00"],
           remark="the zone “../Nowhere” of “x” is not known; its times are in UTC"),
    stored("an instant no calendar has", [2**62, 60_000], pa.timestamp("ms"),
           ["\ufffd", "1970-01-01T00:01"], damaged={1: "a moment that no calendar has"}),
    column("a time of day", [dt.time(0, 36), dt.time(10, 25, 30, 500_000), None], pa.time64("us"),
           ["00:36:00", "10:25:30.5", ""]),
    column("a time of day in seconds", [dt.time(0, 36)], pa.time32("s"), ["00:36:00"]),
    stored("a time no day has", [86_400_000, 86_399_000], pa.time32("ms"),
           ["\ufffd", "23:59:59"], damaged={1: "a time that no day has"}),
    stored("durations", [36_000, 36_500, -500, None], pa.duration("ms"),
           ["36 s", "36.5 s", "-0.5 s", ""], figures=True),
)  # fmt: skip

TRAPS = (*NUMBERS, *TEXTS, *TIMES)

every_trap = pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.name)


def packed(table: Any, **options: Any) -> bytes:
    """Return a table as the bytes of a file."""
    file = io.BytesIO()
    pq.write_table(table, file, **options)
    return file.getvalue()


def read(folder: Path, content: Any, **options: Any) -> Grid:
    path = folder / "shots.parquet"
    path.write_bytes(content if isinstance(content, bytes) else packed(content, **options))
    return read_parquet(path, Bench())


def read_trap(folder: Path, trap: Trap) -> Grid:
    values = trap.values()
    rows = pa.array(range(len(values)))
    return read(folder, pa.table({"row": rows, "x": values}))


def refusal(folder: Path, content: Any) -> str:
    with pytest.raises(UnreadableLogError, match=r"shots\.parquet") as refused:
        read(folder, content)
    assert "\n" not in str(refused.value)
    return str(refused.value)


@every_trap
def test_cells_are_what_a_person_would_type(trap: Trap, tmp_path: Path) -> None:
    grid = read_trap(tmp_path, trap)
    assert [record.cells[1] for record in grid.records] == trap.cells


@every_trap
def test_numbers_of_the_file_are_told_from_texts(trap: Trap, tmp_path: Path) -> None:
    cells = [record.cells[1] for record in read_trap(tmp_path, trap).records]
    assert {isinstance(cell, Figure) for cell in cells if cell} <= {trap.figures}


@every_trap
def test_rows_with_an_unreadable_cell_are_set_aside(trap: Trap, tmp_path: Path) -> None:
    grid = read_trap(tmp_path, trap)
    damaged = {r.first_line: r.problem for r in grid.records if r.kind == "damaged"}
    assert list(damaged) == list(trap.damaged)
    assert all(part in damaged[line] for line, part in trap.damaged.items())


@every_trap
def test_how_a_column_is_read_is_remarked(trap: Trap, tmp_path: Path) -> None:
    remarks = " ".join(read_trap(tmp_path, trap).remarks)
    assert trap.remark in remarks
    assert bool(remarks) == bool(trap.remark)


def nested() -> dict[str, Any]:
    """Return columns whose cells are no single values, by what the trap is."""
    return {
        "lists": pa.array([[9.1, 9.3]]),
        "records": pa.array([{"sweet": 7}]),
        "maps": pa.array([[("a", 1)]], type=pa.map_(pa.string(), pa.int64())),
        "bytes": pa.array([b"\x89PNG"]),
        "bytes of one length": pa.array([b"ab"], type=pa.binary(2)),
        "coded bytes": pa.array([b"ab"]).dictionary_encode(),
    }


@pytest.mark.parametrize("name", list(nested()))
def test_cells_that_are_no_single_values_are_refused(name: str, tmp_path: Path) -> None:
    table = pa.table({"shot": ["1"], "x": nested()[name]})
    holds = "bytes" if "bytes" in name else "lists or records"
    said = refusal(tmp_path, table)
    assert said.startswith("shots.parquet has 1 column whose cells are no single values: ")
    assert f"“x” holds {holds}; drop them, or keep one text or number a cell" in said


def test_two_columns_of_one_name_are_refused(tmp_path: Path) -> None:
    table = pa.Table.from_arrays([pa.array(["1"]), pa.array([18.0])], names=["shot", "shot"])
    assert "more than one column of the name “shot”; which one counts" in refusal(tmp_path, table)


def test_a_table_without_columns_is_refused(tmp_path: Path) -> None:
    assert "has no columns" in refusal(tmp_path, pa.table({}))


def test_a_table_of_more_columns_than_a_log_has_is_refused(tmp_path: Path) -> None:
    table = pa.table({f"c{at}": [1] for at in range(501)})
    assert "has 501 columns, and a log has 500 at most" in refusal(tmp_path, table)


def test_a_small_file_that_claims_endless_rows_is_refused_unread(tmp_path: Path) -> None:
    zeros = pa.array(np.zeros(26_000_000, dtype=np.int8))
    said = refusal(tmp_path, pa.table({"a": zeros, "b": zeros}))
    assert "claims to hold 26,000,000 rows of 2 columns" in said


def test_a_small_file_that_unpacks_to_a_large_one_is_refused_unread(tmp_path: Path) -> None:
    table = pa.table({"notes": ["x" * 1_000_000] * 101})
    said = refusal(tmp_path, packed(table, compression="zstd", use_dictionary=False))
    assert "claims to unpack from 0.0 to 101 MB, far more than a log is" in said


def test_texts_that_many_rows_share_are_weighed_before_they_are_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parquet, "_MOST_UNPACKED", 50_000)
    table = pa.table({"notes": ["x" * 1000] * 1000})
    assert len(packed(table)) < 5_000
    assert "holds 1 million characters, far more than a log does" in refusal(tmp_path, table)


GOOD = {"shot": ["1", "2"], "dose_g": [18.1, 36.0]}
DAMAGED = {
    "nothing": lambda raw: b"",
    "the mark alone": lambda raw: b"PAR1",
    "the mark twice": lambda raw: b"PAR1PAR1",
    "cut short": lambda raw: raw[: len(raw) // 2],
    "the last byte lost": lambda raw: raw[:-1],
    "the beginning lost": lambda raw: raw[60:],
    "a length beyond the file": lambda raw: raw[:-8] + b"\xff\xff\xff\x7fPAR1",
    "a description of zeros": lambda raw: raw[:200] + bytes(len(raw) - 208) + raw[-8:],
    "pages of zeros": lambda raw: raw[:4] + bytes(100) + raw[104:],
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_file_is_refused_with_a_remedy(name: str, tmp_path: Path) -> None:
    said = refusal(tmp_path, DAMAGED[name](packed(pa.table(GOOD))))
    assert said.startswith("shots.parquet is damaged, cut short or no Parquet file (")
    assert said.endswith("); write the file again, or save the table as CSV")


def test_an_encrypted_file_is_refused_as_such(tmp_path: Path) -> None:
    assert "is encrypted; save it without" in refusal(tmp_path, b"PARE" + bytes(40) + b"PARE")


def test_fewer_rows_than_claimed_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parquet.Table, "__len__", lambda self: 1)
    assert "1 of 2 rows found" in refusal(tmp_path, pa.table(GOOD))


def test_without_the_library_the_remedy_is_its_installation(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = packed(pa.table(GOOD))
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    assert "pip install 'yieldwright[parquet]', or save the table as CSV" in refusal(tmp_path, raw)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableLogError, match=r"there is no .*shots\.parquet; check the path"):
        read_parquet(tmp_path / "shots.parquet", Bench())


def test_no_two_traps_share_a_name() -> None:
    names = [*(trap.name for trap in TRAPS), *nested(), *DAMAGED]
    assert len(names) == len(set(names)) >= 20


def test_the_columns_are_the_header_and_take_no_line(tmp_path: Path) -> None:
    grid = read(tmp_path, pa.table(GOOD))
    assert grid.header is not None
    assert grid.header[:2] == (0, 0)
    assert grid.header.cells == ["shot", "dose_g"]
    assert (grid.document.encoding, grid.document.line_count) == ("Parquet", 2)


def test_a_table_without_rows_keeps_its_header(tmp_path: Path) -> None:
    grid = read(tmp_path, pa.table(GOOD).slice(0, 0))
    assert grid.header is not None
    assert (grid.header.cells, list(grid.records)) == (["shot", "dose_g"], [])


def test_a_row_of_nothing_is_listed_as_blank(tmp_path: Path) -> None:
    grid = read(tmp_path, pa.table({"shot": ["1", None], "notes": ["", " "]}))
    assert [record.kind for record in grid.records] == ["row", "blank"]


def test_the_raw_text_of_a_row_is_a_line_of_csv(tmp_path: Path) -> None:
    grid = read(tmp_path, pa.table({"shot": ["a"], "notes": ["sweet, long"], "dose_g": [18.0]}))
    assert grid.records[0].raw == 'a,"sweet, long",18'


def test_row_numbers_of_a_data_frame_are_kept_and_told(tmp_path: Path) -> None:
    grid = read(tmp_path, pa.Table.from_pandas(pd.DataFrame(GOOD, index=[5, 3])))
    assert grid.records[1].cells == ["2", "36", "3"]
    assert grid.remarks == (
        "shots.parquet: “__index_level_0__” holds the row numbers of a data frame.",
    )


@pytest.mark.parametrize("options", [{"row_group_size": 7}, {"data_page_size": 64}, {}])
def test_groups_and_pages_do_not_matter(options: dict[str, int], tmp_path: Path) -> None:
    shots = [f"s{at}" for at in range(100)]
    grid = read(tmp_path, pa.table({"shot": shots, "bag": ["a", "b"] * 50}), **options)
    assert [record.cells for record in grid.records] == [
        [shot, "ab"[at % 2]] for at, shot in enumerate(shots)
    ]


@pytest.mark.parametrize("coded", [True, False])
def test_codes_and_blocks_do_not_matter(
    coded: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parquet, "_BATCH", 3)
    bags = ["a", None, "b", "a", "c", "c", "b", None]
    table = pa.table({"shot": range(8), "bag": bags})
    grid = read(tmp_path, table, use_dictionary=coded, row_group_size=5)
    assert [record.cells[1] for record in grid.records] == [bag or "" for bag in bags]


FLOATS = st.lists(st.floats(allow_nan=False), max_size=8)


@given(doses=FLOATS)
def test_a_number_is_given_back_to_the_last_bit(
    doses: list[float], tmp_path_factory: pytest.TempPathFactory
) -> None:
    grid = read(
        tmp_path_factory.getbasetemp(), pa.table({"dose_g": pa.array(doses, pa.float64())})
    )
    assert [float(record.cells[0]) for record in grid.records] == doses


@given(tenths=st.lists(st.integers(0, 99_999), min_size=1, max_size=8))
def test_single_precision_keeps_what_was_typed(
    tenths: list[int], tmp_path_factory: pytest.TempPathFactory
) -> None:
    typed = [f"{each // 100}.{each % 100:02}".rstrip("0").removesuffix(".") for each in tenths]
    values = pa.array([float(text) for text in typed], pa.float32())
    grid = read(tmp_path_factory.getbasetemp(), pa.table({"dose_g": values}))
    assert [record.cells[0] for record in grid.records] == typed


@given(raw=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(
    raw: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    for content in (raw, b"PAR1" + raw + b"PAR1"):
        refusal(tmp_path_factory.getbasetemp(), content)


WHOLE = {
    "shot": ["1", "2", "3"],
    "dose_g": [18.1, 36.0, None],
    "bag": ["a", "a", "b"],
    "pulled_at": [PULLED, None, HALF_PAST],
}


@given(
    hits=st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), min_size=1, max_size=4),
    packing=st.sampled_from(["snappy", "none", "zstd", "gzip"]),
)
def test_a_file_with_wrong_bytes_is_read_row_by_row_or_refused(
    hits: list[tuple[int, int]], packing: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    raw = bytearray(packed(pa.table(WHOLE), compression=packing))
    for at, byte in hits:
        raw[at % len(raw)] = byte
    try:
        grid = read(tmp_path_factory.getbasetemp(), bytes(raw))
    except UnreadableLogError:
        return
    assert grid.header is not None
    assert [r.first_line for r in grid.records] == [*range(1, grid.document.line_count + 1)]
    assert {len(r.cells) for r in grid.records} <= {len(grid.header.cells)}
