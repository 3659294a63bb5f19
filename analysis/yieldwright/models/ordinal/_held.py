"""A likelihood of ordered levels whose parameters are held near 0, and its profile along one."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from yieldwright.models.ordinal._likelihood import Likelihood, Peak, climbed

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Limits are found to this share of their distance from the estimate.
PRECISION = 1e-6

MOST_STEPS = 80

#: How much tighter than a slope its excess at upper thresholds is held: left as wide, one
#: effect all along the scale was called two in 11 % of 300 simulated logs of 24 rows.
TIGHTER = 2.0

#: Places, in units of the largest step of a row, at which a likelihood that rises for ever
#: counts as having reached its bound: what is missing is below e to minus this.
FAR = 24.0

#: Longest step on the way to a limit, likewise.
STRIDE = 5.0

#: Information of a row on average below which nothing is left to compare a spread with.
NOTHING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class HeldLikelihood(Likelihood):
    """Rows between lines, and a normal density about 0 of the parameters.

    Attributes
    ----------
    precision : ndarray
        Inverse covariance of that density; 0 for what is free.
    freed : float
        What the precision of the last parameter was before that was set free.
    """

    precision: Array
    freed: float = 0.0

    @classmethod
    def of(cls, rows: Likelihood, precisions: Array) -> HeldLikelihood:
        """Return a likelihood with its parameters held, each on its own."""
        parts = {field.name: getattr(rows, field.name) for field in fields(Likelihood)}
        return cls(**parts, precision=np.diag(precisions))

    def value(self, params: Array) -> float:
        """Return the log-likelihood less what it costs to leave 0."""
        return Likelihood.value(self, params) - float(params @ self.precision @ params) / 2

    def bend(self, params: Array) -> tuple[Array, Array]:
        """Return gradient and information of the same."""
        gradient, information = Likelihood.bend(self, params)
        return gradient - self.precision @ params, information + self.precision

    def along(self, place: slice, weights: Array) -> HeldLikelihood:
        """Return the likelihood with a combination of some parameters, free, as the last one."""
        width = self.n_parameters
        turn = np.zeros((width, width))
        others = np.delete(np.arange(width), np.arange(place.start, place.stop))
        turn[others, np.arange(len(others))] = 1.0
        turn[place, len(others) : -1] = np.linalg.qr(weights[:, None], mode="complete")[0][:, 1:]
        turn[place, -1] = weights / (weights @ weights)
        precision = turn.T @ self.precision @ turn
        freed = float(precision[-1, -1])
        precision[-1, :] = precision[:, -1] = 0.0
        return replace(
            self,
            upper=self.upper @ turn,
            lower=self.lower @ turn,
            precision=precision,
            freed=freed,
        )

    def held_at(self, place: float) -> HeldLikelihood:
        """Return the likelihood of all parameters but the last, which stands at a place."""
        return replace(
            self,
            upper=self.upper[:, :-1],
            lower=self.lower[:, :-1],
            above=self.above + place * self.upper[:, -1],
            below=self.below + place * self.lower[:, -1],
            precision=self.precision[:-1, :-1],
        )


class HeldProfile:
    """A held likelihood along its last parameter, rows counted by the unit they belong to.

    Parameters
    ----------
    likelihood : HeldLikelihood
        Its thresholds first, what is asked about last.
    cuts : ndarray
        Thresholds to start from.
    codes, units : ndarray of int
        Level and unit of each row.
    raters : slice
        Parameters that differ between the rows of a unit: they cost no unit.
    """

    def __init__(
        self,
        likelihood: HeldLikelihood,
        cuts: Array,
        codes: Codes,
        units: Codes,
        *,
        raters: slice,
    ) -> None:
        self.likelihood = likelihood
        self.raters = raters
        self.n_cuts = len(cuts)
        self.codes, self.units = codes, units
        self._start = np.append(cuts, np.zeros(likelihood.n_parameters - len(cuts)))
        steps = np.where(codes < len(cuts), -likelihood.upper[:, -1], -likelihood.lower[:, -1])
        self.steps: Array = steps
        self.rises, self.falls = _in_order(steps, codes), _in_order(-steps, codes)

    @cached_property
    def peak(self) -> Peak:
        """Where the likelihood is highest, or so far out that it has all but reached its bound."""
        if not (self.rises or self.falls):
            return climbed(self.likelihood, self._start)
        if self.rises and self.falls:
            return self._flat()
        far = FAR / np.abs(self.steps).max() * (1.0 if self.rises else -1.0)
        params = self._start[:-1]
        for share in (0.0, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0):
            params = climbed(self.likelihood.held_at(share * far), params).params
        whole = np.append(params, far)
        return Peak(whole, self.likelihood.value(whole), self.likelihood.bend(whole)[1])

    def _flat(self) -> Peak:
        """Return the peak where no row says anything of the last parameter."""
        rest = climbed(self.likelihood.held_at(0.0), self._start[:-1])
        information = np.pad(rest.information, (0, 1))
        information[-1, -1] = 1.0
        return Peak(np.append(rest.params, 0.0), rest.value, information)

    @property
    def estimate(self) -> float:
        """Value of the parameter asked about, perhaps infinite."""
        if self.rises and self.falls:
            return np.nan
        if self.rises or self.falls:
            return np.inf if self.rises else -np.inf
        return float(self.peak.params[-1])

    @cached_property
    def ratio(self) -> float:
        """How much more summed slopes of units vary than rows that are free of one another.

        Never less than 1, nor, with one row a unit, than units over units left: single rows
        let the likelihood fall too fast, and about estimates that lie too far out.
        """
        rows, params = self.likelihood, self.peak.params
        share, below, above = rows.link.caught(*rows.limits(params))
        slopes = np.bincount(self.units, weights=(below - above) / share)
        known = float((below + above).sum()) / len(slopes)
        if known < NOTHING:
            return 1.0
        n_units = len(slopes)
        left = max(n_units - 1 - self._spent(), 1.0)
        lone = float(np.clip(2 - len(self.codes) / n_units, 0.0, 1.0))
        least = left + lone * (n_units - left)
        return max(float(slopes @ slopes) / known, least) / left

    @cached_property
    def std_error(self) -> float:
        """Standard error of the estimate; not a number where it is infinite."""
        if self.rises or self.falls:
            return np.nan
        unit = np.zeros(len(self.peak.params))
        unit[-1] = 1.0
        return float(np.sqrt(self.ratio * np.linalg.solve(self.peak.information, unit)[-1]))

    def statistic(self) -> float:
        """Return the signed root of the fall at 0, in units of its ratio."""
        if self.rises and self.falls:
            return np.nan
        fall, _ = self._fall(0.0, self.peak.params[:-1])
        return float(np.copysign(np.sqrt(2 * fall / self.ratio), self.estimate))

    def limits(self, reach: float) -> tuple[float, float]:
        """Return where that root reaches a value on either side, perhaps infinite."""
        goal = reach**2 * self.ratio / 2
        low = -np.inf if self.falls else self._limit(goal, reach, -1.0)
        high = np.inf if self.rises else self._limit(goal, reach, 1.0)
        return low, high

    def gain_of_two(self, n_cuts: int) -> float:
        """Return the root of what a slope of its own for the upper thresholds gains."""
        counts = np.cumsum(np.bincount(self.codes))[:-1] / len(self.codes)
        middle = max(int(np.argmin(np.abs(counts - 0.5))), 1) if n_cuts > 1 else 1
        wide = _parted(self.likelihood, self.codes, middle)
        start = np.append(self.peak.params, 0.0)
        if self.rises or self.falls:
            return 0.0
        gain = max(climbed(wide, start).value - self.peak.value, 0.0)
        return float(np.sqrt(2 * gain / self.ratio))

    def _spent(self) -> float:
        """Return how many parameters slopes and shifts come to, those held counting for less."""
        information, precision = self.peak.information, self.likelihood.precision
        # Far out, where rows that separate say nothing any more, some of it may be singular.
        inverse = np.linalg.pinv(information, hermitian=True)
        freed = np.einsum("ij,ji->i", inverse, information - precision)
        return float(freed[self.n_cuts :].sum() - freed[self.raters].sum())

    def _fall(self, place: float, near: Array) -> tuple[float, tuple[float, Array]]:
        """Return how far the likelihood has fallen at a place, its slope there, and the rest."""
        held = self.likelihood.held_at(place)
        top = climbed(held, near)
        below, above = held.pulls(top.params)
        slope = below @ self.likelihood.lower[:, -1] - above @ self.likelihood.upper[:, -1]
        return max(self.peak.value - top.value, 0.0), (float(slope), top.params)

    @cached_property
    def _drift(self) -> Array:
        """How the other parameters move, at the peak, with the one asked about."""
        if self.rises or self.falls:
            return np.zeros(len(self.peak.params) - 1)
        inner = self.peak.information[:-1]
        return np.asarray(-np.linalg.solve(inner[:, :-1], inner[:, -1]))

    def _limit(self, goal: float, reach: float, way: float) -> float:
        """Return where the fall reaches a goal, going one way."""
        if np.isfinite(self.estimate):
            params = self.peak.params
            first = params[-1] + way * reach * self.std_error
            near = params[:-1] + (first - params[-1]) * self._drift
            return self._crossed(goal, float(first), (float(params[-1]), way), near)
        return self._crossed(goal, 0.0, (np.nan, way), self._start[:-1])

    def _crossed(
        self, goal: float, place: float, inner_way: tuple[float, float], near: Array
    ) -> float:
        """Return where the fall crosses a goal: Newton's steps on its root, kept in a bracket."""
        inner, way = inner_way
        outer = np.nan
        stride = STRIDE / np.abs(self.steps).max()
        for _ in range(MOST_STEPS):
            fall, (slope, near) = self._fall(place, near)
            root, aim = np.sqrt(fall), np.sqrt(goal)
            if abs(root - aim) <= PRECISION * aim:
                return place
            inner, outer = (place, outer) if fall < goal else (inner, place)
            ahead = 2 * root * (aim - root) / slope if slope * way > 0 else way * stride
            step = float(np.clip(ahead, -stride, stride))
            ahead = _kept_between(place, place + step, (inner, outer), way)
            near = near + (ahead - place) * self._drift
            place = ahead
        return float(np.copysign(np.inf, way))


