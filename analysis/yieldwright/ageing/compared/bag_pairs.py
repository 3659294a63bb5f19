"""Two bags of one grinder compared at a roast age that both have been pulled at."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.compared.several_bags import rows_of_bags
from yieldwright.ageing.compared.told_apart import GoesAlong, goes_along
from yieldwright.ageing.trend.model import AGES_OF_A_CURVE, TrendModel
from yieldwright.ageing.trend.rows import AGE, BagRows
from yieldwright.errors import YieldwrightError
from yieldwright.models.intervals.intervals import LEVEL, t_interval
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Numeric, Product

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.terms.terms import Term
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["BagPair", "compare_pair"]

#: Column that is 1 for shots of the second bag.
SECOND = "second_bag"

#: Shots and sessions of each bag inside the ages that both share.
LEAST_SHOTS, LEAST_SESSIONS = 4, 2

#: Ages of each bag from which a slope of its own can be told.
LEAST_AGES = 3

#: Session means left over beside slopes of their own and a bend: with 2, as one bag needs, the
#: interval of a difference covered 99.6 % in 500 simulated logs of 7 sessions, too wide to use.
MEANS_LEFT = 4

#: Columns that a bag cannot be told apart from where they changed along with it.
CONFUSING = ("grind_setting", "service_stretch", "temp_band")

#: Below this p-value slopes of two bags count as different.
CLEAR = 0.05


@dataclass(frozen=True, slots=True)
class BagPair:
    """Two bags, the ages they share, and how they differ there.

    Attributes
    ----------
    first, second : str
        Codes of the bags: the second less the first.
    spans : tuple of pairs of float
        Youngest and oldest age of each, missing where its age is not known. [d]
    shared : tuple of float
        Youngest and oldest age that both were pulled at; the first above the second where
        they share none. [d]
    age_d : float
        Age at which they are compared; missing where they are not. [d]
    difference : Estimate or None
        There, with the grind and whatever else differs the same. [unit of the response]
    slopes : Estimate or None
        Difference of their changes per day; None where both had to share one. [unit per d]
    at_ends : tuple of Estimate
        Difference at both ends of the shared ages, where slopes clearly differ; with limits
        that hold at both together.
    allowed : tuple of str
        Columns held equal beside the age.
    not_allowed : tuple of str
        Columns that differ and could not be.
    entwined : GoesAlong or None
        What went along with the bag.
    n_shots, n_sessions : int
        Inside the shared ages. [count]
    why : str
        What keeps them from being compared: unknown age, no age in common, one age in
        common, few, entwined, no spread, or a message; empty where nothing does.
    """

    first: str
    second: str
    spans: tuple[tuple[float, float], tuple[float, float]]
    shared: tuple[float, float] = (math.nan, math.nan)
    age_d: float = math.nan
    difference: Estimate | None = None
    slopes: Estimate | None = None
    at_ends: tuple[Estimate, ...] = ()
    allowed: tuple[str, ...] = ()
    not_allowed: tuple[str, ...] = ()
    entwined: GoesAlong | None = None
    n_shots: int = 0
    n_sessions: int = 0
    why: str = ""


def compare_pair(
    comparable: ComparableSet, bags: tuple[str, str], response: str, *, bench: Bench
) -> BagPair:
    """Return how the second of two bags differs from the first at an age both share.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder that have the response, their ages where known.
    bags : tuple of str
        Codes of two bags.
    response : str
        Column explained.
    bench : Bench
        Whose grinder step, bands and scales to use.

    Returns
    -------
    BagPair

    Notes
    -----
    Only shots inside the ages that both were pulled at enter; there one model holds both
    bags, with a random shift by session. Each bag has its own slope in age, and the line
    bends, where ages and sessions can bear that: the layout of the log decides, never its
    outcomes. They are compared half-way between their mean ages, rounded to a day.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"bag": ["a", "b"], "roast_age_d": [4.0, 9.0], "time_s": 36.0})
    >>> shots["session"] = ["m", "n"]
    >>> compare_pair(ComparableSet("", "", shots), ("a", "b"), "time_s", bench=Bench()).why
    'no age in common'
    """
    shots = comparable.shots
    if "shot" not in shots:
        shots = shots.assign(shot=[str(row) for row in shots.index])
    code = shots["bag"].fillna("")
    spans = tuple(_span(shots.loc[code == each, AGE].to_numpy(dtype=float)) for each in bags)
    pair = BagPair(*bags, (spans[0], spans[1]))
    if np.isnan(spans).any():
        return replace(pair, why="unknown age")
    low, high = max(each[0] for each in spans), min(each[1] for each in spans)
    pair = replace(pair, shared=(low, high))
    if low >= high:
        return replace(pair, why="no age in common" if low > high else "one age in common")
    inside = code.isin(bags) & shots[AGE].between(low, high)
    both = replace(comparable, shots=shots[inside].reset_index(drop=True))
    return _compared(pair, rows_of_bags(both, response, bench=bench))


def _compared(pair: BagPair, rows: BagRows) -> BagPair:
    """Return a pair with its difference, or with what keeps it from being told."""
    frame = rows.prepared.frame
    pair = replace(
        pair,
        allowed=tuple(each.column for each in rows.beside if each.column != "bag"),
        not_allowed=tuple(name for name, _ in rows.declined if name != "bag"),
        n_shots=rows.n_shots,
        n_sessions=rows.n_sessions,
    )
    if rows.predictor("bag") is None or not rows.has_age or _is_thin(rows, pair):
        return replace(pair, why="few")
    if not np.ptp(frame["response"].to_numpy(dtype=float)):
        return replace(pair, why="no spread")
    second = (_codes(rows) == pair.second).astype(float)
    marked = replace(
        rows.without("bag"),
        prepared=replace(rows.prepared, frame=frame.assign(**{SECOND: second})),
    )
    entwined = goes_along(marked, SECOND, with_columns=CONFUSING)
    pair = replace(pair, entwined=entwined if entwined.partner else None)
    if entwined.inseparable:
        return replace(pair, why="entwined")
    try:
        return _estimated(pair, marked)
    except YieldwrightError as refusal:
        return replace(pair, why=str(refusal))


def _span(ages: np.ndarray) -> tuple[float, float]:
    known = ages[~np.isnan(ages)]
    return (float(known.min()), float(known.max())) if len(known) else (math.nan, math.nan)


def _codes(rows: BagRows) -> pd.Series[str]:
    """Return the code of each row's bag as the log has it: rows hold what can be shown of it."""
    shots = rows.comparable.shots
    codes = dict(zip(shots["shot"].astype(str), shots["bag"].fillna(""), strict=True))
    return rows.prepared.frame["shot"].astype(str).map(codes)


