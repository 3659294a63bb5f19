"""Settings that were chosen because of how the shot before turned out."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.taste.strata.strata import group_means

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings

__all__ = ["as_numbers", "reacting_settings", "reaction"]

Array = npt.NDArray[np.float64]

#: Chance of calling one of several settings reactive in a log whose order was fixed before.
ALPHA = 0.005

#: Pairs of neighbouring shots a verdict needs.
LEAST_PAIRS = 12


def reacting_settings(
    findings: Findings, order: npt.NDArray[np.intp] | None = None
) -> tuple[str, ...]:
    """Return the settings that followed what the shot before did by chance.

    Parameters
    ----------
    findings : Findings
        Complete rows.
    order : ndarray or None
        Rows session by session in the order they were pulled; None where they stand so.

    Returns
    -------
    tuple of str
        Columns; none where there are fewer than 12 pairs of neighbours. Levels count in
        their order, as numbers.
    """
    inside = findings.inside
    if inside.fit is None:
        return ()
    rows = np.arange(len(inside.layout.frame)) if order is None else order
    chance, codes = inside.fit.fit.residuals[rows], inside.layout.codes[rows]
    settings = [each for each in inside.candidates if each.kind == "setting"]
    values = {each.column: as_numbers(each, inside.layout.frame)[rows] for each in settings}
    return tuple(name for name in values if reaction(values[name], chance, codes) < ALPHA)


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


def as_numbers(setting: Predictor, frame: pd.DataFrame) -> Array:
    """Return the values of a setting as numbers, of levels their place in their order.

    Parameters
    ----------
    setting : Predictor
        A column of a fit.
    frame : DataFrame
        One row per shot.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.columns.predictors import Predictor
    >>> band = Predictor("temp_band", "setting", levels=("low", "high"))
    >>> as_numbers(band, pd.DataFrame({"temp_band": ["high", "low"]})).tolist()
    [1.0, 0.0]
    """
    if not setting.levels:
        return frame[setting.column].to_numpy(dtype=float)
    places = {level: float(place) for place, level in enumerate(setting.levels)}
    return np.array([places[level] for level in frame[setting.column]])


def _without(values: Array, other: Array) -> Array:
    """Return what is left of some values once another column is taken out."""
    weight = float(other @ other)
    return values if weight < 1e-12 else values - other * float(values @ other) / weight
