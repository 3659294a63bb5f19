"""Tables of ratings, looked over before anything is computed from them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, TooFewShotsError

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["complete_ratings"]

Array = npt.NDArray[np.float64]


def complete_ratings(ratings: pd.DataFrame | Array) -> Array:
    """Return a table of ratings as numbers, or say why it cannot be compared.

    Parameters
    ----------
    ratings : DataFrame or ndarray
        One row per target, one column per rater. [any unit]

    Returns
    -------
    ndarray

    Raises
    ------
    TooFewShotsError
        If there are fewer than two targets or raters.
    OutOfRangeError
        If a rating is missing or infinite.

    Examples
    --------
    >>> complete_ratings(np.array([[1, 2], [2, 2], [3, 1]])).shape
    (3, 2)
    """
    table = np.asarray(ratings, dtype=float)
    if table.ndim != 2 or min(table.shape) < 2:
        raise TooFewShotsError("agreement needs at least two targets and two raters")
    gaps = int((~np.isfinite(table)).any(axis=1).sum())
    if gaps:
        raise OutOfRangeError(
            f"{gaps} of {len(table)} targets lack a rating; leave them out, or use alpha"
        )
    return table
