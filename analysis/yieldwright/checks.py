"""Guards that formulas share: alignment, and the possible range of each quantity."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from typing import TypeVar

import numpy as np
import pandas as pd

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.glossary import Quantity, Span, quantity

__all__ = [
    "Measured",
    "in_blocks",
    "named",
    "require_comparable",
    "require_inside",
    "require_possible",
    "require_same_index",
    "same_kind",
]

#: Rows worked on at a time: a few columns of so many numbers fit a processor's cache.
_BLOCK = 8_192

_VERBS = {True: ("does", "do"), False: ("is", "are")}

#: A number, or a column with one number a shot.
Measured = TypeVar("Measured", float, "pd.Series[float]")


def require_same_index(**columns: float | pd.Series[float]) -> None:
    """Return nothing where all columns describe the same rows in the same order.

    Parameters
    ----------
    **columns : float or Series
        Columns by name; plain numbers go with any index.

    Raises
    ------
    MisalignedError
        If two Series carry different indexes.

    Examples
    --------
    >>> require_same_index(dose_g=18.0, beverage_g=36.0)
    """
    series = {name: column for name, column in columns.items() if isinstance(column, pd.Series)}
    first, *others = series or ("",)
    for other in others:
        if not series[first].index.equals(series[other].index):
            raise MisalignedError(
                f"{first} and {other} describe different rows: their indexes differ "
                f"({len(series[first])} and {len(series[other])} rows); "
                "take both from one table, or reindex one like the other"
            )


def require_possible(**columns: float | pd.Series[float]) -> None:
    """Return nothing where every value lies in its quantity's possible range.

    Missing values pass: a missing input gives a missing output.

    Parameters
    ----------
    **columns : float or Series
        Columns by canonical name.

    Raises
    ------
    OutOfRangeError
        If a value lies outside; the text names the quantity, the range, how many
        rows, the first value with its row, and a remedy.
    UnknownNameError
        If a name is not in the glossary.

    Examples
    --------
    >>> require_possible(tds_pct=950.0)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    yieldwright.errors.OutOfRangeError: tds_pct must lie in 0–100 % by mass; 950 does not ...
    """
    for name, column in columns.items():
        require_inside(quantity(name), column)


def require_inside(entry: Quantity, column: float | pd.Series[float]) -> None:
    """Return nothing where every value lies in the possible range of one entry.

    Parameters
    ----------
    entry : Quantity
        From the glossary, or narrowed to what a table of figures spans.
    column : float or Series
        Values in its unit; missing ones pass.

    Raises
    ------
    OutOfRangeError
        If a value lies outside.

    Examples
    --------
    >>> require_inside(quantity("dose_g"), 18.0)
    """
    values = np.atleast_1d(np.asarray(column, dtype=float))
    if _all_inside(values, entry.possible):
        return
    outside = _outside(values, entry.possible)
    if outside.any():
        raise OutOfRangeError(_outside_sentence(entry, column, values, outside))


def require_comparable(**columns: float | pd.Series[float]) -> None:
    """Return nothing where a formula may take these columns together.

    Parameters
    ----------
    **columns : float or Series
        Columns by canonical name; the first gives the result its kind and index.

    Raises
    ------
    MisalignedError
        If two Series carry different indexes, or the first is one number and another
        has one value a row.
    OutOfRangeError
        If a value lies outside its possible range in the glossary.

    Examples
    --------
    >>> require_comparable(dose_g=18.0, beverage_g=36.0)
    """
    require_same_index(**columns)
    first, *others = columns
    longer = [name for name in others if isinstance(columns[name], pd.Series)]
    if longer and not isinstance(columns[first], pd.Series):
        raise MisalignedError(
            f"{first} is one number but {longer[0]} has one value a row; "
            f"make {first} a Series with the same index"
        )
    require_possible(**columns)


def in_blocks(
    formula: Callable[..., np.ndarray], *columns: float | pd.Series[float]
) -> np.ndarray:
    """Return a formula of whole columns, worked out block by block.

    Intermediate results of a block stay in the processor's cache, which makes long
    columns several times quicker than one pass over them for each operation.

    Parameters
    ----------
    formula : callable
        Takes one array a column and works element by element.
    *columns : float or Series
        Numbers, or columns of one length.

    Returns
    -------
    ndarray
        One value a row; a single one where all columns are numbers.

    Examples
    --------
    >>> float(in_blocks(np.add, 1.0, 2.0))
    3.0
    """
    arrays = [np.asarray(column, dtype=float) for column in columns]
    shape = np.broadcast_shapes(*(array.shape for array in arrays))
    if not shape or shape[0] <= _BLOCK:
        return np.asarray(formula(*arrays))
    rows = [np.broadcast_to(array, shape) for array in arrays]
    values = np.empty(shape)
    for start in range(0, shape[0], _BLOCK):
        block = slice(start, start + _BLOCK)
        values[block] = formula(*(column[block] for column in rows))
    return values


def named(name: str, values: Measured) -> Measured:
    """Return a column under its canonical name; a plain number stays one.

    Parameters
    ----------
    name : str
        Canonical name.
    values : float or Series
        What was computed.

    Returns
    -------
    same kind as `values`

    Examples
    --------
    >>> named("ey_pct", 20.0)
    20.0
    """
    if isinstance(values, pd.Series):
        return values.rename(name)
    return float(values)


def same_kind(like: Measured, values: np.ndarray) -> Measured:
    """Return an array as the kind of another value: a float, or a Series with its index.

    Parameters
    ----------
    like : float or Series
        Whose kind and index to take.
    values : ndarray
        One value, or one a row.

    Returns
    -------
    same kind as `like`

    Examples
    --------
    >>> same_kind(1.0, np.array(2.5))
    2.5
    """
    if isinstance(like, pd.Series):
        return pd.Series(values, index=like.index, dtype=float, copy=False)
    return float(values)


def _all_inside(values: np.ndarray, span: Span) -> bool:
    """Return True only where a look at the two ends settles it: no gap, nothing outside."""
    if not values.size:
        return True
    low, high = values.min(), values.max()
    above = low > span.low if span.open_low else low >= span.low
    return bool(above and high <= span.high and np.isfinite(high))


def _outside(values: np.ndarray, span: Span) -> np.ndarray:
    below = values <= span.low if span.open_low else values < span.low
    outside: np.ndarray = below | (values > span.high) | np.isinf(values)
    return outside


def _outside_sentence(
    entry: Quantity,
    column: float | pd.Series[float],
    values: np.ndarray,
    outside: np.ndarray,
) -> str:
    first = int(np.argmax(outside))
    value = float(values[first])
    bounded = math.isfinite(entry.possible.low) and math.isfinite(entry.possible.high)
    unit = "" if entry.unit in ("", "1") else f" {entry.unit}"
    rule = f"{entry.name} must {'lie in' if bounded else 'be'} {entry.possible}{unit}"
    if not isinstance(column, pd.Series):
        verb = "does" if bounded else "is"
        return f"{rule}; {value:g} {verb} not{_remedy(value, entry.soft)}"
    row: Hashable = column.index[first]
    count = int(outside.sum())
    verb = _VERBS[bounded][count > 1]
    return (
        f"{rule}; {count} of {len(values)} rows {verb} not, first {value:g} at row {row}"
        f"{_remedy(value, entry.soft)}"
    )


def _remedy(value: float, usual: Span) -> str:
    """Return the power of ten that would make the value a usual one, as a question."""
    for factor in (10, 100, 1000):
        if usual.high < np.inf and usual.holds(value / factor):
            return f" (divide by {factor}?)"
    return " (mistyped, or another unit?)"
