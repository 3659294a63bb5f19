"""Stays in the freezer that a bag is known for, whoever states them: the bench or any row."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

__all__ = ["ENDLESS_D", "LINE_D", "NO_COFFEE", "Stays", "on_line"]

#: Coffee of rows that name no bag, where others do.
NO_COFFEE = -1

#: Each coffee has a line of days of its own, so that all are searched at once. [d]
LINE_D = 1e7

#: Stands for a day that no thaw ended, and for one before all roasts. [d]
ENDLESS_D = 4e6


@dataclass(frozen=True, eq=False)
class Stays:
    """Stays in the freezer of each coffee, none of which overlap.

    Attributes
    ----------
    coffee : ndarray of int
        Which coffee each stay belongs to; sorted, and by day within it.
    first, last : ndarray of float
        Days in and out; the last one far off where no thaw is stated. [d]
    is_by_bench : ndarray of bool
        Which of them the bench lists.
    last_pull : ndarray of float
        Last day on which a row pulled that states the stay. [d]
    """

    coffee: np.ndarray
    first: np.ndarray
    last: np.ndarray
    is_by_bench: np.ndarray
    last_pull: np.ndarray

    def known(self, coffee: np.ndarray) -> np.ndarray:
        """Return which rows are of coffee that has stays at all.

        Parameters
        ----------
        coffee : ndarray of int
            Which coffee each row is of.

        Returns
        -------
        ndarray of bool
        """
        of_coffee: np.ndarray = np.isin(coffee, self.coffee) & (coffee != NO_COFFEE)
        return of_coffee

    def days(self, coffee: np.ndarray, since: np.ndarray, until: np.ndarray) -> np.ndarray:
        """Return the days frozen between two days [d].

        Parameters
        ----------
        coffee : ndarray of int
            Which coffee each row is of.
        since, until : ndarray of float
            Between which days. [d]

        Returns
        -------
        ndarray of float
        """
        spent: np.ndarray = self._by(coffee, until) - self._by(coffee, np.minimum(since, until))
        return spent

    def meeting(
        self, coffee: np.ndarray, first: np.ndarray, last: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return the places of the stays that share days with a stretch, from and up to.

        Parameters
        ----------
        coffee : ndarray of int
            Which coffee each row is of.
        first, last : ndarray of float
            Its ends. [d]

        Returns
        -------
        begin, end : ndarray of int
        """
        begin = np.searchsorted(self._lasts, on_line(coffee, first), side="right")
        end = np.searchsorted(self._firsts, on_line(coffee, last), side="left")
        return begin, np.maximum(begin, end)

    def first_of(self, place: np.ndarray) -> np.ndarray:
        """Return the first day of the stay at each place [d].

        Parameters
        ----------
        place : ndarray of int
            Places, taken to the nearest there is.

        Returns
        -------
        ndarray of float
        """
        day: np.ndarray = self.first[self._at(place)]
        return day

    def last_of(self, place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the last day of the stay at each place, and the last pull of its rows [d].

        Parameters
        ----------
        place : ndarray of int
            Places, taken to the nearest there is.

        Returns
        -------
        last, last_pull : ndarray of float
        """
        at = self._at(place)
        return self.last[at], self.last_pull[at]

    def count(self, begin: np.ndarray, end: np.ndarray) -> np.ndarray:
        """Return how many stays lie between two places; adjoining ones are one stay.

        Parameters
        ----------
        begin, end : ndarray of int
            Places as `meeting` gives them: from the first up to the second.

        Returns
        -------
        ndarray of int
        """
        counted = self._begun[end] - self._begun[begin]
        is_cut = (end > begin) & ~self._is_apart[self._at(begin)]
        number: np.ndarray = counted + is_cut
        return number

    def of_rows(self, begin: np.ndarray, end: np.ndarray) -> np.ndarray:
        """Return how many stays between two places rows alone state.

        Parameters
        ----------
        begin, end : ndarray of int
            Places as `meeting` gives them: from the first up to the second.

        Returns
        -------
        ndarray of int
        """
        own: np.ndarray = np.concatenate([[0], np.cumsum(~self.is_by_bench)])
        number: np.ndarray = own[end] - own[begin]
        return number

    def named_by(self, coffee: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
        """Return which rows name a stay: by its first day, its last, or both.

        Parameters
        ----------
        coffee : ndarray of int
            Which coffee each row is of.
        first, last : ndarray of float
            As the row says; missing where it does not. [d]

        Returns
        -------
        ndarray of bool
        """
        by_first = np.searchsorted(self._firsts, on_line(coffee, first))
        by_last = np.searchsorted(self._lasts, on_line(coffee, last))
        place = np.where(np.isnan(first), by_last, by_first)
        at = self._at(place)
        same_first = np.isnan(first) | (self.first[at] == first)
        same_last = np.isnan(last) | (self.last[at] == last)
        is_said = ~(np.isnan(first) & np.isnan(last))
        named: np.ndarray = is_said & same_first & same_last & (self.coffee[at] == coffee)
        return named

    def _at(self, place: np.ndarray) -> np.ndarray:
        at: np.ndarray = np.clip(place, 0, len(self.first) - 1)
        return at

    @cached_property
    def _firsts(self) -> np.ndarray:
        return on_line(self.coffee, self.first)

    @cached_property
    def _lasts(self) -> np.ndarray:
        return on_line(self.coffee, self.last)

    @cached_property
    def _is_apart(self) -> np.ndarray:
        return np.concatenate([[True], self._firsts[1:] > self._lasts[:-1]])

    @cached_property
    def _begun(self) -> np.ndarray:
        return np.concatenate([[0], np.cumsum(self._is_apart)])

    def _by(self, coffee: np.ndarray, day: np.ndarray) -> np.ndarray:
        """Return the days that stays of all lines up to a place took."""
        place = on_line(coffee, np.clip(day, -ENDLESS_D, ENDLESS_D))
        before = np.concatenate([[0.0], np.cumsum(self.last - self.first)])
        begun = np.searchsorted(self._firsts, place, side="right")
        at = np.maximum(begun - 1, 0)
        inside = np.minimum(place, self._lasts[at]) - self._firsts[at]
        spent: np.ndarray = np.where(begun > 0, before[at] + inside, 0.0)
        return np.where(np.isnan(place), np.nan, spent)


def on_line(coffee: np.ndarray, day: np.ndarray) -> np.ndarray:
    """Return the place of a day of a coffee among those of all coffees [d].

    Parameters
    ----------
    coffee : ndarray of int
        Which coffee.
    day : ndarray of float
        Which day of it. [d]

    Returns
    -------
    ndarray of float

    Examples
    --------
    >>> on_line(np.array([0, 2]), np.array([7.0, 7.0])).tolist()
    [7.0, 20000007.0]
    """
    place: np.ndarray = coffee * LINE_D + day
    return place
