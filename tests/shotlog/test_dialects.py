"""However a log is written, the tables are the same."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.shotlog.conftest import Reader
from yieldwright.bench import Bench
from yieldwright.shotlog import ShotLog, read_log

HEAD = ["shot", "pulled_at", "bag", "dose_g", "beverage_g", "tds_1_pct", "tds_2_pct", "notes"]
DELIMITERS = [",", ";", "\t"]
ENDS = ["\n", "\r\n", "\r"]

plain_text = st.text(
    st.characters(exclude_characters="\r", exclude_categories=["Cs"]), max_size=12
)


def tenths(low: int, high: int) -> st.SearchStrategy[str]:
    """Return numbers with one decimal."""
    return st.integers(10 * low, 10 * high).map(lambda tenth: f"{tenth / 10:.1f}")


weights = (tenths(15, 20), tenths(25, 45), tenths(6, 12), tenths(6, 12))
rows = st.lists(st.tuples(plain_text, *weights, plain_text), min_size=1, max_size=5)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where a log is written again and again."""
    return tmp_path_factory.mktemp("variants") / "shots.csv"


def table(drawn: list[tuple[str, ...]]) -> list[list[str]]:
    """Return the rows of a log, one pull every ten minutes."""
    return [
        [f"s{at}", f"2026-03-07T10:{at}0", bag, dose, beverage, first, second, note]
        for at, (bag, dose, beverage, first, second, note) in enumerate(drawn)
    ]


def written(
    cells: list[list[str]], *, delimiter: str = ",", decimal: str = ".", end: str = "\n"
) -> str:
    """Return a log as a spreadsheet would write it."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end)
    writer.writerow(HEAD)
    for row in cells:
        numbers = [cell.replace(".", decimal) for cell in row[3:7]]
        texts = [cell.replace("\n", end) for cell in (*row[:3], row[7])]
        writer.writerow([*texts[:3], *numbers, texts[3]])
    return out.getvalue()


def same_tables(first: ShotLog, second: ShotLog) -> None:
    for name in ("shots", "set_aside", "flags", "extras"):
        pd.testing.assert_frame_equal(getattr(first, name), getattr(second, name))


ways_of_writing = st.fixed_dictionaries(
    {
        "delimiter": st.sampled_from(DELIMITERS),
        "decimal": st.sampled_from(",."),
        "end": st.sampled_from(ENDS),
    }
)


@settings(max_examples=60)
@given(rows, ways_of_writing, st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
def test_separators_marks_and_line_ends_do_not_matter(
    path: Path, drawn: list[tuple[str, ...]], way: dict[str, str], encoding: str
) -> None:
    cells = table(drawn)
    path.write_bytes(written(cells).encode())
    plain = read_log(path)
    path.write_bytes(written(cells, **way).encode(encoding))
    same_tables(plain, read_log(path))


@settings(max_examples=60)
@given(rows)
def test_cells_are_what_was_written(path: Path, drawn: list[tuple[str, ...]]) -> None:
    cells = table(drawn)
    path.write_bytes(written(cells).encode())
    shots = read_log(path).shots
    assert shots["dose_g"].tolist() == [float(row[3]) for row in cells]
    kept = [row[7].replace("\r\n", "\n") if row[7].strip() else None for row in cells]
    assert [None if pd.isna(note) else note for note in shots["notes"]] == kept


@settings(max_examples=30)
@given(rows, st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(
    path: Path, drawn: list[tuple[str, ...]], random: Any
) -> None:
    cells = table(drawn)
    path.write_bytes(written(cells).encode())
    sorted_log = read_log(path)
    random.shuffle(cells)
    path.write_bytes(written(cells).encode())
    shuffled = read_log(path).shots.sort_values("shot", ignore_index=True)
    where = ["line", "line_count"]
    pd.testing.assert_frame_equal(
        shuffled.drop(columns=where), sorted_log.shots.drop(columns=where)
    )


def test_the_dialect_is_reported(read: Reader) -> None:
    (file,) = read("shot;dose_g\n1;18,5\n").reading.files
    assert (file.encoding, file.delimiter, file.decimal) == ("UTF-8", "semicolon", "comma")


def test_a_bench_may_force_delimiter_and_decimals(read: Reader) -> None:
    bench = Bench(delimiter="semicolon", decimal="comma")
    log = read("shot;dose_g\n1;18\n2;17.5\n", bench=bench)
    assert log.reading.files[0].decimal == "comma"
    assert log.set_aside["suggestion"].tolist() == ["17.5 → 17,5?"]


def test_headers_of_the_bench_win(read: Reader) -> None:
    bench = Bench(columns={"#": "shot", "Kaffee (g)": "dose_g", "Urteil": "score:overall"})
    log = read("#;Kaffee (g);Urteil\n1;18,5;7\n", bench=bench)
    assert log.shots["dose_g"].tolist() == [18.5]
    assert log.tastings["score"].tolist() == [7.0]


def test_columns_not_recognised_are_kept_as_text(read: Reader) -> None:
    log = read("shot,mood,dose_g\n1,007,18\n2,,18.1\n")
    assert log.extras["mood"].fillna("missing").tolist() == ["007", "missing"]
    assert log.extras["shot"].tolist() == ["1", "2"]
