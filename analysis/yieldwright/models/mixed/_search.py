"""Where the deviance is lowest, at the edge of what variances can be included."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import numpy.typing as npt

from yieldwright.models.mixed._deviance import Surface, lowest_value, profiled

if TYPE_CHECKING:
    from collections.abc import Callable

    from yieldwright.models.mixed._bend import Bend
    from yieldwright.models.mixed._one_way import Along, OneWay

__all__ = ["LARGEST", "Lowest", "descended", "lowest"]

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Place = TypeVar("Place")
Found = TypeVar("Found")

#: Spread between groups over spread within, beyond which rows of a group are alike.
LARGEST = 1e4

#: Fall of the deviance that matters to nobody; promised less, one Newton step more exhausts
#: the digits.
EXHAUSTED = 1e-9

#: Change of the deviance that is rounding, as a share of its size.
ROUNDING = 1e-13

#: Rows from which on the deviance is too sharp for a second minimum of note.
MANY = 500

#: Curvature that stands for none at all.
SMALLEST = 1e-300

#: Steps and halvings after which nothing is gained.
STEPS, HALVINGS = 100, 30

#: Longest step of a parameter, over 1 and its size: from 1 it ends neither on 0 nor on −1, where
#: the deviance stands as it did.
STRIDE = 0.9

#: Share of the promised fall that a step must bring.
SUFFICIENT = 1e-4

#: Factor at which it shows whether the deviance falls away from 0, and one to go on from.
NUDGE, AWAY = 1e-3, 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Lowest:
    """The parameters at which the deviance is lowest.

    Attributes
    ----------
    theta : ndarray
        Relative covariance factors.
    at_zero : ndarray of bool
        Which of them stand at the edge, exactly 0.
    value : float
        Deviance there.
    """

    theta: Array
    at_zero: Mask
    value: float = np.inf


def descended(bend: Callable[[Array], Bend], start: Array, free: Mask) -> tuple[Array, float]:
    """Return where a function of several parameters is lowest near a start.

    Parameters
    ----------
    bend : callable
        Value, gradient and Hessian at some parameters.
    start : ndarray
        Parameters to begin with.
    free : ndarray of bool
        Which of them may move.

    Returns
    -------
    point : ndarray
    value : float
        Lowest value met, one Newton step short of the point.

    Notes
    -----
    Newton's steps, with directions of negative curvature turned downhill, hardly longer
    than doubles a parameter, and halved until they bring a part of the fall they promise.
    """
    point, now = start, bend(start)
    if not free.any():
        return point, now.value
    for _ in range(STEPS):
        step, promised = _newton(now, point, free)
        point = point + step
        if promised <= EXHAUSTED or np.abs(point).max() > LARGEST:
            break
        point, now = _fallen(bend, point, now, step)
    return point, now.value


def lowest(surface: Surface, start: Array) -> Lowest:
    """Return the parameters at which the profiled deviance is lowest.

    Parameters
    ----------
    surface : Surface
        The deviance.
    start : ndarray
        Parameters to begin with, none of them 0 on the diagonal of a factor.

    Returns
    -------
    Lowest

    Notes
    -----
    Several parameters may have several local minima on few rows, where they are sought
    from a second start, too: as much spread between groups as within. The deviance depends on
    the columns of a factor only up to their sign, so no bound is needed on the way; at the
    end factors are tried at 0, and those held there are let go where the deviance falls
    away from it.
    """
    if surface.one_way is not None:
        return _lowest_alone(surface, surface.one_way, float(start[0]))
    diagonal = np.array([np.trace(matrix) > 0 for _, matrix in surface.owners])
    starts = [start]
    if len(start) > 1 and surface.sums.n_rows < MANY:
        starts.append(diagonal.astype(float))
    ends = [_settled(surface, Lowest(each, np.zeros_like(diagonal))) for each in starts]
    found = min(ends, key=lambda end: end.value)
    if found.theta.size > 1:
        for position in np.flatnonzero(found.at_zero & diagonal):
            found = _let_go(surface, found, int(position))
    return Lowest(_signed(surface, found.theta), found.at_zero, found.value)


def _lowest_alone(surface: Surface, groups: OneWay, start: float) -> Lowest:
    """Return the same for a single parameter, in plain numbers: arrays of one take their time."""

    def bend(point: float) -> Along:
        return groups.profiled(point, surface.df, reml=surface.reml)

    point, value = _slid(bend, start)
    at_zero = bend(0.0).value
    if at_zero <= value + EXHAUSTED:
        return Lowest(np.zeros(1), np.array([True]), at_zero)
    return Lowest(np.array([abs(point)]), np.array([False]), value)


def _slid(bend: Callable[[float], Along], start: float) -> tuple[float, float]:
    """Return where a function of one parameter is lowest near a start, as `descended` does."""
    point, now = start, bend(start)
    for _ in range(STEPS):
        step = -now.first / max(abs(now.second), SMALLEST)
        promised = -now.first * step
        step /= max(abs(step) / (1 + abs(point)) / STRIDE, 1.0)
        if promised <= EXHAUSTED or abs(point + step) > LARGEST:
            return point + step, now.value
        for _ in range(HALVINGS):
            there = _attempted(bend, point + step)
            enough = SUFFICIENT * now.first * step + ROUNDING * abs(now.value)
            if there is not None and there.value <= now.value + enough:
                point, now = point + step, there
                break
            step /= 2
    return point, now.value


def _settled(surface: Surface, start: Lowest) -> Lowest:
    """Return the lowest point near a start, factors at 0 wherever that is as low."""
    found = _refined(surface, start)
    for edge in _edges(surface):
        found = _tried_at_zero(surface, found, edge)
    return found


def _refined(surface: Surface, start: Lowest) -> Lowest:
    theta, value = descended(lambda point: profiled(surface, point), start.theta, ~start.at_zero)
    return Lowest(theta, start.at_zero, value)


def _edges(surface: Surface) -> list[list[int]]:
    """Return the sets of parameters that vanish together, in the order to be tried."""
    edges, place = [], 0
    for own in surface.basis:
        last = place + len(own) - 1
        correlated = len(own) == 3
        edges += (
            [[last], [place, place + 1], [last]]
            if correlated
            else [[position] for position in range(place, last + 1)]
        )
        place = last + 1
    return edges


def _tried_at_zero(surface: Surface, found: Lowest, edge: list[int]) -> Lowest:
    """Return the lowest point with some parameters at 0, if it is as low as the one found."""
    theta, at_zero = found.theta.copy(), found.at_zero.copy()
    if at_zero[edge].all():
        return found
    if len(edge) > 1:
        # Without a shift, the tilt keeps its size whatever went along with the shift.
        theta[edge[1] + 1] = np.hypot(*theta[[edge[1], edge[1] + 1]])
        at_zero[edge[1] + 1] = False
    theta[edge], at_zero[edge] = 0.0, True
    if lowest_value(surface, theta) > found.value + EXHAUSTED:
        return found
    return _refined(surface, Lowest(theta, at_zero))


def _let_go(surface: Surface, found: Lowest, position: int) -> Lowest:
    """Return a lower point away from the edge, where the deviance falls away from it."""
    theta, at_zero = found.theta.copy(), found.at_zero.copy()
    theta[position] = NUDGE
    if lowest_value(surface, theta) >= found.value - EXHAUSTED:
        return found
    at_zero[position], theta[position] = False, AWAY
    return _settled(surface, Lowest(theta, at_zero))


def _signed(surface: Surface, theta: Array) -> Array:
    """Return the parameters with no factor negative on its diagonal."""
    signed, place = theta.copy(), 0
    for own in surface.basis:
        mine = signed[place : place + len(own)]
        place += len(own)
        if len(own) == 3:
            mine[:2] *= np.copysign(1.0, mine[0])
            mine[2] = abs(mine[2])
        else:
            np.abs(mine, out=mine)
    return signed


def _newton(now: Bend, point: Array, free: Mask) -> tuple[Array, float]:
    """Return the next step and the fall it promises."""
    slope, move = now.gradient, np.zeros_like(point)
    if free.all():
        move = -_divided(slope, now.hessian)
    else:
        move[free] = -_divided(slope[free], now.hessian[np.ix_(free, free)])
    longest = float((np.abs(move) / (1 + np.abs(point))).max())
    return move / max(longest / STRIDE, 1.0), -float(slope @ move)


def _divided(slope: Array, hessian: Array) -> Array:
    """Return a slope over its curvatures, each taken as positive."""
    if len(slope) == 1:
        return np.array([slope[0] / max(abs(hessian[0, 0]), SMALLEST)])
    curvatures, axes = np.linalg.eigh(hessian)
    sizes = np.maximum(np.abs(curvatures), ROUNDING * np.abs(curvatures).max() + SMALLEST)
    divided: Array = axes @ ((slope @ axes) / sizes)
    return divided


def _attempted(bend: Callable[[Place], Found], point: Place) -> Found | None:
    """Return value and derivatives, or None where rounding leaves no equations to solve."""
    try:
        return bend(point)
    except np.linalg.LinAlgError:
        return None


def _fallen(
    bend: Callable[[Array], Bend], point: Array, now: Bend, step: Array
) -> tuple[Array, Bend]:
    """Return the point, with the step to it halved as needed, where the function is lower."""
    for _ in range(HALVINGS):
        there = _attempted(bend, point)
        enough = SUFFICIENT * float(now.gradient @ step) + ROUNDING * abs(now.value)
        if there is not None and there.value <= now.value + enough:
            return point, there
        step = step / 2
        point = point - step
    return point, now
