"""The tables of an answer: effects per step, adjusted means, effects with and without."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.models.contrasts.contrasts import Estimate, holm
from yieldwright.models.intervals.power import detectable_effect
from yieldwright.taste.effects_fit import BAND_COLUMNS, BESIDE_COLUMNS, EFFECT_COLUMNS
from yieldwright.taste.strata.weights import level_weights, step_weights
from yieldwright.taste.words.wording import StepWords, step_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.strata.judging import Judged
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = ["Effect", "band_table", "beside_table", "effect_table", "effects_of"]


@dataclass(frozen=True, slots=True)
class Effect:
    """One practical step and its estimate.

    Attributes
    ----------
    predictor : Predictor
        Setting or adjuster.
    words : StepWords
        How the step is said.
    estimate : Estimate
        With t interval and robust twin.
    stratum : str
        Where it was judged.
    vif : float
        Variance inflation of its term.
    """

    predictor: Predictor
    words: StepWords
    estimate: Estimate
    stratum: str
    vif: float

    @property
    def is_clear(self) -> bool:
        """Whether the interval lies on one side of zero."""
        return self.estimate.ci_low * self.estimate.ci_high > 0

    @property
    def detectable(self) -> float:
        """Smallest effect found with 80 % power, in the unit of the response."""
        estimate = self.estimate
        if not estimate.std_error > 0:
            return math.nan
        return float(detectable_effect(estimate.std_error, estimate.df))


def effects_of(judged: Judged) -> tuple[Effect, ...]:
    """Return the effect of each step a stratum can judge.

    Parameters
    ----------
    judged : Judged
        One stratum.

    Returns
    -------
    tuple of Effect
    """
    if judged.fit is None:
        return ()
    return tuple(
        Effect(predictor, words, estimate, judged.stratum, judged.entangled[predictor.column].vif)
        for predictor in judged.decided
        for words, estimate in _steps(judged.fit, predictor)
    )


def effect_table(effects: Sequence[Effect]) -> pd.DataFrame:
    """Return effects as a table, corrected for how many effects of settings there are.

    Parameters
    ----------
    effects : sequence of Effect
        From all strata.

    Returns
    -------
    DataFrame
        One row per effect.
    """
    table = pd.DataFrame([_row(effect) for effect in effects], columns=list(EFFECT_COLUMNS))
    is_setting = (table["kind"] == "setting").to_numpy(dtype=bool)
    p_values = table["p_value"].to_numpy(dtype=float)
    table["p_holm"] = holm(np.where(is_setting, p_values, np.nan))
    return table


def band_table(judged: Iterable[Judged]) -> pd.DataFrame:
    """Return the adjusted mean of each temperature band.

    Parameters
    ----------
    judged : iterable of Judged
        All strata.

    Returns
    -------
    DataFrame
        One row per band that was judged.
    """
    rows = [row for each in judged for row in _band_rows(each)]
    return pd.DataFrame(rows, columns=list(BAND_COLUMNS))


def beside_table(judged: Iterable[Judged]) -> pd.DataFrame:
    """Return each setting's effect with its closest companion in the fit, and without it.

    Parameters
    ----------
    judged : iterable of Judged
        All strata.

    Returns
    -------
    DataFrame
        One row per effect and companion; the estimate with the companion is missing
        where the two cannot be told apart.
    """
    rows = [row for each in judged for row in _beside_rows(each)]
    return pd.DataFrame(rows, columns=list(BESIDE_COLUMNS))


def _steps(fit: StratumFit, predictor: Predictor) -> list[tuple[StepWords, Estimate]]:
    return [
        (step_words(predictor, step), fit.estimate(weights, predictor.column))
        for step, weights in step_weights(fit, predictor)
    ]


def _row(effect: Effect) -> dict[str, object]:
    estimate = effect.estimate
    names = [name for name in EFFECT_COLUMNS if name in estimate.__dataclass_fields__]
    return {name: getattr(estimate, name) for name in names} | {
        "kind": effect.predictor.kind,
        "step": effect.words.step,
        "stratum": effect.stratum,
        "detectable": effect.detectable,
        "vif": effect.vif,
    }


def _band_rows(judged: Judged) -> Iterator[tuple[object, ...]]:
    if judged.fit is None:
        return
    for predictor in judged.decided:
        if predictor.column == "temp_band" and predictor.levels:
            counts = Counter(judged.layout.frame["temp_band"].tolist())
            for level in predictor.levels:
                mean = judged.fit.estimate(level_weights(judged.fit, predictor, level), "mean")
                yield (
                    level,
                    counts[level],
                    mean.estimate,
                    mean.std_error,
                    mean.df,
                    mean.ci_low,
                    mean.ci_high,
                )


def _beside_rows(judged: Judged) -> Iterator[tuple[object, ...]]:
    if judged.fit is None:
        return
    for setting, companion in _companions(judged):
        decided = setting in judged.decided and companion not in judged.unadjusted
        together = dict(_steps(judged.fit, setting)) if decided else {}
        for words, alone in _steps(_refitted(judged, judged.fit, setting, companion), setting):
            found = _limits(together[words]) if decided else (math.nan,) * 3
            yield (setting.column, words.step, companion, *found, *_limits(alone))


def _companions(judged: Judged) -> Iterator[tuple[Predictor, str]]:
    """Yield each setting with the column it stands closest to, and with all it follows from."""
    for predictor in judged.decided:
        partner = judged.entangled[predictor.column].partner
        if predictor.kind == "setting":
            yield from ((predictor, name) for name in (partner, *judged.unadjusted) if name)
    for column, partners in judged.aliased.items():
        for first, second in ((column, other) for other in partners):
            for name, companion in ((first, second), (second, first)):
                if judged.predictor(name).kind == "setting":
                    yield judged.predictor(name), companion


def _refitted(judged: Judged, fit: StratumFit, setting: Predictor, companion: str) -> StratumFit:
    """Return the fit with a setting in and its companion out."""
    kept = tuple(each for each in fit.predictors if each.column != companion)
    if setting not in kept:
        kept = (setting, *kept)
    if kept == fit.predictors:
        return fit
    curved = frozenset(each.column for each in kept if each.column in fit.curved)
    return judged.refitted(kept, curved=curved)


def _limits(estimate: Estimate) -> tuple[float, float, float]:
    return estimate.estimate, estimate.ci_low, estimate.ci_high
