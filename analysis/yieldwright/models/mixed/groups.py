"""Which rows belong together, and what may differ from one group to the next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import (
    AliasedColumnsError,
    MisalignedError,
    OutOfRangeError,
    TooFewShotsError,
)
from yieldwright.models.terms.columns import column_numbers, column_values, constant_columns
from yieldwright.models.terms.design import INTERCEPT
from yieldwright.models.wording import quoted, quoted_list

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from yieldwright.models.mixed._crossproducts import Columns

__all__ = ["Grouping", "grouping", "repeats_suffice", "require_groupings"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Rows beyond one a group from which their spread inside groups is estimated: so many, and so
#: many per group (an assumption, no source). With fewer, means of groups tell as much.
LEAST_REPEATS, GROUPS_EACH = 2, 2


@dataclass(frozen=True, slots=True, eq=False)
class Grouping:
    """Groups that shift the response, and perhaps tilt it, each by an amount of its own.

    Attributes
    ----------
    name : str
        Header of the column, or the headers joined by a colon where groups are nested.
    codes : ndarray of int
        Number of the group of each row, from 0.
    levels : tuple of hashable
        What each group is called; tuples of labels where groups are nested.
    index : Index
        Index of the rows.
    slope : ndarray or None
        What the response may tilt along, one number per row.
    slope_name : str
        Header of that column; empty where there is none.
    correlated : bool
        Whether shift and tilt of a group may go together.
    """

    name: str
    codes: Codes
    levels: tuple[Hashable, ...]
    index: pd.Index
    slope: Array | None = None
    slope_name: str = ""
    correlated: bool = True

    @property
    def terms(self) -> tuple[str, ...]:
        """What differs from group to group: the intercept, and the slope if there is one."""
        return (INTERCEPT,) if self.slope is None else (INTERCEPT, self.slope_name)

    @property
    def centre(self) -> float:
        """What is taken off the slope's column before solving."""
        return float(self.slope.mean()) if self.slope is not None and self.correlated else 0.0

    @property
    def reach(self) -> float:
        """What the slope's column is divided by before solving."""
        return 1.0 if self.slope is None else float(np.abs(self.slope - self.centre).max())

    @property
    def columns(self) -> Columns:
        """Codes of the rows, what multiplies the tilt of their group, number of groups."""
        weights = None if self.slope is None else (self.slope - self.centre) / self.reach
        return self.codes, weights, len(self.levels)

    @property
    def back(self) -> Array:
        """Matrix that carries effects on the column solved with to effects on the one given."""
        if self.slope is None:
            return np.eye(1)
        return np.array([[1.0, -self.centre / self.reach], [0.0, 1 / self.reach]])

    @property
    def basis(self) -> tuple[Array, ...]:
        """Matrices that its relative covariance factor is a combination of."""
        if self.slope is None:
            return (np.eye(1),)
        corners = [(0, 0), (1, 0), (1, 1)] if self.correlated else [(0, 0), (1, 1)]
        return tuple(_unit(*corner) for corner in corners)


def grouping(
    frame: pd.DataFrame, *columns: str, slope: str | None = None, correlated: bool = True
) -> Grouping:
    """Return the groups of a table by one column, or by several that are nested.

    Parameters
    ----------
    frame : DataFrame
        Rows to be fitted.
    *columns : str
        Header of the column of labels; of several where a label means something only
        within the one before, as a cask within its batch.
    slope : str, optional
        Header of a column of numbers along which each group may tilt.
    correlated : bool
        Whether shift and tilt of a group may go together; without, the place where the
        slope's column is 0 matters.

    Returns
    -------
    Grouping

    Raises
    ------
    OutOfRangeError
        If no column is named, or a label or number is missing.
    TooFewShotsError
        If there are fewer than two groups.
    AliasedColumnsError
        If every row is a group of its own, or the slope's column does not vary.
    UnknownNameError
        If the table has no such column.

    Examples
    --------
    >>> frame = pd.DataFrame({"batch": list("AABB"), "cask": list("abab")})
    >>> grouping(frame, "batch").levels
    ('A', 'B')
    >>> grouping(frame.loc[[0, 0, 1, 2]], "batch", "cask").levels
    (('A', 'a'), ('A', 'b'), ('B', 'a'))
    """
    if not columns:
        raise OutOfRangeError("groups need at least one column of labels; none was named")
    name = ":".join(columns)
    codes, levels = _coded([column_values(frame, column) for column in columns])
    _require_several(name, len(levels), len(frame))
    if slope is None:
        return Grouping(name, codes, levels, frame.index)
    if constant_columns(frame, [slope]):
        raise AliasedColumnsError(
            f"{quoted(slope)} holds a single value in all {len(frame)} rows, so no group can "
            "tilt along it; leave the slope out",
            columns=(slope,),
        )
    numbers = column_numbers(frame, slope)
    return Grouping(name, codes, levels, frame.index, numbers, slope, correlated)


