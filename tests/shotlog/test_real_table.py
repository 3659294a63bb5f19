"""One published table in five dialects and as a workbook: always the same 162 batches.

Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H. JSON lines and Parquet have their
turn in `test_same_log`.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from pandas.testing import assert_frame_equal

from tests.shotlog.workbooks import workbook
from yieldwright.bench import Bench, read_bench
from yieldwright.shotlog import ShotLog, read_log

NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
Cells = list[list[str]]


def delimited(
    delimiter: str = ",",
    decimal: str = ".",
    encoding: str = "utf-8",
    end: str = "\n",
    quoting: int = csv.QUOTE_MINIMAL,
) -> Callable[[Cells], bytes]:
    """Return what writes cells in one dialect."""

    def write(cells: Cells) -> bytes:
        text = io.StringIO()
        writer = csv.writer(  # type: ignore[call-overload]
            text, delimiter=delimiter, lineterminator=end, quoting=quoting
        )
        for row in cells:
            writer.writerow(
                [cell.replace(".", decimal) if NUMBER.fullmatch(cell) else cell for cell in row]
            )
        return text.getvalue().encode(encoding)

    return write


def as_workbook(cells: Cells) -> bytes:
    """Return cells as a workbook in which numbers are stored as numbers."""
    return workbook(
        [[float(cell) if NUMBER.fullmatch(cell) else cell for cell in row] for row in cells]
    )


WAYS: dict[str, tuple[str, Callable[[Cells], bytes]]] = {
    "commas and decimal points": (".csv", delimited()),
    "semicolons and decimal commas": (".csv", delimited(";", ",", "utf-8-sig", "\r\n")),
    "tabs and carriage returns": (".tsv", delimited("\t", end="\r")),
    "UTF-16": (".txt", delimited("\t", ",", "utf-16", "\r\n")),
    "Windows-1252, all cells in quotes": (
        ".csv",
        delimited(",", ",", "cp1252", quoting=csv.QUOTE_ALL),
    ),
    "a workbook": (".xlsx", as_workbook),
}


@pytest.fixture(scope="module")
def bench() -> Bench:
    """Return the bench that maps the headers of the published table."""
    return read_bench(Path(__file__).parent / "benches" / "brews.toml")


@pytest.fixture(scope="module")
def published(reference: Path, bench: Bench) -> ShotLog:
    """Return the published table as a log."""
    return read_log(reference / "brews" / "cotter_162_brews.csv", bench=bench)


@pytest.fixture(params=WAYS)
def saved(
    request: pytest.FixtureRequest, reference: Path, bench: Bench, tmp_path: Path
) -> ShotLog:
    """Return the table as it is read once saved in another way."""
    text = (reference / "brews" / "cotter_162_brews.csv").read_text(encoding="utf-8")
    ending, write = WAYS[request.param]
    path = tmp_path / f"shots{ending}"
    path.write_bytes(write(list(csv.reader(io.StringIO(text)))))
    return read_log(path, bench=bench)


def test_all_batches_are_accepted(saved: ShotLog) -> None:
    assert (len(saved.shots), len(saved.set_aside)) == (162, 0)
    assert saved.reading.lines_read == 163
    assert saved.reading.adds_up


def test_the_tables_are_those_of_the_published_file(saved: ShotLog, published: ShotLog) -> None:
    assert_frame_equal(saved.shots.drop(columns="file"), published.shots.drop(columns="file"))
    assert_frame_equal(saved.tastings, published.tastings)
    told = ["shot", "column", "reason"]
    assert_frame_equal(saved.flags[told], published.flags[told])


def test_columns_that_are_not_recognised_are_kept(saved: ShotLog, published: ShotLog) -> None:
    assert list(saved.extras) == list(published.extras)
