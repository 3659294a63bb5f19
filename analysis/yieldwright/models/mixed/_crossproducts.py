"""Sums over groups, taken once, so that no fit ever holds a matrix of rows × groups."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy.linalg import blas

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Columns", "Crossproducts", "crossproducts"]

Array = npt.NDArray[np.float64]

#: Group of each row, what multiplies the slopes (or None for intercepts), number of groups.
Columns = tuple[npt.NDArray[np.intp], Array | None, int]


@dataclass(frozen=True, eq=False)
class Crossproducts:
    """Everything the deviance needs to know of the rows.

    The grouping with most effects, the first, is kept group by group, since its effects
    meet only within a group; the effects of all others stand with the columns.

    Attributes
    ----------
    widths, counts : tuple of int
        Effects per group, and groups, of each grouping; the first one first.
    near : ndarray
        Crossproducts of the first grouping, group by group, with its own effects and
        then with the rest: groups × effects × (effects + rest).
    rest : ndarray
        Crossproducts of the rest with itself: effects of the other groupings, columns
        of the design, response.
    n_rows, n_columns : int
        Rows, and columns of the design.
    """

    widths: tuple[int, ...]
    counts: tuple[int, ...]
    near: Array
    rest: Array
    n_rows: int
    n_columns: int

    @property
    def n_effects(self) -> int:
        """Effects of all groupings but the first."""
        return len(self.rest) - 1 - self.n_columns

    @property
    def own(self) -> Array:
        """Crossproducts of the first grouping with itself."""
        return self.near[:, :, : self.widths[0]]

    @property
    def shared(self) -> Array:
        """Crossproducts of the first grouping with the rest."""
        return self.near[:, :, self.widths[0] :]

    @cached_property
    def blocks(self) -> tuple[slice, ...]:
        """Where the effects of each grouping but the first stand in the rest."""
        sizes = [w * q for w, q in zip(self.widths[1:], self.counts[1:], strict=True)]
        ends = [0, *accumulate(sizes)]
        return tuple(map(slice, ends[:-1], ends[1:]))


def crossproducts(groups: Sequence[Columns], matrix: Array, response: Array) -> Crossproducts:
    """Return the crossproducts of groups, columns and response.

    Parameters
    ----------
    groups : sequence of tuple
        Codes, slopes and number of groups of each grouping; the first should be the one
        with most effects.
    matrix : ndarray
        Columns of the design.
    response : ndarray
        One value per row. [any unit]

    Returns
    -------
    Crossproducts
    """
    first, *others = groups
    outside = np.vstack([matrix.T, response])
    near = [_within(first), *(_between(first, other) for other in others), _summed(first, outside)]
    beside = [[_between(a, b).reshape(_size(a), -1) for b in others] for a in others]
    sums = [_summed(a, outside).reshape(_size(a), -1) for a in others]
    corner = _gram(outside)
    rest = (
        corner
        if not others
        else np.block(
            [
                *([*row, s] for row, s in zip(beside, sums, strict=True)),
                [*(s.T for s in sums), corner],
            ]
        )
    )
    return Crossproducts(
        widths=tuple(_width(each) for each in groups),
        counts=tuple(each[2] for each in groups),
        near=np.concatenate(near, axis=2),
        rest=rest,
        n_rows=len(response),
        n_columns=matrix.shape[1],
    )


def _gram(rows: Array) -> Array:
    """Return the inner products of a few long rows; `@` takes four times as long for them."""
    return np.asarray(blas.dgemm(1.0, rows.T, rows.T, trans_a=1), dtype=np.float64)


def _width(group: Columns) -> int:
    return 1 if group[1] is None else 2


def _size(group: Columns) -> int:
    return _width(group) * group[2]


def _weights(group: Columns) -> list[Array | None]:
    return [None] if group[1] is None else [None, group[1]]


def _product(first: Array | None, second: Array | None) -> Array | None:
    if first is None or second is None:
        return second if first is None else first
    return first * second


def _within(group: Columns) -> Array:
    """Return the crossproducts of a grouping's effects, group by group."""
    codes, _, count = group
    sums = [
        [np.bincount(codes, _product(a, b), count) for b in _weights(group)]
        for a in _weights(group)
    ]
    return np.moveaxis(np.array(sums, dtype=float), 2, 0)


def _between(first: Columns, second: Columns) -> Array:
    """Return crossproducts of two groupings: groups × effects × all effects of the second."""
    pairs = first[0] * second[2] + second[0]
    sums = [
        [np.bincount(pairs, _product(a, b), first[2] * second[2]) for b in _weights(second)]
        for a in _weights(first)
    ]
    table = np.array(sums, dtype=float).reshape(_width(first), _width(second), first[2], second[2])
    return table.transpose(2, 0, 3, 1).reshape(first[2], _width(first), _size(second))


def _summed(group: Columns, columns: Array) -> Array:
    """Return crossproducts of a grouping and columns: groups × effects × columns."""
    sums = [
        [np.bincount(group[0], _product(weight, column), group[2]) for column in columns]
        for weight in _weights(group)
    ]
    return np.moveaxis(np.array(sums, dtype=float), 2, 0)
