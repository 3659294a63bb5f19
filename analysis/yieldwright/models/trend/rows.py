"""The rows of a trend, checked once: what goes along, what responds, who belongs together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.linear._orthonormal import Labels, group_codes
from yieldwright.models.linear.aliasing import require_separable
from yieldwright.models.linear.problem import posed
from yieldwright.models.mixed.groups import Grouping
from yieldwright.models.terms.design import INTERCEPT

__all__ = ["GROUP", "Beside", "TrendRows", "Values", "trend_rows"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: What groups are called in mixed models of a trend.
GROUP = "group"

#: One number per row.
Values = npt.ArrayLike | pd.Series

#: Columns of numbers that are allowed for, one row per row.
Beside = npt.ArrayLike | pd.DataFrame


@dataclass(frozen=True, eq=False)
class TrendRows:
    """Rows of a trend, sound and finite.

    Attributes
    ----------
    x, y : ndarray
        Along what, and the response; one value per row.
    beside : ndarray
        Columns allowed for, one row per row; none at all if there are none.
    names : tuple of str
        Names of those columns.
    codes : ndarray of int or None
        Group of each row where some group holds several rows and there are several
        groups; otherwise groups cannot be told from rows and there are none.
    """

    x: Array
    y: Array
    beside: Array
    names: tuple[str, ...]
    codes: Codes | None

    @property
    def n_rows(self) -> int:
        """Number of rows."""
        return len(self.y)

    @property
    def n_groups(self) -> int:
        """Number of groups that shift the response, 0 where there are none."""
        return 0 if self.codes is None else int(self.codes.max()) + 1

    @property
    def between(self) -> bool:
        """Whether x differs between groups only, so that rows of a group say no more of it."""
        return self.codes is not None and self.constant_inside(self.x)

    @property
    def n_units(self) -> int:
        """What counts as evidence on the form of a trend: groups, or rows."""
        return self.n_groups if self.between else self.n_rows

    @property
    def unit(self) -> str:
        """What those are called."""
        return "groups" if self.between else "rows"

    @property
    def places(self) -> Array:
        """The different values of x, in order."""
        return np.unique(self.x)

    @property
    def flat(self) -> Array:
        """Columns without x: ones, then those beside."""
        return np.column_stack([np.ones(self.n_rows), self.beside])

    @property
    def middle(self) -> float:
        """Halfway between the lowest and the highest x."""
        return float(self.x.max() + self.x.min()) / 2

    @property
    def reach(self) -> float:
        """Half the range of x."""
        return float(self.x.max() - self.x.min()) / 2

    @cached_property
    def unit_x(self) -> Array:
        """What x is along a scale from −1 to +1."""
        return (self.x - self.middle) / self.reach

    @property
    def n_beside_between(self) -> int:
        """How many of the columns beside are constant inside every group."""
        return len([column for column in self.beside.T if self.constant_inside(column)])

    @property
    def n_beside_units(self) -> int:
        """How many of the columns beside take from what counts as evidence."""
        return self.n_beside_between if self.between else self.beside.shape[1]

    def constant_inside(self, column: Array) -> bool:
        """Return whether a column has one value in each group.

        Parameters
        ----------
        column : ndarray
            One value per row.

        Returns
        -------
        bool
        """
        if self.codes is None:
            return False
        low, high = np.full(self.n_groups, np.inf), np.full(self.n_groups, -np.inf)
        np.minimum.at(low, self.codes, column)
        np.maximum.at(high, self.codes, column)
        return bool((low == high).all())

    def grouping(self) -> Grouping:
        """Return the groups in the form that mixed models take.

        Returns
        -------
        Grouping

        Raises
        ------
        MisalignedError
            If no group holds several rows.
        """
        if self.codes is None:
            raise MisalignedError("no group holds several rows; fit by least squares")
        index = pd.RangeIndex(self.n_rows)
        return Grouping(GROUP, self.codes, tuple(range(self.n_groups)), index)


def trend_rows(
    x: Values, y: Values, beside: Beside | None = None, groups: Labels | None = None
) -> TrendRows:
    """Return the rows of a trend, or say why they are none.

    Parameters
    ----------
    x, y : array-like
        Along what, and the response; one finite number per row. [any unit]
    beside : array-like or DataFrame, optional
        Columns of numbers to be allowed for, one row per row.
    groups : sequence of hashable, optional
        Label of the group of each row, whose shift of the response is random.

    Returns
    -------
    TrendRows

    Raises
    ------
    MisalignedError
        If columns or labels describe other rows.
    OutOfRangeError
        If a number is missing or infinite, or x or the response does not vary.
    TooFewShotsError
        If there are not more rows than columns.
    AliasedColumnsError
        If the columns beside cannot be told apart.

    Examples
    --------
    >>> rows = trend_rows([1, 1, 5, 5], [2.0, 3.0, 4.0, 6.0], groups=[0, 0, 1, 1])
    >>> rows.n_units, rows.unit
    (2, 'groups')
    """
    along, response = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    columns = np.empty((len(response), 0)) if beside is None else np.asarray(beside, dtype=float)
    columns = columns[:, np.newaxis] if columns.ndim == 1 else columns
    _require_aligned(along, response, columns)
    names = tuple(f"beside {k + 1}" for k in range(columns.shape[1]))
    if isinstance(beside, pd.DataFrame):
        names = tuple(str(name) for name in beside.columns)
    labels = (INTERCEPT, *names)
    problem = posed(np.column_stack([np.ones(len(response)), columns]), response, names=labels)
    require_separable(problem.scaled, problem.sources)
    _require_varying(along)
    codes = None if groups is None else group_codes(groups, len(response), least=1)
    if codes is not None and (codes.max() == 0 or codes.max() + 1 == len(codes)):
        codes = None
    return TrendRows(along, response, columns, names, codes)


def _require_aligned(x: Array, y: Array, beside: Array) -> None:
    if x.ndim != 1 or x.shape != y.shape or len(beside) != len(y):
        raise MisalignedError(
            f"{x.size} values of x, {y.size} responses and {len(beside)} rows of columns beside "
            "do not go together; take all from the same rows"
        )


def _require_varying(x: Array) -> None:
    finite = np.isfinite(x)
    if not finite.all():
        raise OutOfRangeError(
            f"x must be a finite number in every row; {(~finite).sum()} of {len(x)} rows are not, "
            f"first row {int(np.argmin(finite))} (drop such rows, and say how many)"
        )
    if np.ptp(x) == 0:
        raise OutOfRangeError(
            f"a trend needs values of x that vary; all {len(x)} rows have {x[0]:g}"
        )
