"""All arrangements of scores within blocks, or some drawn at random, and the sums they give."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

#: Rows closer than this are the same row.
SAME = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One block: its columns, what else explains scores, and scores, each about its mean."""

    columns: Array
    explained: Array
    scores: Array

    @property
    def both(self) -> Array:
        """Columns, and what else explains scores."""
        return np.hstack([self.columns, self.explained])

    @property
    def counts(self) -> tuple[list[int], list[int]]:
        """How often each different score, and each different row of columns, occurs."""
        codes = (_coded(self.scores[:, None]), _coded(self.both))
        scores, columns = ([int(count) for count in np.bincount(each)] for each in codes)
        return scores, columns

    @property
    def n_arrangements(self) -> int:
        """Different arrangements: exchanging scores, or rows of columns, comes to the same."""
        return min(_n_arrangements(counts) for counts in self.counts)

    @property
    def sums(self) -> Array:
        """Sum of each different arrangement."""
        by_score, by_column = self.counts
        if _n_arrangements(by_score) <= _n_arrangements(by_column):
            return _exchanged(self.scores[:, None], by_score)[:, :, 0] @ self.both
        return self.scores @ _exchanged(self.both, by_column)

    @property
    def spread(self) -> Array:
        """Covariance of its sum over all arrangements."""
        square = self.scores @ self.scores / (len(self.scores) - 1)
        return square * (self.columns.T @ self.columns)


def _coded(rows: Array) -> npt.NDArray[np.intp]:
    """Return a code for each different row, told apart beyond rounding."""
    codes: npt.NDArray[np.intp] = np.unique(np.round(rows / SAME), axis=0, return_inverse=True)[
        1
    ].ravel()
    return codes


def _n_arrangements(counts: list[int]) -> int:
    repeated = math.prod(math.factorial(count) for count in counts)
    return math.factorial(sum(counts)) // repeated


def _exchanged(rows: Array, counts: list[int]) -> Array:
    """Return every different arrangement of rows: arrangements × places × columns."""
    codes = _coded(rows)
    values = np.array([rows[codes == code].mean(axis=0) for code in range(len(counts))])
    exchanged: Array = values[_arrangements(counts)]
    return exchanged


def listed_sums(parts: list[Part]) -> Array:
    """Return the sum of every arrangement, those of blocks combined with one another."""
    width = parts[0].both.shape[1]
    sums = np.zeros((1, width))
    for part in parts:
        sums = (sums[:, None, :] + part.sums[None, :, :]).reshape(-1, width)
    return sums


def _arrangements(counts: list[int]) -> npt.NDArray[np.intp]:
    """Return all different rows that hold code k `counts[k]` times."""
    rows = np.zeros((1, sum(counts)), dtype=np.intp)
    free = np.arange(sum(counts))[None, :]
    for code, count in enumerate(counts):
        width = free.shape[1]
        picks = np.array(list(combinations(range(width), count)), dtype=np.intp)
        rest = np.array([np.delete(np.arange(width), pick) for pick in picks], dtype=np.intp)
        rows = np.repeat(rows, len(picks), axis=0)
        np.put_along_axis(rows, free[:, picks].reshape(-1, count), code, axis=1)
        free = free[:, rest].reshape(len(rows), width - count)
    return rows


def drawn_sums(parts: list[Part], rng: np.random.Generator, draws: int) -> Array:
    """Return the sums of arrangements drawn at random."""
    sums = np.zeros((draws, parts[0].both.shape[1]))
    for part in parts:
        tiled = np.tile(part.scores, (draws, 1))
        sums += rng.permuted(tiled, axis=1) @ part.both
    return sums