def repeats_suffice(n_rows: int, n_groups: int) -> bool:
    """Return whether enough groups hold several rows for a shift of each to be fitted.

    Parameters
    ----------
    n_rows, n_groups : int
        Rows, and groups that hold them. [count]

    Returns
    -------
    bool
        Whether half as many rows as groups, and two at the least, come on top of one each.

    Examples
    --------
    >>> repeats_suffice(12, 8), repeats_suffice(11, 8), repeats_suffice(3, 2)
    (True, False, False)
    """
    return n_rows >= n_groups + max(LEAST_REPEATS, n_groups // GROUPS_EACH)


def require_groupings(groupings: Sequence[Grouping], index: pd.Index | int) -> None:
    """Refuse groups that describe other rows, or that are named twice.

    Parameters
    ----------
    groupings : sequence of Grouping
        All groups of one fit.
    index : Index or int
        Index of the rows fitted, or how many there are.

    Raises
    ------
    TooFewShotsError
        If there are no groups at all.
    MisalignedError
        If groups and rows do not go together.
    AliasedColumnsError
        If two groupings carry one name.

    Examples
    --------
    >>> frame = pd.DataFrame({"day": list("aabb")})
    >>> require_groupings([grouping(frame, "day")], frame.index)
    """
    if not groupings:
        raise TooFewShotsError(
            "a mixed model needs groups; without any, fit_least_squares is the model"
        )
    for each in groupings:
        _require_same_rows(each, index)
    names = [each.name for each in groupings]
    twice = tuple(dict.fromkeys(name for name in names if names.count(name) > 1))
    if twice:
        raise AliasedColumnsError(
            f"{quoted_list(twice)} enters twice as groups; once is enough", columns=twice
        )


def _unit(row: int, column: int) -> Array:
    """Return the 2 × 2 matrix that is 1 in one place and else 0."""
    matrix = np.zeros((2, 2))
    matrix[row, column] = 1.0
    return matrix


def _coded(labels: list[pd.Series]) -> tuple[Codes, tuple[Hashable, ...]]:
    """Return the group of each row and the names of the groups, in order of appearance."""
    factorized = [_factorized(each) for each in labels]
    codes, levels = factorized[0]
    for inner, names in factorized[1:]:
        # Pairs that occur are numbered anew, so that codes never outgrow the rows.
        present, codes = np.unique(codes * len(names) + inner, return_inverse=True)
        levels = [
            (*_parts(levels[pair // len(names)]), names[pair % len(names)])
            for pair in present.tolist()
        ]
    return codes, tuple(levels)


def _parts(level: Hashable) -> tuple[Hashable, ...]:
    return level if isinstance(level, tuple) else (level,)


def _factorized(labels: pd.Series) -> tuple[Codes, list[Hashable]]:
    codes, levels = pd.factorize(labels)
    missing = codes < 0
    if missing.any():
        first = labels.index[int(missing.argmax())]
        verb = "does" if missing.sum() == 1 else "do"
        raise OutOfRangeError(
            f"{quoted(labels.name)} must name a group in every row; {missing.sum()} of "
            f"{len(labels)} rows {verb} not, first at row {quoted(first)} "
            "(drop such rows, and say how many)"
        )
    return codes, levels.tolist()


def _require_several(name: str, n_levels: int, n_rows: int) -> None:
    if n_levels < 2:
        raise TooFewShotsError(
            f"{quoted(name)} holds a single group in all {n_rows} rows; how groups differ takes "
            "two at least (leave it out, or bring rows of another)"
        )
    if n_levels == n_rows:
        raise AliasedColumnsError(
            f"each of the {n_rows} rows is a group of its own by {quoted(name)}, so the spread "
            "between groups is the spread between rows; leave it out, or repeat within groups",
            columns=(name,),
        )


def _require_same_rows(groups: Grouping, index: pd.Index | int) -> None:
    n_rows = index if isinstance(index, int) else len(index)
    if len(groups.codes) != n_rows:
        raise MisalignedError(
            f"groups by {quoted(groups.name)} cover {len(groups.codes)} rows, the design {n_rows};"
            " take both from one table"
        )
    if not isinstance(index, int) and not groups.index.equals(index):
        raise MisalignedError(
            f"design and groups by {quoted(groups.name)} carry different indexes; take both "
            "from one table"
        )
