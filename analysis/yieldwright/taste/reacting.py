"""Settings that were chosen because of how the shot before turned out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.taste.strata import group_means

if TYPE_CHECKING:
    from yieldwright.taste.findings import Findings

__all__ = ["reacting_settings", "reaction"]

Array = npt.NDArray[np.float64]

#: Chance of calling a setting reactive in a log whose order was fixed before.
ALPHA = 0.01

#: Pairs of neighbouring shots a verdict needs.
LEAST_PAIRS = 12


def reacting_settings(findings: Findings) -> tuple[str, ...]:
    """Return the numeric settings that followed what the shot before did by chance.

    Parameters
    ----------
    findings : Findings
        Complete rows, in the order they were pulled.

    Returns
    -------
    tuple of str
        Columns; none where there are fewer than 12 pairs of neighbours.
    """
    inside = findings.inside
    if inside.fit is None:
        return ()
    frame, chance = inside.layout.frame, inside.fit.fit.residuals
    settings = (each for each in inside.candidates if each.kind == "setting")
    numbers = [each.column for each in settings if not each.levels]
    values = {name: frame[name].to_numpy(dtype=float) for name in numbers}
    codes = inside.layout.codes
    return tuple(name for name in numbers if reaction(values[name], chance, codes) < ALPHA)


def reaction(setting: Array, chance: Array, codes: npt.NDArray[np.intp]) -> float:
    """Return the p-value of a setting following what the shot before did by chance.

    Parameters
    ----------
    setting : ndarray
        One value per shot, in order.
    chance : ndarray
        What a fit of the response leaves unexplained of each shot.
    codes : ndarray
        Number of the session of each shot.

    Returns
    -------
    float
        1 where there are fewer than 12 pairs of neighbours, or nothing varies.

    Notes
    -----
    Settings fixed beforehand, in whatever order, know nothing of chance. The setting is
    compared with the unexplained part of the shot before, session and the setting
    before taken out.

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
    columns = np.column_stack([setting[after], chance[after - 1], setting[after - 1]])
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
