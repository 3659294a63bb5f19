"""One mixed model for all strata: sessions, shots, tasters and bags may shift a response."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import TooFewShotsError, YieldwrightError
from yieldwright.models.mixed.contrasts import Approximation, mixed_contrast
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.terms.design import INTERCEPT, Design
from yieldwright.taste.strata.stratum_fits import StratumFit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.mixed.groups import Grouping
    from yieldwright.taste.strata.judging import Judged

__all__ = ["GroupedFit", "groupings_of", "in_groups", "mixed_model"]

Array = npt.NDArray[np.float64]

#: Columns whose groups may shift a response, where a table has them.
GROUPS = ("bag", "session", "taster", "shot")


@dataclass(frozen=True, eq=False)
class GroupedFit(StratumFit):
    """A stratum whose estimates come from a mixed model of all strata together.

    Attributes
    ----------
    mixed : MixedFit or None
        The model; the least-squares fit beside it serves diagnostics of shots.
    approximation : {"kenward_roger", "satterthwaite"}
        How degrees of freedom are found; the second is there to be studied.
    """

    mixed: MixedFit | None = None
    approximation: Approximation = "kenward_roger"

    def estimate(self, weights: Array, term: str) -> Estimate:
        """Return a weighted sum of coefficients of the mixed model.

        Parameters
        ----------
        weights : ndarray
            One per coefficient of the stratum.
        term : str
            What to call it.

        Returns
        -------
        Estimate

        Notes
        -----
        Degrees of freedom and standard error after Kenward and Roger: on 12 to 24 shots
        plain Satterthwaite intervals covered 90.5 to 97 %, on average 93.5 %; these 92 to 99 %,
        on average 96 % (500 simulated logs a line; the study of coverage has both).
        """
        if self.mixed is None:
            raise TooFewShotsError("this stratum has no mixed model behind it")
        carried = self._carried(weights, self.mixed)
        return mixed_contrast(self.mixed, carried, term=term, df=self.approximation)

    def _carried(self, weights: Array, mixed: MixedFit) -> Array:
        """Return the weights among all columns; a mean stands at the mean of other strata."""
        own = dict(zip(self.design.columns, weights.tolist(), strict=True))
        whole = float(own[INTERCEPT])
        means = mixed.problem.matrix.mean(axis=0)
        names = zip(mixed.names, means.tolist(), strict=True)
        return np.array([own.get(name, whole * mean) for name, mean in names])


def groupings_of(rows: pd.DataFrame, *, slope_by_bag: str = "") -> tuple[Grouping, ...]:
    """Return the groups whose shifts can be told in some rows.

    Parameters
    ----------
    rows : DataFrame
        One row per shot, or per score.
    slope_by_bag : str
        Column whose slope may differ from bag to bag; empty for none.

    Returns
    -------
    tuple of Grouping
        Columns among bag, session, taster and shot with at least two groups, of which
        some hold several rows. Bags are a factor of the design where none tilts.

    Examples
    --------
    >>> import pandas as pd
    >>> rows = pd.DataFrame({"session": list("aabb"), "shot": list("1234")})
    >>> [each.name for each in groupings_of(rows)]
    ['session']
    """
    found = [name for name in GROUPS if name in rows and 1 < _n_groups(rows[name]) < len(rows)]
    if not slope_by_bag:
        found = [name for name in found if name != "bag"]
    slopes = {"bag": slope_by_bag or None}
    return tuple(grouping(rows, name, slope=slopes.get(name), correlated=False) for name in found)


def _n_groups(labels: pd.Series) -> int:
    codes, _ = pd.factorize(labels.array)
    return int(codes.max(initial=-1)) + 1


def mixed_model(
    strata: Sequence[StratumFit], rows: pd.DataFrame, groupings: Sequence[Grouping]
) -> MixedFit:
    """Return the mixed model of everything that some strata explain with.

    Parameters
    ----------
    strata : sequence of StratumFit
        Fits whose terms enter together.
    rows : DataFrame
        One row per shot, or per score, with `response` and the predictors.
    groupings : sequence of Grouping
        Of the same rows.

    Returns
    -------
    MixedFit

    Raises
    ------
    AliasedColumnsError
        If columns, or spreads of groups, cannot be told apart.
    TooFewShotsError
        If there are not more rows than coefficients.
    OutOfRangeError
        If the response leaves no spread within groups.
    """
    terms = tuple(
        term
        for stratum in strata
        for term in stratum.design.terms
        if not any(term.column == each.name for each in groupings)
    )
    matrix = np.column_stack([np.ones(len(rows)), *(term.coded(rows) for term in terms)])
    labels = (INTERCEPT, *(label for term in terms for label in term.labels))
    design = Design(matrix, labels, terms, rows.index)
    return fit_mixed(design, rows["response"].to_numpy(dtype=float), groupings)


def in_groups(
    judged: Sequence[Judged], rows: pd.DataFrame, groupings: Sequence[Grouping]
) -> tuple[tuple[Judged, ...], str]:
    """Return strata whose estimates come from one mixed model, or why there is none.

    Parameters
    ----------
    judged : sequence of Judged
        Strata with fits of their own.
    rows : DataFrame
        One row per shot, or per score, with `response` and the predictors.
    groupings : sequence of Grouping
        Of the same rows.

    Returns
    -------
    judged : tuple of Judged
        As given, where there is no mixed model.
    reason : str
        Why not; empty where there is one.
    """
    fits = [each.fit for each in judged if each.fit is not None]
    if not fits:
        return tuple(judged), "nothing could be fitted"
    if any(each.layout.left_out for each in judged):
        return tuple(judged), "some levels never stood in one session with the rest"
    try:
        mixed = mixed_model(fits, rows, groupings)
    except YieldwrightError as problem:
        return tuple(judged), str(problem)
    return tuple(_in_group(each, fits, rows, groupings, mixed) for each in judged), ""


def _in_group(
    judged: Judged,
    fits: Sequence[StratumFit],
    rows: pd.DataFrame,
    groupings: Sequence[Grouping],
    mixed: MixedFit,
) -> Judged:
    if judged.fit is None:
        return judged
    others = [each for each in fits if each is not judged.fit]
    again = partial(_refitted, others=others, rows=rows, groupings=groupings)
    return replace(judged, fit=_grouped(judged.fit, mixed), regrouped=again)


def _refitted(
    fit: StratumFit,
    *,
    others: Sequence[StratumFit],
    rows: pd.DataFrame,
    groupings: Sequence[Grouping],
) -> StratumFit:
    """Return another fit of a stratum within the same groups, as it is where that fails."""
    try:
        return _grouped(fit, mixed_model([fit, *others], rows, groupings))
    except YieldwrightError:
        return fit


def _grouped(fit: StratumFit, mixed: MixedFit) -> GroupedFit:
    """Return a fit with a mixed model behind it; groups have spreads there, and no effects."""
    return GroupedFit(
        stratum=fit.stratum,
        frame=fit.frame,
        predictors=tuple(each for each in fit.predictors if each.column not in mixed.n_groups),
        fit=fit.fit,
        columns=fit.columns,
        mixed=mixed,
    )
