"""Where a likelihood integrated over groups is highest, at a spread above 0 or at none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.ordinal._likelihood import Likelihood, climbed
from yieldwright.models.ordinal._quadrature import GroupedLikelihood, GroupedPoint

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Spread of groups to start from, and the most a step may change it, in spreads of the link.
FIRST_SPREAD, LONGEST_STRIDE = 0.5, 1.0

#: Spread beyond which groups hardly share a level and the rule loses its digits, likewise.
LARGEST_SPREAD = 8.0

#: Gain a step promises, as a share of the log-likelihood, that leaves the rest to one last step.
NEAR = 1e-17

#: The same where only how high the likelihood gets is asked for.
NEAR_ENOUGH = 1e-13

#: Change of the log-likelihood, as a share of it, that is rounding.
ROUNDING = 1e-13

#: Step of a central difference of exact slopes.
NUDGE = 1e-5

#: Gain of a spread above 0, as a share of the log-likelihood, that is rounding.
NO_GAIN = 1e-11

#: Share of the promised gain that a step must bring.
SUFFICIENT = 1e-4

MOST_STEPS, MOST_HALVINGS = 500, 40


@dataclass(frozen=True, slots=True, eq=False)
class GroupedPeak:
    """Where a likelihood integrated over groups is highest.

    Attributes
    ----------
    params : ndarray
        Thresholds and slopes.
    spread : float
        Standard deviation of the groups; exactly 0 where none is likelier than some.
    value : float
        Log-likelihood.
    cov : ndarray
        Covariance of the parameters, the spread last; that at a spread of 0 has no error.
    point : GroupedPoint
        What it is like there.
    """

    params: Array
    spread: float
    value: float
    cov: Array
    point: GroupedPoint


def in_groups(rows: Likelihood, codes: Codes, n_nodes: int) -> GroupedLikelihood:
    """Return a likelihood integrated over groups that each shift their rows."""
    order = np.argsort(codes, kind="stable")
    nodes, log_weights = _rule(n_nodes)
    sorted_codes = codes[order]
    return GroupedLikelihood(
        rows=replace(
            rows,
            upper=rows.upper[order],
            lower=rows.lower[order],
            above=rows.above[order],
            below=rows.below[order],
            weights=rows.weights[order],
        ),
        starts=np.searchsorted(sorted_codes, np.arange(sorted_codes[-1] + 1)),
        codes=sorted_codes,
        nodes=nodes,
        log_weights=log_weights,
    )


@cache
def _rule(n_nodes: int) -> tuple[Array, Array]:
    """Return nodes of the adaptive rule, and logs of their weights over the normal density."""
    nodes, weights = special.roots_hermitenorm(n_nodes)
    log_weights = np.log(weights / weights.sum()) + nodes**2 / 2
    for shared in (nodes, log_weights):
        shared.flags.writeable = False
    return nodes, log_weights


def climbed_in_groups(grouped: GroupedLikelihood, start: Array) -> GroupedPeak:
    """Return the highest likelihood, without groups or with a spread of them.

    Parameters
    ----------
    grouped : GroupedLikelihood
        Of rows whose own likelihood has a peak.
    start : ndarray
        Parameters at which every row's limits stand in order.

    Returns
    -------
    GroupedPeak

    Raises
    ------
    OutOfRangeError
        If it rises with the spread for ever.
    """
    plain = climbed(grouped.rows, start)
    inside = np.asarray(np.linalg.inv(plain.information), dtype=float)
    params, point, _ = _reached(grouped, plain.params, inside)
    if point.value <= plain.value + NO_GAIN * (1 + abs(plain.value)):
        point = grouped.at(np.append(plain.params, 0.0))
        return GroupedPeak(plain.params, 0.0, plain.value, np.pad(inside, (0, 1)), point)
    cov = np.asarray(np.linalg.inv(_information(grouped, params, point)), dtype=float)
    params = params + cov @ point.slope
    point = grouped.at(params, near=point.shifts)
    return GroupedPeak(params[:-1], float(params[-1]), point.value, cov, point)


def top_in_groups(grouped: GroupedLikelihood, start: Array) -> float:
    """Return the highest log-likelihood, without groups or with a spread of them."""
    plain = climbed(grouped.rows, start)
    inside = np.asarray(np.linalg.inv(plain.information), dtype=float)
    reached = _reached(grouped, plain.params, inside, near=NEAR_ENOUGH)
    return max(plain.value, reached.point.value)


class Reached(NamedTuple):
    """Where a search ends: parameters, what it is like there, and the covariance thought of."""

    params: Array
    point: GroupedPoint
    inverse: Array


class Follower:
    """Highest values of likelihoods that change little by little.

    Each search begins as far from where it is told to as the last one ended.

    Parameters
    ----------
    spread : float
        Standard deviation of the groups to begin with.
    inverse : ndarray
        Covariance of parameters and spread to begin with.
    """

    def __init__(self, spread: float, inverse: Array) -> None:
        self._spread, self._inverse = spread, inverse
        self._apart = np.zeros(len(inverse))

    def top(self, grouped: GroupedLikelihood, start: Array) -> float:
        """Return the highest value near a start at which every row's limits stand in order."""
        begin = np.append(start, self._spread)
        ordered = np.isfinite(grouped.rows.value(start + self._apart[:-1]))
        ahead = begin + self._apart if ordered else begin
        params, point, self._inverse = ascended(grouped, ahead, self._inverse, near=NEAR_ENOUGH)
        self._apart = params - begin
        return point.value


