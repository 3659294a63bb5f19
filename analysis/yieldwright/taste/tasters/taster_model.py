"""One model of single scores in which every taster has effects of their own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import AliasedColumnsError
from yieldwright.models.mixed.contrasts import MixedTest, mixed_contrast, mixed_test
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.terms.design import INTERCEPT, build_design
from yieldwright.models.terms.terms import Numeric
from yieldwright.taste.columns.predictors import response_values
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.strata.strata import codes_of, group_means

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings

__all__ = ["FIRST_CUP", "TasterModel", "fit_tasters", "taster_rows"]

Array = npt.NDArray[np.float64]

#: Name of the column that marks the first cup of a tasting.
FIRST_CUP = "first cup"

#: Fewest first cups, and fewest others, that their difference is told from.
LEAST_CUPS = 3


@dataclass(frozen=True, eq=False)
class TasterModel:
    """A mixed model with every taster's own slopes.

    Attributes
    ----------
    fit : MixedFit
        Tasters and their slopes; shots and sessions shift the score.
    tasters : tuple of str
        Codes, as in the log.
    slopes : mapping of str to tuple of str
        Columns of a setting that every taster has a slope of, by column of the log.
    reaches : mapping of str to float
        Half-width of the values tried of each setting that is a number, in its unit.
    """

    fit: MixedFit
    tasters: tuple[str, ...]
    slopes: Mapping[str, tuple[str, ...]]
    reaches: Mapping[str, float]

    @property
    def has_first_cup(self) -> bool:
        """Whether the first cup has a term."""
        return FIRST_CUP in self.fit.names

    def effect(self, taster: str, weights: Mapping[str, float], term: str) -> Estimate:
        """Return one taster's effect of a step.

        Parameters
        ----------
        taster : str
            Code.
        weights : mapping of str to float
            Of the columns of the setting.
        term : str
            What to call it.

        Returns
        -------
        Estimate
        """
        own = {_own(name, taster): weight for name, weight in weights.items()}
        return mixed_contrast(self.fit, own, term=term, df="kenward_roger")

    def offset(self, taster: str) -> Estimate:
        """Return how much higher one taster scores than all tasters on average.

        Parameters
        ----------
        taster : str
            Code.

        Returns
        -------
        Estimate
        """
        share = 1 / len(self.tasters)
        weights = {_is(other): float(other == taster) - share for other in self.tasters[1:]}
        if taster == self.tasters[0]:
            weights = {_is(other): -share for other in self.tasters[1:]}
        return mixed_contrast(self.fit, weights, term=taster, df="kenward_roger")

    def first_cup(self) -> Estimate:
        """Return how much higher the first cup scores than later ones."""
        return mixed_contrast(self.fit, {FIRST_CUP: 1.0}, term=FIRST_CUP, df="kenward_roger")

    def differing(self, weights: Mapping[str, float], term: str) -> MixedTest:
        """Return the test that all tasters have the same effect of a step.

        Parameters
        ----------
        weights : mapping of str to float
            Of the columns of the setting.
        term : str
            What to call it.

        Returns
        -------
        MixedTest
        """
        last = self.tasters[-1]
        rows = [
            {_own(name, taster): weight for name, weight in weights.items()}
            | {_own(name, last): -weight for name, weight in weights.items()}
            for taster in self.tasters[:-1]
        ]
        return mixed_test(self.fit, rows, term=term, df="kenward_roger")


def taster_rows(findings: Findings) -> pd.DataFrame:
    """Return the single scores of shots in a fit, with who gave them and in which order.

    Scores outside the scale are left out: a caution of the fit names them.

    Parameters
    ----------
    findings : Findings
        Of a response that is a score.

    Returns
    -------
    DataFrame
        One row per shot and taster, who counts once however often they tasted it: the
        columns of the fit, `taster`, `response`, and `tasting_order` where it is logged.
    """
    question, tastings = findings.question, findings.comparable.tastings
    attribute = question.bench.attribute(attribute_of(question.response) or "")
    own = tastings[tastings["attribute"] == attribute.name]
    own = own[own["score"].between(attribute.low, attribute.high)]
    named = own[["shot", "taster"]].assign(**{question.response: own["score"]})
    named["response"] = response_values(named, question.response, question.bench)
    if "tasting_order" in own:
        named["tasting_order"] = pd.to_numeric(own["tasting_order"], errors="coerce")
    once = named.drop(columns=question.response).groupby(["shot", "taster"], sort=False).mean()
    frame = findings.inside.layout.frame.drop(columns="response")
    return once.reset_index().merge(frame, on="shot", how="inner")


def fit_tasters(
    rows: pd.DataFrame, settings: Sequence[Predictor], adjusters: Sequence[Predictor]
) -> TasterModel:
    """Fit every taster's own slopes of some settings, shots and sessions shifting the scores.

    Parameters
    ----------
    rows : DataFrame
        From `taster_rows`, of two tasters at least.
    settings : sequence of Predictor
        What every taster has slopes of.
    adjusters : sequence of Predictor
        What is allowed for, alike for all.

    Returns
    -------
    TasterModel

    Raises
    ------
    AliasedColumnsError
        If a taster met too few settings to have slopes.
    TooFewShotsError
        If there are not more rows than coefficients, or one shot only.
    OutOfRangeError
        If the scores leave no spread within shots.

    Notes
    -----
    Columns stand less the mean of their session, so that bag age and day burden no slope.
    """
    tasters = tuple(dict.fromkeys(rows["taster"].astype(str).tolist()))
    codes = codes_of(rows["session"])
    own = build_design(rows, [each.term() for each in settings])
    slopes = {each.column: tuple(own.columns[own.place(each.column)]) for each in settings}
    who = rows["taster"].astype(str).to_numpy()
    member: dict[str, Array] = {taster: np.where(who == taster, 1.0, 0.0) for taster in tasters}
    columns: dict[str, Array] = {INTERCEPT: np.ones(len(rows))}
    columns |= {_is(taster): member[taster] for taster in tasters[1:]}
    for name, values in zip(own.columns[1:], own.matrix[:, 1:].T, strict=True):
        inside = _inside(values, codes)
        columns |= {_own(name, taster): inside * member[taster] for taster in tasters}
    if adjusters:
        allowed = build_design(rows, [each.term() for each in adjusters])
        pairs = zip(allowed.columns[1:], allowed.matrix[:, 1:].T, strict=True)
        columns |= {name: _inside(values, codes) for name, values in pairs}
    if _order_told(rows):
        columns[FIRST_CUP] = np.where(rows["tasting_order"] == 1, 1.0, 0.0)
    fit = _fitted(columns, rows)
    reaches = {term.column: term.reach for term in own.terms if isinstance(term, Numeric)}
    return TasterModel(fit, tasters, slopes, reaches)


def _fitted(columns: dict[str, Array], rows: pd.DataFrame) -> MixedFit:
    """Return the fit, without the first cup where that cannot be told from the rest."""
    groups = [grouping(rows, name) for name in ("session", "shot") if _groups(rows, name)]
    response = rows["response"].to_numpy(dtype=float)
    try:
        matrix = np.column_stack(list(columns.values()))
        return fit_mixed(matrix, response, groups, names=tuple(columns))
    except AliasedColumnsError as problem:
        if FIRST_CUP not in problem.columns:
            raise
        without = {name: values for name, values in columns.items() if name != FIRST_CUP}
        return _fitted(without, rows)


def _inside(values: Array, codes: npt.NDArray[np.intp]) -> Array:
    """Return values less the mean of their session, or of all where there is one session."""
    return values - group_means(values, codes)[codes]


def _order_told(rows: pd.DataFrame) -> bool:
    if "tasting_order" not in rows or rows["tasting_order"].isna().any():
        return False
    first = int((rows["tasting_order"] == 1).sum())
    return LEAST_CUPS <= first <= len(rows) - LEAST_CUPS


def _groups(rows: pd.DataFrame, name: str) -> bool:
    return 1 < rows[name].nunique() < len(rows)


def _is(taster: str) -> str:
    return f"taster {taster}"


def _own(column: str, taster: str) -> str:
    return f"{column} of {taster}"
