"""Whether raters put targets in the same order: Kendall's W."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special, stats

from yieldwright.errors import OutOfRangeError
from yieldwright.models.agreement.ratings import complete_ratings

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Concordance", "concordance"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Concordance:
    """How far raters agree on an order.

    Attributes
    ----------
    w : float
        0 where their orders cancel, 1 where all have the same.
    chi_square : float
        Statistic of the test that all orders are chance.
    df : int
        Targets less one.
    p_value : float
        Its chance under that hypothesis; rough with fewer than 8 targets.
    """

    w: float
    chi_square: float
    df: int
    p_value: float


def concordance(ratings: pd.DataFrame | Array, *, ties: bool = True) -> Concordance:
    """Return Kendall's W of a complete table of targets × raters.

    Parameters
    ----------
    ratings : DataFrame or ndarray
        One row per target, one column per rater, no gaps. [any unit]
    ties : bool
        Whether equal ratings of one rater are allowed for.

    Returns
    -------
    Concordance

    Raises
    ------
    TooFewShotsError
        If there are fewer than two targets or raters.
    OutOfRangeError
        If a rating is missing or infinite, or every rater gave one rating throughout.

    References
    ----------
    .. [1] Kendall and Babington Smith (1939), Ann. Math. Stat. 10, 275.

    Examples
    --------
    >>> concordance(np.array([[1.0, 2.0], [2.0, 3.0], [3.0, 9.0]])).w
    1.0
    """
    table = complete_ratings(ratings)
    n, m = table.shape
    ranks = stats.rankdata(table, axis=0)
    sums = ranks.sum(axis=1)
    spread = float(((sums - sums.mean()) ** 2).sum())
    largest = m**2 * (n**3 - n) - (m * _tied(table) if ties else 0.0)
    if not largest > 0:
        raise OutOfRangeError("every rater gave one rating throughout, so there is no order")
    w = 12 * spread / largest
    chi_square = m * (n - 1) * w
    return Concordance(w, chi_square, n - 1, float(special.chdtrc(n - 1, chi_square)))


def _tied(table: Array) -> float:
    """Return the sum of t³ − t over the ties of all raters."""
    sizes = [np.unique(column, return_counts=True)[1] for column in table.T]
    return float(sum((counts**3 - counts).sum() for counts in sizes))
