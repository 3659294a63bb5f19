"""Where a surface may turn: the confidence region of its stationary point, or why none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.models.intervals.intervals import LEVEL

if TYPE_CHECKING:
    from yieldwright.models.surface.model import Surface
    from yieldwright.models.surface.tried_region import TriedRegion

__all__ = ["RegionKind", "StationaryRegion", "stationary_region"]

Array = npt.NDArray[np.float64]

RegionKind = Literal["inside", "beyond", "unbounded", "nowhere"]

#: Directions in which the edge of the region is looked for, in the plane and in space.
RAYS, RAYS_AROUND, RAYS_UP = 360, 72, 37

#: Roots this close to the real line, in shares of their size, are taken as real.
REAL = 1e-6


@dataclass(frozen=True, eq=False)
class StationaryRegion:
    """The places that the data do not rule out as the stationary point.

    Attributes
    ----------
    kind : {"inside", "beyond", "unbounded", "nowhere"}
        Bounded and within what was tried; bounded, but in part beyond it; without a
        bound in some direction; or the fitted surface turns nowhere. Only the first may
        be told as numbers.
    outline : ndarray
        Coded places on its edge, seen from the stationary point, in two dimensions in
        order around it; empty where it is unbounded.
    limit : float
        A place is in the region where its F statistic of levelness is at most this.
    """

    kind: RegionKind
    outline: Array
    limit: float

    @property
    def spans(self) -> Array:
        """Lowest and highest coded value of each number on the edge, one row per number."""
        return np.column_stack([self.outline.min(axis=0), self.outline.max(axis=0)])


def stationary_region(
    surface: Surface,
    stationary: Array | None,
    tried: TriedRegion,
    *,
    level: float = LEVEL,
) -> StationaryRegion:
    """Return the confidence region of the stationary point of a surface.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.
    stationary : ndarray or None
        Its coded stationary point, from `surface_shape`.
    tried : TriedRegion
        What was tried.
    level : float
        Confidence level. [1]

    Returns
    -------
    StationaryRegion

    Notes
    -----
    All x with δ(x)′ V(x)⁻¹ δ(x) ≤ k F(k, ν), where δ(x) = b + 2Bx is the slope and V(x)
    its covariance: exact for normal errors, however badly the bends are known. Along a
    ray x = x₀ + r u from the stationary point δ = 2 r B u, so the edge is where
    V(x) − r² (2Bu)(2Bu)′ / kF is singular, a quadratic eigenvalue problem in 1/r. The
    region is unbounded where at r → ∞ some direction u is not ruled out. Where a ray
    crosses the edge more than once the outermost crossing is taken: what is drawn holds
    the region.

    References
    ----------
    .. [1] Box and Hunter (1954), Biometrika 41, 190.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.surface.fit import response_surface, surface_terms
    >>> from yieldwright.models.surface.shape import surface_shape
    >>> from yieldwright.models.terms.terms import Numeric
    >>> from yieldwright.models.surface.tried_region import tried_region
    >>> rows = [(x, z) for x in (-1.0, 0.0, 1.0) for z in (-1.0, 0.0, 1.0)]
    >>> frame = pd.DataFrame(rows, columns=["x", "z"])
    >>> y = 5 - frame["x"] ** 2 - 2 * frame["z"] ** 2 + 0.1 * frame["x"] * frame["z"] ** 2
    >>> terms = surface_terms(frame, [Numeric("x"), Numeric("z")])
    >>> fit = fit_least_squares(build_design(frame, terms), y)
    >>> surface = response_surface(fit, frame, ["x", "z"])
    >>> place = surface_shape(surface).stationary
    >>> stationary_region(surface, place, tried_region(surface.tried)).kind
    'inside'
    """
    limit = float(special.fdtri(surface.width, surface.fit.df_resid, level))
    nothing = np.empty((0, surface.width))
    if stationary is None:
        return StationaryRegion("nowhere", nothing, limit)
    if not np.any(surface.cov):
        outline = stationary[np.newaxis]
    else:
        rays = _rays(surface.width)
        reach = _reach(surface, stationary, rays, surface.width * limit)
        if not np.isfinite(reach).all():
            return StationaryRegion("unbounded", nothing, limit)
        outline = stationary + rays * reach[:, np.newaxis]
    kind: RegionKind = "inside" if tried.holds(outline).all() else "beyond"
    return StationaryRegion(kind, outline, limit)


def _rays(size: int) -> Array:
    """Return unit vectors all around."""
    if size == 2:
        angles = np.linspace(0, 2 * np.pi, RAYS, endpoint=False)
        return np.column_stack([np.cos(angles), np.sin(angles)])
    around, up = np.meshgrid(
        np.linspace(0, 2 * np.pi, RAYS_AROUND, endpoint=False),
        np.linspace(-np.pi / 2, np.pi / 2, RAYS_UP),
    )
    level = np.cos(up)
    return np.stack([np.cos(around) * level, np.sin(around) * level, np.sin(up)], -1).reshape(
        -1, 3
    )


def _reach(surface: Surface, start: Array, rays: Array, squared: float) -> Array:
    """Return how far the region reaches along each ray; infinite where it has no bound."""
    here = surface.slope_weights(start)
    origin = surface.slope_weights(np.zeros(surface.width))
    turns = np.stack([surface.slope_weights(ray) - origin for ray in rays])
    slopes = turns @ surface.coefficients
    near = here @ surface.cov @ here.T
    mixed = here @ surface.cov @ np.swapaxes(turns, 1, 2)
    far = turns @ surface.cov @ np.swapaxes(turns, 1, 2)
    left = far - slopes[:, :, np.newaxis] * slopes[:, np.newaxis, :] / squared
    bounded = np.linalg.eigvalsh(left)[:, 0] < 0
    roots = _quadratic_eigenvalues(near, mixed + np.swapaxes(mixed, 1, 2), left)
    real = np.abs(roots.imag) <= REAL * np.abs(roots)
    inverse = np.where(real & (roots.real > 0), roots.real, np.inf).min(axis=1)
    return np.where(bounded & np.isfinite(inverse), 1 / inverse, np.inf)


def _quadratic_eigenvalues(square: Array, line: Array, constant: Array) -> Array:
    """Return the roots s of det(s² square + s line + constant), one row per matrix."""
    size = square.shape[-1]
    companion = np.zeros((len(constant), 2 * size, 2 * size))
    companion[:, :size, size:] = np.eye(size)
    companion[:, size:, :size] = -np.linalg.solve(square, constant)
    companion[:, size:, size:] = -np.linalg.solve(square, line)
    return np.asarray(np.linalg.eigvals(companion))
