"""Several charts watching one series, and how often they cry wolf on a steady one."""

from __future__ import annotations

import math
from dataclasses import dataclass
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

__all__ = ["CUSUM", "DRAWS", "EWMA", "AlarmChances", "Watchers", "alarm_chances"]

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
    """How often watchers alarm at least once on a steady series.

    Attributes
    ----------
    of_each : mapping of str to float
        By name of watcher.
    of_any : float
        Of at least one of them.
    n_values : int
        Length of the series. [count]
    draws : int
        Steady series it was counted on. [count]
    """

    of_each: Mapping[str, float]
    of_any: float
    n_values: int
    draws: int

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
        Design the values were adjusted by, a column of ones included: then the steady
        series are residuals on it too; None for values as they are.
    baseline : int or None
        How many of the first values centre and spread are estimated from; None for all.
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
        If the design has another number of rows than the series has values.

    Notes
    -----
    Values are independent and normal. Limits drawn from the very values they judge follow
    them: the chance is then another than run lengths with known limits suggest, and on a
    few dozen values the difference matters.

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
    z = rng.standard_normal((draws, n_values))
    if matrix is not None:
        z = _residuals(z, matrix)
    if not known:
        z = _standardized(z, first)
    alarmed = {name: flags.any(axis=-1) for name, flags in watchers.alarms(z).items()}
    either = np.logical_or.reduce(list(alarmed.values())) if alarmed else np.zeros(draws)
    return AlarmChances(
        of_each={name: float(flags.mean()) for name, flags in alarmed.items()},
        of_any=float(either.mean()),
        n_values=n_values,
        draws=draws,
    )


def _residuals(z: Array, matrix: Array) -> Array:
    if len(matrix) != z.shape[-1]:
        raise OutOfRangeError(
            f"the design has {len(matrix)} rows and the series {z.shape[-1]} values"
        )
    basis, _ = np.linalg.qr(matrix)
    return np.asarray(z - (z @ basis) @ basis.T)


def _standardized(z: Array, first: int) -> Array:
    """Return series as distances from their own centre in their own spread."""
    base = z[..., :first]
    center = base.mean(axis=-1, keepdims=True)
    spread = np.abs(np.diff(base, axis=-1)).mean(axis=-1, keepdims=True) / D2_OF_PAIRS
    return np.asarray((z - center) / spread)
