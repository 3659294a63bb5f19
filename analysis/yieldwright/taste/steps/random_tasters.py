"""The cumulative-link mixed model of the scores: each taster shifts them by a random amount."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd

from yieldwright.errors import YieldwrightError
from yieldwright.formatting import count, number
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.ordinal.effects import ordinal_contrast
from yieldwright.models.ordinal.mixed import OrdinalMixedFit, fit_ordinal_mixed
from yieldwright.models.terms.design import INTERCEPT, Design
from yieldwright.models.terms.terms import Blocks
from yieldwright.results import Result
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.steps.step_rows import readable_settings, step_rows
from yieldwright.taste.strata.score_rows import repeating_tasters
from yieldwright.taste.strata.weights import step_weights
from yieldwright.taste.words.wording import column_label, step_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping
    from typing import Any

    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["RANDOM_TASTER_COLUMNS", "RandomTasters", "random_tasters"]

#: Columns of the table: the estimate is the logarithm of the odds, its standard error that
#: of single scores.
RANDOM_TASTER_COLUMNS = ("term", "step", "estimate", "std_error", "odds_ratio")

#: Tasters below which their spread is no more than a guess.
LEAST_TASTERS = 3


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class RandomTasters(Result):
    """Odds per step of each setting where tasters are random, one score a row.

    Attributes
    ----------
    response : str
        Column explained.
    n_scores, n_tasters : int
        Scores, and who gave them.
    table : DataFrame
        One row per practical step: `estimate` (log odds of a higher score) with the
        standard error of single scores, and the odds.
    taster_sd : float
        Standard deviation of the tasters' shifts. [log odds]
    log_likelihood : float
        By adaptive Gauss–Hermite quadrature.
    """

    drawing: ClassVar[str] = ""

    response: str
    n_scores: int
    n_tasters: int
    table: pd.DataFrame = field(default_factory=pd.DataFrame)
    taster_sd: float = math.nan
    log_likelihood: float = math.nan

    @property
    def title(self) -> str:
        """What is shown."""
        return f"The {column_label(self.response)} as steps, with tasters random"

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """Scores, tasters and their spread."""
        spread = f"SD {number(self.taster_sd, figures=3)} of the log odds"
        scores = f"{self.n_scores} by {count(self.n_tasters, 'taster')}"
        return (*super().headline, ("Scores", scores), ("Tasters differ", spread))

    def to_frame(self) -> pd.DataFrame:
        """Return the odds at full precision."""
        return self.table

    def display_frame(self) -> pd.DataFrame:
        """Return the odds as text.

        Returns
        -------
        DataFrame
            One row per step; without intervals, which would count scores as shots.
        """
        return pd.DataFrame([_shown(row) for row in self.table.to_dict("records")])


def random_tasters(findings: Findings) -> RandomTasters | None:
    """Return the cumulative-link mixed model of scores by several tasters.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.

    Returns
    -------
    RandomTasters or None
        None for measured responses, for fewer than three tasters of several shots, and
        where the scores cannot be fitted so.

    Notes
    -----
    The model that reference engines fit, to be compared with them: settings, adjusters
    and sessions as they stand in the line, and a normal shift of each taster, integrated
    out by adaptive quadrature [1]_. It takes every score for a shot of its own. What is
    told of odds comes from `scored_steps`, which counts shots.

    References
    ----------
    .. [1] Tutz and Hennevogl (1996), Comput. Stat. Data Anal. 22, 537.
    """
    fit = findings.inside.fit
    if attribute_of(findings.question.response) is None or fit is None:
        return None
    scores = step_rows(findings).rows
    if repeating_tasters(scores) < LEAST_TASTERS:
        return None
    try:
        design = _design(fit, scores, blocked=findings.inside.layout.blocked)
        found = fit_ordinal_mixed(
            design, scores["score"], grouping(scores, "taster"), levels=_levels(scores)
        )
        rows = list(_rows(findings, fit, found))
    except YieldwrightError:
        return None
    return _told(findings, scores, found, pd.DataFrame(rows, columns=list(RANDOM_TASTER_COLUMNS)))


def _levels(scores: pd.DataFrame) -> list[float]:
    return sorted(scores["score"].unique().tolist())


def _design(fit: StratumFit, scores: pd.DataFrame, *, blocked: bool) -> Design:
    """Return the columns of the line's fit, one row per score, and sessions as they shift it."""
    place = pd.Series(np.arange(len(fit.frame)), index=fit.frame["shot"])
    matrix = fit.columns[scores["shot"].map(place).to_numpy()]
    terms, labels = fit.design.terms, fit.design.columns
    if blocked:
        sessions = Blocks("session").settled(scores)
        matrix = np.column_stack([matrix, sessions.coded(scores)])
        terms, labels = (*terms, sessions), (*labels, *sessions.labels)
    return Design(matrix, labels, terms, scores.index)


def _rows(
    findings: Findings, fit: StratumFit, found: OrdinalMixedFit
) -> Iterator[tuple[object, ...]]:
    for predictor in readable_settings(findings):
        for step, weights in step_weights(fit, predictor):
            own = zip(fit.design.columns, weights.tolist(), strict=True)
            named = {name: weight for name, weight in own if weight and name != INTERCEPT}
            estimate = ordinal_contrast(found, named, limits="wald")
            words = step_words(predictor, step).step
            odds = math.exp(estimate.estimate)
            yield predictor.column, words, estimate.estimate, estimate.std_error, odds


def _told(
    findings: Findings, scores: pd.DataFrame, found: OrdinalMixedFit, table: pd.DataFrame
) -> RandomTasters:
    sd, noun = float(found.sd), findings.words.noun
    spread = (
        f"A taster who is one standard deviation kinder than the middle has "
        f"{number(math.exp(sd), figures=2)} times the odds of a higher {noun}."
    )
    if found.at_edge:
        spread = f"That some tasters score the {noun} higher than others does not show."
    reason = (
        "These odds are for comparison with other programs and have no interval: every score "
        "counts as a shot here."
    )
    return RandomTasters(
        response=findings.question.response,
        n_shots=len(findings.inside.layout.frame),
        n_scores=len(scores),
        n_tasters=int(scores["taster"].nunique()),
        table=table,
        taster_sd=sd,
        log_likelihood=found.log_likelihood,
        sentences=(spread, reason),
    )


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Return one step as text."""
    return {
        "One step": str(row["step"]),
        "Log odds": number(row["estimate"], figures=3),
        "SE of scores": number(row["std_error"], figures=3),
        "Odds, times": number(row["odds_ratio"], figures=3),
    }
