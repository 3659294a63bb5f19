"""A least-squares problem, checked before anything is solved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.linear.scaling import ScaledDesign, centred_and_scaled, scaled_powers
from yieldwright.models.terms.columns import ROUNDING
from yieldwright.models.terms.design import INTERCEPT, Design

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Problem", "posed", "posed_in_powers"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """Columns as given and scaled, their names and origins, and what they explain.

    Attributes
    ----------
    matrix : ndarray
        Design in the units of the user, ones first.
    scaled : ScaledDesign
        The same in columns fit for solving.
    observed : ndarray
        Response, one value per row.
    names : tuple of str
        Name of each coefficient.
    sources : tuple of str
        Name to report for each column where columns stand for one another.
    design : Design or None
        Where the matrix was made from columns of a table.
    """

    matrix: Array
    scaled: ScaledDesign
    observed: Array
    names: tuple[str, ...]
    sources: tuple[str, ...]
    design: Design | None = None


def posed(
    design: Design | Array, response: pd.Series[float] | Array, *, names: Sequence[str] = ()
) -> Problem:
    """Return the problem of a design and a response, or say why it is none.

    Parameters
    ----------
    design : Design or ndarray
        What explains; a plain matrix needs a first column of ones.
    response : Series or ndarray
        What is explained. [any unit]
    names : sequence of str, optional
        Names of the columns of a plain matrix, intercept first.

    Returns
    -------
    Problem

    Raises
    ------
    MisalignedError, OutOfRangeError, TooFewShotsError
        As in `fit_least_squares`.

    Examples
    --------
    >>> matrix = np.column_stack([np.ones(3), [0.0, 1.0, 2.0]])
    >>> posed(matrix, np.array([1.0, 2.0, 4.0])).names
    ('(intercept)', 'x1')
    """
    if isinstance(design, Design):
        _require_same_rows(response, design.index)
        matrix, labels, sources = design.matrix, design.columns, design.sources
    else:
        matrix = np.asarray(design, dtype=float)
        labels = tuple(names) or (INTERCEPT, *(f"x{k}" for k in range(1, matrix.shape[-1])))
        sources = (INTERCEPT, *labels[1:])
    observed = np.asarray(response, dtype=float)
    _require_sound(matrix, observed, labels)
    remembered = design if isinstance(design, Design) else None
    return Problem(matrix, centred_and_scaled(matrix), observed, labels, sources, remembered)


def posed_in_powers(values: Array, response: Array, degree: int) -> Problem:
    """Return the problem of a polynomial and a response, or say why it is none.

    Parameters
    ----------
    values : ndarray
        What explains. [any unit]
    response : ndarray
        What is explained. [any unit]
    degree : int
        Highest power, at least 1.

    Returns
    -------
    Problem

    Raises
    ------
    MisalignedError, OutOfRangeError, TooFewShotsError
        As in `fit_polynomial`.

    Examples
    --------
    >>> posed_in_powers(np.arange(4.0), np.array([0.0, 1.0, 4.0, 9.0]), 2).names
    ('(intercept)', 'x^1', 'x^2')
    """
    if degree < 1:
        raise OutOfRangeError(f"degree must be at least 1, not {degree}")
    numbers, observed = np.asarray(values, dtype=float), np.asarray(response, dtype=float)
    matrix = np.column_stack([numbers**power for power in range(degree + 1)])
    labels = (INTERCEPT, *(f"x^{power}" for power in range(1, degree + 1)))
    _require_sound(matrix, observed, labels)
    if np.ptp(numbers) <= ROUNDING * np.abs(numbers).max():
        raise OutOfRangeError(f"a polynomial needs values that vary; all are {numbers[0]:g}")
    return Problem(matrix, scaled_powers(numbers, degree), observed, labels, labels)


def _require_same_rows(response: pd.Series[float] | Array, index: pd.Index) -> None:
    if isinstance(response, pd.Series) and not response.index.equals(index):
        raise MisalignedError(
            f"design ({len(index)} rows) and response ({len(response)} rows) carry different "
            "indexes; take both from one table"
        )


def _require_sound(matrix: Array, observed: Array, labels: tuple[str, ...]) -> None:
    if matrix.ndim != 2 or not np.all(matrix[:, :1] == 1):
        raise OutOfRangeError("a design must be a table of columns, the first of them all ones")
    if matrix.shape != (*observed.shape, len(labels)):
        raise MisalignedError(
            f"{len(matrix)} rows of {matrix.shape[1]} columns do not go with {len(observed)} "
            f"responses and {len(labels)} names; give one response a row, one name a column"
        )
    if len(observed) <= len(labels):
        raise TooFewShotsError(
            f"{len(observed)} rows cannot carry {len(labels)} coefficients and an estimate of "
            f"their error; bring at least {len(labels) + 1} rows, or ask for fewer terms"
        )
    _require_finite(matrix, "design")
    _require_finite(observed, "response")
    if np.ptp(observed) <= ROUNDING * np.abs(observed).max():
        raise OutOfRangeError(
            f"the response must vary; it is {observed[0]:g} in all {len(observed)} rows, so "
            "there is nothing to explain (constant_columns lists such columns)"
        )


def _require_finite(values: Array, what: str) -> None:
    finite = np.isfinite(values)
    if not finite.all():
        unusable = ~finite.reshape(len(values), -1).all(axis=1)
        raise OutOfRangeError(
            f"the {what} must be finite in every row; {unusable.sum()} of {len(values)} rows "
            f"are not, first row {int(np.argmax(unusable))} (drop such rows, and say how many)"
        )
