"""One log, whatever the format it is kept in, becomes one table."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from yieldwright.bench import Bench
from yieldwright.bench.reading import read_bench
from yieldwright.shotlog import ShotLog, read_log

BENCH = Path(__file__).parent / "benches" / "brews.toml"
NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")

Cells = list[dict[str, str]]


def as_texts(cells: Cells) -> bytes:
    """Return rows as JSON lines in which every cell is a text."""
    return "\n".join(json.dumps(row, ensure_ascii=False) for row in cells).encode()


def as_numbers(cells: Cells) -> bytes:
    """Return rows as JSON lines in which numbers are bare and empty cells left out."""
    lines = []
    for row in cells:
        pairs = [
            f"{json.dumps(name)}: {cell if NUMBER.fullmatch(cell) else json.dumps(cell)}"
            for name, cell in row.items()
            if cell
        ]
        lines.append(f"{{{', '.join(pairs)}}}")
    return "\r\n".join(lines).encode()


def as_utf16(cells: Cells) -> bytes:
    """Return rows as JSON lines in UTF-16."""
    return as_texts(cells).decode().encode("utf-16")


def as_text_columns(cells: Cells) -> bytes:
    """Return rows as Parquet in which every column is text."""
    pytest.importorskip("pyarrow", reason="Parquet is an extra")
    packed: bytes = pd.DataFrame(cells).to_parquet(index=False)
    return packed


def as_typed_columns(cells: Cells) -> bytes:
    """Return rows as Parquet in which columns of numbers are numbers."""
    pytest.importorskip("pyarrow", reason="Parquet is an extra")
    table = pd.DataFrame(cells)
    for name in table:
        if all(NUMBER.fullmatch(cell) for cell in table[name] if cell):
            table[name] = pd.to_numeric(table[name].replace("", None))
    packed: bytes = table.to_parquet(index=False)
    return packed


FORMATS: dict[str, tuple[str, Callable[[Cells], bytes]]] = {
    "JSON lines of texts": (".jsonl", as_texts),
    "JSON lines of numbers": (".ndjson", as_numbers),
    "JSON lines in UTF-16": (".jsonl", as_utf16),
    "Parquet of texts": (".parquet", as_text_columns),
    "Parquet of numbers": (".parquet", as_typed_columns),
}

every_format = pytest.mark.parametrize("name", FORMATS)


def without_places(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table without the places of its rows, which each format counts its own way."""
    return table.drop(columns=["file", "line", "line_count"], errors="ignore")


def rewritten(source: Path, folder: Path, name: str, bench: Bench) -> ShotLog:
    """Return the log of a CSV file as it is read from another format."""
    with source.open(encoding="utf-8", newline="") as file:
        cells = [
            row for row in csv.DictReader(file) if None not in row and None not in row.values()
        ]
    ending, write = FORMATS[name]
    path = folder / f"shots{ending}"
    path.write_bytes(write(cells))
    return read_log(path, bench=bench)


@every_format
def test_the_published_brews_read_the_same(name: str, reference: Path, tmp_path: Path) -> None:
    source, bench = reference / "brews" / "cotter_162_brews.csv", read_bench(BENCH)
    log = rewritten(source, tmp_path, name, bench)
    assert log.set_aside.empty
    assert log.reading.adds_up
    as_csv = read_log(source, bench=bench)
    assert_frame_equal(without_places(log.shots), without_places(as_csv.shots))


MESS = """shot,dose_g,beverage_g,time_s,bag,filtered,pulled_at,tds_pct,notes
007,18.10,36,0:36,NA,yes,2026-03-07T10:25+01:00,9.4,"sweet, long"
008,0.63 oz,~36,30,1E5,no,2026-03-07T10:32+01:00,9%,=1+1
009,180,36,30,x,,2026-03-07T10:40+01:00,9.4,
010,18,36 mL,30,x,,2026-03-07T10:47+01:00,9.4,
011,18,36,0:36:00,x,,2026-03-07T10:53+01:00,,
012,18,36,31,x,maybe,2026-03-07T10:59+01:00,,
013,18,36,31,x,,03/04/2026,,
014,17.9-18.1,36±0.5,31,x,,2026-03-07T11:09+01:00,n/a,"two
lines"
"""


@every_format
def test_a_log_with_every_kind_of_cell_reads_the_same(name: str, tmp_path: Path) -> None:
    source = tmp_path / "mess.csv"
    source.write_text(MESS, encoding="utf-8")
    as_csv = read_log(source)
    log = rewritten(source, tmp_path, name, Bench())
    assert log.reading.adds_up
    assert_frame_equal(without_places(log.shots), without_places(as_csv.shots))
    told = ["reason", "suggestion"]
    assert_frame_equal(log.set_aside[told], as_csv.set_aside[told])
    assert_frame_equal(without_places(log.flags), without_places(as_csv.flags))
