"""How long a chart runs until it alarms, on average, with centre and spread known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import linalg, special

from yieldwright.errors import OutOfRangeError
from yieldwright.formatting import listing
from yieldwright.models.charts.run_rules import conditions_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.charts.run_rules import Rule

__all__ = ["cusum_run_length", "ewma_run_length", "rules_alarm_chance", "rules_run_length"]

Array = npt.NDArray[np.float64]

#: Points at which integrals are summed for each unit that a kernel is wide.
NODES_PER_UNIT, FEWEST_NODES = 12, 80


def rules_run_length(rules: Sequence[Rule], *, shift: float = 0.0) -> float:
    """Return how many values it takes on average until one of some rules signals.

    Parameters
    ----------
    rules : sequence of Rule
        Rules about how far points lie out; those about neighbours have no such chain.
    shift : float
        True level, from the centre. [standard deviation]

    Returns
    -------
    float
        Average run length. [count]

    Raises
    ------
    OutOfRangeError
        If a rule is about neighbours, or there are none.

    Notes
    -----
    Exact, by a Markov chain whose states are what each rule remembers of the last points;
    values are independent and normal, centre and spread known. Limits that were
    estimated alarm otherwise: see `alarm_chances`.

    References
    ----------
    .. [1] Champ and Woodall (1987), Technometrics 29, 393.

    Examples
    --------
    >>> from yieldwright.models.charts.run_rules import ONE_BEYOND_3S, WESTERN_ELECTRIC
    >>> round(rules_run_length([ONE_BEYOND_3S]), 1), round(rules_run_length(WESTERN_ELECTRIC), 2)
    (370.4, 91.75)
    """
    moves = _chain(tuple(rules)).moves(shift)
    expected = linalg.solve(np.eye(len(moves)) - moves, np.ones(len(moves)))
    return float(expected[0])


def rules_alarm_chance(rules: Sequence[Rule], n_values: int, *, shift: float = 0.0) -> float:
    """Return the chance that one of some rules signals within so many values.

    Parameters
    ----------
    rules : sequence of Rule
        Rules about how far points lie out.
    n_values : int
        How many values. [count]
    shift : float
        True level, from the centre. [standard deviation]

    Returns
    -------
    float

    Raises
    ------
    OutOfRangeError
        If a rule is about neighbours, or there are none.

    Examples
    --------
    >>> from yieldwright.models.charts.run_rules import ONE_BEYOND_3S
    >>> round(rules_alarm_chance([ONE_BEYOND_3S], 30), 4)
    0.0779
    """
    moves = _chain(tuple(rules)).moves(shift)
    state = np.zeros(len(moves))
    state[0] = 1.0
    for _ in range(n_values):
        state = state @ moves
    return float(1 - state.sum())


def ewma_run_length(weight: float, limit: float, *, shift: float = 0.0) -> float:
    """Return how many values it takes until an exponentially weighted average signals.

    Parameters
    ----------
    weight : float
        Share of the newest value, in (0, 1]. [1]
    limit : float
        Distance of the lasting limits, in standard deviations of the average. [1]
    shift : float
        True level, from the centre. [standard deviation]

    Returns
    -------
    float
        Average run length from a start at the centre, with lasting limits. [count]

    Raises
    ------
    OutOfRangeError
        If the weight is not in (0, 1] or the limit not above 0.

    Notes
    -----
    The integral equation of the expected rest, at Gauss–Legendre nodes.

    References
    ----------
    .. [1] Crowder (1987), Technometrics 29, 401.
    .. [2] Lucas and Saccucci (1990), Technometrics 32, 1.

    Examples
    --------
    >>> round(ewma_run_length(0.25, 3.0, shift=1.0), 6)
    11.154267
    """
    if not (0 < weight <= 1 and limit > 0):
        raise OutOfRangeError(
            f"the weight must lie above 0 and not above 1, the limit above 0; got {weight:g} "
            f"and {limit:g}"
        )
    if weight == 1:  # each value by itself
        return 1 / float(special.ndtr(-limit - shift) + special.ndtr(shift - limit))
    reach = limit * math.sqrt(weight / (2 - weight))
    nodes, weights = _nodes(-reach, reach, weight)

    def kernel(start: Array) -> Array:
        return _density((nodes - (1 - weight) * start[:, None]) / weight - shift) / weight

    inner = linalg.solve(np.eye(len(nodes)) - kernel(nodes) * weights, np.ones(len(nodes)))
    return float(1 + kernel(np.zeros(1))[0] @ (weights * inner))


def cusum_run_length(
    allowance: float,
    decision: float,
    *,
    shift: float = 0.0,
    head_start: float = 0.0,
    two_sided: bool = True,
) -> float:
    """Return how many values it takes until cumulative sums signal.

    Parameters
    ----------
    allowance : float
        What each value may lie off without counting, k. [standard deviation]
    decision : float
        Sum that is a signal, h. [standard deviation]
    shift : float
        True level, from the centre. [standard deviation]
    head_start : float
        Where sums begin, below h. [standard deviation]
    two_sided : bool
        Whether both directions are watched, or only upwards.

    Returns
    -------
    float
        Average run length. [count]

    Raises
    ------
    OutOfRangeError
        If h is not above 0, k is negative, or the head start not in [0, h).

    Notes
    -----
    Page's integral equation at Gauss–Legendre nodes; both sides together by the formula
    of Lucas and Crosier, which is exact for independent values.

    References
    ----------
    .. [1] Vance (1986), J. Qual. Technol. 18, 189.
    .. [2] Lucas and Crosier (1982), Technometrics 24, 199.

    Examples
    --------
    >>> round(cusum_run_length(0.5, 4.0), 1), round(cusum_run_length(0.5, 5.0, shift=1.0), 1)
    (167.7, 10.4)
    """
    if decision <= 0 or allowance < 0 or not 0 <= head_start < decision:
        raise OutOfRangeError(
            "sums need a decision limit above 0, an allowance of 0 or more and a head start "
            f"below the limit; got {decision:g}, {allowance:g} and {head_start:g}"
        )
    up, up_rate = _one_sided(allowance - shift, decision, head_start)
    if not two_sided:
        return up / up_rate if up_rate else math.inf
    down, down_rate = _one_sided(allowance + shift, decision, head_start)
    return (up + down - 1) / (up_rate + down_rate)


def _one_sided(drop: float, decision: float, start: float) -> tuple[float, float]:
    """Return how an upper sum fares whose values lose `drop`.

    Returns its run length from `start` as a share of that from zero, and one over the
    latter. Both follow from what happens until the sum is back at zero, where all begins
    anew: sums that hardly ever signal lose no digits so.
    """
    nodes, weights = _nodes(0.0, decision, 1.0)

    def step(places: Array) -> tuple[Array, Array]:
        fall = drop - places[:, None]
        return special.ndtr(-decision - fall), _density(nodes + fall) * weights

    leaving, inside = step(nodes)
    one = np.column_stack([np.ones(len(nodes)), leaving])
    later = linalg.solve(np.eye(len(nodes)) - inside, one)
    leaving, inside = step(np.array([0.0, start]))
    steps, leaves = (np.column_stack([np.ones(2), leaving]) + inside @ later).T
    rate = float(leaves[0] / steps[0])
    return float(steps[1] * rate + 1 - leaves[1]), rate


def _nodes(low: float, high: float, scale: float) -> tuple[Array, Array]:
    """Return where and with which weights an integral is summed, for a kernel so wide."""
    n = max(FEWEST_NODES, math.ceil(NODES_PER_UNIT * (high - low) / scale))
    nodes, weights = np.polynomial.legendre.leggauss(n)
    return (low + high) / 2 + (high - low) / 2 * nodes, (high - low) / 2 * weights


def _density(z: Array) -> Array:
    return np.asarray(np.exp(-(z**2) / 2) / math.sqrt(2 * math.pi))


@dataclass(frozen=True, slots=True, eq=False)
class _Chain:
    """What rules remember, and where each zone leads: the first state remembers nothing."""

    edges: Array
    leads: npt.NDArray[np.int64]

    def moves(self, shift: float) -> Array:
        """Return the chances to go from state to state without a signal."""
        bounds = np.concatenate([[-np.inf], self.edges, [np.inf]])
        chances = np.diff(special.ndtr(bounds - shift))
        moves = np.zeros((len(self.leads), len(self.leads)))
        for zone, chance in enumerate(chances):
            quiet = self.leads[:, zone] >= 0
            np.add.at(moves, (np.flatnonzero(quiet), self.leads[quiet, zone]), chance)
        return moves


@lru_cache(maxsize=32)
def _chain(rules: tuple[Rule, ...]) -> _Chain:
    """Return the chain of some rules, found by walking from a start without memory."""
    _require_zones(rules)
    edges = np.array(sorted({side * rule.bound for rule in rules for side in (1, -1)}) or [0.0])
    edges = np.unique(edges + 0.0)
    middles = np.concatenate([[edges[0] - 1], (edges[1:] + edges[:-1]) / 2, [edges[-1] + 1]])
    asked = [each for rule in rules for each in conditions_of(rule, middles)]
    start = (0,) * len(asked)
    known, leads = {start: 0}, []
    waiting = [start]
    for state in waiting:
        row = []
        for zone in range(len(middles)):
            after = _after(state, [(int(f[zone]), least, of) for f, least, of in asked])
            if after is not None and after not in known:
                known[after] = len(known)
                waiting.append(after)
            row.append(-1 if after is None else known[after])
        leads.append(row)
    return _Chain(edges, np.array(leads))


def _after(
    state: tuple[int, ...], asked: Sequence[tuple[int, int, int]]
) -> tuple[int, ...] | None:
    """Return what is remembered after one more point, None where a rule signals.

    Each memory is a number whose bits say of the last points whether they did as asked.
    """
    memories = []
    for bits, (flag, least, of) in zip(state, asked, strict=True):
        now = (bits << 1 | flag) & ((1 << of) - 1)
        if flag and now.bit_count() >= least:
            return None
        kept = now & ((1 << (of - 1)) - 1)
        if least == of:  # of a run, only the unbroken end matters
            kept &= (kept ^ (kept + 1)) >> 1
        memories.append(kept)
    return tuple(memories)


def _require_zones(rules: tuple[Rule, ...]) -> None:
    others = [rule.name for rule in rules if not rule.of_zones]
    if others or not rules:
        what = f"{listing(others)} looks at neighbours" if others else "there is no rule"
        raise OutOfRangeError(f"no chain of zones gives a run length: {what}; simulate it instead")
