"""How a column of numbers is written: the decimals of its cells, found once a text."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from yieldwright.shotlog.checks.keystrokes import decimals
from yieldwright.shotlog.formats.texts import TextColumn

__all__ = ["Written"]


@dataclass(frozen=True)
class Written:
    """A column of numbers by its different texts.

    Attributes
    ----------
    texts : sequence of str
        The texts.
    codes : ndarray of int
        For each row, where its text stands.

    Examples
    --------
    >>> written = Written.of(["18.1", "18", "", "17.9"])
    >>> written.usual, written.places[written.codes].tolist()
    (1, [1.0, 0.0, nan, 1.0])
    """

    texts: Sequence[str]
    codes: np.ndarray

    @classmethod
    def of(cls, texts: Sequence[str]) -> Written:
        """Return a column of texts as it is written.

        Parameters
        ----------
        texts : sequence of str
            As typed, one per row.

        Returns
        -------
        Written
        """
        column = texts if isinstance(texts, TextColumn) else TextColumn.of(texts)
        return cls(column.texts, column.codes)

    @cached_property
    def places(self) -> np.ndarray:
        """Decimals of each text, missing where it is no single plain number."""
        places = self.measured(decimals)
        return np.where(places < 0, np.nan, places)

    @cached_property
    def counts(self) -> np.ndarray:
        """How many rows hold each text."""
        counts: np.ndarray = np.bincount(self.codes, minlength=len(self.texts))
        return counts

    @cached_property
    def usual(self) -> int:
        """Most frequent number of decimals; of two as frequent the finer."""
        plain = np.isfinite(self.places)
        if not self.counts[plain].any():
            return 0
        rows = np.bincount(self.places[plain].astype(int), weights=self.counts[plain])
        return len(rows) - 1 - int(np.argmax(rows[::-1]))

    @cached_property
    def place_costs(self) -> np.ndarray:
        """Minus the logarithm of the share of cells with 0, 1, 2 … decimals, none for more."""
        plain = np.isfinite(self.places)
        places = self.places[plain].astype(int)
        rows = np.bincount(places, weights=self.counts[plain], minlength=1)
        shares = (np.append(rows, 0.0) + 0.5) / (rows.sum() + 1.0)
        costs: np.ndarray = -np.log(shares)
        return costs

    def measured(self, measure: Callable[[str], float]) -> np.ndarray:
        """Return a number for each text.

        Parameters
        ----------
        measure : callable
            From a text to a number.

        Returns
        -------
        ndarray of float
        """
        return np.array([measure(text) for text in self.texts], dtype=float)

    def values(self, numbers: np.ndarray) -> np.ndarray:
        """Return the number that each text was read as.

        Parameters
        ----------
        numbers : ndarray of float
            One per row.

        Returns
        -------
        ndarray of float
            One per text, missing where no row holds it.
        """
        of_text = np.full(len(self.texts), np.nan)
        of_text[self.codes] = numbers
        return of_text
