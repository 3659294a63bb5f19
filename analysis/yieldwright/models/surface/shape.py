"""What kind of place a surface turns at: top, bottom, saddle, ridge, or not to be told."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.models.intervals.intervals import LEVEL, t_quantile

if TYPE_CHECKING:
    from yieldwright.models.surface.model import Surface

__all__ = ["CanonicalAxis", "Kind", "Shape", "stationary_cov", "surface_shape"]

Array = npt.NDArray[np.float64]

Kind = Literal["top", "bottom", "saddle", "ridge", "valley", "unclear"]

#: A bend below this share of the largest is rounding, and the surface turns nowhere.
LEVEL_AXIS = 1e-8

#: Points a side of the search over directions, rounds of it, and how far each zooms in.
GRID, ROUNDS, ZOOM = 41, 7, 0.12


@dataclass(frozen=True, eq=False)
class CanonicalAxis:
    """One direction along which a surface bends without turning into another.

    Attributes
    ----------
    eigenvalue : float
        Bend: change of the response one coded unit from the stationary point.
        [unit of the response]
    std_error : float
        Of the bend along this direction. [unit of the response]
    ci_low, ci_high : float
        Limits that hold the eigenvalue itself, whichever direction it has.
    direction : ndarray
        Of length 1, in coded units; its largest entry is positive.
    """

    eigenvalue: float
    std_error: float
    ci_low: float
    ci_high: float
    direction: Array

    @property
    def clear(self) -> bool:
        """Whether the interval keeps clear of 0."""
        return self.ci_low > 0 or self.ci_high < 0


@dataclass(frozen=True, eq=False)
class Shape:
    """Canonical analysis of a surface.

    Attributes
    ----------
    kind : {"top", "bottom", "saddle", "ridge", "valley", "unclear"}
        What the intervals of all eigenvalues allow to be said. A ridge falls off to two
        sides and may do anything along the rest; a valley is its mirror image.
    axes : tuple of CanonicalAxis
        The largest eigenvalue first.
    stationary : ndarray or None
        Coded place where the fitted surface is level, tried or not; None where it bends
        so little along some direction that there is no such place.
    """

    kind: Kind
    axes: tuple[CanonicalAxis, ...]
    stationary: Array | None


def surface_shape(surface: Surface, *, level: float = LEVEL) -> Shape:
    r"""Return the canonical analysis of a surface, with intervals of its eigenvalues.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.
    level : float
        Confidence level of the intervals. [1]

    Returns
    -------
    Shape

    Notes
    -----
    The place solves b + 2Bx = 0. The largest eigenvalue of B is at least v′Bv along the
    direction v found, and at most the largest v′Bv of all directions. Its upper limit is
    the largest t limit of v′Bv over all directions, which fails only if the t limit along
    the true direction does. Its lower limit is that of v′Bv along the direction found,
    with Scheffé's :math:`\sqrt{m F_{m, \nu}}` in place of t, m the number of quadratic
    coefficients, because that direction was chosen by looking. The smallest mirrors it;
    one between is bounded by the theorem of Courant and Fischer, both limits with
    Scheffé's factor. The limits are wider than those of the delta method, which forgets
    that eigenvalues of noise alone spread apart and would call most flat surfaces saddles.

    References
    ----------
    .. [1] Box and Draper (2007), Response Surfaces, Mixtures, and Ridge Analyses, ch. 10.
    .. [2] Bisgaard and Ankenman (1996), Technometrics 38, 238: the standard errors.
    .. [3] Scheffé (1953), Biometrika 40, 87.

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
    >>> surface = response_surface(fit, frame, ["x", "z"])
    >>> shape = surface_shape(surface)
    >>> shape.kind, shape.stationary.round(6).tolist()
    ('top', [0.55, 0.0])
    """
    values, vectors = np.linalg.eigh(surface.bends)
    values, vectors = values[::-1], vectors[:, ::-1]
    limits = _limits(surface, vectors, level)
    axes = tuple(
        CanonicalAxis(float(value), _error(surface, vector), *limit, _pointed(vector))
        for value, vector, limit in zip(values, vectors.T, limits, strict=True)
    )
    level_axis = np.abs(values).min() <= LEVEL_AXIS * np.abs(values).max()
    place = None if level_axis else np.asarray(np.linalg.solve(-2 * surface.bends, surface.linear))
    return Shape(_kind(axes), axes, place)


def stationary_cov(surface: Surface, stationary: Array) -> Array:
    """Return the covariance of the stationary point by the delta method.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.
    stationary : ndarray
        Its coded stationary point.

    Returns
    -------
    ndarray
        In coded units; good where all bends are known well, elsewhere far too small.

    Notes
    -----
    From b + 2Bx = 0: dx = −½ B⁻¹ (db + 2 dB x).

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.surface.fit import response_surface, surface_terms
    >>> from yieldwright.models.terms.terms import Numeric
    >>> rows = [(x, z) for x in (-1.0, 0.0, 1.0) for z in (-1.0, 0.0, 1.0)]
    >>> frame = pd.DataFrame(rows, columns=["x", "z"])
    >>> y = 5 - frame["x"] ** 2 - 2 * frame["z"] ** 2 + 0.1 * frame["x"] ** 3 * frame["z"]
    >>> terms = surface_terms(frame, [Numeric("x"), Numeric("z")])
    >>> fit = fit_least_squares(build_design(frame, terms), y)
    >>> surface = response_surface(fit, frame, ["x", "z"])
    >>> stationary_cov(surface, surface_shape(surface).stationary).shape
    (2, 2)
    """
    solved = np.linalg.solve(-2 * surface.bends, surface.slope_weights(stationary))
    return np.asarray(solved @ surface.cov @ solved.T)


def _kind(axes: tuple[CanonicalAxis, ...]) -> Kind:
    up = sum(axis.ci_low > 0 for axis in axes)
    down = sum(axis.ci_high < 0 for axis in axes)
    if up and down:
        return "saddle"
    if up + down == len(axes):
        return "bottom" if up else "top"
    if up + down == 0:
        return "unclear"
    return "valley" if up else "ridge"


def _limits(surface: Surface, vectors: Array, level: float) -> list[tuple[float, float]]:
    """Return the limits of each eigenvalue, the largest first."""
    size, df = surface.width, surface.fit.df_resid
    many = size * (size + 1) // 2
    plain = t_quantile(df, level=level)
    chosen = float(np.sqrt(many * special.fdtri(many, df, level)))
    slack = LEVEL_AXIS * float(np.abs(surface.bends).max())
    limits = []
    for place in range(size):
        above, below = vectors[:, place:], vectors[:, : place + 1]
        high = _highest(surface, above, plain if place == 0 else chosen, 1)
        low = -_highest(surface, below, plain if place == size - 1 else chosen, -1)
        limits.append((low - slack, high + slack))
    lows = np.maximum.accumulate([low for low, _ in reversed(limits)])[::-1]
    highs = np.minimum.accumulate([high for _, high in limits])
    return list(zip(lows.tolist(), highs.tolist(), strict=True))


def _highest(surface: Surface, basis: Array, reach: float, sign: int) -> float:
    """Return the largest upper limit of sign · v′Bv over the directions of a subspace."""
    angles, span, best = np.zeros(basis.shape[1] - 1), np.pi, -np.inf
    for _ in range(ROUNDS):
        tried = _around(angles, span)
        bends, errors = _along(surface, _directions(tried) @ basis.T)
        found = sign * bends + reach * errors
        angles, span = tried[found.argmax()], span * ZOOM
        best = max(best, float(found.max()))
    return best


def _around(angles: Array, span: float) -> Array:
    """Return a grid of angles around some, one row each; a single row where there are none."""
    steps = np.linspace(-span / 2, span / 2, GRID)
    grids = np.meshgrid(*(angle + steps for angle in angles))
    return np.stack(grids, axis=-1).reshape(-1, len(angles)) if grids else angles[np.newaxis]


def _directions(angles: Array) -> Array:
    """Return unit vectors by their angles, one row each."""
    vectors = np.ones((len(angles), 1))
    for angle in angles.T[:, :, np.newaxis]:
        vectors = np.hstack([vectors * np.cos(angle), np.sin(angle)])
    return vectors


def _along(surface: Surface, directions: Array) -> tuple[Array, Array]:
    """Return the bend along some directions, and its standard errors."""
    pairs = combinations(range(surface.width), 2)
    products = [directions[:, first] * directions[:, second] for first, second in pairs]
    weights = np.column_stack([directions**2, *products])
    quadratic = slice(surface.width, None)
    variances = np.einsum("ij,jk,ik->i", weights, surface.cov[quadratic, quadratic], weights)
    return weights @ surface.coefficients[quadratic], np.sqrt(np.maximum(variances, 0.0))


def _error(surface: Surface, vector: Array) -> float:
    return float(_along(surface, vector[np.newaxis])[1][0])


def _pointed(vector: Array) -> Array:
    """Return a direction with its largest entry positive."""
    return np.asarray(vector * np.sign(vector[np.abs(vector).argmax()]))
