"""Reading a very long log, against the least that a reader of text can do.

The least is `pandas.read_csv(dtype=str)`: the same file to the same cells, nothing checked.
Each run is a new process and tells its own time and peak; pyarrow is present, then hidden.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from tests.benchmarks.ratios import Finding

ROWS = 1_000_000
A_SESSION = 12
ROUNDS = 3
SEED = 20_260_307

#: Run as a program of its own: what to read with, whether pyarrow is hidden, the file.
PROGRAM = """
import json, resource, sys, time
reader, hidden, path = sys.argv[1:]
if hidden == "yes":
    sys.modules["pyarrow"] = None
import pandas as pd
from yieldwright.shotlog import read_log
start = time.perf_counter()
if reader == "ours":
    rows = len(read_log(path).shots)
else:
    rows = len(pd.read_csv(path, dtype=str))
took = time.perf_counter() - start
try:  # of this program alone: ru_maxrss also counts what it was started from
    status = open("/proc/self/status").read()
    peak = int(status.split("VmHWM:")[1].split()[0]) / 1e3
except OSError:
    scale = 1e6 if sys.platform == "darwin" else 1e3
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / scale
print(json.dumps([took, peak, rows]))
"""


class Run(NamedTuple):
    """One reading in a process of its own."""

    seconds: float
    peak_mb: float
    rows: int


def clean_log(rows: int) -> pd.DataFrame:
    """Return an invented log of 20 columns in which nothing is wrong."""
    rng = np.random.default_rng(SEED)
    number = np.arange(rows)
    pulled = pd.Timestamp("2014-01-01T08:00") + pd.to_timedelta(5 * number, unit="min")
    hold = rng.normal(8.5, 0.3, rows).round(1)
    return pd.DataFrame(
        {
            "shot": "s" + pd.Series(number).astype(str),
            "pulled_at": pulled.strftime("%Y-%m-%dT%H:%M+00:00"),
            "session": "d" + pd.Series(number // A_SESSION).astype(str),
            "fate": "pulled",
            "stage": "counted",
            "bag": "bag-" + pd.Series(number // 3000).astype(str),
            "roast_level": rng.choice(["dark", "medium", "light"], rows),
            "roasted_on": (pulled - pd.Timedelta(days=9)).strftime("%Y-%m-%d"),
            "dose_g": rng.normal(18, 0.15, rows).round(1),
            "grinder": "hand",
            "grind_setting": rng.choice(np.arange(8, 14, 0.5), rows),
            "purged_g": 3,
            "temp_band": rng.choice(["low", "medium", "high"], rows),
            "hold_bar": hold,
            "end_bar": (hold - rng.uniform(0.5, 2.5, rows)).round(1),
            "time_s": rng.normal(32, 3, rows).round(),
            "beverage_g": rng.normal(36, 1.2, rows).round(1),
            "tds_pct": rng.normal(9.5, 0.4, rows).round(2),
            "barista": rng.choice(["b1", "b2", "b3"], rows),
            "notes": rng.choice(["", "sweet", "thin", "a long finish"], rows),
        }
    )


def damaged(text: str) -> str:
    """Return a log in which every hundredth row is spoilt, in six ways in turn."""
    head, *lines = text.splitlines()
    for at in range(7, len(lines), 100):
        cells = lines[at].split(",")
        ways = (
            [*cells, "x"],
            [*cells[:8], "180", *cells[9:]],
            [cells[0], "2026-13-45T10:00", *cells[2:]],
            ['"' + cells[0], *cells[1:]],
            [*cells[:16], "36 mL", *cells[17:]],
            cells[:-1],
        )
        lines[at] = ",".join(ways[at // 100 % len(ways)])
    return "\n".join([head, *lines, ""])


def run(reader: str, path: Path, *, hidden: bool = False) -> Run:
    """Return time and peak of one reading in a new process."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, reader, "yes" if hidden else "no", str(path)],
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    return Run(*json.loads(done.stdout))


def side_by_side(path: Path, *, hidden: bool) -> list[Finding]:
    """Return how our reading compares with the least, pyarrow there or not."""
    runs = [
        (run("ours", path, hidden=hidden), run("least", path, hidden=hidden))
        for _ in range(ROUNDS)
    ]
    times = statistics.median(ours.seconds / least.seconds for ours, least in runs)
    peaks = max(ours.peak_mb for ours, _ in runs) / min(least.peak_mb for _, least in runs)
    ours, least = runs[-1]
    arrow = "absent" if hidden else "present"
    where = f"{ROWS:,} rows of 20 columns / read_csv(dtype=str), pyarrow {arrow}"
    return [
        Finding(
            f"time to read {where}",
            f"{times:.1f} x ({ours.seconds:.1f} s and {least.seconds:.1f} s)",
            "at most 6 x",
            times <= 6,
        ),
        Finding(
            f"peak memory to read {where}",
            f"{peaks:.1f} x ({ours.peak_mb:.0f} MB and {least.peak_mb:.0f} MB)",
            "at most 3 x",
            peaks <= 3,
        ),
    ]


def findings() -> list[Finding]:
    """Return time and memory of a million rows, of damage, and of ten times as many rows."""
    with tempfile.TemporaryDirectory() as folder:
        clean, spoilt, tenth = (
            Path(folder, f"{name}.csv") for name in ("clean", "spoilt", "tenth")
        )
        frame = clean_log(ROWS)
        frame.to_csv(clean, index=False)
        frame.head(ROWS // 10).to_csv(tenth, index=False)
        spoilt.write_text(damaged(clean.read_text("utf-8")), "utf-8")
        found = [*side_by_side(clean, hidden=False), *side_by_side(clean, hidden=True)]
        whole, worse = (
            statistics.median(run("ours", path).seconds for _ in range(ROUNDS))
            for path in (clean, spoilt)
        )
        part = statistics.median(run("ours", tenth).seconds for _ in range(ROUNDS))
    return [
        *found,
        Finding(
            "one row in a hundred spoilt / clean",
            f"{worse / whole:.2f} x",
            "at most 2 x",
            worse <= 2 * whole,
        ),
        Finding(
            f"{ROWS:,} rows / {ROWS // 10:,} rows",
            f"{whole / part:.1f} x",
            "at most 12 x: linear",
            whole <= 12 * part,
        ),
    ]
