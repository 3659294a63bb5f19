"""Rows that tell one shot twice, or tastes of one shot told as shots."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.cautions import Caution, Severity
from yieldwright.formatting import count, listing
from yieldwright.taste.columns.roles import SCORE_PREFIX

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_copies", "alike_by_chance"]

Codes = npt.NDArray[np.intp]

#: What is set by hand, so that like shots share it.
CHOSEN = ("grind_setting", "temp_band")

#: What is read from instruments; what is computed from these tells nothing new.
MEASURED = (
    *("dose_g", "beverage_g", "time_s", "first_drip_s", "tds_pct", "peak_bar", "hold_bar"),
    *("end_bar", "ey_pct", "taper_bar"),
)

#: Columns computed from others, and from which.
COMPUTED = {"ey_pct": ("tds_pct",), "taper_bar": ("hold_bar", "end_bar")}

#: Chance of taking shots that agree by chance for copies.
ALPHA = 0.01

#: Share of rows told twice from which no interval should be used.
TOO_MANY = 0.05

#: Groups of rows that are named.
SHOWN = 2


def about_copies(fitted: FittedShots) -> Iterator[Caution]:
    """Yield a caution where rows agree in more than chance lets shots agree in.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    codes = _codes(fitted.shots)
    if codes is None:
        return
    groups, expected = alike_by_chance(*codes)
    sizes = np.bincount(groups)
    pairs = int((sizes * (sizes - 1) // 2).sum())
    if not pairs or special.gammainc(pairs, expected) >= ALPHA:
        return
    scores = fitted.shots.filter(like=SCORE_PREFIX)
    apart = {group for group in np.flatnonzero(sizes > 1) if _differ(scores[groups == group])}
    names = fitted.frame["shot"].astype(str).to_numpy()
    together = [names[groups == group].tolist() for group in np.flatnonzero(sizes > 1)]
    spare = len(groups) - len(sizes)
    yield _tastes(together, len(names)) if apart else _copies(together, spare, len(names))


def alike_by_chance(chosen: Codes, measured: Codes) -> tuple[Codes, float]:
    """Return which rows are alike in every column, and how many pairs chance would make so.

    Parameters
    ----------
    chosen : ndarray
        One number per row: what was set by hand.
    measured : ndarray
        One row per row, one column per reading: equal numbers for equal readings.

    Returns
    -------
    groups : ndarray
        Number of the group of rows that are alike.
    expected : float
        Pairs of like settings times the chance of each reading to agree, as the pairs
        that are not alike show it. [count]

    Examples
    --------
    >>> readings = np.array([[0, 0, 0], [1, 1, 1], [2, 2, 2], [0, 0, 0]])
    >>> groups, expected = alike_by_chance(np.zeros(4, dtype=int), readings)
    >>> groups.tolist(), round(expected, 2)
    ([0, 1, 2, 0], 0.02)
    """
    groups = chosen
    for column in measured.T:
        groups = _both(groups, column)
    alike = _pairs(groups)
    every, same = len(groups) * (len(groups) - 1) / 2, _pairs(chosen)
    expected = same - alike
    for column in measured.T:
        among_all = (_pairs(column) - alike + 1) / (every - alike + 1)
        among_same = (_pairs(_both(chosen, column)) - alike) / max(same - alike, 1)
        expected *= max(among_all, among_same)
    return groups, float(max(expected, 1e-12))


def _codes(shots: pd.DataFrame) -> tuple[Codes, Codes] | None:
    """Return what was chosen and what was read as numbers, None where nothing was read."""
    present = [name for name in MEASURED if name in shots and shots[name].notna().any()]
    read = [name for name in present if not set(COMPUTED.get(name, ())) & set(present)]
    if not read or len(shots) < 2:
        return None
    columns = [pd.factorize(shots[name])[0] for name in CHOSEN if name in shots]
    chosen = np.zeros(len(shots), dtype=np.intp)
    for column in columns:
        chosen = _both(chosen, column)
    return chosen, np.column_stack([pd.factorize(shots[name])[0] for name in read])


def _both(first: Codes, second: Codes) -> Codes:
    """Return one number per row for each pair of numbers, from 0 without gaps."""
    mixed = (first - first.min()) * (second.max() - second.min() + 1) + second - second.min()
    return np.asarray(np.unique(mixed, return_inverse=True)[1].reshape(-1))


def _pairs(codes: Codes) -> float:
    """Return how many pairs of rows share a number; a missing one is shared too."""
    sizes = np.bincount(codes - codes.min()).astype(float)
    return float((sizes * (sizes - 1) / 2).sum())


def _differ(scores: pd.DataFrame) -> bool:
    return any(len(scores[name].dropna().unique()) > 1 for name in scores)


def _named(groups: Sequence[Sequence[str]]) -> str:
    shown = [f"shots {listing(names)}" for names in groups[:SHOWN]]
    more = len(groups) - SHOWN
    return listing([*shown, *([count(more, "more group")] if more > 0 else [])])


def _copies(together: Sequence[Sequence[str]], spare: int, n_shots: int) -> Caution:
    severity: Severity = "stop" if spare > TOO_MANY * n_shots else "care"
    return Caution(
        "copied-shots",
        severity,
        f"Equal in all that was measured are {_named(together)}: {count(spare, 'shot')} of "
        f"{n_shots} may be logged twice, which makes intervals too narrow.",
        "Delete the copies, or correct what was mistyped.",
        ("shot",),
    )


def _tastes(together: Sequence[Sequence[str]], n_rows: int) -> Caution:
    rows = sum(map(len, together))
    return Caution(
        "tastes-as-shots",
        "stop",
        f"{rows} of {n_rows} rows look like tastes of {count(len(together), 'shot')}: equal in "
        f"all that was measured, but not in score, are {_named(together)}. Tastes of one shot are "
        "not so many shots.",
        "Give the tastes of one shot the same shot name, and name the taster.",
        ("shot",),
    )
