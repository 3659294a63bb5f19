"""Whether a place lies among the points that were tried: convex hull and leverage."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import optimize

from yieldwright.errors import MisalignedError, TooFewShotsError

__all__ = ["inside_hull", "leverage_at"]

Array = npt.NDArray[np.float64]

#: Distance from the hull, in ranges of the points, that counts as none.
TOUCHES = 1e-9


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


def inside_hull(points: Array, places: Array) -> npt.NDArray[np.bool_]:
    """Return whether places lie in the convex hull of some points, its edge included.

    Parameters
    ----------
    points : ndarray
        One row per point tried, one column per variable. [any units]
    places : ndarray
        One row per place asked about, the same columns. [the same units]

    Returns
    -------
    ndarray of bool
        One value per place.

    Raises
    ------
    MisalignedError
        If points and places have different numbers of columns.
    TooFewShotsError
        If there is no point.

    Notes
    -----
    A place is inside where weights of the points, none below 0 and 1 in all, give it
    as their mean: found by least squares with weights kept at or above 0.

    References
    ----------
    .. [1] Lawson and Hanson (1974), Solving Least Squares Problems, chapter 23.

    Examples
    --------
    >>> corners = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    >>> inside_hull(corners, np.array([[0.3, 0.3], [0.7, 0.7]])).tolist()
    [True, False]
    """
    _require_alike(points, places)
    low, scale = points.min(axis=0), np.ptp(points, axis=0)
    scale = np.where(scale > 0, scale, 1.0)
    weighed = np.vstack([((points - low) / scale).T, np.ones(len(points))])
    asked = np.column_stack([(places - low) / scale, np.ones(len(places))])
    return np.array([optimize.nnls(weighed, place)[1] < TOUCHES for place in asked], dtype=bool)


def _require_alike(points: Array, places: Array) -> None:
    if not len(points):
        raise TooFewShotsError("nothing lies among no points: give at least one")
    if points.ndim != 2 or places.ndim != 2 or points.shape[1] != places.shape[1]:
        raise MisalignedError(
            f"points and places must be tables with the same columns; got {points.shape} and "
            f"{places.shape}"
        )
