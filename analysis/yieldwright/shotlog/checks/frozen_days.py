"""Days each row's coffee was frozen: what the row says, and all else known of its bag."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.formatting import count

if TYPE_CHECKING:
    from yieldwright.shotlog.checks.stays import Stays

__all__ = ["FrozenDays", "frozen_words"]

#: Typed days frozen may count the day in or the day out, or both.
_LEEWAY_D = 1.0

#: Before all roasts. [d]
_LONG_AGO = -1e6


@dataclass(frozen=True, eq=False)
class FrozenDays:
    """When the coffee of each row was frozen, as numbers of days; missing where not known.

    A row takes off every stay its bag is known for. Where it states one of its own that
    shares days with some of them, its own is taken in their place.

    Attributes
    ----------
    pulled, roasted : ndarray of float
        Days of the pull and the roast. [d]
    frozen_on, thawed_on : ndarray of float
        Days into and out of the freezer, as the row says. [d]
    typed_d : ndarray of float
        Days frozen, as the row says. [d]
    coffee : ndarray of int
        Which roast of which bag each row is of.
    stays : Stays
        What is known of the freezer for each coffee.
    """

    pulled: np.ndarray
    roasted: np.ndarray
    frozen_on: np.ndarray
    thawed_on: np.ndarray
    typed_d: np.ndarray
    coffee: np.ndarray
    stays: Stays

    def since(self, day: np.ndarray) -> np.ndarray:
        """Return the days frozen from a day to the pull; missing where no dates tell [d].

        Parameters
        ----------
        day : ndarray of float
            One per row. [d]

        Returns
        -------
        ndarray of float
        """
        own = np.maximum(
            np.minimum(self._own_end, self.pulled) - np.maximum(self.frozen_on, day), 0.0
        )
        own = np.where(self.is_thawed_first, np.nan, own)
        known = self._by_bag(day)
        beside = np.where(np.isnan(known), 0.0, known - self._spent_in(*self._met, day))
        frozen: np.ndarray = np.where(self.is_by_bag, known, own + beside)
        return frozen

    @cached_property
    def by_dates_d(self) -> np.ndarray:
        """Days frozen by the pull, as dates of any row of the bag or the bench tell."""
        return self.since(self._roast_or_ever)

    @cached_property
    def bag_d(self) -> np.ndarray:
        """Days frozen by the pull as all that is known of the bag tells; else missing."""
        return self._by_bag(self._roast_or_ever)

    @cached_property
    def is_dated(self) -> np.ndarray:
        """Which rows give a day into or out of the freezer."""
        dated: np.ndarray = ~(np.isnan(self.frozen_on) & np.isnan(self.thawed_on))
        return dated

    @cached_property
    def is_by_bag(self) -> np.ndarray:
        """Which rows take their days from what is known of the bag: it holds all they say."""
        named = self.stays.named_by(self.coffee, self.frozen_on, self.thawed_on)
        fits = np.isnan(self.typed_d) | (np.abs(self.typed_d - self.bag_d) <= _LEEWAY_D)
        by_bag: np.ndarray = self._is_known & (named | (fits & ~self.is_dated))
        return by_bag

    @cached_property
    def is_still_frozen(self) -> np.ndarray:
        """Which rows give a day into the freezer before the pull, and none out of it by then."""
        open_end = np.isnan(self.thawed_on) | (self.thawed_on > self.pulled)
        own = (self.frozen_on < self.pulled) & open_end & ~self.is_by_bag
        still: np.ndarray = own | self._is_inside_a_stay
        return still

    @cached_property
    def is_otherwise_by_bench(self) -> np.ndarray:
        """Which rows have their bag in the freezer on other days than the bench has it."""
        benched = np.isin(self.coffee, self.stays.coffee[self.stays.is_by_bench])
        begin, end = self._met
        met = end - begin - self.stays.of_rows(begin, end) > 0
        says = self.is_dated | ~np.isnan(self.typed_d)
        apart = says & ~self.is_by_bag & (met | np.isnan(self.frozen_on))
        differs: np.ndarray = benched & apart & np.isfinite(self.bag_d)
        return differs

    @cached_property
    def is_otherwise_by_rows(self) -> np.ndarray:
        """Which rows have it in there on other days than most rows that state that stay.

        Portions that leave the freezer one after another are no contradiction: rows of one
        are not pulled once the next is out.
        """
        begin, end = self._met
        last, last_pull = self.stays.last_of(begin)
        out = self._own_end
        later = np.where(out <= last, self.pulled > last, last_pull > out)
        apart = (end > begin) & later & ~self.is_thawed_first
        typed = ~np.isnan(self.typed_d)
        elsewhere = np.isfinite(self.bag_d) & ~self.is_by_bag & ~self.is_otherwise_by_bench
        differs: np.ndarray = elsewhere & np.where(self.is_dated, apart, typed)
        return differs

    @cached_property
    def n_stays(self) -> np.ndarray:
        """How many stays in the freezer began before each pull, adjoining ones as one."""
        begun = (self.frozen_on < self.pulled) & ~self.is_thawed_first
        beside = self.stays.count(*self._taken) - self.stays.count(*self._met) + begun
        whole = self.stays.count(*self._taken)
        number: np.ndarray = np.where(self.is_by_bag, whole, np.where(self.is_dated, beside, 0))
        return number

    @cached_property
    def n_borrowed(self) -> np.ndarray:
        """How many of them neither the row nor the bench states."""
        named = np.where(
            np.isnan(self.frozen_on) & self.is_dated, 1, self.stays.of_rows(*self._met)
        )
        beside = np.maximum(self.stays.of_rows(*self._taken) - named, 0)
        takes = (self.is_by_bag | self.is_dated) & ~self.is_contrary
        number: np.ndarray = np.where(takes, beside, 0)
        return number

    @cached_property
    def is_thawed_first(self) -> np.ndarray:
        """Which rows have their coffee out of the freezer before it went in."""
        thawed_first: np.ndarray = self.thawed_on < self.frozen_on
        return thawed_first

    @cached_property
    def is_unroasted(self) -> np.ndarray:
        """Which rows have their coffee in the freezer before the roast."""
        unroasted: np.ndarray = self.frozen_on < self.roasted
        return unroasted

    @cached_property
    def lacks_start(self) -> np.ndarray:
        """Which rows have a day out of the freezer and nothing that says for how long."""
        alone: np.ndarray = np.isnan(self.frozen_on) & ~np.isnan(self.thawed_on)
        lacking: np.ndarray = alone & np.isnan(self.typed_d) & ~self.is_by_bag
        return lacking

    @cached_property
    def is_contrary(self) -> np.ndarray:
        """Which rows have days in the freezer from which no age follows."""
        contrary: np.ndarray = self.is_thawed_first | self.is_unroasted | self.lacks_start
        return contrary

    @cached_property
    def _is_known(self) -> np.ndarray:
        return self.stays.known(self.coffee)

    @cached_property
    def _roast_or_ever(self) -> np.ndarray:
        since: np.ndarray = np.where(np.isnan(self.roasted), _LONG_AGO, self.roasted)
        return since

    @cached_property
    def _own_end(self) -> np.ndarray:
        ends: np.ndarray = np.where(np.isnan(self.thawed_on), self.pulled, self.thawed_on)
        return ends

    @cached_property
    def _met(self) -> tuple[np.ndarray, np.ndarray]:
        """Places of the known stays that share days with the one the row states."""
        return self._between(self.frozen_on, self._own_end)

    @cached_property
    def _taken(self) -> tuple[np.ndarray, np.ndarray]:
        """Places of the known stays between the roast and the pull."""
        return self._between(self._roast_or_ever, self.pulled)

    @cached_property
    def _is_inside_a_stay(self) -> np.ndarray:
        """Which rows were pulled while the bag was in the freezer, as rows tell."""
        stays = self.stays.of_rows(*self._between(self.pulled, self.pulled))
        inside: np.ndarray = (stays > 0) & self.is_by_bag
        return inside

    def _between(self, first: np.ndarray, last: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        begin, end = self.stays.meeting(self.coffee, np.nan_to_num(first), np.nan_to_num(last))
        return begin, np.where(self._is_known & ~np.isnan(first + last), end, begin)

    def _spent_in(self, begin: np.ndarray, end: np.ndarray, since: np.ndarray) -> np.ndarray:
        """Return the days of the known stays between two places, from a day to the pull."""
        first = np.maximum(self.stays.first_of(begin), since)
        last = np.minimum(self.stays.last_of(end - 1)[0], self.pulled)
        spent: np.ndarray = np.where(end > begin, self.stays.days(self.coffee, first, last), 0.0)
        return spent

    def _by_bag(self, since: np.ndarray) -> np.ndarray:
        spent = self.stays.days(self.coffee, since, self.pulled)
        by_bag: np.ndarray = np.where(self._is_known, spent, np.nan)
        return by_bag


def frozen_words(n_stays: int, days: float) -> str:
    """Return how often a bag was frozen and for how long, to follow "it was".

    Parameters
    ----------
    n_stays : int
        Stays in the freezer; 0 where only a number of days is known. [count]
    days : float
        Days of all of them. [d]

    Returns
    -------
    str

    Examples
    --------
    >>> frozen_words(1, 12.0), frozen_words(2, 21.0), frozen_words(3, 30.0)
    ('frozen for 12 days', 'frozen twice, 21 days in all', 'frozen 3 times, 30 days in all')
    """
    told = f"{days:g} {'day' if days == 1 else 'days'}"
    if n_stays <= 1:
        return f"frozen for {told}"
    often = "twice" if n_stays == 2 else count(int(n_stays), "time")
    return f"frozen {often}, {told} in all"
