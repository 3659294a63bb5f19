"""Levels and spreads of people on equal footing, worked out from their shots."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.models.contrasts.contrasts import holm, two_sided_p
from yieldwright.models.intervals.intervals import Interval, sd_interval, t_interval
from yieldwright.models.spreads.common_fit import OwnSpread, own_spread, satterthwaite_sum
from yieldwright.models.spreads.differences import sd_difference_interval
from yieldwright.models.spreads.equality import bartlett, brown_forsythe
from yieldwright.models.spreads.pooled import pooled_sd
from yieldwright.models.spreads.ratios import sd_ratio
from yieldwright.models.spreads.robust import robust_sd_interval, robust_sd_ratio
from yieldwright.repeatability.persons.people_figures import (
    Figures,
    Level,
    PairFigures,
    PersonFigures,
    Pooled,
    SpreadPair,
)

if TYPE_CHECKING:
    from yieldwright.repeatability.persons.people_footing import Footing

__all__ = ["figures_of"]

Array = npt.NDArray[np.float64]

#: Degrees of freedom a spread needs before it is told.
LEAST_DF = 2

_NOTHING = Interval(math.nan, math.nan)


def figures_of(footing: Footing, values: Array) -> Figures:
    """Return levels and spreads of people for one outcome of their shots.

    Parameters
    ----------
    footing : Footing
        Who pulled what, and what is allowed for.
    values : ndarray
        Outcome of each shot. [any unit]

    Returns
    -------
    Figures

    Notes
    -----
    Where spreads allow for all that levels allow for, the standard error of a level takes
    each person's own variance, with degrees of freedom after Satterthwaite; else one
    variance of all about the common fit.
    """
    spreads = {
        person: own_spread(footing.own[person], values[footing.rows[person]])
        for person in footing.people
    }
    whole = footing.common.spread(values)
    shared = not footing.alike or min(each.df for each in spreads.values()) < LEAST_DF
    judge = _Levels(footing, values, spreads, whole if shared else None)
    people = tuple(_person(footing, values, spreads, judge, place) for place in
                   range(len(footing.people)))  # fmt: skip
    return Figures(
        people=people,
        pairs=_corrected([_pair(footing, spreads, judge, pair) for pair in footing.pairs]),
        day_p_value=math.nan if shared else _day_p_value(whole, list(spreads.values())),
        pooled=_pooled(footing, list(spreads.values())),
    )


@dataclass(frozen=True, slots=True)
class _Levels:
    """What levels rest on: each person's spread, or one for all."""

    footing: Footing
    values: Array
    spreads: Mapping[str, OwnSpread]
    whole: OwnSpread | None

    def of(self, weights: Array) -> Level:
        """Return a weighted sum of coefficients, missing where the rows do not tell it."""
        fit = self.footing.common
        if not fit.estimable(weights):
            return Level()
        rows = fit.row_weights(weights)
        if self.whole is not None:
            squares, sds, dfs = [float(rows @ rows)], [self.whole.sd], [self.whole.df]
        else:
            by_person = fit.squares_by_group(rows)
            squares = [by_person[person] for person in self.footing.people]
            sds = [self.spreads[person].sd for person in self.footing.people]
            dfs = [self.spreads[person].df for person in self.footing.people]
        found = satterthwaite_sum(float(rows @ self.values), squares, sds, dfs)
        if not found.std_error > 0:
            return Level(found.estimate)
        low, high = t_interval(found.estimate, found.std_error, found.df)
        p_value = two_sided_p(found.estimate, found.std_error, found.df)
        return Level(found.estimate, found.std_error, found.df, low, high, p_value)


