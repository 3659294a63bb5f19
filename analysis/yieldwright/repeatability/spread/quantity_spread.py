"""The steadiness of one measured quantity: its spread and everything that follows from it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scipy import special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.agreement.precision import LARGEST_VARIATION, variation_interval
from yieldwright.models.intervals.intervals import Interval, sd_interval, t_quantile
from yieldwright.models.intervals.power import detectable_effect, shots_per_setting
from yieldwright.repeatability.spread.instrument_shares import (
    InstrumentShare,
    instrument_share,
    is_good_enough,
)
from yieldwright.repeatability.spread.likeness import LikeShots, like_shots
from yieldwright.repeatability.spread.measured import (
    has_true_zero,
    miss_forgiven,
    sizes_that_matter,
)
from yieldwright.repeatability.spread.session_spread import SessionSpread, session_spread
from yieldwright.taste.columns.one_start import of_one_start

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.results import Dropped
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = [
    "LIMIT_FACTOR",
    "SHOTS_EACH",
    "Difference",
    "QuantitySpread",
    "ShotsNeeded",
    "quantity_spread",
]

#: Two results of one operator differ by less than this many SDs 19 times in 20: 1.96 times the
#: root of 2, rounded as the standard rounds it (ISO 5725-6:1994, 4.1.4).
LIMIT_FACTOR = 2.8

#: Shots at each of two settings that are looked at.
SHOTS_EACH = (2, 4, 8)


@dataclass(frozen=True, slots=True)
class Difference:
    """The smallest difference between two settings that a number of shots can show.

    Attributes
    ----------
    n_each : int
        Shots at each setting. [count]
    size, low, high : float
        Found four times in five, at the SD and at the ends of its interval.
        [unit of the quantity]
    """

    n_each: int
    size: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ShotsNeeded:
    """How many shots at each of two settings show a difference four times in five.

    Attributes
    ----------
    size : float
        The difference. [unit of the quantity]
    n_each, low, high : int
        Shots at each, at the SD and at the ends of its interval. [count]
    """

    size: float
    n_each: int
    low: int
    high: int


@dataclass(frozen=True, slots=True, eq=False)
class QuantitySpread:
    """How much like shots differ in one quantity, and what that means at the bench.

    Attributes
    ----------
    column : str
        What was measured.
    alike : LikeShots
        The repeats.
    mean : float
        Of the shots used. [unit of the quantity]
    low, high : float
        χ² interval of the standard deviation; missing without repeats or differences.
        [unit of the quantity]
    variation : float
        SD over mean; missing where zero is a convention, or with too few repeats. [1]
    variation_limits : Interval
        Its interval. [1]
    limit_few : float
        What two like shots differ by at most 19 times in 20, the SD being known from so
        few repeats only; missing with too few. [unit of the quantity]
    within : float
        Share of shots that land within the miss forgiven, were their mean on target. [1]
    within_limits : Interval
        The same at the ends of the SD's interval. [1]
    forgiven : float
        Miss that the recipe or window forgives; missing where there is none.
        [unit of the quantity]
    instrument : InstrumentShare or None
        What its instrument causes.
    sessions : SessionSpread or None
        From session to session; None where fewer than 3 repeat a setting.
    differences : tuple of Difference
        What two settings can be seen to differ by.
    needed : tuple of ShotsNeeded
        Shots for differences worth knowing of.
    dropped : tuple of Dropped
        Shots that have the quantity and cannot be compared in it, with reasons.
    """

    column: str
    alike: LikeShots
    mean: float
    low: float
    high: float
    variation: float
    variation_limits: Interval
    limit_few: float
    within: float
    within_limits: Interval
    forgiven: float
    instrument: InstrumentShare | None
    sessions: SessionSpread | None
    differences: tuple[Difference, ...] = ()
    needed: tuple[ShotsNeeded, ...] = ()
    dropped: tuple[Dropped, ...] = ()

    @property
    def firm(self) -> bool:
        """Whether there are repeats enough for more than an interval."""
        return self.alike.enough

    @property
    def sd(self) -> float:
        """Standard deviation of like shots, in the unit of the quantity."""
        return self.alike.sd

    @property
    def limit(self) -> float:
        """Repeatability limit: 2.8 × SD; missing with too few repeats."""
        return LIMIT_FACTOR * self.sd if self.firm else math.nan

    @property
    def limit_interval(self) -> Interval:
        """The limit at the ends of the SD's interval."""
        if not self.firm:
            return Interval(math.nan, math.nan)
        return Interval(LIMIT_FACTOR * self.low, LIMIT_FACTOR * self.high)

    @property
    def instrument_good_enough(self) -> bool | None:
        """Whether the instrument's share is below a quarter; None where that is open."""
        if self.instrument is None or not self.firm:
            return None
        return is_good_enough(self.instrument.low, self.instrument.high)


