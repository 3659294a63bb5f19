"""What went along with the age of a bag so closely that the log cannot split the two."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.ageing.trend.rows import AGE, BagRows
from yieldwright.cautions import Caution
from yieldwright.formatting import number, sentence_case
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.confounding import ALIASED, coded, inflation_limits
from yieldwright.taste.confounding.separating import age_next, repeats_that_separate
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.taste.confounding.separating import SeparatingShot

__all__ = ["Entwined", "entwined_with_age", "inflation_beside"]

Array = npt.NDArray[np.float64]

#: Variance between sessions over that from shot to shot that is taken for granted here, so
#: that what can be split never hangs on how the shots came out: sessions half as far apart
#: as the shots inside them (an assumption; common practice, no source).
ASSUMED_RATIO = 0.25


@dataclass(frozen=True, slots=True)
class Entwined:
    """A column that cannot be told apart from the age of the bag.

    Attributes
    ----------
    column : str
        What went along with the age.
    inflation : float
        How many times larger the variance of the change per day grows beside it; infinite
        where one follows from the other.
    correlation : float
        Of the two from shot to shot; missing for levels. [1]
    separation : SeparatingShot or None
        Shots that would tell them apart; None where none of what was tried would.
    """

    column: str
    inflation: float
    correlation: float
    separation: SeparatingShot | None

    @property
    def caution(self) -> Caution:
        """What a reader must know."""
        label = column_label(self.column)
        seen = (
            "one follows from the other"
            if math.isinf(self.inflation)
            else f"variance inflation {number(self.inflation, figures=2)}"
        )
        together = (
            ""
            if math.isnan(self.correlation)
            else f", correlation {number(self.correlation, figures=2)}"
        )
        remedy = "" if self.separation is None else self.separation.sentence
        return Caution(
            f"{self.column.replace('_', '-')}-with-age",
            "stop",
            f"{sentence_case(label)} and roast age went together ({seen}{together}): which of "
            "the two changed the shots, this log cannot tell.",
            remedy or _change(self.column),
            (self.column, AGE),
        )


def entwined_with_age(rows: BagRows) -> tuple[Entwined, ...]:
    """Return the columns beside the age that the log cannot split from it.

    Parameters
    ----------
    rows : BagRows
        Rows with an age that differs.

    Returns
    -------
    tuple of Entwined
        The worst first.

    Notes
    -----
    Inflation is that of the slope in age when one column is added, with sessions that
    shift their shots: what varies inside sessions is told apart from age, however closely
    its means follow it. It counts from the limits of the taste fits on, which grow on small
    logs; of a column that is the same all through each session, sessions are what is counted.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aabbccddeeff"), "time_s": 36.0})
    >>> shots["roast_age_d"] = np.repeat([4.0, 8.0, 12.0, 16.0, 20.0, 24.0], 2)
    >>> shots["grind_setting"] = 12 - shots["roast_age_d"] / 4
    >>> rows = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> [each.column for each in entwined_with_age(rows)]
    ['grind_setting']
    """
    found = [entry for each in rows.beside if (entry := _entwined(rows, each)) is not None]
    return tuple(sorted(found, key=lambda entry: -entry.inflation))


def inflation_beside(
    rows: BagRows,
    asked: Predictor,
    other: Predictor,
    beside: Sequence[Predictor] = (),
    *,
    sessions_shift: bool,
) -> float:
    """Return by how much one column alone inflates the variance of another's slope.

    Parameters
    ----------
    rows : BagRows
        Rows, with every column in their frame.
    asked : Predictor
        The column asked about, a number.
    other : Predictor
        The column that may go along with it.
    beside : sequence of Predictor
        Columns that stand beside both, so that what those cost is not laid at its door.
    sessions_shift : bool
        Whether sessions shift their shots: what varies inside them is then told apart,
        however closely the means of the two follow each other.

    Returns
    -------
    float
        1 where `beside` leaves nothing to inflate; infinite where one follows from the other.

    References
    ----------
    .. [1] Fox and Monette (1992), J. Am. Stat. Assoc. 87, 178: generalised inflation.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("abcd"), "time_s": 36.0})
    >>> shots["roast_age_d"] = [4.0, 8.0, 12.0, 16.0]
    >>> shots["grind_setting"] = [12.0, 11.0, 11.0, 12.0]
    >>> rows = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> age, grind = Predictor("roast_age_d", "adjuster"), Predictor("grind_setting", "setting")
    >>> inflation_beside(rows, age, grind, sessions_shift=False)
    1.0
    """
    frame = rows.prepared.frame
    given = [np.ones((len(frame), 1)), *(coded(frame, each) for each in beside)]
    blocks = [*given, coded(frame, asked), coded(frame, other)]
    matrix = np.column_stack(blocks)
    if sessions_shift:
        matrix = _whitened(matrix, rows)
    fixed = matrix[:, : sum(each.shape[1] for each in given)]
    column, others = matrix[:, [fixed.shape[1]]], matrix[:, fixed.shape[1] + 1 :]
    whole = float((_left(column, fixed[:, :1]) ** 2).sum())
    alone = _left(column, fixed)
    without = float((alone**2).sum())
    if without * ALIASED <= whole:
        return 1.0
    left = float((_left(alone, _left(others, fixed)) ** 2).sum())
    return max(without / left, 1.0) if left * ALIASED > whole else math.inf


def _entwined(rows: BagRows, predictor: Predictor) -> Entwined | None:
    inflation = inflation_beside(rows, Predictor(AGE, "adjuster"), predictor, sessions_shift=True)
    constant = rows.same_in_sessions(predictor.column)
    limits = inflation_limits(
        width=1,
        others=predictor.width,
        df=(rows.n_sessions if constant else rows.n_shots) - 1,
        n_terms=1 + len(rows.beside),
    )
    if inflation < limits.red:
        return None
    return Entwined(
        predictor.column, inflation, _correlation(rows, predictor), _separation(rows, predictor)
    )


def _whitened(matrix: Array, rows: BagRows) -> Array:
    """Return rows from which their session's share of its mean is taken off."""
    if not rows.grouped:
        return matrix
    codes = rows.codes
    sizes = np.bincount(codes)
    means = np.column_stack([np.bincount(codes, column) / sizes for column in matrix.T])
    share = 1 - 1 / np.sqrt(1 + ASSUMED_RATIO * sizes)
    return np.asarray(matrix - (share[:, None] * means)[codes])


def _left(columns: Array, others: Array) -> Array:
    """Return what others leave of some columns."""
    return np.asarray(columns - others @ np.linalg.lstsq(others, columns, rcond=None)[0])


def _correlation(rows: BagRows, predictor: Predictor) -> float:
    if predictor.levels:
        return math.nan
    values = rows.prepared.frame[predictor.column].to_numpy(dtype=float)
    return float(np.corrcoef(values, rows.ages)[0, 1])


def _separation(rows: BagRows, predictor: Predictor) -> SeparatingShot | None:
    """Return the repeats that would split the two, None where nothing tried would."""
    age = age_next(rows.comparable)
    if math.isnan(age) or predictor.column == "service_stretch":
        return None
    found = repeats_that_separate(
        rows.prepared.frame,
        [predictor, Predictor(AGE, "adjuster")],
        (predictor.column, AGE),
        blocked=False,
        fixed={AGE: age},
    )
    return found if found.shots else None


def _change(column: str) -> str:
    if column == "service_stretch":
        return "Pull the same setting on the day before and the day after the next service."
    return f"Pull shots at an earlier {column_label(column)} today."