def _person(
    footing: Footing,
    values: Array,
    spreads: Mapping[str, OwnSpread],
    judge: _Levels,
    place: int,
) -> PersonFigures:
    person = footing.people[place]
    own = spreads[person]
    weights = footing.common.design.mean(axis=0)
    weights[: len(footing.people)] = 0.0
    weights[place] = 1.0
    # A spread that holds changes of the grind is nobody's spread from shot to shot.
    told = own.df >= LEAST_DF and not footing.unequal_alone
    low, high = sd_interval(own.sd, own.df) if told else _NOTHING
    robust = _NOTHING
    if told and own.sd > 0:
        robust = robust_sd_interval(own.residuals, sd=own.sd, df=own.df)
    return PersonFigures(
        person=person,
        n_shots=len(footing.rows[person]),
        plain_mean=float(values[footing.rows[person]].mean()),
        level=judge.of(weights),
        sd=own.sd if told else math.nan,
        df=own.df,
        sd_low=low,
        sd_high=high,
        robust_low=robust.low,
        robust_high=robust.high,
    )


def _pair(
    footing: Footing, spreads: Mapping[str, OwnSpread], judge: _Levels, pair: tuple[str, str]
) -> PairFigures:
    first, second = pair
    weights = np.zeros(footing.common.design.shape[1])
    weights[[footing.people.index(first), footing.people.index(second)]] = 1.0, -1.0
    refusal = footing.refused.get(pair)
    level = Level() if refusal else judge.of(weights)
    apart = bool(footing.unequal_alone) or (refusal is not None and refusal.holds_for_spread)
    spread = None if apart else _spread_pair(spreads[first], spreads[second])
    return PairFigures(first, second, level, spread)


def _spread_pair(one: OwnSpread, two: OwnSpread) -> SpreadPair | None:
    if min(one.df, two.df) < LEAST_DF or not min(one.sd, two.sd) > 0:
        return None
    low, high = sd_difference_interval(one.sd, one.df, two.sd, two.df)
    robust = robust_sd_ratio(
        one.residuals, two.residuals, sds=(one.sd, two.sd), dfs=(one.df, two.df)
    )
    ratio = sd_ratio(one.sd, one.df, two.sd, two.df)
    return SpreadPair(ratio, robust, one.sd - two.sd, low, high)


def _corrected(pairs: Sequence[PairFigures]) -> tuple[PairFigures, ...]:
    """Return the pairs with p-values that count all of them."""
    levels = holm([pair.level.p_value for pair in pairs])
    spreads = [pair.spread for pair in pairs]
    plain = holm([each.ratio.p_value if each else math.nan for each in spreads])
    robust = holm([each.robust.p_value if each else math.nan for each in spreads])
    return tuple(
        replace(
            pair,
            level=replace(pair.level, p_holm=float(levels[at])),
            spread=pair.spread
            and replace(pair.spread, p_holm=float(plain[at]), robust_p_holm=float(robust[at])),
        )
        for at, pair in enumerate(pairs)
    )


def _pooled(footing: Footing, spreads: Sequence[OwnSpread]) -> Pooled | None:
    """Return the spread that all share, where all may be compared and have one."""
    tied = any(each.holds_for_spread for each in footing.refused.values())
    if tied or footing.unequal_alone:
        return None
    if min(each.df for each in spreads) < LEAST_DF or not min(each.sd for each in spreads) > 0:
        return None
    sds, dfs = [each.sd for each in spreads], [each.df for each in spreads]
    sd, df = pooled_sd(sds, dfs)
    tests = bartlett(sds, dfs), brown_forsythe([each.residuals for each in spreads])
    return Pooled(sd, df, *sd_interval(sd, df), max(each.p_value for each in tests))


def _day_p_value(whole: OwnSpread, own: Sequence[OwnSpread]) -> float:
    """Return the F test of what own fits explain beyond the common one."""
    df = sum(each.df for each in own)
    within = sum(each.df * each.sd**2 for each in own)
    more = whole.df - df
    if more < 1 or not within > 0:
        return math.nan
    statistic = max(whole.df * whole.sd**2 - within, 0.0) / more / (within / df)
    return float(special.fdtrc(more, df, statistic))
