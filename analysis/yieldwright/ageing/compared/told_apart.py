"""Whether what is asked about can be told apart from what went along with it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.ageing.trend.entangled import inflation_beside
from yieldwright.ageing.trend.rows import AGE
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.confounding import RED, inflation_limits

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.trend.rows import BagRows

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
    rows: BagRows, column: str, *, with_columns: Sequence[str], beside: Sequence[str] = (AGE,)
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
    beside : sequence of str
        Columns that stand beside both, so that what those cost is not laid at its door.

    Returns
    -------
    GoesAlong
        The closest of those whose inflation reaches 5, or on small logs, where chance alone
        makes columns go along, the limit of the taste fits.

    References
    ----------
    .. [1] Fox and Monette (1992), J. Am. Stat. Assoc. 87, 178: generalised inflation.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.trend.rows import bag_rows
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
    others = [known[name] for name in with_columns if name in known and name not in beside]
    apart = [known[name] for name in beside if name in known]
    worst = GoesAlong(column)
    for other in others:
        asked = Predictor(column, "adjuster")
        inflation = inflation_beside(rows, asked, other, apart, sessions_shift=False)
        if inflation >= max(_limit(rows, other, apart), worst.inflation):
            worst = GoesAlong(column, other.column, inflation)
    return worst


def _limit(rows: BagRows, other: Predictor, apart: Sequence[Predictor]) -> float:
    others = other.width + sum(each.width for each in apart)
    df = (rows.n_sessions if rows.same_in_sessions(other.column) else rows.n_shots) - 1
    limits = inflation_limits(width=1, others=others, df=df, n_terms=1)
    return max(RED, limits.red)
