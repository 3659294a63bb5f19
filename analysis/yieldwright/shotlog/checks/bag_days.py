"""The days of a bag at each pull: roasted, opened, frozen, and how old its coffee was."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.shotlog.checks.frozen_days import FrozenDays
from yieldwright.shotlog.checks.gathered_stays import stays_of
from yieldwright.shotlog.checks.stays import NO_COFFEE

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from yieldwright.bench import BagFacts, Bench

__all__ = ["BagDays", "bag_facts"]

_NO_FACTS = -1


@dataclass(frozen=True)
class BagDays:
    """The days of each row's bag, as numbers of days; missing where they are not known.

    Attributes
    ----------
    pulled, roasted, opened : ndarray of float
        Days of the pull, the roast and the opening; the last two from the bench where
        the row does not say. [d]
    freezer : FrozenDays
        When the coffee was frozen, as the row, others of its bag and the bench say.
    facts : ndarray of int
        Which of `bags` the bench knows the row's coffee as; -1 where it does not, and
        where the pull came before the roast it knows.
    bags : tuple of BagFacts
        Those of the bench.
    """

    pulled: np.ndarray
    roasted: np.ndarray
    opened: np.ndarray
    freezer: FrozenDays
    facts: np.ndarray
    bags: tuple[BagFacts, ...]

    @classmethod
    def of(cls, frame: pd.DataFrame, bench: Bench, pulled: pd.Series | None) -> BagDays:
        """Return the days of the bags in a table.

        Parameters
        ----------
        frame : DataFrame
            One row per data row.
        bench : Bench
            What it says of bags stands in where a row says nothing.
        pulled : Series or None
            Day of each pull, where known.

        Returns
        -------
        BagDays

        Examples
        --------
        >>> from yieldwright.bench import Bench
        >>> days = pd.to_datetime(pd.Series(["2026-03-01", "2026-03-31"]))
        >>> frame = pd.DataFrame({"roasted_on": days[:1].repeat(2).to_numpy()})
        >>> BagDays.of(frame, Bench(), days).roast_age_d.tolist()
        [0.0, 30.0]
        """
        day = np.full(len(frame), np.nan) if pulled is None else _numbers(pulled)
        named = bag_facts(frame, bench.bags)
        is_earlier = day < _taken(named, [bag.roasted_on for bag in bench.bags])
        facts = np.where(is_earlier, _NO_FACTS, named)
        own = {name: _column(frame, name) for name in ("roasted_on", "opened_on")}
        known = {name: _taken(facts, [getattr(bag, name) for bag in bench.bags]) for name in own}
        filled = {name: np.where(np.isnan(days), known[name], days) for name, days in own.items()}
        frozen_on, thawed_on = _column(frame, "frozen_on"), _column(frame, "thawed_on")
        is_frozen = any(bag.frozen for bag in bench.bags)
        if is_frozen or not np.isnan(np.fmax(frozen_on, thawed_on)).all():
            coffee = _coffees(frame, facts, filled["roasted_on"])
        else:
            coffee = np.full(len(frame), NO_COFFEE)
        in_order = ~(frozen_on < filled["roasted_on"])
        stays = stays_of(
            coffee,
            np.where(in_order, frozen_on, np.nan),
            np.where(in_order, thawed_on, np.nan),
            day,
            _listed(coffee, facts, bench.bags),
        )
        return cls(
            pulled=day,
            roasted=filled["roasted_on"],
            opened=filled["opened_on"],
            freezer=FrozenDays(
                pulled=day,
                roasted=filled["roasted_on"],
                frozen_on=frozen_on,
                thawed_on=thawed_on,
                typed_d=_column(frame, "typed_frozen_d"),
                coffee=coffee,
                stays=stays,
            ),
            facts=facts,
            bags=bench.bags,
        )

    @cached_property
    def roast_age_d(self) -> np.ndarray:
        """Days from the roast to the pull, frozen ones left out."""
        dated = self.freezer.by_dates_d
        frozen = np.where(np.isnan(dated), self.freezer.typed_d, dated)
        age = self.pulled - self.roasted - np.nan_to_num(frozen)
        return np.where(self._is_contrary, np.nan, age)

    @cached_property
    def open_d(self) -> np.ndarray:
        """Days from the opening to the pull, days frozen meanwhile left out."""
        since = self.pulled - self.opened
        frozen = self.freezer.since(self.opened)
        typed = np.where(self.is_unplaced, np.nan, 0.0)
        open_d = since - np.where(np.isnan(frozen), typed, frozen)
        return np.where(self._is_contrary | (since < 0), np.nan, open_d)

    @cached_property
    def is_unplaced(self) -> np.ndarray:
        """Which rows say for how long the coffee was frozen after all, but not when."""
        unplaced: np.ndarray = np.isnan(self.freezer.by_dates_d) & (self.freezer.typed_d > 0)
        return unplaced & (self.pulled > self.opened)

    @cached_property
    def is_opened_first(self) -> np.ndarray:
        """Which rows have their bag opened before the roast."""
        opened_first: np.ndarray = self.opened < self.roasted
        return opened_first

    def missing_reasons(self) -> dict[str, np.ndarray]:
        """Return why a roast age is not known, and of which rows, the first reason first.

        Returns
        -------
        dict of str to ndarray of bool
            The reasons follow a count of shots: "without a roast date".
        """
        return {
            "without a roast date": np.isnan(self.roasted),
            "without a day of the pull": np.isnan(self.pulled),
            "of a bag opened before its roast": self.is_opened_first,
            "of coffee frozen before its roast": self.freezer.is_unroasted,
            "of coffee thawed before it was frozen": self.freezer.is_thawed_first,
            "without the day the coffee was frozen": self.freezer.lacks_start,
            "pulled before the roast": self.pulled < self.roasted,
        }

    @cached_property
    def _is_contrary(self) -> np.ndarray:
        """Which rows have days in an order no bag can have, so that one of them is wrong."""
        contrary_or_unsaid: np.ndarray = self.is_opened_first | self.freezer.is_contrary
        return contrary_or_unsaid


def _listed(
    coffee: np.ndarray, facts: np.ndarray, bags: Sequence[BagFacts]
) -> Iterator[tuple[int, float, float]]:
    """Yield each stay in the freezer the bench lists, with the coffee it is of."""
    for at, bag in enumerate(bags):
        for place in np.unique(coffee[facts == at]).tolist() if bag.frozen else ():
            for freeze in bag.frozen:
                yield place, _day(freeze.frozen_on), _day(freeze.thawed_on)


def _coffees(frame: pd.DataFrame, facts: np.ndarray, roasted: np.ndarray) -> np.ndarray:
    """Return which roast of which bag each row is of, `NO_COFFEE` where it names no bag."""
    bags = np.zeros(len(frame), dtype=int)
    if "bag" in frame:
        codes, names = pd.factorize(frame["bag"])
        alike = pd.factorize(np.array([*map(_spelt, names.tolist()), ""], dtype=object))[0]
        bags = np.where(codes < 0, NO_COFFEE, alike[codes])
    known = pd.DataFrame({"bag": bags, "roasted": roasted, "by_bench": facts >= 0})
    roasts = known.groupby("bag")["roasted"].transform("nunique")
    # a row without a roast date is of the only roast, where its bag has one
    known["roasted"] = known["roasted"].fillna(-np.inf).where(roasts > 1, 0.0)
    coffee = known.groupby(["bag", "roasted", "by_bench"], sort=False).ngroup().to_numpy()
    kept: np.ndarray = np.where(bags == NO_COFFEE, NO_COFFEE, coffee)
    return kept


def _spelt(name: object) -> str:
    return str(name).strip().casefold()


def bag_facts(frame: pd.DataFrame, bags: Sequence[BagFacts]) -> np.ndarray:
    """Return which bag of the bench each row names.

    Parameters
    ----------
    frame : DataFrame
        One row per data row; without a column `bag` all rows are one bag.
    bags : sequence of BagFacts
        Those of the bench.

    Returns
    -------
    ndarray of int
        Places in `bags`; -1 where the bench does not know the bag.

    Examples
    --------
    >>> from yieldwright.bench import BagFacts
    >>> bag_facts(pd.DataFrame({"bag": ["bag-7", "bag-8"]}), [BagFacts("bag-8")]).tolist()
    [-1, 0]
    """
    place = {bag.name.casefold(): at for at, bag in enumerate(bags)}
    if "bag" not in frame:
        return np.full(len(frame), 0 if len(place) == 1 else _NO_FACTS)
    codes, names = pd.factorize(frame["bag"])
    known = [place.get(_spelt(name), _NO_FACTS) for name in names.tolist()]
    facts: np.ndarray = np.array([*known, _NO_FACTS], dtype=int)[codes]
    return facts


def _taken(facts: np.ndarray, days: list[date | None]) -> np.ndarray:
    """Return the day of each row's bag."""
    known: np.ndarray = np.array([*map(_day, days), np.nan])[facts]
    return known


def _day(day: date | None) -> float:
    return float("nan") if day is None else float(np.datetime64(day, "D").astype(int))


def _numbers(days: pd.Series[pd.Timestamp]) -> np.ndarray:
    # in seconds, since nanoseconds end in 2262 and a slip in the year reaches further
    moments = days.to_numpy(dtype="datetime64[s]")
    numbers: np.ndarray = np.where(np.isnat(moments), np.nan, moments.astype(np.int64) / 86_400)
    return numbers


def _column(frame: pd.DataFrame, name: str) -> np.ndarray:
    if name not in frame:
        return np.full(len(frame), np.nan)
    column = frame[name]
    return column.to_numpy(dtype=float) if column.dtype.kind == "f" else _numbers(column)
