"""Likelihood of ordered levels, each row caught between two lines, and where it is highest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import YieldwrightError

if TYPE_CHECKING:
    from yieldwright.models.ordinal._links import Link

Array = npt.NDArray[np.float64]

#: Gain a step promises, as a share of the log-likelihood, below which that step is the last:
#: Newton's method squares its error, so nothing is left after it.
LAST_GAIN = 1e-12

#: Change of the log-likelihood that is rounding.
ROUNDING = 1e-13

#: Share of the promised gain that a step must bring.
SUFFICIENT = 1e-4

#: Rows that are worked on at once and stay in a processor's cache.
AT_ONCE = 2**12

MOST_STEPS = 200
MOST_HALVINGS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Likelihood:
    """Rows that each lie between two linear combinations of the parameters.

    Attributes
    ----------
    upper, lower : ndarray
        Weights of the combinations, rows × parameters.
    above, below : ndarray
        What is added to them; infinite where a row has no such limit.
    weights : ndarray
        How often each row stands for itself.
    link : Link
        Distribution of what is caught between the limits.
    """

    upper: Array
    lower: Array
    above: Array
    below: Array
    weights: Array
    link: Link

    @property
    def n_parameters(self) -> int:
        """Number of parameters."""
        return len(self.upper.T)

    def limits(self, params: Array) -> tuple[Array, Array]:
        """Return where the lower and the upper limit of each row stand."""
        return self.lower @ params + self.below, self.upper @ params + self.above

    def value(self, params: Array) -> float:
        """Return the log-likelihood, minus infinity where limits stand in the wrong order."""
        share = self.link.between(*self.limits(params))
        if not (share > 0).all():
            return -np.inf
        return float(self.weights @ np.log(share))

    def pulls(self, params: Array) -> tuple[Array, Array]:
        """Return how each row's log-share falls with its lower, and rises with its upper limit."""
        share, below, above = self.link.caught(*self.limits(params))
        return self.weights * below / share, self.weights * above / share

    def bend(self, params: Array) -> tuple[Array, Array]:
        """Return gradient and information, which is minus the matrix of second derivatives."""
        share, below, above = self.link.bent(*self.limits(params))
        gradient = np.zeros(self.n_parameters)
        information = np.zeros((self.n_parameters, self.n_parameters))
        for first in range(0, len(share), AT_ONCE):
            rows = slice(first, first + AT_ONCE)
            upper, lower, weights = self.upper[rows], self.lower[rows], self.weights[rows]
            pull = (above[0][rows] / share[rows])[:, None] * upper
            pull -= (below[0][rows] / share[rows])[:, None] * lower
            relative = weights / share[rows]
            gradient += pull.T @ weights
            information += pull.T @ (weights[:, None] * pull)
            information -= upper.T @ ((relative * above[1][rows])[:, None] * upper)
            information += lower.T @ ((relative * below[1][rows])[:, None] * lower)
        return gradient, information

    def released(self, low: npt.NDArray[np.bool_], high: npt.NDArray[np.bool_]) -> Likelihood:
        """Return the likelihood with some limits taken away."""
        return replace(
            self,
            lower=np.where(low[:, None], 0.0, self.lower),
            upper=np.where(high[:, None], 0.0, self.upper),
            below=np.where(low, -np.inf, self.below),
            above=np.where(high, np.inf, self.above),
        )

    def turned(self, basis: Array) -> Likelihood:
        """Return the likelihood in coordinates of which `basis` @ coordinates = parameters."""
        return replace(self, upper=self.upper @ basis, lower=self.lower @ basis)


@dataclass(frozen=True, slots=True, eq=False)
class Peak:
    """Where a likelihood is highest.

    Attributes
    ----------
    params : ndarray
        The place.
    value : float
        Log-likelihood there.
    information : ndarray
        Minus its second derivatives there.
    """

    params: Array
    value: float
    information: Array


def climbed(likelihood: Likelihood, start: Array, *, most_steps: int = MOST_STEPS) -> Peak:
    """Return the peak of a likelihood that is known to have one.

    Parameters
    ----------
    likelihood : Likelihood
        Without parameters it does not depend on, and without a way on which it rises for ever.
    start : ndarray
        Parameters at which every row's limits stand in order.
    most_steps : int
        Steps after which it gives up.

    Returns
    -------
    Peak

    Raises
    ------
    YieldwrightError
        If no peak is found.

    Notes
    -----
    Newton's method, each step halved until it brings a part of the gain it promises.
    The log-likelihood is concave where the density is log-concave, so there is one peak.
    """
    params, value = start, likelihood.value(start)
    for _ in range(most_steps):
        gradient, information = likelihood.bend(params)
        step = np.asarray(np.linalg.solve(information, gradient), dtype=float)
        gain = float(gradient @ step)
        if gain <= LAST_GAIN * (1 + abs(value)):
            params, value = _stepped(likelihood, params, value, (step, 0.0))
            return Peak(params, value, likelihood.bend(params)[1])
        params, value = _stepped(likelihood, params, value, (step, gain))
    raise YieldwrightError(
        f"the likelihood of these {len(likelihood.weights)} rows has no peak that could be "
        "found; ask for fewer terms"
    )


def _stepped(
    likelihood: Likelihood, params: Array, value: float, promise: tuple[Array, float]
) -> tuple[Array, float]:
    step, gain = promise
    for halving in range(MOST_HALVINGS):
        share = 0.5**halving
        reached = likelihood.value(params + share * step)
        if reached >= value + SUFFICIENT * share * gain - ROUNDING * (1 + abs(value)):
            return params + share * step, reached
    return params, value
