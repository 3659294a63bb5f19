"""Each trap ends as its table says: accepted, set aside with a remedy, flagged or listed."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pandas as pd
import pytest

from tests.shotlog.traps import TRAPS, Trap
from yieldwright.shotlog import ShotLog, read_log

every_trap = pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.name[:60])


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, ShotLog]:
    """Return the log that each trap becomes."""
    path = tmp_path_factory.mktemp("traps") / "shots.csv"
    read = {}
    for trap in TRAPS:
        content = trap.content
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        read[trap.name] = read_log(path)
    return read


def cell(log: ShotLog, shot: str, column: str) -> Any:
    """Return one value of the table of shots; None where it is missing."""
    value = log.shots.set_index("shot").loc[shot, column]
    return None if pd.isna(value) else value


def is_same(found: Any, expected: Any) -> bool:
    """Return whether a value is the expected one; days and moments are written in ISO 8601."""
    if expected is None or pd.isna(expected):
        return found is None
    if isinstance(found, pd.Timestamp):
        return found == pd.Timestamp(expected)
    if isinstance(expected, float):
        return found == pytest.approx(expected, rel=1e-12)
    return bool(found == expected)


@every_trap
def test_every_line_is_accounted_for(trap: Trap, logs: dict[str, ShotLog]) -> None:
    assert logs[trap.name].reading.adds_up


@every_trap
def test_the_expected_shots_are_accepted(trap: Trap, logs: dict[str, ShotLog]) -> None:
    assert logs[trap.name].shots["shot"].tolist() == trap.shots.split()


@every_trap
def test_cells_hold_what_was_written(trap: Trap, logs: dict[str, ShotLog]) -> None:
    log = logs[trap.name]
    wrong = {
        where: cell(log, *where)
        for where, expected in trap.cells.items()
        if not is_same(cell(log, *where), expected)
    }
    assert wrong == {}


@every_trap
def test_rows_are_set_aside_with_line_reason_and_suggestion(
    trap: Trap, logs: dict[str, ShotLog]
) -> None:
    aside = logs[trap.name].set_aside
    assert aside["line"].tolist() == [line for line, _, _ in trap.aside]
    for row, (_, reason, suggestion) in zip(aside.itertuples(), trap.aside, strict=True):
        assert reason in str(row.reason)
        assert suggestion in str(row.suggestion)


@every_trap
def test_doubts_are_flagged_once(trap: Trap, logs: dict[str, ShotLog]) -> None:
    flags = logs[trap.name].flags
    assert [tuple(row) for row in flags[["shot", "column"]].to_numpy()] == [
        (shot, column) for shot, column, _ in trap.flags
    ]
    for reason, (_, _, part) in zip(flags["reason"], trap.flags, strict=True):
        assert part in reason


@every_trap
def test_lines_without_rows_are_listed_by_kind(trap: Trap, logs: dict[str, ShotLog]) -> None:
    listed = Counter(logs[trap.name].listed["kind"])
    assert listed.pop("header") == 1
    assert listed == trap.listed


@every_trap
def test_what_was_detected_is_remarked(trap: Trap, logs: dict[str, ShotLog]) -> None:
    assert trap.remark in " ".join(logs[trap.name].reading.remarks)


def test_no_two_traps_share_a_name() -> None:
    names = [trap.name for trap in TRAPS]
    assert len(names) == len(set(names)) >= 40
