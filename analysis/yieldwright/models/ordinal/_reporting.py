"""From scaled parameters to those a reader meets: in the units of the design, perhaps infinite."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from yieldwright.models.ordinal._posing import OrdinalPosing
    from yieldwright.models.ordinal._separation import Highest

Array = npt.NDArray[np.float64]


def carried(posing: OrdinalPosing, found: Highest) -> tuple[Array, Array]:
    """Return parameters and their covariance in the units of the design.

    Parameters
    ----------
    posing : OrdinalPosing
        What was asked.
    found : Highest
        Where its likelihood is highest, in scaled parameters.

    Returns
    -------
    params, cov : ndarray
        Parameters without a finite estimate are infinite or not a number, and have no
        covariance.
    """
    params = np.array([found.combination(row) for row in posing.back])
    cov = posing.back @ found.cov @ posing.back.T
    endless = ~np.isfinite(params)
    cov[endless, :] = np.nan
    cov[:, endless] = np.nan
    return params, cov


def unbounded_ways(posing: OrdinalPosing, params: Array) -> dict[str, str]:
    """Return where parameters without a finite estimate go, by name.

    Parameters
    ----------
    posing : OrdinalPosing
        What was asked.
    params : ndarray
        Parameters, perhaps infinite.

    Returns
    -------
    dict of str to str
        `up`, `down`, or `either` where nothing determines the parameter.
    """
    ways = {name: _way(value) for name, value in zip(posing.names, params.tolist(), strict=True)}
    return {name: way for name, way in ways.items() if way}


def _way(value: float) -> str:
    """Return where a parameter without a finite estimate goes, or nothing."""
    if np.isfinite(value):
        return ""
    return "either" if np.isnan(value) else "up" if value > 0 else "down"
