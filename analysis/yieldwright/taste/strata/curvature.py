"""Whether grind and age bend their lines: curves wherever the log can bear them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.errors import AliasedColumnsError
from yieldwright.formatting import count
from yieldwright.models.contrasts.effects import curvature
from yieldwright.taste.strata.stratum_fits import CURVED, StratumFit

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

__all__ = ["Curvature", "bend"]

#: A curve is tried with at least so many different values …
LEAST_VALUES = 3

#: … and only where it leaves at least so many degrees of freedom.
LEAST_DF = 6

#: Chance of saying that a straight line bends.
ALPHA = 0.05


@dataclass(frozen=True, slots=True)
class Curvature:
    """Whether a curve in one column was tried, and what came of it.

    Attributes
    ----------
    column : str
        Column that might bend.
    tried : bool
        Whether the log could bear it.
    bends : bool
        Whether the squared term differs from zero at the 5 % level.
    p_value : float
        Of the squared term; missing where it was not tried.
    reason : str
        Why it was not tried; empty where it was.
    """

    column: str
    tried: bool = False
    bends: bool = False
    p_value: float = math.nan
    reason: str = ""


def bend(
    straight: StratumFit,
    refit: Callable[[frozenset[str]], StratumFit],
    *,
    undecidable: Collection[str] = (),
) -> tuple[StratumFit, tuple[Curvature, ...]]:
    """Return the fit with every curve the log can bear, and what was tried.

    Parameters
    ----------
    straight : StratumFit
        With lines only.
    refit : callable
        Fits the same rows with the curves of a set of columns.
    undecidable : collection of str
        Columns whose effect cannot be told from another's, left straight.

    Returns
    -------
    fit : StratumFit
        The straight one where no curve could be tried.
    tried : tuple of Curvature
        One per column that might bend.

    Notes
    -----
    Tried with at least 3 different values and at least 6 degrees of freedom left over.
    Grind comes first, then age. A curve that was tried stays, whether or not it shows: a
    line chosen by looking at the curve's own p-value has intervals too narrow for what
    is then told of it.
    """
    found, tried = straight, []
    able = [each.column for each in straight.predictors if each.column not in undecidable]
    for column in (name for name in able if name in CURVED):
        reason = _unbearable(found, column)
        outcome = Curvature(column, reason=reason)
        if not reason:
            found, outcome = _attempt(found, column, refit)
        tried.append(outcome)
    return found, tuple(tried)


def _unbearable(fit: StratumFit, column: str) -> str:
    """Return why a curve in a column is not tried, empty where it is."""
    values = len(fit.frame[column].unique())
    if values < LEAST_VALUES:
        return f"only {values} different values"
    left = fit.fit.df_resid - 1
    if left < LEAST_DF:
        return f"it would leave {count(max(left, 0), 'degree')} of freedom, and needs {LEAST_DF}"
    return ""


def _attempt(
    fit: StratumFit, column: str, refit: Callable[[frozenset[str]], StratumFit]
) -> tuple[StratumFit, Curvature]:
    try:
        curved = refit(fit.curved | {column})
    except AliasedColumnsError:
        return fit, Curvature(column, reason="sessions hold too few different values each")
    p_value = curvature(curved.fit, column).p_value
    return curved, Curvature(column, tried=True, bends=p_value < ALPHA, p_value=p_value)
