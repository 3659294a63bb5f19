"""Each trap ends as it must: accepted, set aside with a remedy, flagged, listed or refused."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from tests.traps.built import BUILT_TRAPS
from tests.traps.trap import HERE, Trap, cell, is_same, written_traps
from yieldwright.errors import BenchFileError, UnreadableLogError
from yieldwright.shotlog import ShotLog

WRITTEN = tuple(written_traps())
TRAPS = (*WRITTEN, *BUILT_TRAPS)
READ = tuple(trap for trap in TRAPS if not trap.refused)
REFUSED = tuple(trap for trap in TRAPS if trap.refused)


def each(traps: tuple[Trap, ...]) -> pytest.MarkDecorator:
    """Return the parameters of a test of every trap."""
    return pytest.mark.parametrize("trap", traps, ids=lambda trap: trap.name)


@cache
def log_of(name: str) -> ShotLog:
    """Return the log that a trap becomes."""
    (trap,) = (trap for trap in READ if trap.name == name)
    with TemporaryDirectory() as folder:
        return trap.read(Path(folder))


@each(READ)
def test_every_line_is_accounted_for(trap: Trap) -> None:
    assert log_of(trap.name).reading.adds_up


@each(READ)
def test_the_expected_shots_are_accepted(trap: Trap) -> None:
    assert tuple(log_of(trap.name).shots["shot"]) == trap.shots


@each(tuple(trap for trap in READ if trap.cells))
def test_cells_hold_what_was_written(trap: Trap) -> None:
    log = log_of(trap.name)
    wrong = {
        (shot, column): (cell(log, shot, column), expected)
        for shot, cells in trap.cells.items()
        for column, expected in cells.items()
        if not is_same(cell(log, shot, column), expected)
    }
    assert wrong == {}


@each(READ)
def test_rows_are_set_aside_with_line_reason_and_suggestion(trap: Trap) -> None:
    aside = log_of(trap.name).set_aside
    assert aside["line"].tolist() == [row["line"] for row in trap.aside]
    for row, told in zip(aside.itertuples(), trap.aside, strict=True):
        assert told["reason"] in str(row.reason)
        assert told.get("suggestion", "") in str(row.suggestion)
        assert told.get("file", row.file) == row.file


@each(READ)
def test_doubts_are_flagged_once(trap: Trap) -> None:
    flags = log_of(trap.name).flags
    assert flags[["shot", "column"]].fillna("").to_numpy().tolist() == [
        [flag["shot"], flag["column"]] for flag in trap.flags
    ]
    for reason, flag in zip(flags["reason"], trap.flags, strict=True):
        assert flag["reason"] in reason


@each(READ)
def test_lines_without_rows_are_listed_by_kind(trap: Trap) -> None:
    listed = Counter(log_of(trap.name).listed["kind"])
    assert listed.pop("header", 0) == trap.headers
    assert listed == trap.listed


@each(tuple(trap for trap in READ if trap.remarks or trap.silent))
def test_what_was_detected_is_remarked(trap: Trap) -> None:
    said = " ".join(log_of(trap.name).reading.remarks)
    assert [part for part in trap.remarks if part not in said] == []
    assert [part for part in trap.silent if part in said] == []


@each(tuple(trap for trap in READ if trap.encoding or trap.delimiter or trap.decimal))
def test_the_dialect_is_found(trap: Trap) -> None:
    file = log_of(trap.name).reading.files[0]
    assert trap.encoding in file.encoding
    assert trap.delimiter in ("", file.delimiter)
    assert trap.decimal in ("", file.decimal)


@each(tuple(trap for trap in READ if trap.tastings))
def test_tastings_are_one_row_per_shot_taster_and_attribute(trap: Trap) -> None:
    tastings = log_of(trap.name).tastings[["shot", "taster", "attribute", "score"]]
    assert [tuple(row) for row in tastings.to_numpy().tolist()] == list(trap.tastings)


@each(tuple(trap for trap in READ if trap.extras))
def test_columns_that_are_not_recognised_are_kept_as_text(trap: Trap) -> None:
    extras = log_of(trap.name).extras.drop(columns="shot").fillna("")
    assert {str(name): tuple(extras[name]) for name in extras} == trap.extras


@each(REFUSED)
def test_what_cannot_be_a_log_is_refused_with_a_sentence(trap: Trap, tmp_path: Path) -> None:
    with pytest.raises((UnreadableLogError, BenchFileError)) as refusal:
        trap.read(tmp_path)
    assert trap.refused in str(refusal.value)


def test_there_are_at_least_two_hundred_traps_each_with_a_name_of_its_own() -> None:
    names = [trap.name for trap in TRAPS]
    assert len(names) == len(set(names)) >= 200


def test_every_file_of_a_topic_is_expected_to_become_something() -> None:
    found = {
        str(path.relative_to(HERE))
        for path in HERE.glob("*/*")
        if path.name != "expected.toml" and path.suffix != ".pyc"
    }
    assert found == {trap.name for trap in WRITTEN}
