"""Whether every line of randomly damaged logs is accounted for, and nothing but a refusal raised.

Run `python -m tests.evidence fuzz --logs 2000` from the top of the checkout.
"""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tests.conftest import ROOT
from yieldwright.errors import UnreadableLogError
from yieldwright.shotlog import ShotLog, read_log

SOUND = ROOT / "datasets" / "evening-class" / "shots.csv"
PIECES = (b'"', b'""', b",", b";", b"\t", b"\n", b"\r", b"#", b"\0", b"\xff", b"9", b"-", b" ")

Damage = Callable[[bytes, np.random.Generator], bytes]


def with_pieces(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with pieces cut out and others put in."""
    for _ in range(rng.integers(1, 12)):
        at = int(rng.integers(len(raw) + 1))
        piece = PIECES[rng.integers(len(PIECES))]
        raw = raw[:at] + piece + raw[at + int(rng.integers(8)) :]
    return raw


def with_quotes(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with quotes strewn over it."""
    for _ in range(rng.integers(1, 20)):
        at = int(rng.integers(len(raw) + 1))
        raw = raw[:at] + b'"' * int(rng.integers(1, 4)) + raw[at:]
    return raw


def with_lines(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return a file with lines lost, repeated and put elsewhere, the header mostly there."""
    header, *lines = raw.splitlines(keepends=True)
    drawn = rng.integers(len(lines), size=int(rng.integers(1, 2 * len(lines))))
    kept = [header] if rng.random() < 0.9 else []
    return b"".join([*kept, *(lines[at] for at in drawn)])


def cut_short(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return the beginning of a file."""
    return raw[: int(rng.integers(len(raw)))]


def noise(raw: bytes, rng: np.random.Generator) -> bytes:
    """Return random characters below a sound header, bytes that are no text among them."""
    header = raw.split(b"\n", 1)[0]
    drawn = rng.integers(len(PIECES), size=int(rng.integers(1, 2000)))
    rest = b"".join(PIECES[at] for at in drawn)
    return header + b"\n" + rest + (rng.bytes(4) if rng.random() < 0.2 else b"")


KINDS: dict[str, Damage] = {
    "pieces cut and put in": with_pieces,
    "quotes strewn": with_quotes,
    "lines shuffled": with_lines,
    "cut short": cut_short,
    "random characters": noise,
}


def physical_lines(raw: bytes) -> int:
    """Return how many lines a file has, counted without the package's help."""
    lines = re.split(rb"\r\n|\r|\n", raw)
    return len(lines) - (lines[-1] == b"")


def is_accounted(log: ShotLog, n_lines: int) -> bool:
    """Return whether accepted, set aside and listed spans cover each line just once."""
    covered = sorted(
        line
        for table in (log.shots, log.set_aside, log.listed)
        for first, count in zip(table["line"], table["line_count"], strict=True)
        for line in range(first, first + count)
    )
    return log.reading.adds_up and covered == list(range(1, n_lines + 1))


def outcome(path: Path, raw: bytes) -> str:
    """Return what became of one damaged file."""
    path.write_bytes(raw)
    try:
        log = read_log(path)
    except UnreadableLogError:
        return "refused"
    return "accounted" if is_accounted(log, physical_lines(raw)) else "lost"


def run(logs: int, seed: int) -> int:
    """Print a table and return 0 where no line was lost."""
    sound = SOUND.read_bytes()
    rng = np.random.default_rng(seed)
    lost = 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "shots.csv")
        print(f"{'damage':<24}{'logs':>8}{'accounted':>12}{'refused':>10}{'lost':>8}")
        for kind, damage in KINDS.items():
            seen = Counter(outcome(path, damage(sound, rng)) for _ in range(logs))
            print(
                f"{kind:<24}{logs:>8}{seen['accounted']:>12}{seen['refused']:>10}{seen['lost']:>8}"
            )
            lost += seen["lost"]
    return int(lost > 0)
