"""On which days a mean stands at or above a level, below it, or may be either."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Literal, NamedTuple

import numpy as np
from scipy import optimize

__all__ = ["Fall", "Standing", "Stretch", "Verdict", "fall_of", "stretches_of"]

Standing = Literal["above", "open", "below"]
Verdict = Literal[
    "told", "back", "not yet", "holds", "early", "below", "rising", "between", "unsure"
]
Limits = Callable[[float], tuple[float, float]]

#: Ages looked at on the way to the days on which something changes.
LOOKED_AT = 161


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days on which a mean stands in one way to a level.

    Attributes
    ----------
    begins, ends : float
        First and last age. [d]
    standing : {"above", "open", "below"}
        Clearly at the level or above it, clearly below it, or not told.
    """

    begins: float
    ends: float
    standing: Standing


class Fall(NamedTuple):
    """From which age on a mean lies below a level.

    Attributes
    ----------
    verdict : str
        told: between two ages; back: so too, and it rises again; not yet: the later limit
        lies beyond the last age; holds: clearly at the level or above at the last age;
        early: the earlier limit lies before the first age; below: clearly below at every
        age; rising: below at first, then not told; between: below at both ends; unsure:
        not told at any age.
    low, high : float
        Ages between which it falls below; infinite where that may be beyond the ages tried.
        [d]
    """

    verdict: Verdict
    low: float
    high: float


def stretches_of(
    limits: Limits, at_least: float, tried: tuple[float, float]
) -> tuple[Stretch, ...]:
    """Return how a mean stands to a level from the first age tried to the last.

    Parameters
    ----------
    limits : callable
        The lowest and the highest mean that is not ruled out at an age.
    at_least : float
        The level. [unit of the response]
    tried : tuple of float
        First and last age. [d]

    Returns
    -------
    tuple of Stretch
        In order, without gaps.

    Examples
    --------
    >>> found = stretches_of(lambda age: (9 - age, 11 - age), 6.0, (0.0, 10.0))
    >>> [(each.standing, round(each.ends, 6)) for each in found]
    [('above', 3.0), ('open', 5.0), ('below', 10.0)]
    """
    ages = [float(age) for age in np.linspace(*tried, LOOKED_AT)]
    standings = [_standing(limits(age), at_least) for age in ages]
    edges: list[tuple[float, Standing]] = [(ages[0], standings[0])]
    for (age, now), (after, then) in pairwise(zip(ages, standings, strict=True)):
        if now != then:
            edges += _changes(limits, at_least, (age, after), (now, then))
    ends = [*(begins for begins, _ in edges[1:]), ages[-1]]
    return tuple(
        Stretch(begins, end, standing) for (begins, standing), end in zip(edges, ends, strict=True)
    )


def _standing(limits: tuple[float, float], at_least: float) -> Standing:
    low, high = limits
    if low >= at_least:
        return "above"
    return "below" if high < at_least else "open"


def _changes(
    limits: Limits,
    at_least: float,
    ages: tuple[float, float],
    standings: tuple[Standing, Standing],
) -> list[tuple[float, Standing]]:
    """Return where and to what the standing changes between two ages close by."""
    side = {"above": 0, "below": 1}
    now, then = standings
    found: list[tuple[float, Standing]] = []
    if now != "open":
        found.append((_crossing(limits, side[now], at_least, ages), "open"))
    if then != "open":
        found.append((_crossing(limits, side[then], at_least, ages), then))
    return found


def _crossing(limits: Limits, side: int, at_least: float, ages: tuple[float, float]) -> float:
    """Return the age between two others at which one limit is at the level."""
    return float(optimize.brentq(lambda age: limits(age)[side] - at_least, *ages, xtol=1e-9))


def fall_of(stretches: Sequence[Stretch]) -> Fall:
    """Return from which age on a mean lies below a level, as the set of ages not ruled out.

    Parameters
    ----------
    stretches : sequence of Stretch
        From `stretches_of`.

    Returns
    -------
    Fall

    Examples
    --------
    >>> fall_of([Stretch(4, 20, "above"), Stretch(20, 26, "open"), Stretch(26, 36, "below")])
    Fall(verdict='told', low=20, high=26)
    >>> fall_of([Stretch(4, 20, "above"), Stretch(20, 36, "open")])
    Fall(verdict='not yet', low=20, high=inf)
    """
    clear = [standing for standing, _ in groupby(s.standing for s in stretches if _told(s))]
    last = stretches[-1]
    if not clear:
        return Fall("unsure", -math.inf, math.inf)
    if clear == ["below"]:
        return _never_above(stretches)
    if clear[-1] == "below":
        return Fall("told", *_between(stretches))
    if not _told(last):
        return Fall("not yet", last.begins, math.inf)
    if clear[-3:] == ["above", "below", "above"]:
        return Fall("back", *_between(stretches))
    return Fall("holds", last.ends, math.inf)


def _told(stretch: Stretch) -> bool:
    return stretch.standing != "open"


def _never_above(stretches: Sequence[Stretch]) -> Fall:
    """Return the fall of a mean that is clearly below somewhere, and clearly above nowhere."""
    opens = [each for each in stretches if not _told(each)]
    if not opens:
        return Fall("below", -math.inf, stretches[0].begins)
    early, late = (not _told(stretches[place]) for place in (0, -1))
    if early and late:
        return Fall("unsure", -math.inf, math.inf)
    if early:
        return Fall("early", -math.inf, opens[-1].ends)
    if late:
        return Fall("rising", opens[0].begins, math.inf)
    return Fall("between", opens[0].begins, opens[-1].ends)


def _between(stretches: Sequence[Stretch]) -> tuple[float, float]:
    """Return from the end of the last days above to the beginning of the next below."""
    standings = [each.standing for each in stretches]
    last_below = len(standings) - 1 - standings[::-1].index("below")
    above = max(n for n in range(last_below) if standings[n] == "above")
    below = standings.index("below", above)
    return stretches[above].ends, stretches[below].begins
