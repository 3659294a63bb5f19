"""Whether what is asked about can be told apart from what went along with it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.rows import AGE
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.confounding import RED, inflation_limits, sweep

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.rows import BagRows

__all__ = ["GoesAlong", "goes_along"]


@dataclass(frozen=True, slots=True)
class GoesAlong:
    """What cannot be told apart from a column, or hardly.

    Attributes
    ----------
    column : str
        The column asked about.
    partner : str
        What goes along with it; empty where nothing does.
    inflation : float
        By how much the partner alone multiplies the variance of the answer; infinite
        where the two cannot be told apart.
    """

    column: str
    partner: str = ""
    inflation: float = 1.0

    @property
    def inseparable(self) -> bool:
        """Whether no shot tells the two apart."""
        return math.isinf(self.inflation)


def goes_along(
    rows: BagRows, column: str, *, with_columns: Sequence[str], limit: float | None = None
) -> GoesAlong:
    """Return which of some columns goes along with one so closely that it cannot be judged.

    Parameters
    ----------
    rows : BagRows
        Rows, with every column in their frame.
    column : str
        The column asked about, a number.
    with_columns : sequence of str
        Columns it may go along with, those allowed for and those that could not be.
    limit : float, optional
        Inflation from which two columns count as going along; by default 5, and more on
        small logs, where chance alone makes columns go along.

    Returns
    -------
    GoesAlong
        The closest of those beyond the limit.

    Notes
    -----
    Each column is held against the one asked about with the roast age beside both, so that
    what age itself costs is not laid at its door.

    References
    ----------
    .. [1] Fox and Monette (1992), J. Am. Stat. Assoc. 87, 178: generalised inflation.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aabbccdd"), "time_s": 36.0})
    >>> shots["roast_age_d"] = [4.0, 4.0, 8.0, 8.0, 12.0, 12.0, 20.0, 20.0]
    >>> shots["grind_setting"] = [11.0] * 4 + [12.0] * 4
    >>> rows = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> rows.prepared.frame["after"] = [0.0] * 4 + [1.0] * 4
    >>> found = goes_along(rows, "after", with_columns=["grind_setting"])
    >>> found.partner, found.inseparable
    ('grind_setting', True)
    """
    known = {each.column: each for each in rows.prepared.predictors}
    others = [known[name] for name in with_columns if name in known and name != AGE]
    age = [known[AGE]] if AGE in known else []
    worst = GoesAlong(column)
    for other in others:
        found = _against(rows, Predictor(column, "adjuster"), other, age)
        allowed = limit if limit is not None else _limit(rows, other, age)
        if found.inflation >= allowed and found.inflation > worst.inflation:
            worst = found
    return worst


def _against(
    rows: BagRows, asked: Predictor, other: Predictor, age: Sequence[Predictor]
) -> GoesAlong:
    """Return by how much one column inflates the other, age beside both."""
    codes = np.zeros(rows.n_shots, dtype=np.intp)
    swept = sweep(rows.prepared.frame, [asked, other, *age], codes)
    beside = [each.column for each in age]
    without = swept.inflation(asked.column, beside)
    if math.isinf(without):
        return GoesAlong(asked.column)
    return GoesAlong(
        asked.column,
        other.column,
        swept.inflation(asked.column, [other.column, *beside]) / without,
    )


def _limit(rows: BagRows, other: Predictor, age: Sequence[Predictor]) -> float:
    limits = inflation_limits(
        width=1, others=other.width + len(age), df=rows.n_sessions - 1, n_terms=1
    )
    return max(RED, limits.red)
