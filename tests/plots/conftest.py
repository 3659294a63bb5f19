"""Logs to draw: made up, small, and one that means harm."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

HOSTILE = [
    "$^$",
    "<b>bold</b>",
    "x" * 300,
    "",
    "a\x1b[31m\n\u202eb",
    "\N{CJK UNIFIED IDEOGRAPH-6C34}\U0001f600",
]


def invented_shots(n: int = 24, *, seed: int = 7) -> pd.DataFrame:
    """Return shots around 18 g to 36 g in four sessions, uncertainties as of one bench."""
    rng = np.random.default_rng(seed)
    dose_g, beverage_g = rng.normal(18, 0.1, n), rng.normal(36, 2.0, n)
    ey_pct = rng.normal(20, 1.8, n)
    tds_pct = ey_pct * dose_g / beverage_g
    return pd.DataFrame(
        {
            "shot": [f"s{number:02d}" for number in range(1, n + 1)],
            "session": [f"e{1 + 4 * number // n}" for number in range(n)],
            "fate": "pulled",
            "stage": "counted",
            "grind_setting": rng.choice([10.0, 11.0, 12.0], n),
            "temp_band": np.array(["low", "high"])[np.arange(n) % 8 // 4],
            "tds_pct": tds_pct,
            "ey_pct": ey_pct,
            "u_tds_pct": 0.05,
            "u_ey_pct": np.hypot(beverage_g / dose_g * 0.05, 0.08),
            "cov_tds_ey": beverage_g / dose_g * 0.05**2,
        }
    )


@pytest.fixture
def shots() -> pd.DataFrame:
    """Return two dozen shots."""
    return invented_shots()


@pytest.fixture
def hostile_shots() -> pd.DataFrame:
    """Return shots whose every word from the log is out to break a figure."""
    table = invented_shots(len(HOSTILE) * 2)
    table["shot"] = [f"{word}{number}" for number, word in enumerate(HOSTILE * 2)]
    table["session"] = sorted(HOSTILE * 2)
    table["bag"] = sorted(HOSTILE * 2)
    table["temp_band"] = sorted(HOSTILE * 2)
    table["ey_pct"] = np.linspace(14, 26, len(table))
    return table
