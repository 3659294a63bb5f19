"""Patterns that a steady series seldom shows: supplementary rules as data, with sources."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "EIGHT_OUTSIDE_1S",
    "EIGHT_SAME_SIDE",
    "FIFTEEN_WITHIN_1S",
    "FOURTEEN_ALTERNATING",
    "FOUR_OF_FIVE_BEYOND_1S",
    "ISO_7870",
    "NELSON",
    "NINE_SAME_SIDE",
    "ONE_BEYOND_3S",
    "RULES",
    "SEVEN_SAME_SIDE",
    "SEVEN_TREND",
    "SIX_TREND",
    "TWO_OF_THREE_BEYOND_2S",
    "WESTERN_ELECTRIC",
    "Rule",
    "conditions_of",
    "met_by",
    "signals",
]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_WECO = "Western Electric (1956), Statistical Quality Control Handbook"
_NELSON = "Nelson (1984), J. Qual. Technol. 16, 237"
_ISO = "ISO 7870-2:2013"


@dataclass(frozen=True, slots=True)
class Rule:
    """One pattern that counts as a signal.

    Attributes
    ----------
    name : str
        Stable word for it.
    meaning : str
        What it is, in plain words, to be read after "alarms at".
    hint : str
        What kind of change makes it, in plain words.
    source : str
        Who published it.
    pattern : {"beyond", "outside", "within", "trend", "alternating"}
        Points beyond a bound on one side; outside bounds on either side; inside them;
        each higher, or each lower, than the one before; up and down in turn.
    least, of : int
        So many points of so many must do so, the last of them among them. [count]
    bound : float
        Distance from the centre that is passed. [standard deviation]
    """

    name: str
    meaning: str
    hint: str
    source: str
    pattern: Literal["beyond", "outside", "within", "trend", "alternating"]
    least: int
    of: int
    bound: float = 0.0

    @property
    def of_zones(self) -> bool:
        """Whether it looks at how far points lie out, and not at their neighbours."""
        return self.pattern in ("beyond", "outside", "within")


ONE_BEYOND_3S = Rule(
    "one_beyond_3s",
    "one value more than 3 standard deviations from the centre",
    "something befell this one",
    f"{_WECO}; {_NELSON}, test 1; {_ISO}",
    "beyond", 1, 1, 3.0,
)  # fmt: skip
TWO_OF_THREE_BEYOND_2S = Rule(
    "two_of_three_beyond_2s",
    "two of three values in a row more than 2 standard deviations out on one side",
    "the level has moved, by much",
    f"{_WECO}; {_NELSON}, test 5",
    "beyond", 2, 3, 2.0,
)  # fmt: skip
FOUR_OF_FIVE_BEYOND_1S = Rule(
    "four_of_five_beyond_1s",
    "four of five values in a row more than 1 standard deviation out on one side",
    "the level has moved",
    f"{_WECO}; {_NELSON}, test 6",
    "beyond", 4, 5, 1.0,
)  # fmt: skip
EIGHT_SAME_SIDE = Rule(
    "eight_same_side",
    "eight values in a row on one side of the centre",
    "the level has moved and stayed",
    _WECO,
    "beyond", 8, 8,
)  # fmt: skip
NINE_SAME_SIDE = Rule(
    "nine_same_side",
    "nine values in a row on one side of the centre",
    "the level has moved and stayed",
    f"{_NELSON}, test 2",
    "beyond", 9, 9,
)  # fmt: skip
SEVEN_SAME_SIDE = Rule(
    "seven_same_side",
    "seven values in a row on one side of the centre",
    "the level has moved and stayed",
    _ISO,
    "beyond", 7, 7,
)  # fmt: skip
SIX_TREND = Rule(
    "six_trend",
    "six values in a row, each higher or each lower than the one before",
    "something drifts",
    f"{_NELSON}, test 3",
    "trend", 6, 6,
)  # fmt: skip
SEVEN_TREND = Rule(
    "seven_trend",
    "seven values in a row, each higher or each lower than the one before",
    "something drifts",
    _ISO,
    "trend", 7, 7,
)  # fmt: skip
FOURTEEN_ALTERNATING = Rule(
    "fourteen_alternating",
    "fourteen values in a row, up and down in turn",
    "two streams take turns, or one over-corrects after every shot",
    f"{_NELSON}, test 4",
    "alternating", 14, 14,
)  # fmt: skip
FIFTEEN_WITHIN_1S = Rule(
    "fifteen_within_1s",
    "fifteen values in a row within 1 standard deviation of the centre",
    "limits are too wide: different things were mixed when they were drawn",
    f"{_NELSON}, test 7",
    "within", 15, 15, 1.0,
)  # fmt: skip
EIGHT_OUTSIDE_1S = Rule(
    "eight_outside_1s",
    "eight values in a row, none within 1 standard deviation of the centre",
    "two different things are mixed",
    f"{_NELSON}, test 8",
    "outside", 8, 8, 1.0,
)  # fmt: skip

#: Every rule, by name.
RULES = {
    rule.name: rule
    for rule in (
        ONE_BEYOND_3S,
        TWO_OF_THREE_BEYOND_2S,
        FOUR_OF_FIVE_BEYOND_1S,
        EIGHT_SAME_SIDE,
        NINE_SAME_SIDE,
        SEVEN_SAME_SIDE,
        SIX_TREND,
        SEVEN_TREND,
        FOURTEEN_ALTERNATING,
        FIFTEEN_WITHIN_1S,
        EIGHT_OUTSIDE_1S,
    )
}

#: The sets as published.
WESTERN_ELECTRIC = (
    ONE_BEYOND_3S,
    TWO_OF_THREE_BEYOND_2S,
    FOUR_OF_FIVE_BEYOND_1S,
    EIGHT_SAME_SIDE,
)
NELSON = (
    ONE_BEYOND_3S,
    NINE_SAME_SIDE,
    SIX_TREND,
    FOURTEEN_ALTERNATING,
    TWO_OF_THREE_BEYOND_2S,
    FOUR_OF_FIVE_BEYOND_1S,
    FIFTEEN_WITHIN_1S,
    EIGHT_OUTSIDE_1S,
)
ISO_7870 = (ONE_BEYOND_3S, SEVEN_SAME_SIDE, SEVEN_TREND)


def met_by(rule: Rule, z: Array) -> Flags:
    """Return at which points a rule signals, for one series or many at once.

    Parameters
    ----------
    rule : Rule
        What counts as a signal.
    z : ndarray
        Standardised values, the last axis in the order they came. [standard deviation]

    Returns
    -------
    ndarray
        Of the same shape: whether a pattern ends at each point.

    Notes
    -----
    A point exactly on a bound, or equal to its neighbour, does not count; a signal
    belongs to the last point of its pattern, which is itself one of those that count;
    points stay in play after a signal.

    References
    ----------
    .. [1] Western Electric (1956), Statistical Quality Control Handbook.
    .. [2] Nelson (1984), J. Qual. Technol. 16, 237.
    .. [3] ISO 7870-2:2013.

    Examples
    --------
    >>> met_by(TWO_OF_THREE_BEYOND_2S, np.array([2.5, 0.0, 2.1, -2.2])).tolist()
    [False, False, True, False]
    """
    found = np.zeros(z.shape, dtype=bool)
    for flags, least, of in conditions_of(rule, z):
        if least == of:
            found |= _all_of_last(flags, of)
        else:
            found |= flags & (_moving_count(flags, of) >= least)
    return found


def signals(rules: Sequence[Rule], z: Sequence[float] | Array) -> dict[str, list[int]]:
    """Return the places at which each rule signals in one series.

    Parameters
    ----------
    rules : sequence of Rule
        What counts as a signal.
    z : sequence of float
        Standardised values in the order they came. [standard deviation]

    Returns
    -------
    dict of str to list of int
        Places by name of rule, counted from 1.

    Raises
    ------
    OutOfRangeError
        If a value is missing or infinite.

    Examples
    --------
    >>> signals(ISO_7870, [0.1, -0.2, 3.4, 0.3])["one_beyond_3s"]
    [3]
    """
    series = np.asarray(z, dtype=np.float64)
    if not np.isfinite(series).all():
        raise OutOfRangeError("rules need finite values; leave out what is missing")
    return {rule.name: (np.flatnonzero(met_by(rule, series)) + 1).tolist() for rule in rules}


def conditions_of(rule: Rule, z: Array) -> list[tuple[Flags, int, int]]:
    """Return what each side of a rule asks for.

    Parameters
    ----------
    rule : Rule
        What counts as a signal.
    z : ndarray
        Standardised values, the last axis in the order they came. [standard deviation]

    Returns
    -------
    list of tuple
        One entry per side: which points do so, how many must, of how many.

    Examples
    --------
    >>> flags, least, of = conditions_of(FIFTEEN_WITHIN_1S, np.array([0.5, 1.5]))[0]
    >>> flags.tolist(), least, of
    ([True, False], 15, 15)
    """
    if rule.pattern == "within":
        return [(np.abs(z) < rule.bound, rule.least, rule.of)]
    if rule.pattern == "outside":
        return [(np.abs(z) > rule.bound, rule.least, rule.of)]
    if rule.pattern == "beyond":
        return [(side * z > rule.bound, rule.least, rule.of) for side in (1, -1)]
    rises = np.sign(np.diff(z, axis=-1, prepend=z[..., :1]))
    if rule.pattern == "trend":  # so many points are one step fewer
        return [(rises == side, rule.least - 1, rule.of - 1) for side in (1, -1)]
    turn = np.where(np.arange(z.shape[-1]) % 2 == 0, 1.0, -1.0)
    return [(rises * turn == side, rule.least - 1, rule.of - 1) for side in (1, -1)]


def _all_of_last(flags: Flags, of: int) -> Flags:
    """Return whether each point and those before it, so many in all, are flagged.

    Stretches are joined to longer ones, which takes far fewer steps than counting.
    """
    joined, length = flags.copy(), 1
    while length < of:
        further = min(length, of - length)
        joined[..., further:] &= joined[..., :-further].copy()
        joined[..., :further] = False
        length += further
    return joined


def _moving_count(flags: Flags, of: int) -> npt.NDArray[np.int64]:
    """Return how many of so many points up to each one are flagged."""
    total = np.cumsum(flags, axis=-1, dtype=np.int64)
    before = np.zeros_like(total)
    before[..., of:] = total[..., :-of]
    return total - before
