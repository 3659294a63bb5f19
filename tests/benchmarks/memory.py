"""How much memory the page of a very long log asks for, in a new process."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from tests.benchmarks.ratios import Finding

SHOTS = 10_000
A_SESSION = 8
BOUND_MB = 1000
SEED = 20_260_302

TELL_PEAK = """
import sys
from yieldwright.cli import main
main(sys.argv[1:])
try:
    import resource
except ImportError:
    import psutil
    peak = psutil.Process().memory_info().peak_wset / 1e6
else:
    scale = 1e6 if sys.platform == "darwin" else 1e3
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / scale
print("peak", round(peak), file=sys.stderr)
"""


def long_log() -> pd.DataFrame:
    """Return an invented log, one row per shot, of one bag and one grinder."""
    rng = np.random.default_rng(SEED)
    number = np.arange(SHOTS)
    session = number // A_SESSION
    day = pd.Timestamp("2022-01-01T09:00Z") + pd.to_timedelta(session, unit="D")
    grind = rng.integers(8, 15, SHOTS)
    end_bar = rng.uniform(5, 8, SHOTS).round(1)
    return pd.DataFrame(
        {
            "shot": [f"s{n}" for n in number],
            "session": [f"day {n}" for n in session],
            "pulled_at": (day + pd.to_timedelta(6 * (number % A_SESSION), unit="min")).map(
                pd.Timestamp.isoformat
            ),
            "bag": "house",
            "grinder": "hand",
            "grind_setting": grind,
            "temp_band": rng.choice(["low", "medium", "high"], SHOTS),
            "dose_g": rng.normal(18, 0.1, SHOTS).round(2),
            "beverage_g": rng.normal(36, 0.5, SHOTS).round(1),
            "time_s": (60 - 2 * grind + rng.normal(0, 2, SHOTS)).round(),
            "hold_bar": 8.5,
            "end_bar": end_bar,
            "tds_pct": (12 - 0.2 * grind + rng.normal(0, 0.3, SHOTS)).round(2),
            "overall": rng.integers(4, 10, SHOTS),
        }
    )


def peak_mb(*command: str) -> int:
    """Return the most memory a command held at once, in MB."""
    done = subprocess.run(
        [sys.executable, "-c", TELL_PEAK, *command],
        check=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    return int(done.stderr.split()[-1])


def findings() -> list[Finding]:
    """Return the peak of a page over the whole log."""
    with tempfile.TemporaryDirectory() as folder:
        log, page = Path(folder) / "shots.csv", Path(folder) / "weekend.html"
        long_log().to_csv(log, index=False)
        peak = peak_mb("weekend", str(log), "--all", "--out", str(page))
    name = f"peak memory, log of {SHOTS:,} shots to page"
    return [Finding(name, f"{peak} MB", f"below {BOUND_MB} MB", peak < BOUND_MB)]
