"""Two kinds inside the same blocks: how they differ there, and how that changes along a line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.mixed.groups import grouping, repeats_suffice
from yieldwright.models.mixed.model import MixedFit, fit_mixed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldwright.models.contrasts.contrasts import Estimate

__all__ = ["PairedFit", "fit_paired"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Names of the difference of both kinds and of its change along the line.
DIFFERENCE, CHANGE = "difference", "change"

_CONSTANT = "(intercept)"


@dataclass(frozen=True, eq=False)
class PairedFit:
    """The difference of two kinds inside blocks, whose own levels have no say in it.

    Attributes
    ----------
    way : {"differences", "cells"}
        Whether one difference a block was fitted, or every row with its cell as a shift.
    fit : LinearFit or MixedFit
        What was fitted.
    n_rows, n_blocks : int
        Rows, and blocks that hold both kinds.
    middle : float
        Mean place of the blocks on the line; 0 where there is none.
    """

    way: Literal["differences", "cells"]
    fit: LinearFit | MixedFit
    n_rows: int
    n_blocks: int
    middle: float = 0.0

    @property
    def difference(self) -> Estimate:
        """First kind less second, at the mean place of the blocks on the line if there is one."""
        return self._estimated({self._level: 1.0}, DIFFERENCE)

    @property
    def change(self) -> Estimate:
        """Change of the difference per unit of the line; of a fit along one only."""
        return self._estimated({CHANGE: 1.0}, CHANGE)

    def at(self, place: float) -> Estimate:
        """Return the difference at one place of the line it was fitted along.

        Parameters
        ----------
        place : float
            Where. [unit of the line]

        Returns
        -------
        Estimate
        """
        weights = {self._level: 1.0, CHANGE: place - self.middle}
        return self._estimated(weights, f"{DIFFERENCE} at {place:g}")

    def coefficient(self, name: str) -> float:
        """Return what one unit of a column held equal does.

        Parameters
        ----------
        name : str
            Name of the column.

        Returns
        -------
        float
        """
        return float(self.fit.params[self.fit.names.index(name)])

    @property
    def _level(self) -> str:
        return _CONSTANT if self.way == "differences" else DIFFERENCE

    def _estimated(self, weights: Mapping[str, float], term: str) -> Estimate:
        """Return a sum of coefficients; of shifts with Kenward and Roger's error and degrees."""
        return estimated(self.fit, weights, term=term, df="kenward_roger")


