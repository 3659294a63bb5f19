"""Measurements that never vary: what was aimed at, logged in place of what was read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.shotlog.findings import NO_ROW, Finding, quoted

if TYPE_CHECKING:
    from yieldwright.bench import Bench

__all__ = ["targets_as_measurements"]

#: Shots that show some spread by right.
_FROM = 8
#: A display this fine shows some spread in eight weighings (common practice, no source).
_FINE_SCALE_G = 0.2
_FINE_REFRACTOMETER_PCT = 0.1
_MOST_TOLD = 3
#: Number of each shot's group, and the names of the groups.
_Groups = tuple[np.ndarray, Any]
_WHAT = {
    "dose_g": ("weighings", "weigh each"),
    "beverage_g": ("weighings", "weigh each"),
    "time_s": ("readings", "time each"),
    "tds_pct": ("readings", "read each cup"),
}


def targets_as_measurements(shots: pd.DataFrame, bench: Bench) -> list[Finding]:
    """Return the measurements that never vary: targets logged in place of readings.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    bench : Bench
        A coarse display shows no spread by right.

    Returns
    -------
    list of Finding
        Of no row: a column constant over the log, or over eight shots and more of one
        session or bag while it is written with decimals elsewhere.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> shots = pd.DataFrame({"dose_g": [18.0] * 8})
    >>> targets_as_measurements(shots, Bench())[0].reason
    'the same in every shot: a target in place of weighings?'
    """
    found: list[Finding] = []
    groups = {by: pd.factorize(shots[by]) for by in ("session", "bag") if by in shots}
    for name, (what, remedy) in _WHAT.items():
        if name not in shots or not _is_fine(name, bench) or shots[name].count() < _FROM:
            continue
        where = _where_constant(shots[name].to_numpy(dtype=float), name, groups)
        if where:
            reason = f"{where}: a target in place of {what}?"
            found.append(Finding(NO_ROW, name, "", reason, remedy))
    return found


def _is_fine(name: str, bench: Bench) -> bool:
    steps = {
        "dose_g": bench.dose_scale.resolution_g / _FINE_SCALE_G,
        "beverage_g": bench.beverage_scale.resolution_g / _FINE_SCALE_G,
        "tds_pct": bench.refractometer.resolution_pct / _FINE_REFRACTOMETER_PCT,
    }
    return steps.get(name, 0.0) <= 1.0


def _where_constant(values: np.ndarray, name: str, groups: Mapping[str, _Groups]) -> str:
    """Return where a column never varies; empty where it does everywhere."""
    known = values[np.isfinite(values)]
    if known.min() == known.max():
        return "the same in every shot"
    if name != "time_s" and (known == np.round(known)).all():
        return ""  # whole grams may well agree eight times in a row
    for by, (codes, names) in groups.items():
        constant = [
            f"all {size} shots of {by} {quoted(str(names[group]))}"
            for group, size in _constant_groups(values, codes, len(names))
        ]
        if constant:
            more = len(constant) - _MOST_TOLD
            rest = [count(more, f"further {by}")] if more > 0 else []
            return f"the same in {listing([*constant[:_MOST_TOLD], *rest])}"
    return ""


def _constant_groups(
    values: np.ndarray, codes: np.ndarray, n_groups: int
) -> Iterator[tuple[int, int]]:
    """Yield each group with shots enough that never varies, and how many it has."""
    known = (codes >= 0) & np.isfinite(values)
    codes, values = codes[known], values[known]
    sizes = np.bincount(codes, minlength=n_groups)
    first = np.zeros(n_groups)
    first[codes] = values
    alike = np.bincount(codes, weights=values == first[codes], minlength=n_groups)
    for group in np.flatnonzero((sizes >= _FROM) & (alike == sizes)).tolist():
        yield group, int(sizes[group])
