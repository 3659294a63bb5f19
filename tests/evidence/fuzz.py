"""Whether randomly damaged logs of every format lose a line or change a sound row.

Of each damaged log three things are asked. It is read or refused with a sentence, and nothing
else is raised. Accepted, set aside and listed spans cover each physical line just once, the
lines counted without the package's help. And each row the damage did not touch (the text of
its record is in the damaged file as it was) is accepted with the values it has in the sound
log, or it is set aside or listed: never altered, never swallowed by an accepted neighbour.

Compared are the name of the shot, its time, bag, fate, dose, beverage, time, strength and notes,
where the header of the column is as it was. Left out is what rightly depends on other rows:
position, gap, stage, and whether a row is a copy. A row with letters of another encoding is
compared where the log is still read in its encoding; the report says which.

Run `python -m tests.evidence fuzz --n 100000` from the top of the checkout.
"""

from __future__ import annotations

import multiprocessing
import os
import re
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from tests.evidence.damage import (
    JSON_DAMAGE,
    PARQUET_DAMAGE,
    TEXT_DAMAGE,
    WORKBOOK_DAMAGE,
    Damage,
    sheet_of,
)
from tests.evidence.sound_logs import (
    EXPECTED,
    HEADER,
    NARROW,
    SoundLog,
    json_log,
    parquet_log,
    parquet_rows,
    text_logs,
    workbook_log,
)
from yieldwright.bench import Bench
from yieldwright.errors import BenchFileError, UnreadableLogError
from yieldwright.shotlog import ShotLog, read_log

__all__ = ["KINDS", "Failure", "Kind", "run", "run_all", "study"]

#: What may become of a damaged log; the last three must not.
OUTCOMES = ("read", "refused", "lost", "altered", "crashed")
_BROKEN = OUTCOMES[2:]
_WIDTHS = {"read": 8, "refused": 8, "lost": 6, "altered": 8, "crashed": 8}
_AT_ONCE = 250
_CODECS = {"Windows-1252": "cp1252", "byte-order mark": "utf-8-sig"}


class Kind(NamedTuple):
    """One way to damage the log in one format.

    Attributes
    ----------
    format : str
        Text, JSON lines, workbook or Parquet.
    damage : str
        What is done to it.
    share : float
        Its part of all damaged logs.
    """

    format: str
    damage: str
    share: float


class Failure(NamedTuple):
    """One damaged log that was not read as it must be.

    Attributes
    ----------
    kind : Kind
        What was done to it.
    outcome : str
        What became of it.
    raw : bytes
        The damaged file.
    """

    kind: Kind
    outcome: str
    raw: bytes


_FORMATS: dict[str, tuple[dict[str, Damage], float]] = {
    "text": (TEXT_DAMAGE, 0.74),
    "JSON lines": (JSON_DAMAGE, 0.1),
    "workbook": (WORKBOOK_DAMAGE, 0.1),
    "Parquet": (PARQUET_DAMAGE, 0.06),
}
KINDS = tuple(
    Kind(name, damage, share / len(ways))
    for name, (ways, share) in _FORMATS.items()
    for damage in ways
)


def sound_logs(kind: Kind) -> list[SoundLog]:
    """Return the undamaged logs of a format."""
    widths = (HEADER, *[NARROW] * 5)  # narrow ones are read more quickly
    if kind.format == "text":
        return [log for width in widths for log in text_logs(width)]
    build = {"JSON lines": json_log, "workbook": workbook_log, "Parquet": parquet_log}
    return [build[kind.format](width) for width in widths]


def study(
    kind: Kind, logs: int, seed: np.random.SeedSequence
) -> tuple[Counter[str], list[Failure]]:
    """Return what became of many logs damaged in one way, and the first that went wrong."""
    rng = np.random.default_rng(seed)
    sound = sound_logs(kind)
    damage = _FORMATS[kind.format][0][kind.damage]
    seen: Counter[str] = Counter()
    failures: list[Failure] = []
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(logs):
            chosen = sound[rng.integers(len(sound))]
            raw = damage(chosen.raw, rng)
            outcome = outcome_of(chosen, raw, Path(folder))
            seen[outcome] += 1
            if outcome in _BROKEN and len(failures) < 5:
                failures.append(Failure(kind, outcome, raw))
    return seen, failures


