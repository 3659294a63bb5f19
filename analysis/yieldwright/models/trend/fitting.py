"""Some columns fitted to the rows of a trend, with a shift of each group where there are any."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.mixed.model import fit_mixed

if TYPE_CHECKING:
    from yieldwright.models.contrasts.estimating import LineFit
    from yieldwright.models.trend.rows import TrendRows

__all__ = ["fit_rows"]

Array = npt.NDArray[np.float64]


def fit_rows(rows: TrendRows, matrix: Array, response: Array | None = None) -> LineFit:
    """Fit columns to the rows of a trend.

    Parameters
    ----------
    rows : TrendRows
        Rows, and the groups that shift them.
    matrix : ndarray
        Columns to fit, one row per row.
    response : ndarray, optional
        What to fit them to; by default the response of the rows.

    Returns
    -------
    LinearFit or MixedFit
        Least squares where there are no groups.

    Raises
    ------
    AliasedColumnsError, OutOfRangeError, TooFewShotsError
        As in `fit_least_squares` and `fit_mixed`.

    Examples
    --------
    >>> from yieldwright.models.trend.rows import trend_rows
    >>> rows = trend_rows([1, 2, 3, 4], [2.0, 4.1, 5.9, 8.0])
    >>> round(float(fit_rows(rows, np.column_stack([rows.flat, rows.x])).params[1]), 2)
    1.98
    """
    values = rows.y if response is None else response
    if rows.codes is None:
        return fit_least_squares(matrix, values)
    return fit_mixed(matrix, values, [rows.grouping()])
