"""Reading single columns of a table: whether they vary, which rows are complete."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import AliasedColumnsError, OutOfRangeError, UnknownNameError
from yieldwright.models.wording import nearest, quoted

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable

__all__ = [
    "column_numbers",
    "column_values",
    "complete_rows",
    "constant_columns",
    "levels_present",
]

#: Spread below this share of the largest value is rounding, as in 8.5 − 5.4 against 8.4 − 5.3.
ROUNDING = 1e-12


def constant_columns(frame: pd.DataFrame, names: Iterable[str]) -> tuple[str, ...]:
    """Return the columns that hold at most one value, missing ones not counted.

    Such a column has no effect that a fit could estimate, and `build_design` refuses it.

    Parameters
    ----------
    frame : DataFrame
        Any table.
    names : iterable of str
        Columns to look at.

    Returns
    -------
    tuple of str
        In the order asked for.

    Raises
    ------
    UnknownNameError
        If the table has no such column.

    Notes
    -----
    Numbers that differ by less than 1e-12 of the largest count as one: differences
    of logged decimals carry rounding of that size.

    Examples
    --------
    >>> constant_columns(pd.DataFrame({"a": [1.0, 1.0], "b": [1.0, 2.0]}), ["a", "b"])
    ('a',)
    """
    return tuple(name for name in names if _is_constant(column_values(frame, name)))


def complete_rows(frame: pd.DataFrame, names: Iterable[str]) -> pd.Series[bool]:
    """Return which rows hold a value in every named column.

    Parameters
    ----------
    frame : DataFrame
        Any table.
    names : iterable of str
        Columns that must be there.

    Returns
    -------
    Series of bool
        One row per row of `frame`, with its index.

    Raises
    ------
    UnknownNameError
        If the table has no such column.

    Examples
    --------
    >>> complete_rows(pd.DataFrame({"a": [1.0, None]}), ["a"]).tolist()
    [True, False]
    """
    complete = pd.Series(True, index=frame.index)
    for name in names:
        complete &= column_values(frame, name).notna()
    return complete


def levels_present(
    frame: pd.DataFrame, name: str, *, order: Iterable[Hashable] = ()
) -> tuple[Hashable, ...]:
    """Return the distinct values of a column, in a stated order where there is one.

    Parameters
    ----------
    frame : DataFrame
        Any table.
    name : str
        Column of levels.
    order : iterable of hashable
        Levels in the order to keep; values not in it follow, sorted.

    Returns
    -------
    tuple of hashable
        Only levels with at least one row.

    Raises
    ------
    UnknownNameError
        If the table has no such column.

    Examples
    --------
    >>> frame = pd.DataFrame({"band": ["high", "low", "high"]})
    >>> levels_present(frame, "band", order=["low", "medium", "high"])
    ('low', 'high')
    """
    found = _different(column_values(frame, name))
    ordered = [level for level in order if level in found]
    rest = sorted(found.difference(ordered), key=lambda level: (isinstance(level, str), level))
    return (*ordered, *rest)


def column_values(frame: pd.DataFrame, name: str) -> pd.Series:
    """Return one column, refusing a header that is missing or stands twice.

    Parameters
    ----------
    frame : DataFrame
        Any table.
    name : str
        Header, taken literally.

    Returns
    -------
    Series

    Raises
    ------
    UnknownNameError
        If the table has no such column.
    AliasedColumnsError
        If several columns carry the header.

    Examples
    --------
    >>> column_values(pd.DataFrame({"a:b": [1, 2]}), "a:b").tolist()
    [1, 2]
    """
    only = frame.columns.is_unique
    copies = int(name in frame.columns) if only else frame.columns.to_list().count(name)
    if copies == 0:
        remedy = nearest(name, frame.columns)
        raise UnknownNameError(f"the table has no column {quoted(name)}; {remedy}")
    if copies > 1:
        raise AliasedColumnsError(
            f"{copies} columns carry the header {quoted(name)}; rename or drop one",
            columns=(name,),
        )
    return frame[name]


def column_numbers(frame: pd.DataFrame, name: str) -> npt.NDArray[np.float64]:
    """Return one column as finite numbers, refusing gaps, infinities and text.

    Parameters
    ----------
    frame : DataFrame
        Any table.
    name : str
        Header, taken literally.

    Returns
    -------
    ndarray
        One number per row.

    Raises
    ------
    OutOfRangeError
        If a row is missing or infinite, or the column holds text.
    UnknownNameError
        If the table has no such column.

    Examples
    --------
    >>> column_numbers(pd.DataFrame({"a": [1, 2]}), "a").tolist()
    [1.0, 2.0]
    """
    values = column_values(frame, name)
    if not pd.api.types.is_numeric_dtype(values):
        raise OutOfRangeError(
            f"{quoted(name)} must hold numbers, and holds {values.dtype} "
            "(convert it first, or treat it as a factor)"
        )
    numbers = _numbers(values)
    unusable = ~np.isfinite(numbers)
    if unusable.any():
        raise OutOfRangeError(_gap_sentence(values, unusable))
    return numbers


def _gap_sentence(values: pd.Series, unusable: npt.NDArray[np.bool_]) -> str:
    first = int(np.argmax(unusable))
    verb = "does" if unusable.sum() == 1 else "do"
    return (
        f"{quoted(values.name)} must hold a finite value in every row; {unusable.sum()} of "
        f"{len(values)} rows {verb} not, first at row {quoted(values.index[first])} "
        "(drop such rows, and say how many)"
    )


def _is_constant(values: pd.Series) -> bool:
    if not pd.api.types.is_numeric_dtype(values):
        return len(_different(values)) <= 1
    numbers = _numbers(values)
    there = numbers[~np.isnan(numbers)]
    return not len(there) or bool(np.ptp(there) <= ROUNDING * np.abs(there).max())


def _different(values: pd.Series) -> set[Hashable]:
    """Return the distinct values that are there."""
    return {value for value in set(values.tolist()) if not pd.isna(value)}


def _numbers(values: pd.Series) -> npt.NDArray[np.float64]:
    """Return a column of numbers as an array, missing ones as not a number."""
    if isinstance(values.dtype, np.dtype):  # has no missing value of its own to look for
        return values.to_numpy(dtype=np.float64)
    return values.to_numpy(dtype=np.float64, na_value=np.nan)
