"""Where a fit may speak: between the values tried, and among combinations tried together."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
from scipy import optimize

from yieldwright.errors import OutOfRangeError
from yieldwright.models.terms.terms import Factor, Numeric
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    from yieldwright.models.terms.design import Design

__all__ = ["EDGE", "leverage_at", "nearest_combination", "require_combined", "require_tried"]

Array = npt.NDArray[np.float64]

#: Share of the half-range by which a value may overstep the edge for want of exact decimals.
EDGE = 1e-9

#: Share of the largest leverage by which another may exceed it by rounding.
ROUNDING = 1e-6


def require_tried(design: Design, row: Array, columns: Iterable[str]) -> None:
    """Refuse a row in which a number lies outside the values tried of its column.

    Parameters
    ----------
    design : Design
        What was fitted.
    row : ndarray
        One value per column of the design.
    columns : iterable of str
        Headers of the columns that were stated.

    Raises
    ------
    OutOfRangeError
        If a number lies outside; the text names the next step beyond the edge to try.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> design = build_design(pd.DataFrame({"grind": [8, 10, 12]}), [Numeric("grind")])
    >>> require_tried(design, design.row({"grind": 14}), ["grind"])
    Traceback (most recent call last):
        ...
    yieldwright.errors.OutOfRangeError: 'grind' was tried from 8 to 12; 14 lies outside, where \
nothing is predicted (the next to try is 13)
    """
    for column in columns:
        term, unit = design.term(column), float(row[design.place(column).start])
        if isinstance(term, Numeric) and abs(unit) > 1 + EDGE:
            edge = math.copysign(1.0, unit) * term.reach + term.middle
            beyond = edge + math.copysign(term.step, unit)
            raise OutOfRangeError(
                f"{quoted(column)} was tried from {term.low:g} to {term.high:g}; "
                f"{term.middle + unit * term.reach:g} lies outside, where nothing is predicted "
                f"(the next to try is {beyond:g})"
            )


def require_combined(design: Design, row: Array, columns: Iterable[str]) -> None:
    """Refuse a row whose values were each tried, but never in such a combination.

    Parameters
    ----------
    design : Design
        What was fitted.
    row : ndarray
        One value per column of the design.
    columns : iterable of str
        Headers of the columns that were stated.

    Raises
    ------
    OutOfRangeError
        If a number lies outside the values tried, several lie outside the convex hull of
        those tried together, or the row would have more leverage than any row fitted.
        The text names what lies outside, and the nearest combination that does not.

    Notes
    -----
    In the hull lies what is a weighted mean of rows fitted: found, in any number of
    columns, by linear programming. Leverage also sees levels that were never tried
    together with such numbers, and columns that were not stated and stand at their mean.

    References
    ----------
    .. [1] Cook (1979), J. Am. Stat. Assoc. 74, 169: leverage and the ellipsoid around rows.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 12], "age": [5, 9, 11, 15]})
    >>> design = build_design(frame, [Numeric("grind"), Numeric("age")])
    >>> at = {"grind": 12, "age": 13}
    >>> require_combined(design, design.row(at), at)
    Traceback (most recent call last):
        ...
    yieldwright.errors.OutOfRangeError: 'grind' 12 with 'age' 13 lies outside what was tried \
