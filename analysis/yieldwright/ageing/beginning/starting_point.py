"""Where to begin with the next bag: what earlier bags of its roast level needed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.ageing.beginning.bag_settings import GRIND, TIME, BagSetting, bag_setting
from yieldwright.ageing.beginning.earlier_bags import (
    bag_trend,
    bags_of_roast,
    youngest_shared_age,
)
from yieldwright.ageing.beginning.serviced_bags import ended_before_service, on_one_scale
from yieldwright.ageing.beginning.starting_words import (
    known_bags,
    starting_cautions,
    starting_sentences,
    why_not,
)
from yieldwright.ageing.compared.grinder_shots import shots_of_grinder, with_ages
from yieldwright.cautions import gravest_first
from yieldwright.errors import OutOfRangeError
from yieldwright.formatting import clip, interval, number, visible
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.pooling.pooled import Pooled, pool_estimates
from yieldwright.results import Result
from yieldwright.taste.columns.one_start import of_one_start

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog import ShotLog
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["StartingPoint", "next_bag", "next_bag_of"]

#: Columns of a table of what bags needed.
COLUMNS = (
    "bag", "n_shots", "n_sessions", "youngest_d", "oldest_d", "setting", "std_error", "ci_low",
    "ci_high", "shrunken", "shrunken_error", "coarser_per_day", "per_day_error", "why",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class StartingPoint(Result):
    """The grind setting to begin the next bag with, from what earlier bags needed.

    Attributes
    ----------
    roast_level : str
        Of the bags looked at; empty where all are.
    grinder : str
        Code of the grinder.
    time_s : float
        Time wanted. [s]
    time_stated : bool
        Whether the bench states it; else it is the median of the shots.
    age_d : float
        Roast age at which settings are told. [d]
    bags : tuple of BagSetting
        Every bag looked at, used or not.
    pooled : Pooled or None
        Settings of the bags used, brought together.
    per_day : Pooled or None
        Settings coarser each day that hold the time. [settings/d]
    step : float
        What one click adds to the number on the grinder.
    coarser_sign : int
        Plus one where larger numbers grind coarser, else minus one.
    rescaled : str
        Event from which on settings are on one scale; empty where all are.
    last_service : str
        The last service of the grinder that leaves its scale alone, in words; empty where
        there is none.
    ended_before : tuple of str
        Bags used that ended before it.
    missing : str
        Why there is no starting point, empty where there is one.
    """

    roast_level: str
    grinder: str
    time_s: float
    time_stated: bool
    age_d: float = math.nan
    bags: tuple[BagSetting, ...] = ()
    pooled: Pooled | None = None
    per_day: Pooled | None = None
    step: float = 1.0
    coarser_sign: int = 1
    rescaled: str = ""
    last_service: str = ""
    ended_before: tuple[str, ...] = ()
    missing: str = ""

    @property
    def title(self) -> str:
        """What is asked."""
        what = f"{visible(self.roast_level)} bag" if self.roast_level else "bag"
        return f"Where to begin with the next {what}"

    @property
    def used(self) -> tuple[BagSetting, ...]:
        """The bags that say where to begin."""
        return known_bags(self.bags)

    @property
    def start(self) -> float:
        """Setting to begin with, rounded to what the grinder can be set to."""
        if self.pooled is None:
            return math.nan
        return round(self.pooled.mean / self.step) * self.step

    def to_frame(self) -> pd.DataFrame:
        """Return what each bag needed, and the next one, at full precision.

        Returns
        -------
        DataFrame
            One row per bag, then one for the next: its setting, standard error and limits
            by itself, drawn to the mean, settings coarser a day, and why a bag is not used.
        """
        rows = [self._row(bag) for bag in self.bags]
        if self.pooled is not None:
            rows.append(self._next_row(self.pooled))
        return pd.DataFrame(rows, columns=list(COLUMNS))

    def display_frame(self) -> pd.DataFrame:
        """Return the same as text.

        Returns
        -------
        DataFrame
            One row per bag, then one for the next.
        """
        shown = []
        for row in self.to_frame().to_dict("records"):
            half = (row["ci_high"] - row["ci_low"]) / 2
            told = math.isfinite(row["setting"])
            limits = interval(row["ci_low"], row["ci_high"]) if told else "–"
            shown.append(
                {
                    "Bag": clip(visible(str(row["bag"])), 16),
                    "Setting": number(row["setting"], half) if told else "–",
                    "95 % limits": "not known" if limits == "anything" else limits,
                    "Drawn to mean": number(row["shrunken"], row["shrunken_error"]),
                    "Coarser/day": number(row["coarser_per_day"], 2 * row["per_day_error"]),
                    "Shots": str(row["n_shots"]),
                }
            )
        columns = ["Bag", "Setting", "95 % limits", "Drawn to mean", "Coarser/day", "Shots"]
        return pd.DataFrame(shown, columns=columns)

    def _row(self, bag: BagSetting) -> list[object]:
        start: list[object] = [bag.bag, bag.n_shots, bag.n_sessions, *bag.span_d]
        why = why_not(bag, coarser_sign=self.coarser_sign)
        if bag not in self.used or self.pooled is None or bag.setting is None:
            return [*start, *([math.nan] * 8), why]
        place = self.used.index(bag)
        held = math.nan if bag.per_day is None else bag.per_day.estimate
        return [
            *start,
            bag.setting.estimate,
            bag.setting_error,
            bag.setting.low,
            bag.setting.high,
            float(self.pooled.shrunken[place]),
            float(self.pooled.shrunken_errors[place]),
            held,
            bag.per_day_error,
            why,
        ]

    def _next_row(self, pooled: Pooled) -> list[object]:
        held, error = (
            (math.nan, math.nan)
            if self.per_day is None
            else (self.per_day.mean, self.per_day.std_error)
        )
        numbers = [pooled.mean, math.hypot(pooled.std_error, pooled.between_sd)]
        ends = [pooled.next_low, pooled.next_high, math.nan, math.nan]
        return ["next bag", self.n_shots, 0, math.nan, math.nan, *numbers, *ends, held, error, ""]


def next_bag(
    log: ShotLog,
    *,
    roast_level: str = "",
    grinder: str = "",
    age_d: float | None = None,
    bench: Bench,
) -> StartingPoint | None:
    r"""Return the grind setting to begin the next bag with, from earlier bags of its roast.

    Parameters
    ----------
    log : ShotLog
        A log that was read.
    roast_level : str
        Roast of the next bag; empty for that of the bag pulled last.
    grinder : str
        Its code; empty for that of the bag that ends last in the log.
    age_d : float, optional
        Roast age to begin at; by default the youngest that most bags were pulled at. [d]
    bench : Bench
        Whose recipe states the time, and whose grinder the step and direction.

    Returns
    -------
    StartingPoint or None
        None where the log names no bag, or has no times or no settings.

    Raises
    ------
    UnknownNameError
        If the log has no such grinder or roast level.
    OutOfRangeError
        If the age is not a number of days.
    TooFewShotsError
        If the log holds no shots.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     text = "shot,bag,time_s,grind_setting\n1,a,36,11\n2,a,35,11\n"
    ...     _ = path.write_text(text, encoding="utf-8")
    ...     log = read_log(path)
    >>> next_bag(log, bench=log.bench).missing
    'No earlier bag says where to begin'
    """
    comparable = shots_of_grinder(log, grinder=grinder)
    own = log.shots
    if "grinder" in own:
        own = own[own["grinder"].fillna("") == comparable.grinder]
    shots, rescaled = on_one_scale(comparable.shots, own)
    comparable = replace(comparable, shots=shots)
    found = next_bag_of(comparable, roast_level=roast_level, age_d=age_d, bench=bench, told_in=own)
    if found is None:
        return None
    service, before = ended_before_service(own, [bag.bag for bag in found.used])
    told = replace(found, rescaled=rescaled, last_service=service, ended_before=before)
    return replace(told, cautions=gravest_first(starting_cautions(told)))


def next_bag_of(
    comparable: ComparableSet,
    *,
    roast_level: str = "",
    age_d: float | None = None,
    bench: Bench,
    told_in: pd.DataFrame | None = None,
) -> StartingPoint | None:
    """Return the setting to begin the next bag with, from shots of one grinder.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    roast_level : str
        Roast of the next bag; empty for that of the bag pulled last.
    age_d : float, optional
        Roast age to begin at; by default the youngest that most bags were pulled at. [d]
    bench : Bench
        Whose recipe states the time, and whose grinder the step and direction.
    told_in : DataFrame or None
        One row per shot of the whole log, in which services are told in words. None for the
        day alone.

    Returns
    -------
    StartingPoint or None

    Raises
    ------
    UnknownNameError
        If there is no such roast level.
    OutOfRangeError
        If the age is not a number of days.

    Notes
    -----
    Each bag has its own trend in age and grind, and its setting is found backwards from
    that. Bags are pooled as units that differ, see `pool_estimates`: the interval of the
    next bag holds both how far bags differ and how well each is known.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> next_bag_of(ComparableSet("", "", pd.DataFrame({"shot": ["1"]})), bench=Bench()) is None
    True
    """
    if not {"bag", TIME, GRIND} <= set(comparable.shots) or not any(comparable.bags):
        return None
    if age_d is not None and not 0 <= age_d < math.inf:
        raise OutOfRangeError(f"age_d must be a number of days from 0 on, not {age_d:g}")
    level, chosen, others = bags_of_roast(comparable, roast_level)
    aged, dropped = with_ages(chosen, TIME, bench=bench)
    aged, timed = of_one_start(aged)
    target = bench.recipe.time_s
    time_s = float(aged.shots[TIME].median()) if target is None else float(target)
    models = [bag_trend(aged, code, bench=bench) for code in chosen.bags if code]
    age = youngest_shared_age(models) if age_d is None else float(age_d)
    bags = tuple(
        known
        if model is None
        else bag_setting(known, model, time_s=time_s, age_d=age, told_in=told_in)
        for known, model in models
    )
    grinder = bench.grinder(comparable.grinder)
    found = StartingPoint(
        roast_level=level,
        grinder=comparable.grinder,
        time_s=time_s,
        time_stated=target is not None,
        age_d=age,
        bags=bags,
        step=grinder.step,
        coarser_sign=grinder.coarser_sign,
        n_shots=sum(bag.n_shots for bag in known_bags(bags)),
        dropped=(*comparable.excluded, *others, *dropped, *timed),
    )
    return _told(found)


def _told(found: StartingPoint) -> StartingPoint:
    """Return a starting point with its bags pooled, its sentences and its cautions."""
    used = found.used
    if used:
        settings = [each.setting.estimate for each in used if each.setting is not None]
        held = [each.per_day.estimate for each in used if each.per_day is not None]
        found = replace(
            found,
            pooled=pool_estimates(settings, [each.setting_error for each in used], level=LEVEL),
            per_day=pool_estimates(held, [each.per_day_error for each in used], level=LEVEL),
        )
    else:
        found = replace(found, missing="No earlier bag says where to begin")
    return replace(
        found,
        sentences=tuple(filter(None, starting_sentences(found))),
        cautions=gravest_first(starting_cautions(found)),
    )
