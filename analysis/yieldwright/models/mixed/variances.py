"""How large the spreads of a mixed model are, with intervals from their profile likelihood."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import optimize, special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL, Interval
from yieldwright.models.mixed._deviance import Surface, absolute, profiled
from yieldwright.models.mixed._search import descended

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldwright.models.mixed._bend import Bend
    from yieldwright.models.mixed.model import MixedFit

__all__ = ["CORRELATION", "RESIDUAL", "variance_table"]

Array = npt.NDArray[np.float64]

#: What the spread of rows about their groups is called.
RESIDUAL = "(residual)"

#: What the tie between shift and tilt of a group is called.
CORRELATION = "(correlation)"

#: Factors at 0 start a profile from here, since at 0 itself nothing pulls them away.
AWAY = 0.05

#: Relative accuracy of a limit: six digits are shown at most.
ACCURACY = 1e-8

#: Standard deviations of a row at which a limit counts as unbounded.
FARTHEST = 1e4


class _Row(NamedTuple):
    group: str
    term: str
    estimate: float
    ci_low: float
    ci_high: float
    variance: float
    at_edge: bool


def variance_table(fit: MixedFit, *, level: float = LEVEL) -> pd.DataFrame:
    """Return the standard deviations of a mixed model with profile-likelihood intervals.

    Parameters
    ----------
    fit : MixedFit
        From `fit_mixed`.
    level : float
        Confidence level of the intervals. [1]

    Returns
    -------
    DataFrame
        One row per standard deviation, by grouping and what differs between groups, that
        of rows about their groups last; one more for the correlation of shift and tilt.
        Columns group, term, estimate (the standard deviation, or the correlation),
        ci_low, ci_high, variance, at_edge. A lower limit of 0 and an upper one of
        infinity mean that there is none.

    Raises
    ------
    OutOfRangeError
        If the level is not between 0 and 1.

    Notes
    -----
    A limit is where the deviance, lowest over all else, stands above its minimum by the
    quantile of χ² with one degree of freedom: the restricted deviance for a REML fit. At
    0 the interval covers more often than stated, since half of that χ² lies at 0 [1]_.

    References
    ----------
    .. [1] Self and Liang (1987), J. Am. Stat. Assoc. 82, 605.

    Examples
    --------
    >>> from yieldwright.models.mixed.model import fit_mixed
    >>> from yieldwright.models.mixed.groups import grouping
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> table = variance_table(fit_mixed(np.ones((6, 1)), frame["y"], [grouping(frame, "day")]))
    >>> table[["term", "estimate"]].round(3).values.tolist()
    [['(intercept)', 3.476], ['(residual)', 0.707]]
    """
    if not 0 < level < 1:
        raise OutOfRangeError(f"a confidence level must lie between 0 and 1; {level:g} does not")
    allowed = float(special.chdtri(1, 1 - level))
    rows = [
        row
        for position in range(len(fit.groupings))
        for row in _rows_of_grouping(fit, position, allowed)
    ]
    return pd.DataFrame([*rows, _residual_row(fit, allowed)], columns=_Row._fields)


@dataclass(frozen=True, slots=True, eq=False)
class _Profile:
    """The deviance along one figure, lowest over all else."""

    bend: Callable[[Array], Bend]
    start: Array
    pinned: int
    lowest: float

    def rise(self, value: float) -> float:
        """Return how far the deviance stands above its minimum."""
        start, free = self.start.copy(), np.ones(len(self.start), dtype=bool)
        start[self.pinned], free[self.pinned] = value, False
        return descended(self.bend, start, free)[1] - self.lowest


def _rows_of_grouping(fit: MixedFit, position: int, allowed: float) -> list[_Row]:
    groups = fit.groupings[position]
    cov = fit.covariances[groups.name]
    edge = fit.at_edge[groups.name]
    rows = []
    for place, term in enumerate(groups.terms):
        sd = float(np.sqrt(cov[place, place]))
        low, high = _limits(_sd_rise(fit, position, place), sd, fit.sigma, allowed)
        rows.append(_Row(groups.name, term, sd, low, high, sd**2, edge and sd == 0))
    if len(groups.basis) == 3:
        rows.append(_correlation_row(fit, position, allowed))
    return rows


def _residual_row(fit: MixedFit, allowed: float) -> _Row:
    surface, size = fit.posing.surface, fit.posing.size
    point = _absolute_point(fit, surface, fit.lowest.theta)
    profile = _Profile(partial(absolute, surface), point, len(point) - 1, fit.lowest.value)

    def rise(sd: float) -> float:
        return profile.rise(2 * float(np.log(sd / size))) if sd > 0 else np.inf

    low, high = _limits(rise, fit.sigma, fit.sigma, allowed)
    return _Row(RESIDUAL, RESIDUAL, fit.sigma, low, high, fit.sigma**2, at_edge=False)


def _correlation_row(fit: MixedFit, position: int, allowed: float) -> _Row:
    name = fit.groupings[position].name
    cov, edge = fit.covariances[name], fit.at_edge[name]
    sds = np.sqrt(np.diag(cov))
    if not sds.all():
        return _Row(name, CORRELATION, np.nan, np.nan, np.nan, np.nan, edge)
    correlation = float(np.clip(cov[0, 1] / sds[0] / sds[1], -1, 1))
    rise = partial(_correlation_rise, fit, position, sds / fit.sigma)
    low, high = (
        end if rise(end) <= allowed else _root(rise, correlation, end, allowed)
        for end in (-1.0, 1.0)
    )
    return _Row(name, CORRELATION, correlation, low, high, np.nan, edge)


def _limits(
    rise: Callable[[float], float], estimate: float, unit: float, allowed: float
) -> Interval:
    """Return where the deviance has risen by what is allowed, below and above an estimate."""
    low, high = 0.0, np.inf
    rise = cache(rise)  # ends of a search are asked for before it and by it
    if estimate > 0 and rise(0.0) > allowed:
        below = estimate / 2
        while rise(below) <= allowed:
            below /= 2
        low = _root(rise, estimate, below, allowed)
    above = estimate + max(estimate, unit)
    while above < FARTHEST * unit and rise(above) <= allowed:
        above *= 2
    if above < FARTHEST * unit:
        high = _root(rise, estimate, above, allowed)
    return Interval(low, high)


def _root(rise: Callable[[float], float], near: float, far: float, allowed: float) -> float:
    """Return where, between an estimate and a value too far, the deviance is at its limit."""
    accuracy = ACCURACY * abs(far - near)
    limit: float = optimize.brentq(lambda v: rise(v) - allowed, near, far, xtol=accuracy)
    return limit


def _absolute_point(fit: MixedFit, surface: Surface, theta: Array) -> Array:
    """Return factors in the unit of the surface's response, then the log row variance."""
    sigma = fit.sigma / fit.posing.size
    diagonal = np.array([np.trace(matrix) != 0 for _, matrix in surface.owners])
    away = np.where(diagonal & (np.abs(theta) < AWAY), AWAY, theta)
    return np.append(away * sigma, 2 * np.log(sigma))


