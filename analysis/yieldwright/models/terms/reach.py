"""How far out a place lies from the points that were tried: its leverage."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, TooFewShotsError

__all__ = ["leverage_at"]

Array = npt.NDArray[np.float64]


def leverage_at(points: Array, places: Array) -> Array:
    """Return the leverage that a line through some points has at other places.

    Parameters
    ----------
    points : ndarray
        One row per point tried, one column per variable. [any units]
    places : ndarray
        One row per place asked about, the same columns. [the same units]

    Returns
    -------
    ndarray
        One value per place: variance of the fitted mean in units of the variance of one
        point. [1]

    Raises
    ------
    MisalignedError
        If points and places have different numbers of columns.
    TooFewShotsError
        If there is no point.

    Notes
    -----
    1/n + (x − x̄)ᵀ S⁻¹ (x − x̄) with S the cross products about the mean; directions in
    which nothing was tried count as none. A place of more leverage than every point
    tried is an extrapolation, even inside the range of each variable.

    References
    ----------
    .. [1] Cook (1977), Technometrics 19, 15: leverage of a point.

    Examples
    --------
    >>> tried = np.array([[0.0], [1.0], [2.0]])
    >>> leverage_at(tried, np.array([[1.0], [2.0], [4.0]])).round(3).tolist()
    [0.333, 0.833, 4.833]
    """
    _require_alike(points, places)
    centre = points.mean(axis=0)
    scale = np.ptp(points, axis=0)
    scale = np.where(scale > 0, scale, 1.0)
    tried, asked = (points - centre) / scale, (places - centre) / scale
    inverse = np.linalg.pinv(tried.T @ tried, hermitian=True)
    return np.asarray(1 / len(points) + np.einsum("ij,jk,ik->i", asked, inverse, asked))


def _require_alike(points: Array, places: Array) -> None:
    if not len(points):
        raise TooFewShotsError("no place lies far from no points: give at least one")
    if points.ndim != 2 or places.ndim != 2 or points.shape[1] != places.shape[1]:
        raise MisalignedError(
            f"points and places must be tables with the same columns; got {points.shape} and "
            f"{places.shape}"
        )