together, where nothing is predicted (the nearest inside is 'grind' 12 with 'age' 15)
    """
    stated = list(columns)
    require_tried(design, row, stated)
    numbers = [name for name in stated if isinstance(design.term(name), Numeric)]
    inside = nearest_combination(design, row, numbers)
    units = {name: float(row[design.place(name).start]) for name in numbers}
    if any(abs(inside[name] - unit) > 10 * EDGE for name, unit in units.items()):
        raise OutOfRangeError(
            f"{_in_words(design, units)} lies outside what was tried together, where nothing "
            f"is predicted (the nearest inside is {_in_words(design, inside)})"
        )
    own, largest = leverage_at(design, row), _largest_leverage(design)
    if own > largest * (1 + ROUNDING):
        nearest = design.matrix[_nearest_row(design, row, stated)]
        raise OutOfRangeError(
            f"{_combination(design, row, stated)} lies farther out than any row fitted "
            f"(leverage {own:.2g}, theirs at most {largest:.2g}), where nothing is predicted "
            f"(the nearest row has {_combination(design, nearest, stated)})"
        )


def nearest_combination(design: Design, row: Array, columns: Iterable[str]) -> dict[str, float]:
    """Return the numbers nearest to those of a row that lie inside the hull of the rows fitted.

    Parameters
    ----------
    design : Design
        What was fitted.
    row : ndarray
        One value per column of the design.
    columns : iterable of str
        Headers of numeric columns.

    Returns
    -------
    dict of str to float
        In units of the half-range, from the middle: the row's own where it lies inside.

    Notes
    -----
    Nearest is what moves the least, summed over the columns in units of what was tried.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> frame = pd.DataFrame({"grind": [8, 12, 10], "age": [5, 5, 15]})
    >>> design = build_design(frame, [Numeric("grind"), Numeric("age")])
    >>> at = {"grind": 12, "age": 10}
    >>> found = nearest_combination(design, design.row(at), at)
    >>> {name: round(unit, 6) for name, unit in found.items()}
    {'grind': 0.5, 'age': 0.0}
    """
    names = list(columns)
    if not names:
        return {}
    places = [design.place(name).start for name in names]
    point, tried = row[places], np.unique(design.matrix[:, places], axis=0)
    if len(names) == 1 or (np.abs(tried - point).max(axis=1) <= EDGE).any():
        return dict(zip(names, point.tolist(), strict=True))
    return dict(zip(names, _nearest_inside(tried, point).tolist(), strict=True))


def leverage_at(design: Design, row: Array) -> float:
    """Return the leverage a row would have among the rows fitted.

    Parameters
    ----------
    design : Design
        What was fitted.
    row : ndarray
        One value per column of the design.

    Returns
    -------
    float

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> design = build_design(pd.DataFrame({"grind": [8, 10, 12, 14]}), [Numeric("grind")])
    >>> round(leverage_at(design, design.row({"grind": 11})), 6)
    0.25
    """
    _, upper = np.linalg.qr(design.matrix)
    return float(np.sum(np.linalg.solve(upper.T, np.asarray(row, dtype=float)) ** 2))


def _nearest_inside(tried: Array, point: Array) -> Array:
    """Return the weighted mean of some places that moves a point the least."""
    n_places, n_names = tried.shape
    ways = np.hstack([np.eye(n_names), -np.eye(n_names)])
    equal = np.vstack([np.hstack([tried.T, ways]), np.repeat([1.0, 0.0], [n_places, 2 * n_names])])
    cost = np.repeat([0.0, 1.0], [n_places, 2 * n_names])
    found: Any = optimize.linprog(cost, A_eq=equal, b_eq=np.append(point, 1.0), method="highs")
    return np.asarray(found.x[:n_places] @ tried)


def _largest_leverage(design: Design) -> float:
    orthonormal, _ = np.linalg.qr(design.matrix)
    return float(np.sum(orthonormal**2, axis=1).max())


def _nearest_row(design: Design, row: Array, columns: Iterable[str]) -> int:
    """Return the position of the fitted row that differs least in some columns."""
    places = [place for name in columns for place in range(*design.place(name).indices(len(row)))]
    return int(np.abs(design.matrix[:, places] - row[places]).sum(axis=1).argmin())


def _in_words(design: Design, units: Mapping[str, float]) -> str:
    """Return numbers with their headers: `'grind' 12 with 'age' 5`."""
    terms = {name: design.term(name) for name in units}
    values = {
        name: term.middle + units[name] * term.reach
        for name, term in terms.items()
        if isinstance(term, Numeric)
    }
    return " with ".join(f"{quoted(name)} {value:.4g}" for name, value in values.items())


def _combination(design: Design, row: Array, columns: Iterable[str]) -> str:
    """Return what a row of the design stands for in some columns, numbers and levels."""
    return " with ".join(
        f"{quoted(name)} {_value(design, row, name)}"
        for name in columns
        if isinstance(design.term(name), Numeric | Factor)
    )


def _value(design: Design, row: Array, column: str) -> str:
    term, block = design.term(column), row[design.place(column)]
    if isinstance(term, Numeric):
        return f"{term.middle + float(block[0]) * term.reach:.4g}"
    codes = {level: term.at(level) for level in getattr(term, "levels", ())}
    return quoted(min(codes, key=lambda level: float(np.abs(codes[level] - block).sum())))