def quantity_spread(comparable: ComparableSet, column: str, *, bench: Bench) -> QuantitySpread:
    """Return how steady one measured quantity is.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder; the column is among theirs.
    column : str
        What was measured.
    bench : Bench
        Whose instruments, recipe and scales count.

    Returns
    -------
    QuantitySpread

    Notes
    -----
    Of times, only those counted from the start that most were are compared.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_s": [30.0, 31, 32, 33, 34, 35, 32, 33, 31, 34]})
    >>> found = quantity_spread(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> round(found.sd, 2), round(found.low / found.sd, 2), round(found.high / found.sd, 2)
    (1.58, 0.69, 1.83)
    """
    timed, dropped = of_one_start(comparable, column)
    alike = like_shots(timed.shots, column, bench=bench)
    told = alike.df > 0 and alike.sd > 0
    low, high = sd_interval(alike.sd, alike.df) if told else (math.nan, math.nan)
    mean = float(alike.rows[column].mean()) if len(alike.rows) else math.nan
    variation, variation_limits = _variation(alike, mean)
    forgiven = miss_forgiven(column, bench)
    firm = alike.enough
    return QuantitySpread(
        column=column,
        alike=alike,
        mean=mean,
        low=low,
        high=high,
        variation=variation,
        variation_limits=variation_limits,
        limit_few=t_quantile(alike.df) * math.sqrt(2) * alike.sd if firm else math.nan,
        within=_within(forgiven, alike.sd) if firm else math.nan,
        within_limits=Interval(_within(forgiven, high), _within(forgiven, low))
        if firm
        else Interval(math.nan, math.nan),
        forgiven=forgiven,
        instrument=instrument_share(alike, bench=bench, tastings=comparable.tastings),
        sessions=session_spread(timed.shots, column, bench=bench),
        differences=tuple(_differences(alike.sd, low, high)) if firm else (),
        needed=tuple(_needed(column, alike.sd, low, high)) if firm else (),
        dropped=dropped,
    )


def _variation(alike: LikeShots, mean: float) -> tuple[float, Interval]:
    nothing = math.nan, Interval(math.nan, math.nan)
    if not (alike.enough and has_true_zero(alike.column) and mean > 0):
        return nothing
    variation = alike.sd / mean
    if variation > LARGEST_VARIATION:
        return nothing
    return variation, variation_interval(variation, alike.df)


def _within(forgiven: float, sd: float) -> float:
    """Return the share of a normal law that lies within a miss of its middle."""
    return float(special.erf(forgiven / sd / math.sqrt(2)))


def _differences(sd: float, low: float, high: float) -> list[Difference]:
    found = []
    for n_each in SHOTS_EACH:
        factor = detectable_effect(math.sqrt(2 / n_each), 2 * n_each - 2)
        found.append(Difference(n_each, factor * sd, factor * low, factor * high))
    return found


def _needed(column: str, sd: float, low: float, high: float) -> list[ShotsNeeded]:
    found = []
    for size in sizes_that_matter(column):
        try:
            shots = [shots_per_setting(size, each) for each in (sd, low, high)]
        except OutOfRangeError:
            continue
        found.append(ShotsNeeded(size, *shots))
    return found
