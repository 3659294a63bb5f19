"""Settings that were chosen because of how the shot before turned out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.taste.strata import codes_of, group_means

if TYPE_CHECKING:
    from yieldwright.taste.findings import Findings

__all__ = ["reacting_settings", "reaction"]

Array = npt.NDArray[np.float64]

#: Chance of calling a setting reactive in a log whose order was fixed before.
ALPHA = 0.01

#: Pairs of neighbouring shots a verdict needs.
LEAST_PAIRS = 12


def reacting_settings(findings: Findings) -> tuple[str, ...]:
    """Return the numeric settings that followed the response of the shot before.

    Parameters
    ----------
    findings : Findings
        Complete rows, in the order they were pulled.

    Returns
    -------
    tuple of str
        Columns; none where there are fewer than 12 pairs of neighbours.
    """
    frame = findings.inside.layout.frame
    codes, response = codes_of(frame["session"]), frame["response"].to_numpy(dtype=float)
    numbers = [
        p.column for p in findings.inside.candidates if p.kind == "setting" and not p.levels
    ]
    values = {name: frame[name].to_numpy(dtype=float) for name in numbers}
    return tuple(name for name in numbers if reaction(values[name], response, codes) < ALPHA)


def reaction(setting: Array, response: Array, codes: npt.NDArray[np.intp]) -> float:
    """Return the p-value of a setting following the response of the shot before.

    Parameters
    ----------
    setting, response : ndarray
        One value per shot, in order.
    codes : ndarray
        Number of the session of each shot.

    Returns
    -------
    float
        1 where there are fewer than 12 pairs of neighbours, or nothing varies.

    Notes
    -----
    The setting is regressed on session, the setting before and the response before. What
    the setting before did to the response before is thereby allowed for: in an order
    fixed beforehand, settings that follow one another are no reaction.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> missed = rng.normal(size=40)
    >>> answered = np.concatenate([[0.0], missed[:-1]]) + 0.1 * rng.normal(size=40)
    >>> reaction(answered, missed, np.zeros(40, dtype=int)) < 0.01
    True
    """
    after = np.flatnonzero(codes[1:] == codes[:-1]) + 1
    if len(after) < LEAST_PAIRS:
        return 1.0
    _, groups = np.unique(codes[after], return_inverse=True)
    columns = np.column_stack([setting[after], response[after - 1], setting[after - 1]])
    inside = columns - group_means(columns, groups)[groups]
    own, before = (_without(inside[:, column], inside[:, 2]) for column in (0, 1))
    df = len(after) - int(groups.max()) - 3
    size = math.sqrt(float(own @ own) * float(before @ before))
    if df < 1 or size < 1e-12:
        return 1.0
    correlation = float(own @ before) / size
    statistic = correlation * math.sqrt(df / max(1 - correlation**2, 1e-12))
    return float(2 * special.stdtr(df, -abs(statistic)))


def _without(values: Array, other: Array) -> Array:
    """Return what is left of some values once another column is taken out."""
    weight = float(other @ other)
    return values if weight < 1e-12 else values - other * float(values @ other) / weight
