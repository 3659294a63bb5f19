"""Ten thousand damaged logs: none crashes the reader, loses a line or changes a sound row."""

from __future__ import annotations

from collections import Counter, defaultdict
from pathlib import Path

import numpy as np
import pytest

from tests.evidence import __main__ as command
from tests.evidence import fuzz
from tests.evidence.fuzz import KINDS, Kind
from tests.evidence.sound_logs import (
    EXPECTED,
    HEADER,
    NARROW,
    SoundLog,
    json_log,
    parquet_log,
    text_logs,
    workbook_log,
)
from yieldwright.shotlog import read_log

PARTS, LOGS, SEED = 10, 10_000, 20_260_307
SOUND = [
    log
    for width in (HEADER, NARROW)
    for log in (*text_logs(width), json_log(width), workbook_log(width), parquet_log(width))
]
every_sound_log = pytest.mark.parametrize(
    "sound", SOUND, ids=lambda sound: f"{sound.name}, {len(sound.header)} columns"
)


@every_sound_log
def test_an_undamaged_log_holds_what_was_worked_out_by_hand(
    sound: SoundLog, tmp_path: Path
) -> None:
    path = tmp_path / f"shots{sound.suffix}"
    path.write_bytes(sound.raw)
    log = read_log(path)
    records = fuzz.records_of(sound, sound.raw, log)
    assert log.shots["shot"].tolist() == list(EXPECTED)
    assert list(fuzz.alterations(sound, records, log)) == []


@every_sound_log
def test_a_changed_cell_of_an_untouched_row_would_be_seen(sound: SoundLog, tmp_path: Path) -> None:
    path = tmp_path / f"shots{sound.suffix}"
    path.write_bytes(sound.raw)
    log = read_log(path)
    log.shots.loc[3, "dose_g"] = 18.5
    records = fuzz.records_of(sound, sound.raw, log)
    assert list(fuzz.alterations(sound, records, log)) == ["dose_g of s4 is 18.5"]


@pytest.mark.parametrize("part", range(PARTS))
def test_damaged_logs_are_read_whole_or_refused(part: int) -> None:
    seeds = np.random.SeedSequence([SEED, part]).spawn(len(KINDS))
    wrong = []
    seen: dict[str, Counter[str]] = defaultdict(Counter)
    for kind, seed in zip(KINDS, seeds, strict=True):
        counted, failures = fuzz.study(kind, logs_in_part(kind), seed)
        seen[kind.format] += counted
        wrong += failures
    assert wrong == []
    assert min(counted["read"] / counted.total() for counted in seen.values()) > 0.2


def test_the_parts_are_ten_thousand_logs() -> None:
    assert PARTS * sum(map(logs_in_part, KINDS)) >= LOGS


def logs_in_part(kind: Kind) -> int:
    """Return how many logs are damaged in one way in each part."""
    return int(np.ceil(kind.share * LOGS / PARTS))


def test_the_command_prints_a_table_within_eighty_columns(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert command.main(["fuzz", "--n", "60"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(KINDS) + 2
    assert max(map(len, lines)) <= 80