def outcome_of(sound: SoundLog, raw: bytes, folder: Path) -> str:
    """Return what became of one damaged file."""
    path = folder / f"shots{sound.suffix}"
    path.write_bytes(raw)
    try:
        log = read_log(path, bench=Bench())
    except (UnreadableLogError, BenchFileError):
        return "refused"
    except Exception:  # noqa: BLE001 - to find whatever may be raised is what this is for
        return "crashed"
    records = records_of(sound, raw, log)
    if not is_accounted(log, len(records) if sound.counts_lines else log.reading.lines_read):
        return "lost"
    return "altered" if any(alterations(sound, records, log)) else "read"


def records_of(sound: SoundLog, raw: bytes, log: ShotLog) -> Sequence[str]:
    """Return the physical lines or rows of a damaged file, found without the package's help."""
    if sound.suffix == ".xlsx":
        return _rows_of_sheet(raw, log.reading.lines_read)
    if sound.suffix == ".parquet":
        return parquet_rows(raw)
    text = raw.decode(_codec(raw, log.reading.files[0].encoding), errors="replace")
    lines = re.split(r"\r\n|\r|\n", text)
    return lines[:-1] if lines[-1] == "" else lines


def _codec(raw: bytes, words: str) -> str:
    """Return the codec of an encoding that the report tells in words."""
    if "UTF-16" in words:
        if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return "utf-16"
        return "utf-16-le" if raw[1::2].count(0) > raw[0::2].count(0) else "utf-16-be"
    return next((codec for part, codec in _CODECS.items() if part in words), "utf-8")


def _rows_of_sheet(raw: bytes, n_rows: int) -> list[str]:
    """Return the XML of each row at its number; empty where two rows share it."""
    rows = [""] * n_rows
    xml = sheet_of(raw).decode("utf-8", errors="replace")
    found = re.findall(r'<row [^>]*?r="([0-9]{1,7})".*?</row>', xml, re.DOTALL)
    once = {number for number, times in Counter(found).items() if times == 1}
    for each in re.finditer(r'<row [^>]*?r="([0-9]{1,7})".*?</row>', xml, re.DOTALL):
        if each[1] in once and 0 < int(each[1]) <= n_rows:
            rows[int(each[1]) - 1] = each[0]
    return rows


def is_accounted(log: ShotLog, n_lines: int) -> bool:
    """Return whether accepted, set aside and listed spans cover each line just once."""
    covered = sorted(
        line
        for table in (log.shots, log.set_aside, log.listed)
        for first, count in zip(table["line"], table["line_count"], strict=True)
        for line in range(first, first + count)
    )
    return log.reading.adds_up and covered == list(range(1, n_lines + 1))


def alterations(sound: SoundLog, records: Sequence[str], log: ShotLog) -> Iterator[str]:
    """Yield what became of rows that the damage did not touch and should not have."""
    header = log.reading.files[0].header
    names = _sound_columns(sound, header)
    columns = {name: log.shots[name].tolist() for name in names if name in log.shots}
    spans = zip(log.shots["line"].tolist(), log.shots["line_count"].tolist(), strict=True)
    for at, (first, count) in enumerate(spans):
        told = records[first - 1 : first - 1 + count]
        shot = sound.shots.get("\n".join(told))
        if shot is not None:
            row = {name: values[at] for name, values in columns.items()}
            yield from _differences(row, EXPECTED[shot])
        elif len(names) == len(sound.header) and any(line in sound.shots for line in told[1:]):
            yield f"line {first} swallowed the next"


def _sound_columns(sound: SoundLog, header: Sequence[str]) -> list[str]:
    """Return the columns whose header is as it was; in JSON lines each row names its own."""
    if sound.suffix == ".jsonl":
        return [name for name in sound.header if name in header]
    if len(header) != len(sound.header):
        return []
    pairs = zip(sound.header, header, strict=True)
    return [name for name, found in pairs if name == found.strip()]


