"""The likelihood along one combination of parameters, all else made best at each place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import linalg, optimize

from yieldwright.models.ordinal._separation import Cone, Highest, cone_of, empty_cone, highest

if TYPE_CHECKING:
    from yieldwright.models.ordinal._likelihood import Likelihood

Array = npt.NDArray[np.float64]
Top = Callable[["Likelihood", Array, Cone], float]

#: Limits are found to this share of the distance walked to them.
PRECISION = 1e-9

#: Doublings of a step after which a limit is not looked for any further.
MOST_DOUBLINGS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A likelihood as a function of one combination of its parameters.

    Attributes
    ----------
    weights : ndarray
        The combination.
    estimate : float
        Where it is highest; perhaps infinite, or not a number.
    falls, rises : bool
        Whether it does not fall off towards minus, or plus, infinity.
    top : float
        Its highest value, or what it tends to.
    rest : Likelihood
        Of the other combinations.
    rest_cone : Cone
        Directions along which that rises for ever.
    top_of : callable
        Highest value of a likelihood, from where to start and its cone.
    across : ndarray
        Basis of the other combinations.
    along : tuple of ndarray
        What a unit of the combination adds to the lower and the upper limits.
    origin, course : ndarray
        Parameters to start from, and a way along which limits stay in order.
    """

    weights: Array
    estimate: float
    falls: bool
    rises: bool
    top: float
    rest: Likelihood
    rest_cone: Cone
    top_of: Top
    across: Array
    along: tuple[Array, Array]
    origin: Array
    course: Array

    def value(self, place: float) -> float:
        """Return the highest likelihood where the combination is held at a place.

        So far out that shares vanish to the last bit it counts as minus infinity.
        """
        held = replace(
            self.rest,
            below=self.rest.below + place * self.along[0],
            above=self.rest.above + place * self.along[1],
        )
        ahead = (place - self.weights @ self.origin) / (self.weights @ self.course)
        start = self.across.T @ (self.origin + ahead * self.course)
        if not np.isfinite(held.value(start)):
            return -np.inf
        return self.top_of(held, start, self.rest_cone)

    def root(self, place: float) -> float:
        """Return the root of twice the fall of the log-likelihood from its top."""
        return float(np.sqrt(max(2 * (self.top - self.value(place)), 0.0)))

    def signed_root(self, place: float) -> float:
        """Return that root, below 0 where the estimate lies below the place."""
        return self.root(place) if self.estimate > place else -self.root(place)

    def limits(self, reach: float, step: float) -> tuple[float, float]:
        """Return where the root reaches a value on either side, perhaps infinite."""
        low = -np.inf if self.falls else self._limit(reach, -step)
        high = np.inf if self.rises else self._limit(reach, step)
        return low, high

    def _limit(self, reach: float, step: float) -> float:
        """Return where the root crosses a value, going one way from the estimate.

        Towards an estimate at infinity the root only falls, so the walk may have to turn.
        """
        bounded = bool(np.isfinite(self.estimate))
        inner = self.estimate if bounded else 0.0
        inside = bounded or self.root(inner) <= reach
        if not inside:
            step = -step
        for doubling in range(MOST_DOUBLINGS):
            outer = inner + step * 2.0**doubling
            if (self.root(outer) <= reach) != inside:
                tolerance = PRECISION * abs(outer - inner)
                crossed = optimize.brentq(
                    lambda at: self.root(at) - reach, inner, outer, xtol=tolerance
                )
                return float(crossed)
            inner = outer
        return float(np.copysign(np.inf, step))


def plain_top(likelihood: Likelihood, start: Array, cone: Cone) -> float:
    """Return the highest value of a likelihood of rows."""
    return highest(likelihood, start, cone=cone).value


def profile(
    likelihood: Likelihood, found: Highest, weights: Array, *, n_cuts: int, top: Top = plain_top
) -> Profile:
    """Return the profile of a combination of thresholds and slopes.

    Parameters
    ----------
    likelihood : Likelihood
        Of ordered levels, its thresholds first.
    found : Highest
        Where it is highest.
    weights : ndarray
        One per parameter; of slopes alone, or of thresholds whose weights do not sum to 0.
    n_cuts : int
        Number of thresholds.
    top : callable
        Highest value of a likelihood, from where to start and its cone.
    """
    size = float(weights @ weights)
    across = linalg.null_space(weights[None, :])
    rest = likelihood.turned(across)
    falls, rises = found.cone.reaches(weights)
    course = weights.copy()
    if weights[:n_cuts].any():
        course[:n_cuts], course[n_cuts:] = 1.0, 0.0
    return Profile(
        weights=weights,
        estimate=found.combination(weights),
        falls=falls,
        rises=rises,
        top=found.value,
        rest=rest,
        rest_cone=empty_cone(rest) if found.cone.is_empty else cone_of(rest),
        top_of=top,
        across=across,
        along=(likelihood.lower @ weights / size, likelihood.upper @ weights / size),
        origin=found.params if found.cone.is_empty else _ordered(found.params, n_cuts),
        course=course,
    )


def _ordered(params: Array, n_cuts: int) -> Array:
    """Return thresholds one apart, and no slopes: limits in order whatever the rows."""
    origin = np.zeros_like(params)
    origin[:n_cuts] = np.arange(n_cuts) - (n_cuts - 1) / 2
    return origin
