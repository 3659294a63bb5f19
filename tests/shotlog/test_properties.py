"""Whatever the log: files, units, formats and the order of columns change nothing in it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from tests.shotlog.workbooks import workbook
from yieldwright.shotlog import ShotLog, read_log

HEAD = ("shot", "session", "pulled_at", "bag", "barista", "dose_g", "beverage_g", "tds_pct")
HEAD = (*HEAD, "overall", "notes")
NUMBERS = ("dose_g", "beverage_g", "tds_pct", "overall")

#: What a cell of every format may hold: no sign that XML forbids, no line end but \n.
words = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\t"), max_size=12
)
names = words.map(lambda text: " ".join(text.split()))


def tenths(low: int, high: int) -> st.SearchStrategy[str]:
    """Return numbers with one decimal."""
    return st.integers(10 * low, 10 * high).map(lambda tenth: f"{tenth / 10:.1f}")


@st.composite
def logs(draw: st.DrawFn) -> list[list[str]]:
    """Return the rows of a log; now and then one that has to be set aside."""
    rows = []
    for at in range(draw(st.integers(1, 6))):
        dose = draw(st.one_of(tenths(14, 22), tenths(14, 22), st.just("eighteen")))
        weights = [dose, draw(tenths(25, 60)), draw(tenths(6, 9))]
        score = draw(st.sampled_from(["", "6.5", "7.0"]))
        texts = [draw(names), draw(st.sampled_from(["", "b1", "007"]))]
        when = [f"s{at}", "one sitting", f"2026-03-07T10:{at}5"]
        rows.append([*when, *texts, *weights, score, draw(words)])
    return rows


def as_csv(rows: Sequence[Sequence[str]], head: Sequence[str] = HEAD, **looks: Any) -> str:
    """Return rows as comma separated text."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n", **looks)
    writer.writerows([head, *rows])
    return text.getvalue()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where logs are written again and again."""
    return tmp_path_factory.mktemp("properties")


def read_from(folder: Path, files: dict[str, str | bytes]) -> ShotLog:
    """Return the log of a folder that holds nothing but these files."""
    for old in folder.iterdir():
        old.unlink()
    for name, content in files.items():
        raw = content if isinstance(content, bytes) else content.encode()
        (folder / name).write_bytes(raw)
    return read_log(folder)


def require_same(first: ShotLog, second: ShotLog) -> None:
    """Compare all tables, but for the places of rows and how their cells were typed."""
    places = ["file", "line", "line_count"]
    assert_frame_equal(first.shots.drop(columns=places), second.shots.drop(columns=places))
    assert_frame_equal(first.tastings, second.tastings)
    assert_frame_equal(first.extras, second.extras)
    assert first.set_aside["reason"].tolist() == second.set_aside["reason"].tolist()
    told = ["shot", "column", "reason"]
    assert_frame_equal(first.flags[told], second.flags[told])


@settings(max_examples=15)
@given(logs(), st.lists(st.integers(0, 6), max_size=3))
def test_a_log_split_into_files_is_the_same_log(
    folder: Path, rows: list[list[str]], cuts: list[int]
) -> None:
    whole = read_from(folder, {"shots.csv": as_csv(rows)})
    ends = [0, *sorted(cuts), len(rows)]
    parts = [rows[start:end] for start, end in pairwise(ends)]
    split = read_from(folder, {f"shots-{at}.csv": as_csv(part) for at, part in enumerate(parts)})
    require_same(whole, split)


@settings(max_examples=15)
@given(logs(), st.permutations(range(len(HEAD))))
def test_the_order_of_columns_does_not_matter(
    folder: Path, rows: list[list[str]], order: list[int]
) -> None:
    first = read_from(folder, {"shots.csv": as_csv(rows)})
    moved = as_csv([[row[at] for at in order] for row in rows], [HEAD[at] for at in order])
    require_same(first, read_from(folder, {"shots.csv": moved}))


@settings(max_examples=15)
@given(logs(), st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC]))
def test_quotes_around_every_cell_do_not_matter(
    folder: Path, rows: list[list[str]], quoting: int
) -> None:
    first = read_from(folder, {"shots.csv": as_csv(rows)})
    require_same(first, read_from(folder, {"shots.csv": as_csv(rows, quoting=quoting)}))


@settings(max_examples=15)
@given(logs(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter_to_any_table(
    folder: Path, rows: list[list[str]], random: Any
) -> None:
    first = read_from(folder, {"shots.csv": as_csv(rows)})
    shuffled = list(rows)
    random.shuffle(shuffled)
    second = read_from(folder, {"shots.csv": as_csv(shuffled)})
    places = ["file", "line", "line_count"]
    assert_frame_equal(
        by_shot(first.shots.drop(columns=places)), by_shot(second.shots.drop(columns=places))
    )
    assert_frame_equal(by_shot(first.tastings), by_shot(second.tastings))
    assert sorted(first.set_aside["reason"]) == sorted(second.set_aside["reason"])
    assert sorted(first.flags["reason"]) == sorted(second.flags["reason"])


def by_shot(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in the order of the names of its shots."""
    return table.sort_values("shot", ignore_index=True, kind="stable")