def _differences(row: dict[str, Any], expected: Any) -> Iterator[str]:
    for name, value in row.items():
        wanted = expected[name]
        same = pd.isna(value) if wanted is None else value == wanted
        if not same:
            yield f"{name} of {expected['shot']} is {value!r}"


def run(logs: int, seed: int) -> int:
    """Print a table of as many damaged logs in each line; return 0 where none went wrong."""
    return _report(dict.fromkeys(KINDS, logs), seed)


def run_all(n: int, seed: int) -> int:
    """Print a table of damaged logs, so many in all; return 0 where none went wrong."""
    return _report({kind: max(1, round(kind.share * n)) for kind in KINDS}, seed)


def _report(logs: dict[Kind, int], seed: int) -> int:
    """Damage and read on every processor, and print what became of the logs."""
    seen: dict[Kind, Counter[str]] = {kind: Counter() for kind in KINDS}
    failures: list[Failure] = []
    with _progress(sum(logs.values())) as advance:
        for kind, counted, failed in _studied(logs, seed):
            seen[kind] += counted
            failures += failed
            advance(counted.total())
    print(_table(seen))
    _keep(failures)
    return int(bool(failures))


def _studied(
    logs: dict[Kind, int], seed: int
) -> Iterator[tuple[Kind, Counter[str], list[Failure]]]:
    tasks = [
        (kind, min(_AT_ONCE, n - done))
        for kind, n in logs.items()
        for done in range(0, n, _AT_ONCE)
    ]
    seeds = np.random.SeedSequence(seed).spawn(len(tasks))
    work = [(kind, n, each) for (kind, n), each in zip(tasks, seeds, strict=True)]
    with multiprocessing.get_context("spawn").Pool(os.cpu_count()) as pool:
        yield from pool.imap_unordered(_one_task, work)


def _one_task(
    task: tuple[Kind, int, np.random.SeedSequence],
) -> tuple[Kind, Counter[str], list[Failure]]:
    kind, n, seed = task
    return kind, *study(kind, n, seed)


def _table(seen: dict[Kind, Counter[str]]) -> str:
    heads = [f"{'damage':<34}", f"{'logs':>8}", *(f"{name:>{_WIDTHS[name]}}" for name in OUTCOMES)]
    lines = ["".join(heads)]
    rows = [(f"{kind.format}: {kind.damage}", counted) for kind, counted in seen.items()]
    for name, counted in (*rows, ("all", sum(seen.values(), Counter()))):
        numbers = (f"{counted[each]:>{_WIDTHS[each]},}" for each in OUTCOMES)
        lines.append(f"{name:<34}{counted.total():>8,}{''.join(numbers)}")
    return "\n".join(lines)


def _keep(failures: Sequence[Failure]) -> None:
    """Keep the shortest log of each failure where a person can look at it."""
    if not failures:
        return
    folder = Path(tempfile.mkdtemp(prefix="damaged-logs-"))
    for failure in sorted(failures, key=lambda each: -len(each.raw)):
        name = f"{failure.outcome} {failure.kind.format} {failure.kind.damage}".replace(" ", "-")
        (folder / name).write_bytes(failure.raw)
    print(f"The shortest log of each kind that went wrong is in {folder}")


class _progress:  # noqa: N801 - used as a verb
    """Shows how many logs are done where a person watches."""

    def __init__(self, total: int) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

        console = Console(stderr=True)
        self._bar = Progress(
            BarColumn(),
            MofNCompleteColumn(),
            TimeRemainingColumn(),
            console=console,
            transient=True,
            disable=not console.is_terminal,
        )
        self._total = total

    def __enter__(self) -> Any:
        self._bar.start()
        task = self._bar.add_task("", total=self._total)
        return lambda n: self._bar.advance(task, n)

    def __exit__(self, *_: object) -> None:
        self._bar.stop()
