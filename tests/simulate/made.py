"""Small plans that vary one thing and hold the rest."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandas as pd
from hypothesis import settings
from hypothesis import strategies as st

from yieldwright.simulate import Truth

TRUTH = Truth()
RESTED = date(2026, 10, 16)

#: A whole log is drawn for each example: some twenty show what a hundred would.
few = settings(max_examples=20)
seeds = st.integers(0, 2**32 - 1)


def plan(**columns: Any) -> pd.DataFrame:
    """Return shots a day apart from one another, rested, unless columns say otherwise."""
    n = max(len(column) for column in columns.values() if isinstance(column, list))
    rested_on = pd.Timestamp(RESTED) + pd.Timedelta(days=TRUTH.ageing.rest_d)
    usual: dict[str, Any] = {
        "shot": [f"s{number}" for number in range(n)],
        "session": [f"e{number:03d}" for number in range(n)],
        "position": 1,
        "pulled_at": (rested_on + pd.Timedelta(hours=18)).tz_localize("+01:00"),
        "stage": "counted",
        "bag": TRUTH.bags[0].bag,
        "dose_target_g": 18.0,
        "beverage_target_g": 36.0,
        "grind_setting": TRUTH.bags[0].needs_setting,
        "purged_g": 0.0,
        "temp_band": "medium",
        "temp_c": TRUTH.heat.reference_c,
        "aimed_taper_bar": TRUTH.taste.usual_taper_bar,
        "distribution": "stir",
        "tasters": "t1 t2 t3 t4 t5",
    }
    return pd.DataFrame(usual | columns)
