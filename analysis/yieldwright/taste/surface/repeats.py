"""The shots of one coming session that would make a surface possible, or sharpen it."""

from __future__ import annotations

import math
from itertools import combinations, product
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldwright.taste.findings import Findings

__all__ = ["MOST_SHOTS", "SHARPENING_SHOTS", "shots_to_pull"]

Array = npt.NDArray[np.float64]

#: Shots proposed at most: what one sips in one session (common practice, no source).
MOST_SHOTS = 12

#: Shots proposed at least: fewer would leave a bend to a single one.
LEAST_SHOTS = 4

#: Least share of the mean information that a direction must have to count as known.
KNOWN = 0.05

#: Shots proposed where a surface is there and its turning point is not bounded.
SHARPENING_SHOTS = 6

#: Share of the largest information added so that a log without any can be improved on.
RIDGE = 1e-6


def shots_to_pull(
    findings: Findings,
    settings: Sequence[str],
    left_out: Mapping[str, str],
    *,
    spare: int,
) -> pd.DataFrame:
    """Return the shots of one session after which a surface would stand.

    Parameters
    ----------
    findings : Findings
        The verdicts of each stratum.
    settings : sequence of str
        Settings the surface should hold, those to keep first.
    left_out : mapping of str to str
        Settings that could not enter, with reasons; they are asked for last.
    spare : int
        Degrees of freedom to keep for the residuals; 0 for a fixed number of shots that
        sharpen a surface already there. [count]

    Returns
    -------
    DataFrame
        One row per shot, one column per setting, two of them where there is no surface
        yet; empty where fewer than two settings were logged as numbers.

    Notes
    -----
    Offered are the lowest, a middle and the highest value tried of each setting, or the
    next steps where there are fewer. Shots are added one at a time, each the one that
    adds most to the volume of what the log knows about slopes, squares and product.
    """
    logged = [each for each in settings if _values(findings, each).size]
    ranked = sorted(
        logged, key=lambda column: column in left_out and not _varies(findings, column)
    )
    kept = set(ranked[: 2 if spare else len(ranked)])
    columns = sorted(kept, key=[*findings.question.settings, *settings].index)
    if len(columns) < 2:
        return pd.DataFrame(columns=list(settings))
    ladders = [_ladder(findings, column) for column in columns]
    middles = np.array([(min(ladder) + max(ladder)) / 2 for ladder in ladders])
    reaches = np.array([(max(ladder) - min(ladder)) / 2 for ladder in ladders])
    offered = np.array(list(product(*ladders)))
    known, rows = _known(findings, columns, middles, reaches)
    chosen = _added(known, rows, _quadratic((offered - middles) / reaches), spare)
    return pd.DataFrame(offered[sorted(chosen)], columns=columns)


def _values(findings: Findings, column: str) -> Array:
    """Return the values logged of a setting, none where it holds no numbers."""
    shots = findings.comparable.shots
    if column not in shots or shots[column].dtype.kind not in "fiu":
        return np.empty(0)
    return np.asarray(shots[column].dropna(), dtype=float)


def _varies(findings: Findings, column: str) -> bool:
    return len(np.unique(_values(findings, column))) > 1


def _ladder(findings: Findings, column: str) -> list[float]:
    """Return three values of a setting to pull: tried ones as far as there are."""
    values = np.unique(_values(findings, column))
    step = _step(findings, column)
    low, high = float(values[0]), float(values[-1])
    if len(values) >= 3:
        middle = values[1:-1]
        return [low, float(middle[np.abs(middle - (low + high) / 2).argmin()]), high]
    if low == high:
        return (
            [low - step, low, low + step] if low - step >= 0 else [low, low + step, low + 2 * step]
        )
    between = low + step * math.floor((high - low) / step / 2 + 0.5)
    return [low, between, high] if low < between < high else [low, high, high + step]


def _step(findings: Findings, column: str) -> float:
    if column == "grind_setting":
        return findings.question.bench.grinder(findings.comparable.grinder).step
    return next((abs(p.step) for p in findings.prepared.predictors if p.column == column), 1.0)


def _known(
    findings: Findings, columns: Sequence[str], middles: Array, reaches: Array
) -> tuple[Array, int]:
    """Return the information inside sessions so far, and its rows less sessions and others."""
    layout, width = findings.inside.layout, len(columns) * (len(columns) + 3) // 2
    frame = layout.frame.assign(
        **{
            column: _values(findings, column)[0]
            for column in columns
            if column not in layout.frame and not _varies(findings, column)
        }
    )
    if not set(columns) <= set(frame):
        return np.zeros((width, width)), 0
    rows = _quadratic((frame[list(columns)].to_numpy(dtype=float) - middles) / reaches)
    codes = layout.codes if layout.blocked else np.zeros(len(rows), dtype=int)
    inside = rows - pd.DataFrame(rows).groupby(codes).transform("mean").to_numpy()
    settings = [p for p in layout.inside if p.kind == "setting" and p.column not in columns]
    return inside.T @ inside, len(rows) - int(codes.max()) - 1 - sum(p.width for p in settings)


def _quadratic(places: Array) -> Array:
    """Return slopes, squares and products of coded places."""
    pairs = combinations(range(places.shape[1]), 2)
    products = [places[:, first] * places[:, second] for first, second in pairs]
    return np.column_stack([places, places**2, *products])


def _added(known: Array, rows: int, offered: Array, spare: int) -> list[int]:
    """Return which places to pull, one shot each, until all stands or the session is full."""
    chosen: list[int] = []
    scale = max(float(np.trace(known)) / len(known), 1.0)
    ridge = RIDGE * scale * np.eye(len(known))

    def volume(extra: list[int]) -> float:
        new = offered[extra]
        new = new - new.mean(axis=0)
        return float(np.linalg.slogdet(known + ridge + new.T @ new).logabsdet)

    def enough() -> bool:
        if not spare:
            return len(chosen) >= SHARPENING_SHOTS
        new = offered[chosen] - offered[chosen].mean(axis=0) if chosen else offered[:0]
        sizes = np.linalg.eigvalsh(known + new.T @ new)
        left = rows + len(chosen) - 1 - len(known)
        return bool(
            len(chosen) >= LEAST_SHOTS and sizes[0] > KNOWN * sizes.mean() and left >= spare
        )

    while len(chosen) < MOST_SHOTS and not enough():
        gains = [volume([*chosen, each]) for each in range(len(offered))]
        chosen.append(int(np.argmax(np.round(gains, 9))))
    return chosen