def _reached(
    grouped: GroupedLikelihood, plain: Array, inside: Array, *, near: float = NEAR
) -> Reached:
    """Return the peak reached from where it is without groups."""
    unit = grouped.rows.link.spread
    # Groups of this spread stretch the line behind the levels by this factor.
    stretch = float(np.hypot(1.0, FIRST_SPREAD))
    begin = np.append(stretch * plain, FIRST_SPREAD * unit)
    guess = np.pad(stretch**2 * inside, (0, 1))
    guess[-1, -1] = (FIRST_SPREAD * unit) ** 2 / (2 * len(grouped.starts))
    return ascended(grouped, begin, guess, near=near)


def ascended(
    grouped: GroupedLikelihood, params: Array, inverse: Array, *, near: float = NEAR
) -> Reached:
    """Return where quasi-Newton steps lead (Broyden, Fletcher, Goldfarb and Shanno)."""
    point = grouped.at(params)
    for _ in range(MOST_STEPS):
        step = inverse @ point.slope
        if float(point.slope @ step) <= near * (1 + abs(point.value)):
            break
        step, ahead = _shortened(grouped, params, point, step)
        if not step.any():
            break
        inverse = _updated(inverse, step, point.slope - ahead.slope)
        params, point = params + step, ahead
        _require_shared_scores(grouped, float(params[-1]))
    return Reached(params, point, inverse)


def _shortened(
    grouped: GroupedLikelihood, params: Array, point: GroupedPoint, step: Array
) -> tuple[Array, GroupedPoint]:
    """Return a step, halved until it brings a part of the gain it promises."""
    stride = abs(float(step[-1])) / (LONGEST_STRIDE * grouped.rows.link.spread)
    step = step / max(stride, 1.0)
    gain, slack = float(point.slope @ step), ROUNDING * (1 + abs(point.value))
    for halving in range(MOST_HALVINGS):
        share = 0.5**halving
        ahead = grouped.at(params + share * step, near=point.shifts)
        if ahead.value >= point.value + SUFFICIENT * share * gain - slack:
            return share * step, ahead
    return np.zeros_like(step), point


def _information(grouped: GroupedLikelihood, params: Array, point: GroupedPoint) -> Array:
    """Return minus the second derivatives, as central differences of exact slopes."""
    nudges = NUDGE * np.eye(len(params))
    around = grouped.at_each(params + np.vstack([nudges, -nudges]), near=point.shifts)
    ahead, behind = np.split(np.array([each.slope for each in around]), 2)
    rough: Array = (ahead - behind) / (2 * NUDGE)
    return -(rough + rough.T) / 2


def _updated(inverse: Array, moved: Array, fallen: Array) -> Array:
    """Return the inverse of the information that also explains the last step."""
    curved = float(moved @ fallen)
    if curved <= 0:
        return inverse
    turn = np.eye(len(moved)) - np.outer(moved, fallen) / curved
    return turn @ inverse @ turn.T + np.outer(moved, moved) / curved


def _require_shared_scores(grouped: GroupedLikelihood, spread: float) -> None:
    if abs(spread) > LARGEST_SPREAD * grouped.rows.link.spread:
        raise OutOfRangeError(
            f"the {len(grouped.starts)} groups differ beyond measure: within each, the columns "
            "order the levels completely, or nothing varies; leave the groups out, or bring "
            "rows in which groups repeat a setting with another level"
        )
