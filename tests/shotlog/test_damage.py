"""Whatever happens to a file, every line is accounted for and no cell is altered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog import ShotLog, read_log

SOUND = (
    b"# a comment\n"
    b"shot,pulled_at,bag,dose_g,beverage_g,time_s,tds_pct,fate,notes\n"
    b",,,g,g,s,%,,\n"
    b"s1,2026-03-07T10:00,b,18.0,36.1,30,9.4,pulled,\n"
    b's2,2026-03-07T10:06,b,18.1,36.0,31,9.5,pulled,"sweet, long"\n'
    b"\n"
    b's3,2026-03-07T10:12,b,17.9,35.8,0:32,9.1,pulled,"over\ntwo lines"\n'
    b"s4,2026-03-07T10:18,b,18.0,12.1,62,,choked,x\n"
    b"s5,2026-03-07T10:24,b,18.0,36.4,28,9.0,pulled,thin\n"
)
PIECES = [b'"', b",", b"\n", b"\r", b";", b"\t", b"#", b"\0", b"\xff", b"9", b"-", b" ", b'""']
PLAIN = re.compile(r"[0-9]+(\.[0-9]+)?")

damage = st.tuples(
    st.integers(0, len(SOUND)), st.integers(0, 6), st.sampled_from([*PIECES, b"", b"\xc3\xbc"])
)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return where a log is written again and again."""
    return tmp_path_factory.mktemp("damage") / "shots.csv"


def damaged(edits: list[tuple[int, int, bytes]]) -> bytes:
    """Return the sound file with pieces cut out and others put in."""
    raw = SOUND
    for at, cut, piece in edits:
        raw = raw[:at] + piece + raw[at + cut :]
    return raw


def physical_lines(raw: bytes) -> list[bytes]:
    """Return the lines of a file, counted without the package's help."""
    lines = re.split(rb"\r\n|\r|\n", raw)
    return lines[:-1] if lines[-1] == b"" else lines


def spans(log: ShotLog) -> list[tuple[int, int]]:
    """Return first line and line count of all that was accepted, set aside or listed."""
    tables = (log.shots, log.set_aside, log.listed)
    return sorted(
        span for table in tables for span in zip(table["line"], table["line_count"], strict=True)
    )


def doses(log: ShotLog, raw: bytes) -> Iterator[tuple[str, float]]:
    """Yield dose cells as they stand in the file beside what was read, unquoted lines only."""
    lines = [line.decode("latin-1") for line in physical_lines(raw)]
    delimiter = {"comma": ",", "semicolon": ";", "tab": "\t"}[log.reading.files[0].delimiter]
    header = log.listed.loc[log.listed["kind"] == "header", "line"].item()
    names = lines[header - 1].split(delimiter)
    if "dose_g" not in names:
        return
    at = names.index("dose_g")
    for line, dose in zip(log.shots["line"], log.shots["dose_g"], strict=True):
        if '"' not in lines[line - 1]:
            yield lines[line - 1].split(delimiter)[at], dose


@settings(max_examples=120)
@given(st.lists(damage, max_size=6))
def test_every_line_of_a_damaged_file_is_accounted_for(
    path: Path, edits: list[tuple[int, int, bytes]]
) -> None:
    raw = damaged(edits)
    path.write_bytes(raw)
    try:
        log = read_log(path)
    except UnreadableLogError:
        return
    lines = physical_lines(raw)
    covered = [line for first, count in spans(log) for line in range(first, first + count)]
    assert covered == list(range(1, len(lines) + 1))
    assert log.reading.lines_read == len(lines)
    assert log.reading.adds_up


@settings(max_examples=80)
@given(st.lists(damage, max_size=4))
def test_accepted_numbers_are_those_of_their_line(
    path: Path, edits: list[tuple[int, int, bytes]]
) -> None:
    raw = damaged(edits)
    path.write_bytes(raw)
    try:
        log = read_log(path)
    except UnreadableLogError:
        return
    for text, dose in doses(log, raw):
        if PLAIN.fullmatch(text):
            assert float(text) == dose


@pytest.mark.parametrize("row", range(1, 6))
def test_one_spoilt_row_leaves_the_others_as_they_are(row: int, path: Path) -> None:
    path.write_bytes(SOUND)
    sound = read_log(path).shots.set_index("shot")
    path.write_bytes(SOUND.replace(f"s{row},".encode(), f"s{row},spoilt,".encode()))
    spoilt = read_log(path).shots.set_index("shot")
    others = [shot for shot in sound.index if shot != f"s{row}"]
    assert spoilt.index.tolist() == others
    columns = ["dose_g", "beverage_g", "time_s", "ey_pct", "notes", "line"]
    assert spoilt[columns].equals(sound.loc[others, columns])
