"""The yield and its uncertainty for a million shots, against bare numpy and row by row."""

from __future__ import annotations

import numpy as np
import pandas as pd
from uncertainties import ufloat

from tests.benchmarks.ratios import Finding, at_least, at_most, in_turns
from yieldwright.extraction import extraction_yield
from yieldwright.uncertainty import yield_uncertainty

SHOTS = 1_000_000
ROW_BY_ROW = 2_000
SEED = 20_260_301


def some_shots(count: int) -> pd.DataFrame:
    """Return shots within the usual ranges, one row each."""
    rng = np.random.default_rng(SEED)
    ranges = {
        "tds_pct": (8.0, 12.0),
        "beverage_g": (25.0, 45.0),
        "dose_g": (16.0, 20.0),
        "u_tds_pct": (0.03, 0.08),
        "u_beverage_g": (0.03, 0.3),
        "u_dose_g": (0.03, 0.3),
    }
    return pd.DataFrame({name: rng.uniform(*ends, count) for name, ends in ranges.items()})


def ours(shots: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Return yield and uncertainty by the package, with all its checks."""
    spreads = {f"u_{name}": shots[f"u_{name}"] for name in ("tds_pct", "beverage_g", "dose_g")}
    measured = (shots["tds_pct"], shots["beverage_g"], shots["dose_g"])
    return extraction_yield(*measured), yield_uncertainty(*measured, **spreads)


def bare(columns: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Return the same by the same formulas and nothing else."""
    tds, beverage, dose, u_tds, u_beverage, u_dose = columns.values()
    ey = tds * beverage / dose
    u_ey = np.sqrt((beverage * u_tds) ** 2 + (tds * u_beverage) ** 2 + (ey * u_dose) ** 2) / dose
    return ey, u_ey


def carried(shot: tuple[float, ...] | pd.Series) -> tuple[float, float]:
    """Return the same for one shot, by a package that carries uncertainty in each number."""
    tds, beverage, dose, u_tds, u_beverage, u_dose = shot
    ey = ufloat(tds, u_tds) * ufloat(beverage, u_beverage) / ufloat(dose, u_dose)
    return ey.nominal_value, ey.std_dev


def findings() -> list[Finding]:
    """Return the comparisons, the slow ones scaled up from fewer rows."""
    shots = some_shots(SHOTS)
    columns = {str(name): shots[name].to_numpy() for name in shots}
    few = shots.head(ROW_BY_ROW)
    rows = list(few.itertuples(index=False, name=None))
    quick = in_turns(lambda: ours(shots), lambda: bare(columns), rounds=7)
    table = in_turns(lambda: ours(shots), lambda: few.apply(carried, axis=1), rounds=3)
    loop = in_turns(lambda: ours(shots), lambda: list(map(carried, rows)), rounds=3)
    scale = SHOTS / ROW_BY_ROW
    return [
        at_most("yield ± u, 1e6 shots / bare numpy", quick, 3),
        at_least("uncertainties, rows of a table / ours", (table[0], table[1] * scale), 1000),
        at_least("uncertainties, plain tuples / ours", (loop[0], loop[1] * scale), None),
    ]