def stored(name: str, cell: str) -> Any:
    """Return a cell as a program would store it."""
    if name in NUMBERS and cell.replace(".", "").isdigit():
        return float(cell)
    return cell or None


def as_json(rows: Sequence[Sequence[str]]) -> bytes:
    """Return rows as JSON lines, numbers as numbers."""
    return "\n".join(
        json.dumps({name: stored(name, cell) for name, cell in zip(HEAD, row, strict=True)})
        for row in rows
    ).encode()


def as_workbook(rows: Sequence[Sequence[str]]) -> bytes:
    """Return rows as a workbook, numbers as numbers."""
    return workbook([HEAD, *([*map(stored, HEAD, row)] for row in rows)])


def as_parquet(rows: Sequence[Sequence[str]]) -> bytes:
    """Return rows as Parquet, every cell a text."""
    pytest.importorskip("pyarrow", reason="Parquet is an extra")
    packed: bytes = pd.DataFrame(rows, columns=list(HEAD)).to_parquet(index=False)
    return packed


FORMATS: dict[str, Callable[[Sequence[Sequence[str]]], bytes]] = {
    "shots.jsonl": as_json,
    "shots.parquet": as_parquet,
    "shots.xlsx": as_workbook,
}


@pytest.mark.parametrize("name", FORMATS)
@settings(max_examples=12)
@given(rows=logs())
def test_the_format_does_not_matter(folder: Path, name: str, rows: list[list[str]]) -> None:
    first = read_from(folder, {"shots.csv": as_csv(rows)})
    require_same(first, read_from(folder, {name: FORMATS[name](rows)}))


#: Exact by definition: pound 0.45359237 kg in 16 oz; inch 0.0254 m; standard gravity 9.80665.
OUNCE_G = Fraction(45359237, 1600000)
PSI_BAR = Fraction(45359237, 10**8) * Fraction(980665, 10**5) / Fraction(254, 10**4) ** 2 / 10**5
#: For each column: its unit elsewhere, and what a value becomes in it.
UNITS: dict[str, tuple[str, Callable[[Fraction], Fraction]]] = {
    "dose_g": ("oz", lambda grams: grams / OUNCE_G),
    "beverage_g": ("oz", lambda grams: grams / OUNCE_G),
    "temp_c": ("°F", lambda degrees: degrees * Fraction(9, 5) + 32),
    "peak_bar": ("psi", lambda bars: bars / PSI_BAR),
    "end_bar": ("kPa", lambda bars: bars * 100),
    "preheat_min": ("s", lambda minutes: minutes * 60),
}
RANGES = ((14, 22), (25, 60), (75, 97), (8, 10), (4, 8), (3, 120))
measured = st.lists(st.tuples(*(tenths(*span) for span in RANGES)), min_size=1, max_size=4)


def elsewhere(name: str, cell: str) -> str:
    """Return a value in its other unit, to seventeen figures."""
    return f"{float(UNITS[name][1](Fraction(cell))):.17g}"


def unit_log(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a log with a name for each row."""
    return as_csv([[f"s{at}", *row] for at, row in enumerate(rows)], ["shot", *head])


@settings(max_examples=15)
@given(measured, st.booleans())
def test_units_elsewhere_agree_to_twelve_figures(
    folder: Path, rows: list[tuple[str, ...]], in_header: bool
) -> None:
    ours = read_from(folder, {"shots.csv": unit_log(list(UNITS), rows)})
    units = {name: f" {unit}" for name, (unit, _) in UNITS.items()}
    theirs = [[elsewhere(*pair) for pair in zip(UNITS, row, strict=True)] for row in rows]
    if in_header:
        bare = [name.rsplit("_", 1)[0] for name in UNITS]
        head = [
            f"{name} ({unit.strip()})" for name, unit in zip(bare, units.values(), strict=True)
        ]
        text = unit_log(head, theirs)
    else:
        pairs = [zip(row, units.values(), strict=True) for row in theirs]
        text = unit_log(list(UNITS), [[cell + unit for cell, unit in row] for row in pairs])
    converted = read_from(folder, {"shots.csv": text}).shots
    numbers = [*UNITS, "brew_ratio"]
    assert_frame_equal(converted[numbers], ours.shots[numbers], rtol=1e-12, atol=0)
