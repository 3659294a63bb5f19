"""Several charts watching one series, and how often they cry wolf on a steady one."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.charts.constants import D2_OF_PAIRS
from yieldwright.models.charts.cusum import accumulated
from yieldwright.models.charts.ewma import ewma_reach, smoothed
from yieldwright.models.charts.run_rules import met_by

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldwright.models.charts.run_rules import Rule

__all__ = [
    "CUSUM",
    "DRAWS",
    "EWMA",
    "AlarmChances",
    "Watchers",
    "adjusted_for",
    "alarm_chances",
    "range_constant",
]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

#: Names of the two charts that are no rules.
EWMA, CUSUM = "ewma", "cusum"

#: Steady series drawn: a chance of 10 % is then known to 0.3 points (one standard error).
DRAWS = 10_000


@dataclass(frozen=True, slots=True)
class Watchers:
    """What watches a series: rules for single values, and two charts for small changes.

    Attributes
    ----------
    rules : tuple of Rule
        Looked for among single values.
    weight, limit : float
        Of the exponentially weighted average: share of the newest value, and distance
        of its exact limits; a weight of 0 for none. [1]
    allowance, decision : float
        Of cumulative sums, k and h; a decision limit of 0 for none.
        [standard deviation]
    """

    rules: tuple[Rule, ...]
    weight: float = 0.0
    limit: float = 3.0
    allowance: float = 0.5
    decision: float = 0.0

    def alarms(self, z: Array) -> dict[str, Flags]:
        """Return at which points each watcher alarms, for one series or many.

        Parameters
        ----------
        z : ndarray
            Standardised values, the last axis in the order they came.
            [standard deviation]

        Returns
        -------
        dict of str to ndarray
            By name of rule, `ewma` and `cusum`.
        """
        found = {rule.name: met_by(rule, z) for rule in self.rules}
        if self.weight:
            reach = ewma_reach(z.shape[-1], self.weight, self.limit)
            found[EWMA] = np.abs(smoothed(z, self.weight)) > reach
        if self.decision:
            sums = np.maximum(accumulated(z, self.allowance), accumulated(-z, self.allowance))
            found[CUSUM] = sums > self.decision
        return found


@dataclass(frozen=True, slots=True)
class AlarmChances:
    """How watchers, and the limits they go by, behave on a series with nothing in it.

    Attributes
    ----------
    of_each : mapping of str to float
        Chance of at least one alarm, by name of watcher.
    of_any : float
        Chance of at least one alarm of any.
    n_values : int
        Length of the series. [count]
    draws : int
        Series it was counted on. [count]
    spread_factors : tuple of float
        Estimated spread times these: 95 % limits of the true one. [1]
    center_factor : float
        Estimated spread times this: how far the true centre lies off at most, in 95 %
        of series. [1]
    """

    of_each: Mapping[str, float]
    of_any: float
    n_values: int
    draws: int
    spread_factors: tuple[float, float] = (1.0, 1.0)
    center_factor: float = 0.0

    @property
    def error(self) -> float:
        """Standard error of the chance of any alarm, from the number of draws."""
        return math.sqrt(self.of_any * (1 - self.of_any) / self.draws)


def alarm_chances(
    watchers: Watchers,
    n_values: int,
    *,
    rng: np.random.Generator,
    matrix: Array | None = None,
    baseline: int | None = None,
    added: Array | None = None,
    known: bool = False,
    draws: int = DRAWS,
) -> AlarmChances:
    """Return how often watchers alarm on a steady series, by drawing many.

    Parameters
    ----------
    watchers : Watchers
        What watches.
    n_values : int
        Length of the series. [count]
    rng : Generator
        Source of chance.
    matrix : ndarray or None
        Design the values were adjusted by, a column of ones included: then what is drawn
        is adjusted by it too; None for values as they are.
    baseline : int or None
        How many of the first values all estimates rest on; None for all.
    added : ndarray or None
        A change to add to every series, to learn how often it would be seen; None for
        none. [standard deviation]
    known : bool
        Whether centre and spread are known beforehand instead.
    draws : int
        How many series. [count]

    Returns
    -------
    AlarmChances

    Raises
    ------
    TooFewShotsError
        If fewer than two values are there to estimate from.
    OutOfRangeError
        If design or change are of another length than the series.

    Notes
    -----
    Values are independent and normal. Limits drawn from the very values they judge follow
    them: the chance is then another than run lengths with known limits suggest, and on a
    few dozen values the difference matters. For the same reason the factors are those of
    this very length and design.

    References
    ----------
    .. [1] Quesenberry (1993), J. Qual. Technol. 25, 237: the effect of sample size on
       estimated limits.

    Examples
    --------
    >>> from yieldwright.models.charts.run_rules import ONE_BEYOND_3S
    >>> chance = alarm_chances(
    ...     Watchers((ONE_BEYOND_3S,)), 30, rng=np.random.default_rng(1), known=True
    ... )
    >>> round(chance.of_any, 2)
    0.08
    """
    first = n_values if baseline is None else baseline
    if not 2 <= first <= n_values:
        raise TooFewShotsError(f"limits need 2 values at least; {first} of {n_values} were meant")
    series = rng.standard_normal((draws, n_values))
    if added is not None:
        series += _of_length(added, n_values)
    if known:
        return _counted(watchers.alarms(series), n_values, draws)
    z, center, spread = _standardized(series, matrix, first)
    return replace(
        _counted(watchers.alarms(z), n_values, draws),
        spread_factors=tuple((1 / np.quantile(spread, [0.975, 0.025])).tolist()),
        center_factor=float(np.quantile(np.abs(center) / spread, 0.95)),
    )


def adjusted_for(values: Array, matrix: Array, first: int) -> Array:
    """Return values less what a design explains of them, fitted to the first of them.

    Parameters
    ----------
    values : ndarray
        One series or many, the last axis in the order they came. [any unit]
    matrix : ndarray
        One row per value, a column of ones included.
    first : int
        How many of the first values the fit rests on. [count]

    Returns
    -------
    ndarray
        Of the same shape, centred on 0.

    Raises
    ------
    OutOfRangeError
        If the design has another number of rows.

    Examples
    --------
    >>> adjusted_for(np.array([1.0, 3.0]), np.ones((2, 1)), 2).tolist()
    [-1.0, 1.0]
    """
    rows = _of_length(matrix, values.shape[-1])
    fitted = values[..., :first] @ np.linalg.pinv(rows[:first]).T
    return np.asarray(values - fitted @ rows.T)


def range_constant(matrix: Array, first: int) -> float:
    """Return the mean distance of neighbours that were adjusted, in standard deviations.

    Parameters
    ----------
    matrix : ndarray
        Design they were adjusted by, a column of ones included.
    first : int
        How many of the first values the fit, and the distances, rest on. [count]

    Returns
    -------
    float
        d2 of pairs where only the mean was taken out; less where neighbours share what
        a fit takes with it.

    Notes
    -----
    With P the projection on what the fit leaves, neighbours i and j of it differ with
    variance P_ii + P_jj − 2 P_ij.

    Examples
    --------
    >>> round(range_constant(np.ones((10, 1)), 10), 4)
    1.1284
    """
    basis, _ = np.linalg.qr(matrix[:first])
    taken, shared = (basis**2).sum(axis=1), (basis[1:] * basis[:-1]).sum(axis=1)
    variance = np.maximum(2 - taken[1:] - taken[:-1] + 2 * shared, 0.0)
    return float(D2_OF_PAIRS * np.sqrt(variance / 2).mean())


def _of_length(rows: Array, n_values: int) -> Array:
    if len(rows) != n_values:
        raise OutOfRangeError(f"the design has {len(rows)} rows and the series {n_values} values")
    return rows


def _standardized(series: Array, matrix: Array | None, first: int) -> tuple[Array, Array, Array]:
    """Return series as distances from their own centre in their own spread, and both."""
    rows = np.ones((series.shape[-1], 1)) if matrix is None else matrix
    left = adjusted_for(series, rows, first)
    distances = np.abs(np.diff(left[..., :first], axis=-1)).mean(axis=-1)
    spread = distances / D2_OF_PAIRS
    return left / spread[..., None], series[..., :first].mean(axis=-1), spread


def _counted(alarms: Mapping[str, Flags], n_values: int, draws: int) -> AlarmChances:
    alarmed = {name: flags.any(axis=-1) for name, flags in alarms.items()}
    either = np.logical_or.reduce(list(alarmed.values())) if alarmed else np.zeros(draws)
    return AlarmChances(
        of_each={name: float(flags.mean()) for name, flags in alarmed.items()},
        of_any=float(either.mean()),
        n_values=n_values,
        draws=draws,
    )