def _kept_between(place: float, ahead: float, bracket: tuple[float, float], way: float) -> float:
    """Return the next place, or the middle of the bracket where it would leave it."""
    inner, outer = bracket
    past_inner = np.isfinite(inner) and (ahead - inner) * way <= 0
    past_outer = np.isfinite(outer) and (ahead - outer) * way >= 0
    if not (past_inner or past_outer):
        return ahead
    if np.isfinite(inner) and np.isfinite(outer):
        return (inner + outer) / 2
    return place + (ahead - place) / 2 if ahead != place else place + way


def _in_order(steps: Array, codes: Codes) -> bool:
    """Return whether higher levels never have a lower step: then no step is too large for them."""
    order = np.argsort(codes, kind="stable")
    highest = np.maximum.accumulate(steps[order])
    lowest = np.minimum.accumulate(steps[order][::-1])[::-1]
    change = np.flatnonzero(np.diff(codes[order]))
    slack = 1e-12 * np.abs(steps).max()
    return bool((highest[change] <= lowest[change + 1] + slack).all())


def _parted(rows: HeldLikelihood, codes: Codes, middle: int) -> HeldLikelihood:
    """Return the likelihood with one more parameter: the last one's excess at upper thresholds."""
    upper = rows.upper[:, -1] * (codes >= middle)
    lower = rows.lower[:, -1] * (codes - 1 >= middle)
    held = np.pad(rows.precision, (0, 1))
    held[-1, -1] = TIGHTER**2 * rows.freed
    return replace(
        rows,
        upper=np.column_stack([rows.upper, upper]),
        lower=np.column_stack([rows.lower, lower]),
        precision=held,
    )