def _is_thin(rows: BagRows, pair: BagPair) -> bool:
    """Return whether one of the bags has too few shots or sessions to speak for itself."""
    by_bag = rows.prepared.frame.groupby(_codes(rows))["session"]
    shots, sessions = by_bag.size(), by_bag.nunique()
    bags = [pair.first, pair.second]
    few = shots.reindex(bags, fill_value=0).min() < LEAST_SHOTS
    return bool(few or sessions.reindex(bags, fill_value=0).min() < LEAST_SESSIONS)


def _estimated(pair: BagPair, rows: BagRows) -> BagPair:
    """Return a pair with its difference at one age, and at both ends where slopes differ."""
    apart = _slopes_apart(rows)
    model = _fitted(rows, apart=apart)
    age = _common_age(rows, pair.shared)
    found = replace(
        pair,
        age_d=age,
        difference=_difference(model, age, pair, f"at {age:g} d"),
        slopes=_slope_difference(model) if apart else None,
    )
    if found.slopes is None or not found.slopes.p_value < CLEAR:
        return found
    ends = tuple(_at_end(_difference(model, age, pair, f"at {age:g} d")) for age in pair.shared)
    return replace(found, at_ends=ends)


def _slopes_apart(rows: BagRows) -> bool:
    """Return whether ages and sessions can bear a slope for each bag."""
    frame = rows.prepared.frame
    ages = frame.groupby(SECOND)[AGE].nunique()
    between = sum(each.width for each in rows.beside if rows.same_in_sessions(each.column))
    return bool(ages.min() >= LEAST_AGES and rows.n_sessions - 4 - between >= MEANS_LEFT)


def _bends(rows: BagRows, *, apart: bool) -> bool:
    between = sum(each.width for each in rows.beside if rows.same_in_sessions(each.column))
    different = len(np.unique(rows.ages))
    left = rows.n_sessions - 4 - apart - between
    return different >= AGES_OF_A_CURVE and left >= MEANS_LEFT


def _fitted(rows: BagRows, *, apart: bool) -> TrendModel:
    """Return one model of both bags, each with its own slope where `apart`."""
    frame = rows.prepared.frame
    power = 2 if _bends(rows, apart=apart) else 1
    age, second = Numeric(AGE, power=power).settled(frame), Numeric(SECOND).settled(frame)
    product = [Product(age, second)] if apart else []
    terms: list[Term] = [age, second, *product, *(each.term() for each in rows.beside)]
    design = build_design(frame, terms)
    response = frame["response"].to_numpy(dtype=float)
    if not rows.grouped:
        return TrendModel(rows, fit_least_squares(design, response))
    return TrendModel(rows, fit_mixed(design, response, [grouping(frame, "session")]))


def _common_age(rows: BagRows, shared: tuple[float, float]) -> float:
    """Return the age half-way between the mean ages of both bags, on a whole day if one fits."""
    frame = rows.prepared.frame
    middle = float(frame.groupby(SECOND)[AGE].mean().mean())
    whole = float(round(middle))
    return whole if shared[0] <= whole <= shared[1] else middle


def _difference(model: TrendModel, age_d: float, pair: BagPair, when: str) -> Estimate:
    rows = [model.level_at(age_d, {SECOND: bag}) for bag in (0.0, 1.0)]
    return model.estimate(rows[1] - rows[0], f"{pair.second} − {pair.first}, {when}")


def _at_end(found: Estimate) -> Estimate:
    """Return a difference with limits that hold at both ends together, by Bonferroni's rule.

    Ends are told only where slopes clearly differ, and single limits of what was so chosen
    covered 92 % in 850 simulated logs.
    """
    level = 1 - (1 - LEVEL) / 2
    low, high = t_interval(found.estimate, found.std_error, found.df, level=level)
    return replace(found, ci_low=low, ci_high=high)


def _slope_difference(model: TrendModel) -> Estimate:
    middle = model.age.middle
    ends = [
        model.level_at(age, {SECOND: 1.0}) - model.level_at(age, {SECOND: 0.0})
        for age in (middle, middle + 1)
    ]
    return model.estimate(ends[1] - ends[0], "slopes per day")
