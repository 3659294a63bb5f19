"""Whether one slope does for all thresholds: the check behind every cumulative-link fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.errors import OutOfRangeError
from yieldwright.models.ordinal._separation import Highest, highest, row_space
from yieldwright.models.terms.terms import Blocks

if TYPE_CHECKING:
    from yieldwright.models.ordinal._posing import OrdinalPosing
    from yieldwright.models.ordinal.model import OrdinalFit

__all__ = ["SlopeCheck", "check_slopes", "slope_check_table"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SlopeCheck:
    """Test of one slope for all thresholds against one for each.

    Attributes
    ----------
    term : str
        Header of the column.
    log_likelihood : float
        With a slope for each threshold.
    statistic, p_value : float
        Twice the gain, and the probability of one as large where one slope does; not a
        number where the rows cannot carry so many slopes.
    df : int
        Slopes added.
    separated : bool
        Whether a slope of some threshold has no finite estimate: the chi-square
        distribution is then a poor guide.
    """

    term: str
    log_likelihood: float
    statistic: float
    p_value: float
    df: int
    separated: bool


def check_slopes(fit: OrdinalFit) -> tuple[SlopeCheck, ...]:
    """Return for each term the test of one slope for all thresholds.

    Parameters
    ----------
    fit : OrdinalFit
        From `fit_ordinal`.

    Returns
    -------
    tuple of SlopeCheck
        One per term but blocks, whose slopes nobody reads.

    Raises
    ------
    OutOfRangeError
        If only two levels occur: one threshold has one slope.

    Notes
    -----
    The likelihood ratio of a fit in which this term, and no other, has a slope for each
    threshold [1]_. On few rows it finds only gross departures: a large p-value does not
    show that one slope does.

    References
    ----------
    .. [1] Peterson and Harrell (1990), Applied Statistics 39, 205.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.model import fit_ordinal
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaaabbbbb"), "y": [1, 1, 2, 2, 3, 1, 2, 3, 3, 3]})
    >>> fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["y"])
    >>> [(each.df, round(each.p_value, 3)) for each in check_slopes(fit)]
    [(1, 0.578)]
    """
    if len(fit.levels) == 2:
        raise OutOfRangeError(
            "only two levels occur, so there is one threshold and one slope: nothing to check"
        )
    columns = [term.column for term in fit.design.terms if not isinstance(term, Blocks)]
    return tuple(_checked(fit, column) for column in columns)


def slope_check_table(checks: tuple[SlopeCheck, ...]) -> pd.DataFrame:
    """Return the checks as a table.

    Parameters
    ----------
    checks : tuple of SlopeCheck
        From `check_slopes`.

    Returns
    -------
    DataFrame
        One row per term: term, log_likelihood, statistic, df, p_value, separated.

    Examples
    --------
    >>> len(slope_check_table(()))
    0
    """
    columns = ["term", "log_likelihood", "statistic", "df", "p_value", "separated"]
    rows = [[getattr(each, column) for column in columns] for each in checks]
    return pd.DataFrame(rows, columns=columns)


def _checked(fit: OrdinalFit, column: str) -> SlopeCheck:
    place = fit.design.place(column)
    width = place.stop - place.start
    added = width * (fit.posing.n_cuts - 1)
    if fit.n_rows <= fit.n_parameters + added:
        return SlopeCheck(column, np.nan, np.nan, np.nan, added, separated=False)
    wide = _widened(fit.posing, slice(place.start - 1, place.stop - 1))
    statistic = max(2 * (wide.value - fit.log_likelihood), 0.0)
    p_value = float(special.chdtrc(added, statistic))
    return SlopeCheck(column, wide.value, statistic, p_value, added, not wide.cone.is_empty)


def _widened(posing: OrdinalPosing, place: slice) -> Highest:
    """Return the peak with a slope for each threshold in some columns."""
    likelihood = posing.per_cut(place)
    start = np.zeros(likelihood.n_parameters)
    start[: posing.n_cuts] = posing.start[: posing.n_cuts]
    # A level that some group never shows leaves combinations without any row.
    basis = row_space(likelihood)
    return highest(likelihood.turned(basis), basis.T @ start)
