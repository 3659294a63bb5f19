"""Where the cells of a column usually lie, so that one far off is seen: by groups, robustly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from yieldwright.shotlog.checks.written import Written
from yieldwright.shotlog.headers.entries import entry_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.glossary import Span
    from yieldwright.shotlog.findings import Texts

__all__ = [
    "FEWEST",
    "Spread",
    "SpreadColumn",
    "groups_of_rows",
    "levels_of",
    "spread_column",
    "usual_spread",
]

#: Cells from which a middle and a spread say something (common practice, no source).
FEWEST = 8
#: A normal spread is so many times the median distance from the median, and the mean one.
_BY_MEDIAN, _BY_MEAN = 1.4826, 1.2533
#: Spreads beyond which nothing gets less likely: no log is normal in its tails.
_FARTHEST = 6.0
#: A spread found on few cells is itself in doubt: on ten it is taken half as large again.
_DOUBTED = 5.0
#: Groups times different values that are still counted group by group.
_MOST_CELLS = 4_000_000


class Spread(NamedTuple):
    """Middle and spread that each row of a column is held against.

    Attributes
    ----------
    middle : ndarray of float
        Median of the row's group, of the column where the group is small; missing where
        that is small too.
    scale : ndarray of float
        What a standard deviation would be were the cells normal; never zero.
    """

    middle: np.ndarray
    scale: np.ndarray

    def distance(self, values: np.ndarray) -> np.ndarray:
        """Return how many spreads each row's value lies off; zero where nothing is known.

        Parameters
        ----------
        values : ndarray of float
            One per row.
        """
        off: np.ndarray = np.nan_to_num(np.abs(values - self.middle) / self.scale, nan=0.0)
        return off


def groups_of_rows(frame: pd.DataFrame, columns: Sequence[str]) -> np.ndarray:
    """Return a number for each row's combination of some columns, those that are there.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    columns : sequence of str
        Names.

    Returns
    -------
    ndarray of int

    Examples
    --------
    >>> frame = pd.DataFrame({"bag": ["a", "b", "a"]})
    >>> groups_of_rows(frame, ["bag", "grinder"]).tolist()
    [0, 1, 0]
    """
    codes = np.zeros(len(frame), dtype=np.int64)
    for name in columns:
        if name in frame:
            own, words = pd.factorize(frame[name].array, use_na_sentinel=False)
            codes = codes * max(len(words), 1) + own
            codes = pd.factorize(codes)[0] if len(words) > 1 else codes
    return codes


def usual_spread(
    values: np.ndarray, texts: Sequence[str], groups: np.ndarray, *, finest: float
) -> Spread:
    """Return the middle and the spread of the group that each row belongs to.

    Parameters
    ----------
    values : ndarray of float
        One per row; missing ones count nowhere.
    texts : sequence of str
        The same cells as typed: equal texts are equal values.
    groups : ndarray of int
        Number of each row's group.
    finest : float
        Least spread, such as the step of the column's last digit. [unit of the values]

    Returns
    -------
    Spread

    Notes
    -----
    Median and median distance from it, which half the cells would have to be wrong to
    move. Where more than half the cells are equal that distance is zero and the mean one
    stands in. A hundredth of the middle is the least spread believed.

    Examples
    --------
    >>> values = np.array([18.0, 18.1, 17.9, 18.2, 17.8, 18.1, 17.9, 81.0])
    >>> texts = [f"{value:.1f}" for value in values]
    >>> spread = usual_spread(values, texts, np.zeros(8, dtype=int), finest=0.1)
    >>> float(spread.middle[0]), bool(spread.distance(values)[7] > 100)
    (18.05, True)
    """
    levels, codes = levels_of(values, texts)
    whole = np.zeros(len(values), dtype=np.int64)
    if not len(levels):
        return Spread(np.full(len(values), np.nan), np.full(len(values), finest))
    middle, scale, count = _by_group(levels, codes, whole)
    middle = np.where(count >= FEWEST, middle, np.nan)
    if 0 < groups.max(initial=0) < _MOST_CELLS // len(levels):
        own_middle, own_scale, own_count = _by_group(levels, codes, groups)
        is_enough = own_count >= FEWEST
        middle = np.where(is_enough, own_middle, middle[0])
        scale = np.where(is_enough, own_scale, scale[0])
    scale = np.maximum(scale, np.maximum(finest, 0.01 * np.abs(np.nan_to_num(middle))))
    places = groups if len(middle) > 1 else whole
    return Spread(middle[places], scale[places])


@dataclass(frozen=True)
class SpreadColumn:
    """A column of numbers beside where its cells usually lie.

    Attributes
    ----------
    numbers : ndarray of float
        One per row.
    texts : sequence of str
        As typed.
    middle, scale : ndarray of float
        Middle and spread that each row is held against; the middle is missing where the
        column is short.
    places : int
        Decimals in which it is mostly written.
    place_costs : ndarray of float
        How unlikely a cell with 0, 1, 2 … decimals is in it.
    hard : Span
        Range outside which a row is set aside.
    """

    numbers: np.ndarray
    texts: Sequence[str]
    middle: np.ndarray
    scale: np.ndarray
    places: int
    place_costs: np.ndarray
    hard: Span

    def costs(
        self, row: int, values: np.ndarray | float, places: np.ndarray | float
    ) -> np.ndarray | float:
        """Return how unlikely values, so written, are in a row.

        Parameters
        ----------
        row : int
            Number of the data row.
        values : ndarray of float or float
            In the unit of the column.
        places : ndarray of float or float
            Decimals they are written with.
        """
        known = len(self.place_costs) - 1
        odd: np.ndarray = self.place_costs[np.minimum(places, known).astype(int)]
        if np.isnan(self.middle[row]):
            return odd
        off = np.abs(values - self.middle[row]) / self.scale[row]
        costs: np.ndarray = 0.5 * np.minimum(off, _FARTHEST) ** 2 + odd
        return costs


def spread_column(
    frame: pd.DataFrame, texts: Texts, name: str, groups: np.ndarray, bench: Bench
) -> SpreadColumn:
    """Return a typed column beside where its cells usually lie.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    name : str
        Name of the column in both.
    groups : ndarray of int
        Number of each row's group.
    bench : Bench
        May widen ranges.

    Returns
    -------
    SpreadColumn

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> frame = pd.DataFrame({"dose_g": [18.0] * 8})
    >>> column = spread_column(
    ...     frame, {"dose_g": ["18.0"] * 8}, "dose_g", np.zeros(8, dtype=int), Bench()
    ... )
    >>> float(column.middle[0]), column.places
    (18.0, 1)
    """
    values = frame[name].to_numpy(dtype=float)
    written = Written.of(texts[name])
    entry = entry_of(name, bench)
    usual = np.where(entry.hard.low <= values, values, np.nan)
    usual[values > entry.hard.high] = np.nan
    middle, scale = usual_spread(usual, texts[name], groups, finest=10.0**-written.usual)
    return SpreadColumn(
        values, texts[name], middle, scale, written.usual, written.place_costs, entry.hard
    )


def levels_of(values: np.ndarray, texts: Sequence[str]) -> tuple[np.ndarray, np.ndarray]:
    """Return the different values of a column, and where each row's stands among them.

    Parameters
    ----------
    values : ndarray of float
        One per row.
    texts : sequence of str
        The same cells as typed: equal texts are equal values.

    Returns
    -------
    levels : ndarray of float
        In ascending order.
    codes : ndarray of int
        One per row; -1 where its value is missing.

    Examples
    --------
    >>> levels, codes = levels_of(np.array([18.0, 17.5, 18.0]), ["18", "17.5", "18.0"])
    >>> levels.tolist(), codes.tolist()
    ([17.5, 18.0], [1, 0, 1])
    """
    written = Written.of(texts)
    of_text = written.values(values)
    levels, place = np.unique(of_text, return_inverse=True)
    place = np.where(np.isnan(of_text), -1, place)
    return levels[np.isfinite(levels)], place[written.codes]


def _by_group(
    levels: np.ndarray, codes: np.ndarray, groups: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return middle, spread and count of each group."""
    known, n_groups = codes >= 0, int(groups.max()) + 1
    if not known.all():
        codes, groups = codes[known], groups[known]
    cells = np.bincount(groups * len(levels) + codes, minlength=n_groups * len(levels))
    counts = cells.reshape(n_groups, len(levels))
    middle = _weighted_medians(np.broadcast_to(levels, counts.shape), counts)
    off = np.abs(levels - middle[:, None])
    order = np.argsort(off, axis=1)
    by_size = np.take_along_axis(off, order, axis=1)
    usual = _BY_MEDIAN * _weighted_medians(by_size, np.take_along_axis(counts, order, axis=1))
    count = counts.sum(axis=1)
    mean = (off * counts).sum(axis=1) / np.maximum(count, 1)
    scale = np.where(usual > 0, usual, _BY_MEAN * mean)
    return middle, scale * (1 + _DOUBTED / np.maximum(count, 1)), count


def _weighted_medians(ascending: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Return the median of each line of values, each as often as it counts."""
    reached = np.cumsum(counts, axis=1)
    total = reached[:, -1:]
    lines = np.arange(len(counts))
    low, high = (np.argmax(reached > at, axis=1) for at in ((total - 1) // 2, total // 2))
    medians: np.ndarray = (ascending[lines, low] + ascending[lines, high]) / 2
    return medians
