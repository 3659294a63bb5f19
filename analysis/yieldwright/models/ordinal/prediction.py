"""How likely each level is at stated values, with what the rows leave open."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.models.intervals.intervals import LEVEL, t_quantile
from yieldwright.models.terms.tried_combinations import require_tried

if TYPE_CHECKING:
    from yieldwright.models.ordinal.mixed import OrdinalMixedFit
    from yieldwright.models.ordinal.model import OrdinalFit

__all__ = ["LevelShare", "level_shares", "level_table"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LevelShare:
    """How likely one level is.

    Attributes
    ----------
    level : hashable
        The level.
    estimate, std_error : float
        Probability and its standard error. [1]
    ci_low, ci_high : float
        Limits of its interval, formed on the scale of log odds; not a number where the
        probability is 0 or 1, which separated rows claim and cannot show.
    """

    level: Hashable
    estimate: float
    std_error: float
    ci_low: float
    ci_high: float


def level_shares(
    fit: OrdinalFit | OrdinalMixedFit,
    at: Mapping[str, object] | None = None,
    *,
    level: float = LEVEL,
    df: float = np.inf,
) -> tuple[LevelShare, ...]:
    """Return the probability of each level at stated values, the other columns averaged.

    Parameters
    ----------
    fit : OrdinalFit or OrdinalMixedFit
        From `fit_ordinal` or `fit_ordinal_mixed`; with groups, for one in the middle.
    at : mapping of str to object, optional
        Values by column header; numbers not stated stand at their mean, factors and
        blocks weigh all their levels alike.
    level : float
        Confidence level of the intervals. [1]
    df : float
        Degrees of freedom of the quantiles. [1]

    Returns
    -------
    tuple of LevelShare
        One per level that occurs, lowest first.

    Raises
    ------
    OutOfRangeError
        If a number lies outside the values tried.
    UnknownNameError
        If a column or level is not in the fit.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.model import fit_ordinal
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaaabbbb"), "score": [1, 1, 1, 2, 1, 2, 2, 2]})
    >>> fit = fit_ordinal(build_design(frame, [Factor("band")]), frame["score"])
    >>> [(each.level, round(each.estimate, 2)) for each in level_shares(fit, {"band": "b"})]
    [(1, 0.25), (2, 0.75)]
    """
    row = fit.design.row(at)
    require_tried(fit.design, row, at or ())
    shares, slopes = _shares(fit, row)
    spread = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", slopes, fit.highest.cov, slopes), 0))
    open_ended = (shares > 0) & (shares < 1)
    odds = np.where(open_ended, special.logit(shares), np.nan)
    certain = np.where(open_ended, shares * (1 - shares), np.nan)
    reach = t_quantile(df, level=level) * spread / certain
    low, high = special.expit(odds - reach), special.expit(odds + reach)
    spread = np.where(open_ended, spread, np.nan)
    columns = (shares.tolist(), spread.tolist(), low.tolist(), high.tolist())
    return tuple(
        LevelShare(name, *values) for name, *values in zip(fit.levels, *columns, strict=True)
    )


def level_table(shares: Iterable[LevelShare]) -> pd.DataFrame:
    """Return the probabilities of levels as a table.

    Parameters
    ----------
    shares : iterable of LevelShare
        From `level_shares`.

    Returns
    -------
    DataFrame
        One row per level: level, estimate, std_error, ci_low, ci_high.

    Examples
    --------
    >>> level_table([]).columns.tolist()
    ['level', 'estimate', 'std_error', 'ci_low', 'ci_high']
    """
    columns = ["level", "estimate", "std_error", "ci_low", "ci_high"]
    rows = [[getattr(each, column) for column in columns] for each in shares]
    return pd.DataFrame(rows, columns=columns)


def _shares(fit: OrdinalFit | OrdinalMixedFit, row: Array) -> tuple[Array, Array]:
    """Return the share of each level, and its slopes in the scaled parameters."""
    n_cuts, link = fit.posing.n_cuts, fit.posing.link
    cuts = np.hstack([np.eye(n_cuts), np.tile(-row[1:], (n_cuts, 1))]) @ fit.posing.back
    places = np.array([fit.highest.combination(cut) for cut in cuts])
    places = np.concatenate([[-np.inf], places, [np.inf]])
    # Where a place is infinite its density, and with it every slope, is 0.
    density = link.density(places, link.tails(places))
    slopes = np.zeros((n_cuts + 2, fit.n_parameters))
    slopes[1:-1] = density[1:-1, None] * cuts
    return link.between(places[:-1], places[1:]), np.diff(slopes, axis=0)
