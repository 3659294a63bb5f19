"""Whether what a trend leaves goes on from one row to the next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, OutOfRangeError, TooFewShotsError
from yieldwright.models.linear._orthonormal import Labels, group_codes, summed
from yieldwright.models.trend.quadratic_ratios import left_over, ratio_moments, ratio_probability

if TYPE_CHECKING:
    from yieldwright.models.trend.rows import Values

__all__ = ["Carried", "SerialCheck", "serial_correlation"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Share of its size below which a residual is what rounding leaves.
ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Carried:
    """How far one residual carries over to the next.

    Attributes
    ----------
    correlation : float
        Sum of products of neighbours over the sum of squares. [1]
    expected, sd : float
        Mean and standard deviation of it where nothing carries over; the mean lies below 0
        in small tables. [1]
    p_value : float
        Probability of one as far out on either side, exact for normal rows. [1]
    durbin_watson : float
        Sum of squared differences of neighbours over the sum of squares. [1]
    n, n_pairs, df : int
        Residuals, pairs of neighbours, and degrees of freedom left. [count]
    """

    correlation: float
    expected: float
    sd: float
    p_value: float
    durbin_watson: float
    n: int
    n_pairs: int
    df: int


@dataclass(frozen=True, slots=True)
class SerialCheck:
    """Whether residuals carry over, inside groups and from group to group.

    Attributes
    ----------
    inside : Carried or None
        Between neighbouring rows of one group, their groups' means taken off; of all rows
        where there are no groups. None where too few rows are left to tell.
    across : Carried or None
        Between means of neighbouring groups. None where there are no groups, or too few.
    why_not_inside, why_not_across : str
        What is lacking; empty where there is a figure or nothing was asked.
    """

    inside: Carried | None
    across: Carried | None
    why_not_inside: str = ""
    why_not_across: str = ""


def serial_correlation(
    residuals: Values,
    design: npt.ArrayLike,
    *,
    groups: Labels | None = None,
    order: Values | None = None,
) -> SerialCheck:
    """Return how far residuals carry over to the next, with an exact test on small tables.

    Parameters
    ----------
    residuals : array-like
        Response less what the columns explain, one value per row; shifts of groups not
        taken off. The response itself will do. [any unit]
    design : array-like
        The columns, ones among them, one row per row.
    groups : sequence of hashable, optional
        Label of the group of each row, whose shift of the response is random.
    order : array-like, optional
        Numbers by which rows follow one another, without ties inside a group; as given
        where there is none. Groups follow one another by their first row.

    Returns
    -------
    SerialCheck

    Raises
    ------
    MisalignedError
        If columns, labels or order describe other rows.
    OutOfRangeError
        If a number is missing or infinite, order has ties inside a group, or the columns
        leave nothing.

    Notes
    -----
    Residuals of least squares are never independent, least of all in small tables. Their
    correlation is a ratio of quadratic forms, whose distribution follows from the columns
    and the order alone: it is computed exactly, for normal rows of one variance. Inside
    groups the mean of every group is taken off along with the columns. Across groups the
    means are fitted by the means of the columns; they count alike, which is exact where
    groups hold equally many rows, and close where shifts of groups are most of what
    differs. Two-sided p-values are twice the smaller tail.

    References
    ----------
    .. [1] Durbin and Watson (1971), Biometrika 58, 1.
    .. [2] Imhof (1961), Biometrika 48, 419.

    Examples
    --------
    >>> x = np.arange(10.0)
    >>> y = np.array([0, 1, 1, 1, 0, -1, -1, -1, 0, 1])
    >>> found = serial_correlation(y, np.column_stack([np.ones(10), x])).inside
    >>> round(found.correlation, 2), round(found.expected, 2), round(found.p_value, 3)
    (0.42, -0.2, 0.013)
    """
    values, columns = np.asarray(residuals, dtype=float), np.asarray(design, dtype=float)
    columns = columns[:, np.newaxis] if columns.ndim == 1 else columns
    _require_sound(values, columns)
    codes = None if groups is None else group_codes(groups, len(values), least=1)
    places = _in_order(order, len(values), codes)
    values, columns = values[places], columns[places]
    if codes is None or codes.max() == 0:
        inside, lacking = _tried(values, columns, np.arange(len(values) - 1))
        return SerialCheck(inside, None, lacking)
    codes = _renumbered(codes[places])
    inside, lacking_inside = _inside(values, columns, codes)
    counts = np.bincount(codes)
    means = summed(np.column_stack([values, columns]), codes) / counts[:, np.newaxis]
    across, lacking_across = _tried(means[:, 0], means[:, 1:], np.arange(len(counts) - 1))
    return SerialCheck(inside, across, lacking_inside, lacking_across)


def _inside(values: Array, columns: Array, codes: Codes) -> tuple[Carried | None, str]:
    """Return what carries over between neighbours of one group."""
    by_group = np.argsort(codes, kind="stable")
    values, columns, codes = values[by_group], columns[by_group], codes[by_group]
    firsts = np.flatnonzero(codes[1:] == codes[:-1])
    own = (codes[:, np.newaxis] == np.unique(codes)).astype(float)
    return _tried(values, np.column_stack([own, columns]), firsts)


def _tried(values: Array, columns: Array, firsts: Codes) -> tuple[Carried | None, str]:
    """Return what carries over, or what is lacking."""
    if not len(firsts):
        return None, "no two rows follow one another in a group"
    try:
        free = left_over(columns)
    except TooFewShotsError as lacking:
        return None, str(lacking)
    return _carried(values, free, firsts), ""


def _carried(values: Array, free: Array, firsts: Codes) -> Carried:
    left = free @ (free.T @ values)
    squares = float(left @ left)
    if squares <= (ROUNDING * np.abs(values).max()) ** 2 * len(values):
        raise OutOfRangeError("the columns explain every row, so no residual is left to follow")
    form = np.zeros((len(values), len(values)))
    form[firsts, firsts + 1] = form[firsts + 1, firsts] = 0.5
    correlation = float(left[firsts] @ left[firsts + 1]) / squares
    expected, sd = ratio_moments(form, free)
    below = ratio_probability(correlation, form, free)
    steps = left[firsts + 1] - left[firsts]
    return Carried(
        correlation=correlation,
        expected=expected,
        sd=sd,
        p_value=min(1.0, 2 * min(below, 1 - below)),
        durbin_watson=float(steps @ steps) / squares,
        n=len(values),
        n_pairs=len(firsts),
        df=free.shape[1],
    )


def _renumbered(codes: Codes) -> Codes:
    """Return groups numbered by their first row."""
    _, first, back = np.unique(codes, return_index=True, return_inverse=True)
    return np.asarray(np.argsort(np.argsort(first))[back], dtype=np.intp)


def _in_order(order: Values | None, n_rows: int, codes: Codes | None) -> Codes:
    if order is None:
        return np.arange(n_rows)
    numbers = np.asarray(order, dtype=float)
    if numbers.shape != (n_rows,):
        raise MisalignedError(f"{numbers.size} places in order do not go with {n_rows} rows")
    if not np.isfinite(numbers).all():
        raise OutOfRangeError("every row needs its place in order; some have none")
    own = np.zeros(n_rows, dtype=np.intp) if codes is None else codes
    if len(set(zip(numbers.tolist(), own.tolist(), strict=True))) < n_rows:
        raise OutOfRangeError(
            "two rows of one group share a place in order, so none follows the other; number "
            "the rows, or leave order out where they stand in order"
        )
    return np.argsort(numbers, kind="stable")


def _require_sound(values: Array, columns: Array) -> None:
    if values.ndim != 1 or columns.shape[:1] != values.shape:
        raise MisalignedError(
            f"{values.size} residuals do not go with {len(columns)} rows of columns"
        )
    if not (np.isfinite(values).all() and np.isfinite(columns).all()):
        raise OutOfRangeError("residuals and columns must be finite in every row")
