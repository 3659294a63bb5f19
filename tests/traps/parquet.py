"""Parquet tables with one trap each, built when they are tried: the format is binary."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.traps.trap import Trap, expecting

__all__ = ["PARQUET"]


def table(**columns: Any) -> Callable[[Path], Path]:
    """Return what writes columns as Parquet, each of the type of its values or as told."""

    def write(folder: Path) -> Path:
        arrow = pytest.importorskip("pyarrow", reason="Parquet is an extra")
        from pyarrow import parquet

        arrays = [
            arrow.array(values[0], getattr(arrow, values[1])(*values[2:]))
            if isinstance(values, tuple)
            else arrow.array(values)
            for values in columns.values()
        ]
        path = folder / "shots.parquet"
        parquet.write_table(arrow.Table.from_arrays(arrays, names=list(columns)), path)
        return path

    return write


def trap(
    name: str, source: Callable[[Path], Path], shots: str = "", *cells: Any, **told: Any
) -> Trap:
    """Return a Parquet table, and what must become of it; its columns are no line of it."""
    return expecting(f"parquet/{name}", source, shots, *cells, headers=0, **told)


ZONE = dt.timezone(dt.timedelta(hours=1))
PARQUET = (
    trap(
        "numbers, flags and texts",
        table(shot=["a", "b"], dose_g=[18.1, 18.0], filtered=[True, None], bag=["007", "NA"]),
        "a b",
        {
            ("a", "dose_g"): 18.1,
            ("a", "filtered"): True,
            ("b", "filtered"): "",
            ("b", "bag"): "NA",
        },
        encoding="Parquet",
    ),
    trap("shots named by numbers", table(shot=[7, 12], dose_g=[18.0, 18.5]), "7 12"),
    trap(
        "nothing and not a number",
        table(shot=["a", "b"], dose_g=[None, float("nan")], beverage_g=[36.0, 37.0]),
        "a b",
        {("a", "dose_g"): "", ("b", "dose_g"): "", ("b", "beverage_g"): 37.0},
    ),
    trap(
        "a moment with its zone",
        table(shot=["a"], pulled_at=[dt.datetime(2026, 3, 7, 10, 25, tzinfo=ZONE)]),
        "a",
        {("a", "pulled_at"): "2026-03-07T09:25Z"},
    ),
    trap(
        "a day",
        table(shot=["a"], roasted_on=[dt.date(2026, 2, 20)]),
        "a",
        {("a", "roasted_on"): "2026-02-20"},
    ),
    trap(
        "numbers of a fixed number of decimals",
        table(shot=["a"], dose_g=([Decimal("18.20")], "decimal128", 5, 2)),
        "a",
        {("a", "dose_g"): 18.2},
    ),
    trap(
        "single precision is what was typed",
        table(shot=["a"], dose_g=([18.1], "float32")),
        "a",
        {("a", "dose_g"): 18.1},
    ),
    trap(
        "a day in a column of numbers",
        table(shot=["a"], dose_g=[dt.date(2026, 5, 18)]),
        aside=((1, "is no number", "18.5?"),),
    ),
    trap(
        "a dose of 180 g",
        table(shot=["a", "b"], dose_g=[180.0, 18.0]),
        "b",
        aside=((1, "dose_g is 180 g", "18.0?"),),
    ),
    trap(
        "numbers kept as texts with decimal commas",
        table(shot=["a", "b"], dose_g=["18,1", "18,2"]),
        "a b",
        {("a", "dose_g"): 18.1},
    ),
    trap(
        "a formula is only text",
        table(shot=["a"], notes=["=1+1"]),
        "a",
        {("a", "notes"): "=1+1"},
    ),
    trap(
        "a unit in the name of a column",
        table(**{"shot": ["a"], "Dose (oz)": [0.63]}),
        "a",
        {("a", "dose_g"): 0.63 * 28.349523125},
    ),
    trap(
        "an exact copy",
        table(shot=["a", "a"], dose_g=[18.0, 18.0]),
        "a",
        aside=((2, "an exact copy of the row at line 1", "delete one"),),
    ),
    trap(
        "a list in a cell",
        table(shot=["a"], tds_pct=[[9.1, 9.3]]),
        refused="tds_pct",
    ),
    trap(
        "no name that is known",
        table(alpha=["a"], beta=[1]),
        refused="names no column we know",
    ),
)
