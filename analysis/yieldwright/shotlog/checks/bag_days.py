"""The days of a bag at each pull: roasted, opened, frozen, and how old its coffee was."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from yieldwright.bench import BagFacts, Bench, Freeze

__all__ = ["BagDays", "bag_facts"]

_NO_FACTS = -1
#: Typed days frozen may count the day in or the day out, or both.
_LEEWAY_D = 1.0


@dataclass(frozen=True)
class BagDays:
    """The days of each row's bag, as numbers of days; missing where they are not known.

    Attributes
    ----------
    pulled, roasted, opened : ndarray of float
        Days of the pull, the roast and the opening; the last two from the bench where
        the row does not say. [d]
    frozen_on, thawed_on : ndarray of float
        Days into and out of the freezer, as the row says. [d]
    typed_frozen_d : ndarray of float
        Days frozen, as the row says. [d]
    facts : ndarray of int
        Which of `bags` the bench knows the row's coffee as; -1 where it does not, and
        where the pull came before the roast it knows.
    bags : tuple of BagFacts
        Those of the bench.
    """

    pulled: np.ndarray
    roasted: np.ndarray
    opened: np.ndarray
    frozen_on: np.ndarray
    thawed_on: np.ndarray
    typed_frozen_d: np.ndarray
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
        return cls(
            pulled=day,
            roasted=filled["roasted_on"],
            opened=filled["opened_on"],
            frozen_on=_column(frame, "frozen_on"),
            thawed_on=_column(frame, "thawed_on"),
            typed_frozen_d=_column(frame, "typed_frozen_d"),
            facts=facts,
            bags=bench.bags,
        )

    @cached_property
    def roast_age_d(self) -> np.ndarray:
        """Days from the roast to the pull, frozen ones left out."""
        frozen = np.where(np.isnan(self.by_dates_d), self.typed_frozen_d, self.by_dates_d)
        age = self.pulled - self.roasted - np.nan_to_num(frozen)
        return np.where(self._is_contrary, np.nan, age)

    @cached_property
    def by_dates_d(self) -> np.ndarray:
        """Days frozen by the pull, as dates of the row or of the bench tell; else missing."""
        return self._frozen_since(np.where(np.isnan(self.roasted), -np.inf, self.roasted))

    @cached_property
    def open_d(self) -> np.ndarray:
        """Days from the opening to the pull, days frozen meanwhile left out."""
        since = self.pulled - self.opened
        frozen = self._frozen_since(self.opened)
        typed = np.where(self.is_unplaced, np.nan, 0.0)
        open_d = since - np.where(np.isnan(frozen), typed, frozen)
        return np.where(self._is_contrary | (since < 0), np.nan, open_d)

    @cached_property
    def is_unplaced(self) -> np.ndarray:
        """Which rows say for how long the coffee was frozen after all, but not when."""
        unplaced: np.ndarray = np.isnan(self.by_dates_d) & (self.typed_frozen_d > 0)
        return unplaced & (self.pulled > self.opened)

    @cached_property
    def is_still_frozen(self) -> np.ndarray:
        """Which rows give a day into the freezer before the pull, and none out of it by then."""
        open_end = np.isnan(self.thawed_on) | (self.thawed_on > self.pulled)
        still: np.ndarray = (self.frozen_on < self.pulled) & open_end & ~self.is_by_bench
        return still

    @cached_property
    def says_frozen(self) -> np.ndarray:
        """Which rows say themselves when or for how long the coffee was frozen."""
        dated = ~np.isnan(self.frozen_on) | ~np.isnan(self.thawed_on)
        says: np.ndarray = dated | ~np.isnan(self.typed_frozen_d)
        return says

    @cached_property
    def is_by_bench(self) -> np.ndarray:
        """Which rows take their days frozen from the bench, whose list holds all they say."""
        agrees = np.zeros(len(self.pulled), dtype=bool)
        unsaid = np.isnan(self.frozen_on) & np.isnan(self.thawed_on)
        for rows, freeze in self._freezes():
            first, last = _day(freeze.frozen_on), _day(freeze.thawed_on)
            frozen, thawed = self.frozen_on[rows], self.thawed_on[rows]
            same = np.isnan(frozen) | (frozen == first)
            agrees[rows] |= same & (np.isnan(thawed) | (thawed == last))
        typed = self.typed_frozen_d
        fits = np.isnan(typed) | (np.abs(typed - self.bench_frozen_d) <= _LEEWAY_D)
        by_bench: np.ndarray = agrees & (fits | ~unsaid)
        return by_bench

    @cached_property
    def bench_frozen_d(self) -> np.ndarray:
        """Days frozen by the pull as the bench alone tells; missing where it does not."""
        return self._by_bench(np.where(np.isnan(self.roasted), -np.inf, self.roasted))

    @cached_property
    def is_thawed_first(self) -> np.ndarray:
        """Which rows have their coffee out of the freezer before it went in."""
        thawed_first: np.ndarray = self.thawed_on < self.frozen_on
        return thawed_first

    @cached_property
    def is_frozen_unroasted(self) -> np.ndarray:
        """Which rows have their coffee in the freezer before the roast."""
        unroasted: np.ndarray = self.frozen_on < self.roasted
        return unroasted

    @cached_property
    def is_opened_first(self) -> np.ndarray:
        """Which rows have their bag opened before the roast."""
        opened_first: np.ndarray = self.opened < self.roasted
        return opened_first

    @cached_property
    def lacks_start(self) -> np.ndarray:
        """Which rows have a day out of the freezer and nothing that says for how long."""
        alone: np.ndarray = np.isnan(self.frozen_on) & ~np.isnan(self.thawed_on)
        lacking: np.ndarray = alone & np.isnan(self.typed_frozen_d) & ~self.is_by_bench
        return lacking

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
            "of coffee frozen before its roast": self.is_frozen_unroasted,
            "of coffee thawed before it was frozen": self.is_thawed_first,
            "without the day the coffee was frozen": self.lacks_start,
            "pulled before the roast": self.pulled < self.roasted,
        }

    @cached_property
    def _is_contrary(self) -> np.ndarray:
        """Which rows have days in an order no bag can have, so that one of them is wrong."""
        contrary = self.is_thawed_first | self.is_opened_first
        contrary_or_unsaid: np.ndarray = contrary | self.is_frozen_unroasted | self.lacks_start
        return contrary_or_unsaid

    def _frozen_since(self, since: np.ndarray) -> np.ndarray:
        """Return the days frozen from a day to the pull; missing where no dates tell."""
        ends = np.where(np.isnan(self.thawed_on), self.pulled, self.thawed_on)
        own = _overlap(self.frozen_on, ends, since, self.pulled)
        own = np.where(self.is_thawed_first, np.nan, own)
        return np.where(self.is_by_bench, self._by_bench(since), own)

    def _by_bench(self, since: np.ndarray) -> np.ndarray:
        total = np.full(len(self.pulled), np.nan)
        for rows, freeze in self._freezes():
            first, last = _day(freeze.frozen_on), _day(freeze.thawed_on)
            until = self.pulled[rows]
            ends = until if np.isnan(last) else np.full(len(rows), last)
            days = _overlap(np.full(len(rows), first), ends, since[rows], until)
            total[rows] = np.nan_to_num(total[rows]) + days
        return total

    def _freezes(self) -> Iterator[tuple[np.ndarray, Freeze]]:
        """Yield each stay in the freezer the bench knows of, with the rows of its bag."""
        for at, bag in enumerate(self.bags):
            rows = np.flatnonzero(self.facts == at)
            for freeze in bag.frozen if len(rows) else ():
                yield rows, freeze


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
    known = [place.get(str(name).strip().casefold(), _NO_FACTS) for name in names.tolist()]
    facts: np.ndarray = np.array([*known, _NO_FACTS], dtype=int)[codes]
    return facts


def _overlap(
    first: np.ndarray, last: np.ndarray, since: np.ndarray, until: np.ndarray
) -> np.ndarray:
    """Return the days that two stretches share, missing where an end is."""
    shared: np.ndarray = np.maximum(np.minimum(last, until) - np.maximum(first, since), 0.0)
    return shared


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