def _rebased(
    fit: MixedFit, position: int, basis: list[Array], values: list[float]
) -> tuple[Surface, Array, int]:
    """Return the surface with other parameters for one grouping, a point, and their place.

    The matrices are those of the factor in the units of the user.
    """
    surface, term = fit.posing.surface, fit.posing.order.index(position)
    into = np.linalg.inv(fit.groupings[position].back)
    before = sum(len(own) for own in surface.basis[:term])
    after = before + len(surface.basis[term])
    theta = np.concatenate([fit.lowest.theta[:before], values, fit.lowest.theta[after:]])
    return surface.rebased(term, [into @ matrix for matrix in basis]), theta, before


def _sd_rise(fit: MixedFit, position: int, place: int) -> Callable[[float], float]:
    """Return how the deviance rises along one standard deviation of a grouping."""
    groups = fit.groupings[position]
    relative = fit.covariances[groups.name] / fit.sigma**2
    if len(relative) == 1:
        basis, values = [np.eye(1)], [float(np.sqrt(relative[0, 0]))]
    else:
        basis, values = _first(relative, place, correlated=groups.correlated)
    surface, theta, before = _rebased(fit, position, basis, values)
    point = _absolute_point(fit, surface, theta)
    profile = _Profile(partial(absolute, surface), point, before, fit.lowest.value)
    return lambda sd: profile.rise(sd / fit.posing.size)


def _first(relative: Array, place: int, *, correlated: bool) -> tuple[list[Array], list[float]]:
    """Return a factor whose first parameter alone is the standard deviation at a place."""
    other = 1 - place
    corners = [(place, place), (other, place), (other, other)]
    own = float(np.sqrt(relative[place, place]))
    tie = float(relative[0, 1] / own) if own > 0 else 0.0
    rest = float(np.sqrt(max(relative[other, other] - tie**2, 0.0)))
    values = [own, tie, rest]
    kept = [0, 1, 2] if correlated else [0, 2]
    basis = [np.zeros((2, 2)) for _ in kept]
    for matrix, k in zip(basis, kept, strict=True):
        matrix[corners[k]] = 1.0
    return basis, [values[k] for k in kept]


def _correlation_rise(fit: MixedFit, position: int, ratios: Array, correlation: float) -> float:
    """Return how far the deviance stands above its minimum at one correlation."""
    tilt = [[0.0, 0.0], [correlation, np.sqrt(1 - correlation**2)]]
    basis = [np.diag([1.0, 0.0]), np.array(tilt)]
    surface, theta, _ = _rebased(fit, position, basis, ratios.tolist())
    free = np.ones(len(theta), dtype=bool)
    return descended(partial(profiled, surface), theta, free)[1] - fit.lowest.value
