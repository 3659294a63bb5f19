"""Every effect of a setting that one page shows, corrected for how many there are."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.formatting import count, sentence_case
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.words.wording import StepWords, step_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from typing import Any

    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.steps.scored_steps import ScoredStep, ScoredSteps

__all__ = ["ALPHA", "Look", "looks_at"]

#: Chance of a false alarm among all effects of settings on one page.
ALPHA = 0.05


@dataclass(frozen=True, slots=True)
class Look:
    """One effect of a setting, as one page looks at it.

    Attributes
    ----------
    fit : EffectsFit
        Where it was estimated.
    term : str
        The setting.
    step : str
        The practical step, in words.
    stratum : str
        Where it was judged.
    estimate, ci_low, ci_high : float
        Effect with its 95 % interval. [unit of the response]
    statistic : float
        Its t; missing where it has none.
    detectable : float
        What would have been found with 80 % power. [unit of the response]
    robust : bool
        Whether the interval that allows for uneven spread (HC3) gives the same verdict.
    p_page : float
        Its p-value after Holm's correction over all effects looked at.
    forbidden : bool
        Whether it cannot be told apart from another column.
    odds : str
        What it does to the odds of a higher score, in a sentence, where scores are to be
        read as steps; its p-value is then theirs. Empty where the line is read.
    """

    fit: EffectsFit
    term: str
    step: str
    stratum: str
    estimate: float
    ci_low: float
    ci_high: float
    statistic: float
    detectable: float
    robust: bool
    p_page: float
    forbidden: bool
    odds: str = ""

    @property
    def settled(self) -> bool:
        """Whether it may be read as its own, holds under HC3, and after correction."""
        return not self.forbidden and self.robust and self.p_page < ALPHA

    @property
    def weight(self) -> float:
        """Distance from zero in standard errors; −1 where that is not known."""
        return -1.0 if math.isnan(self.statistic) else abs(self.statistic)

    @property
    def half_width(self) -> float:
        """Half of its interval, in the unit of the response."""
        return (self.ci_high - self.ci_low) / 2

    @property
    def words(self) -> StepWords:
        """How its step is said."""
        lower, arrow, upper = self.step.partition(" → ")
        if arrow:
            predictor = Predictor(self.term, "setting", levels=(lower, upper))
            return step_words(predictor, self.step)
        return StepWords(self.step, sentence_case(self.step), self.step)

    @property
    def scope(self) -> str:
        """The shots and sessions behind it, in words."""
        shots, sessions = count(self.fit.n_shots, "shot"), count(self.fit.n_sessions, "session")
        if self.stratum == BETWEEN:
            return f"means of {sessions} with {shots}"
        return f"{shots} in {sessions}"


def looks_at(fits: Sequence[EffectsFit], steps: ScoredSteps | None = None) -> tuple[Look, ...]:
    """Return the effects of settings in all fits, corrected for how many there are.

    Parameters
    ----------
    fits : sequence of EffectsFit
        Fits shown together.
    steps : ScoredSteps or None
        Scores as steps; where these are to be read, they stand in place of the line.

    Returns
    -------
    tuple of Look
        In the order of the fits.

    Examples
    --------
    >>> looks_at([])
    ()
    """
    found = [(fit, row) for fit in fits for row in _rows(fit, steps)]
    corrected = holm([float(row["p_value"]) for _, row in found])
    mute = {id(fit): _entangled(fit) for fit in fits}
    return tuple(
        Look(
            fit=fit,
            term=row["term"],
            step=row["step"],
            stratum=row["stratum"],
            estimate=float(row["estimate"]),
            ci_low=float(row["ci_low"]),
            ci_high=float(row["ci_high"]),
            statistic=float(row["statistic"]),
            detectable=float(row["detectable"]),
            robust=_is_robust(row),
            p_page=float(p_page),
            forbidden=row["term"] in mute[id(fit)],
            odds=row.get("odds", ""),
        )
        for (fit, row), p_page in zip(found, corrected, strict=True)
    )


def _rows(fit: EffectsFit, steps: ScoredSteps | None) -> list[Mapping[Hashable, Any]]:
    """Return the effects of settings, of scores read as steps those that have odds."""
    rows: list[Mapping[Hashable, Any]] = list(fit.settings.to_dict("records"))
    if steps is None or not steps.chosen or fit.response != steps.response:
        return rows
    told = {step.words.step: step for step in steps.steps}
    return [_by_odds(row, told[row["step"]], steps) for row in rows if row["step"] in told]


def _by_odds(
    row: Mapping[Hashable, Any], step: ScoredStep, steps: ScoredSteps
) -> Mapping[Hashable, Any]:
    """Return an effect with the verdict of the odds in place of the line's."""
    clause = step.words.clause.casefold()
    sentence = next((each for each in steps.sentences if clause in each.casefold()), "")
    found: dict[Hashable, Any] = {
        "p_value": step.estimate.p_value,
        "statistic": step.estimate.statistic,
        "hc3_ci_low": math.nan,
        "hc3_ci_high": math.nan,
        "odds": sentence,
    }
    return {**row, **found}


def _is_robust(row: Mapping[Hashable, Any]) -> bool:
    """Return whether both intervals lie on the same side of zero, or both hold it."""
    low, high = float(row["hc3_ci_low"]), float(row["hc3_ci_high"])
    if not (math.isfinite(low) and math.isfinite(high)):
        return True
    return bool(row["ci_low"] * row["ci_high"] > 0) == (low * high > 0)


def _entangled(fit: EffectsFit) -> frozenset[str]:
    """Return the columns whose effects must not be read as their own."""
    pairs = (pair for pair in fit.confounded if pair.forbids_verdict)
    return frozenset(name for pair in pairs for name in (pair.first, pair.second))
