"""Reading of the folder of published figures, and how many digits agree."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd


def expected(reference: Path, name: str) -> dict[str, Any]:
    """Return the expected values of one example; its file names source and engine."""
    text = (reference / "stats" / name / "expected.json").read_text(encoding="utf-8")
    return json.loads(text)["expected"]


def data(reference: Path, name: str, file: str = "data.csv") -> pd.DataFrame:
    """Return the data of one example."""
    return pd.read_csv(reference / "stats" / name / file)


def agreeing_digits(found: Iterable[float], certified: Iterable[float]) -> float:
    """Return the log relative error of the worst value, in digits."""
    pairs = zip(found, certified, strict=True)
    errors = [abs(f - c) / abs(c) if c else abs(f) for f, c in pairs]
    return float(-np.log10(max(*errors, 1e-16)))


def column(records: Iterable[Mapping[str, Any]], key: str) -> list[Any]:
    """Return one entry of each record."""
    return [record[key] for record in records]


def products(frame: pd.DataFrame, *pairs: tuple[str, str]) -> pd.DataFrame:
    """Return the table with a product column, named `a:b`, for each pair."""
    return frame.assign(**{f"{a}:{b}": frame[a] * frame[b] for a, b in pairs})
