"""The columns of a fit as orthonormal ones, in which leaving rows out is a small matter."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.linear.scaling import centred_and_scaled
from yieldwright.models.terms.design import design_of

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit

__all__ = [
    "Labels",
    "Orthonormal",
    "group_codes",
    "orthonormal",
    "orthonormal_columns",
    "summed",
]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: One label per row.
Labels = Sequence[Hashable] | pd.Series | npt.NDArray[np.generic]


@dataclass(frozen=True, slots=True, eq=False)
class Orthonormal:
    """Orthonormal columns, and the way back to the coefficients of the user.

    Attributes
    ----------
    columns : ndarray
        One row per row, one orthonormal column per coefficient.
    back : ndarray
        Coefficients of the user = `back` @ coefficients of these columns.
    """

    columns: Array
    back: Array

    def params(self, responses: Array) -> Array:
        """Return the coefficients of many responses by least squares.

        Parameters
        ----------
        responses : ndarray
            One row per response, one column per row of the design. [any unit]

        Returns
        -------
        ndarray
            One row per response.
        """
        return np.asarray(responses @ self.columns @ self.back.T)


def orthonormal(fit: LinearFit) -> Orthonormal:
    """Return the columns of a fit as orthonormal ones.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.

    Returns
    -------
    Orthonormal

    Raises
    ------
    RoleError
        If the fit was made from a plain matrix.
    """
    return orthonormal_columns(design_of(fit).matrix)


def orthonormal_columns(matrix: Array) -> Orthonormal:
    """Return the columns of a design as orthonormal ones.

    Parameters
    ----------
    matrix : ndarray
        Separable columns, the first all ones.

    Returns
    -------
    Orthonormal
    """
    scaled = centred_and_scaled(matrix)
    columns, upper = np.linalg.qr(scaled.matrix)
    return Orthonormal(columns, np.linalg.solve(upper.T, scaled.back.T).T)


def group_codes(labels: Labels, index: pd.Index | int, *, least: int = 2) -> Codes:
    """Return the group of each row as a number, in order of appearance.

    Parameters
    ----------
    labels : sequence of hashable or Series
        One label per row.
    index : Index or int
        Index of the rows, or how many there are.
    least : int
        Fewest groups that will do.

    Returns
    -------
    ndarray of int

    Raises
    ------
    MisalignedError
        If there is not one label per row.
    OutOfRangeError
        If a label is missing.
    TooFewShotsError
        If there are fewer groups than will do.
    """
    n_rows = index if isinstance(index, int) else len(index)
    own = labels.index if isinstance(labels, pd.Series) else index
    if len(labels) != n_rows or (isinstance(index, pd.Index) and not index.equals(own)):
        raise MisalignedError(
            f"{len(labels)} labels of groups do not go with {n_rows} rows; take both from one "
            "table"
        )
    missing = [row for row, label in enumerate(labels) if _is_missing(label)]
    if missing:
        raise OutOfRangeError(
            f"every row needs the label of its group; {len(missing)} of {n_rows} rows "
            f"have none, first row {min(missing)} (drop such rows, and say how many)"
        )
    numbers = {label: number for number, label in enumerate(dict.fromkeys(labels))}
    if len(numbers) < least:
        raise TooFewShotsError(f"{len(numbers)} of at least {least} groups needed; bring more")
    return np.fromiter((numbers[label] for label in labels), dtype=np.intp, count=n_rows)


def summed(values: Array, codes: Codes) -> Array:
    """Return the sum of rows over each group.

    Parameters
    ----------
    values : ndarray
        One row per row.
    codes : ndarray of int
        Group of each row, from 0 without gaps.

    Returns
    -------
    ndarray
        One row per group.
    """
    sums = np.zeros((int(codes.max()) + 1, *values.shape[1:]))
    np.add.at(sums, codes, values)
    return sums


def _is_missing(label: Hashable) -> bool:
    """Return whether there is no label; `pd.isna` would take apart a label of several parts."""
    return label is None or label is pd.NA or bool(label != label)  # noqa: PLR0124
