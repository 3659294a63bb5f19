"""The way up a surface: on every sphere around the start, its highest place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

if TYPE_CHECKING:
    from yieldwright.models.surface.model import Surface

__all__ = ["SteepestPath", "steepest_path"]

Array = npt.NDArray[np.float64]

#: Longest step from one place of the path to the next, in coded units.
STEP = 0.05

#: Share of the whole below which there is no slope, or no difference, along a direction.
NONE = 1e-9


@dataclass(frozen=True, eq=False)
class SteepestPath:
    """Places along the way of steepest ascent, or descent.

    Attributes
    ----------
    places : ndarray
        Coded places, the start first, one step of 0.05 apart by their distance from it.
    climb : int
        +1 for ascent, −1 for descent.
    ended : bool
        Whether the path ends before the distance asked for: at the top itself, or where
        it would fork.
    """

    places: Array
    climb: int
    ended: bool


def steepest_path(
    surface: Surface, start: Array, *, distance: float, climb: int = 1
) -> SteepestPath:
    """Return the way of steepest ascent from a place.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.
    start : ndarray
        Coded place to start from.
    distance : float
        How far to follow the path, in coded units. [1]
    climb : int
        +1 to go up, −1 to go down.

    Returns
    -------
    SteepestPath

    Notes
    -----
    On the sphere of radius r around the start the highest place solves
    (B − μI)(x − x₀) = −½ (b + 2Bx₀) with μ above the largest eigenvalue of B, one μ for
    each r: ridge analysis. It sets out along the slope at the start. The direction is
    that of the coded scales: half of what was tried of one number counts as much as half
    of another. Places beyond what was tried are directions, not predictions.

    References
    ----------
    .. [1] Draper (1963), Technometrics 5, 469.
    .. [2] Box and Wilson (1951), J. R. Stat. Soc. B 13, 1.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.surface.fit import response_surface, surface_terms
    >>> from yieldwright.models.terms.terms import Numeric
    >>> rows = [(x, z) for x in (-1.0, 0.0, 1.0) for z in (-1.0, 0.0, 1.0)]
    >>> frame = pd.DataFrame(rows, columns=["x", "z"])
    >>> y = 5 - frame["x"] ** 2 - 2 * frame["z"] ** 2 + frame["x"] + 0.1 * frame["x"] ** 3
    >>> terms = surface_terms(frame, [Numeric("x"), Numeric("z")])
    >>> fit = fit_least_squares(build_design(frame, terms), y)
    >>> path = steepest_path(response_surface(fit, frame, ["x", "z"]), np.zeros(2), distance=1.0)
    >>> path.places[-1].round(6).tolist(), path.ended
    ([0.55, 0.0], True)
    """
    values, vectors = np.linalg.eigh(climb * surface.bends)
    slope = climb * surface.slope(start) @ vectors
    reach = _longest(values, slope)
    radii = np.arange(1, round(distance / STEP) + 1) * STEP
    short = radii[radii < reach]
    moves = [_move(values, slope, radius) for radius in short]
    if len(short) < len(radii) and _has_top(values):
        moves.append(slope / (-2 * values))
    places = [start, *(start + vectors @ move for move in moves)]
    return SteepestPath(np.array(places), climb, len(short) < len(radii))


def _longest(values: Array, slope: Array) -> float:
    """Return how far the path leads: to the top, to where it would fork, or for ever."""
    if _has_top(values):
        return float(np.linalg.norm(slope / (2 * values)))
    apart = values[-1] - values
    level = apart <= NONE * np.abs(values).max()
    if np.abs(slope[level]).max() > NONE * _scale(values, slope):
        return float(np.inf)
    return float(np.linalg.norm(slope[~level] / (2 * apart[~level])))


def _has_top(values: Array) -> bool:
    """Return whether a surface bends down along every direction, rounding aside."""
    return bool(values[-1] < -NONE * np.abs(values).max())


def _move(values: Array, slope: Array, radius: float) -> Array:
    """Return the highest place at a distance, along the eigenvectors."""
    total = float(np.linalg.norm(slope))
    slack = NONE / 1000 * _scale(values, slope)

    def beyond(multiplier: float) -> float:
        return float(np.linalg.norm(slope / (2 * (multiplier - values)))) - radius

    # At the upper end every part is at most |slope| / 2(μ − λ), λ the largest eigenvalue.
    low, high = values[-1] + slack, values[-1] + total / (2 * radius) + slack
    multiplier = float(brentq(beyond, low, high))
    return np.asarray(slope / (2 * (multiplier - values)))


def _scale(values: Array, slope: Array) -> float:
    return float(np.linalg.norm(slope) + np.abs(values).max())