def fit_paired(
    values: Array,
    first: npt.NDArray[np.bool_],
    blocks: Codes,
    *,
    along: Array | None = None,
    beside: Array | None = None,
    names: Sequence[str] = (),
) -> PairedFit:
    """Fit the difference of two kinds inside blocks, and how it changes along a line.

    Parameters
    ----------
    values : ndarray
        What is explained, one per row. [any unit]
    first : ndarray of bool
        Whether a row is of the first kind; it is of the second where not.
    blocks : ndarray of int
        Number of the block of each row, from 0; each block holds both kinds.
    along : ndarray, optional
        Place of each row's block on a line, the same all through a block. [any unit]
    beside : ndarray, optional
        Columns held equal, rows × columns.
    names : sequence of str
        A name for each of these columns.

    Returns
    -------
    PairedFit

    Raises
    ------
    MisalignedError
        If these describe different rows.
    OutOfRangeError
        If a block lacks one of both kinds, or nothing differs between differences.
    TooFewShotsError
        If blocks are too few for what is asked.
    AliasedColumnsError
        If a column beside goes along with the kind in every block.

    Notes
    -----
    Blocks are held: what shifts both kinds of a block has no say. A cell, the rows of one
    kind in one block, shifts its rows by an amount of its own, so that rows of a cell are
    not taken for independent; its variance is estimated, and errors and degrees of freedom
    are Kenward and Roger's. Where all cells hold as many rows and nothing beside differs
    inside them, or where hardly any cell holds several, this is the regression of the
    blocks' differences on a line: without one the paired t test [1]_, fitted as such, so
    that no variance can come out as zero.

    References
    ----------
    .. [1] Student (1908), Biometrika 6, 1, section IX.

    Examples
    --------
    >>> first, blocks = np.tile([True, False], 3), np.repeat([0, 1, 2], 2)
    >>> found = fit_paired(np.array([5.0, 3.0, 6.0, 5.0, 9.0, 6.0]), first, blocks)
    >>> round(found.difference.estimate, 6), found.difference.df, found.way
    (2.0, 2, 'differences')
    """
    columns = np.empty((len(values), 0)) if beside is None else np.asarray(beside, dtype=float)
    if len({len(values), len(first), len(blocks), len(columns)}) > 1:
        raise MisalignedError("values, kinds, blocks and columns must describe the same rows")
    if columns.shape[1] != len(names):
        raise MisalignedError(f"{columns.shape[1]} columns and {len(names)} names do not match")
    table = pd.DataFrame(columns, columns=list(names))
    table = table.assign(value=values, first=np.asarray(first, dtype=bool), block=blocks)
    middle = 0.0
    if along is not None:
        middle = float(pd.Series(along).groupby(np.asarray(blocks)).mean().mean())
        table["along"] = np.asarray(along, dtype=float) - middle
    counts = table.groupby(["block", "first"]).size().unstack(fill_value=0)
    if counts.shape[1] < 2 or not (counts > 0).all().all():
        raise OutOfRangeError("each block needs rows of both kinds; leave the others out")
    if len(counts) < (3 if along is None else 4):
        raise TooFewShotsError(f"{len(counts)} blocks with both kinds are too few")
    return replace(_fitted(table, counts.to_numpy(), names), middle=middle)


def _fitted(table: pd.DataFrame, counts: npt.NDArray[np.intp], names: Sequence[str]) -> PairedFit:
    if not _needs_cells(table, counts, names):
        return _by_differences(table, names)
    try:
        return _by_cells(table, names)
    except OutOfRangeError:  # no spread inside cells: more rows of a cell told nothing more
        return _by_differences(table, names)


def _needs_cells(table: pd.DataFrame, counts: npt.NDArray[np.intp], names: Sequence[str]) -> bool:
    """Return whether rows say more than the differences of their blocks' means."""
    if not repeats_suffice(int(counts.sum()), counts.size):
        return False
    if len(np.unique(counts)) > 1:
        return True
    spans = table.groupby(["block", "first"])[list(names)].agg(np.ptp)
    return bool((spans > 0).to_numpy().any())


def _by_differences(table: pd.DataFrame, names: Sequence[str]) -> PairedFit:
    line = ["along"] if "along" in table else []
    means = table.groupby(["first", "block"])[["value", *names]].mean()
    apart = pd.DataFrame(means.xs(True) - means.xs(False))
    places = table.groupby("block")[line].mean()
    matrix = np.column_stack([np.ones(len(apart)), places, apart[list(names)]])
    labels = (_CONSTANT, *([CHANGE] if line else []), *names)
    fit = fit_least_squares(matrix, apart["value"].to_numpy(), names=labels)
    return PairedFit("differences", fit, len(table), len(apart))


def _by_cells(table: pd.DataFrame, names: Sequence[str]) -> PairedFit:
    kind = np.where(table["first"], 0.5, -0.5)
    held = pd.get_dummies(table["block"], drop_first=True).to_numpy(dtype=float)
    change = [kind * table["along"]] if "along" in table else []
    matrix = np.column_stack([np.ones(len(table)), kind, *change, table[list(names)], held])
    labels = (
        _CONSTANT, DIFFERENCE, *([CHANGE] if change else []), *names,
        *(f"block {n}" for n in range(held.shape[1])),
    )  # fmt: skip
    cells = grouping(table, "block", "first")
    fit = fit_mixed(matrix, table["value"].to_numpy(dtype=float), [cells], names=labels)
    return PairedFit("cells", fit, len(table), 1 + held.shape[1])
