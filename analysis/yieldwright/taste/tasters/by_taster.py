"""Taste by taster: whether a pooled liking hides people who want opposite things."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd

from yieldwright.errors import YieldwrightError
from yieldwright.formatting import clip, count, interval, p_value, signed, visible
from yieldwright.models.contrasts.contrasts import Estimate, holm
from yieldwright.results import ESTIMATE_COLUMNS, Dropped, Result
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.steps.step_rows import readable_settings
from yieldwright.taste.tasters.taster_model import TasterModel, fit_tasters, taster_rows
from yieldwright.taste.tasters.taster_telling import taster_cautions, taster_sentences
from yieldwright.taste.words.wording import StepWords, column_label, step_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Sequence

    from yieldwright.models.mixed.contrasts import MixedTest
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings

__all__ = ["TASTER_COLUMNS", "TasterEffects", "TasterStep", "taste_by_taster"]

#: Columns of the table of effects.
TASTER_COLUMNS = ("taster", "n_scores", "step", *ESTIMATE_COLUMNS[:-1])

#: Scores a taster needs beside those that their own slopes take up.
SPARE_SCORES = 2


@dataclass(frozen=True, slots=True)
class TasterStep:
    """One practical step: each taster's own effect, and whether tasters differ.

    Attributes
    ----------
    predictor : Predictor
        The setting.
    words : StepWords
        How the step is said.
    effects : mapping of str to Estimate
        By code of the taster. [unit of the response]
    differing : MixedTest
        Test that all have the same effect.
    p_holm : float
        Its p-value, corrected for the number of steps. [1]
    pooled : tuple of float
        Estimate and limits of all tasters together, from the line; not a number where
        the line has none. [unit of the response]
    """

    predictor: Predictor
    words: StepWords
    effects: Mapping[str, Estimate]
    differing: MixedTest
    p_holm: float
    pooled: tuple[float, float, float]

    @property
    def differ(self) -> bool:
        """Whether tasters clearly differ."""
        return self.p_holm < 0.05

    @property
    def has_camps(self) -> bool:
        """Whether they clearly differ, and their effects point in opposite directions."""
        signs = {each.estimate > 0 for each in self.effects.values()}
        return self.differ and len(signs) > 1


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class TasterEffects(Result):
    """Each taster's own effect of each step, and how harsh each taster is.

    Attributes
    ----------
    response : str
        `score:` and an attribute.
    tasters : mapping of str to int
        Scores of each taster, by code.
    steps : tuple of TasterStep
        One per practical step of a setting.
    offsets : mapping of str to Estimate
        How much higher each taster scores than all on average. [unit of the response]
    first_cup : Estimate or None
        How much higher the first cup scores than later ones; None where the order was
        not logged.
    missing : str
        Why there is nothing by taster; empty where there is.
    """

    drawing: ClassVar[str] = "taster_lanes"

    response: str
    tasters: Mapping[str, int] = field(default_factory=dict)
    steps: tuple[TasterStep, ...] = ()
    offsets: Mapping[str, Estimate] = field(default_factory=dict)
    first_cup: Estimate | None = None
    missing: str = ""

    @property
    def title(self) -> str:
        """What was asked, in a few words."""
        return f"The {column_label(self.response)} taster by taster"

    @property
    def headline(self) -> tuple[tuple[str, str], ...]:
        """Shots, and scores of each taster."""
        scores = ", ".join(f"{taster} {number}" for taster, number in self.tasters.items())
        rows = super().headline
        return (*rows, ("Scores", scores)) if scores else rows

    def to_frame(self) -> pd.DataFrame:
        """Return the effects at full precision."""
        rows = [
            (taster, self.tasters[taster], step.words.step, *_cells(found))
            for step in self.steps
            for taster, found in step.effects.items()
        ]
        return pd.DataFrame(rows, columns=list(TASTER_COLUMNS))

    def display_frame(self) -> pd.DataFrame:
        """Return the effects as text.

        Returns
        -------
        DataFrame
            One row per taster and step.
        """
        tests = {step.words.step: step.p_holm for step in self.steps}
        return pd.DataFrame([_shown(row, tests) for row in self.to_frame().to_dict("records")])


def taste_by_taster(findings: Findings) -> TasterEffects | None:
    """Return each taster's own effect of each step; None for what is measured.

    Parameters
    ----------
    findings : Findings
        One question, its shots and the verdicts of each stratum.

    Returns
    -------
    TasterEffects or None
        With a reason in place of effects where tasters cannot be compared.

    Notes
    -----
    One mixed model of the single scores: every taster has an offset and slopes of their
    own, shots and sessions shift the score, so that several tastes of a shot inform one
    shot. Standard errors, degrees of freedom and the F test that all tasters have one
    slope are Kenward and Roger's.

    References
    ----------
    .. [1] Kenward and Roger (1997), Biometrics 53, 983.
    """
    if attribute_of(findings.question.response) is None or not findings.judged:
        return None
    rows = taster_rows(findings)
    settings = readable_settings(findings)
    bare = TasterEffects(
        response=findings.question.response,
        n_shots=int(rows["shot"].nunique()),
    )
    kept, dropped = _repeating(rows, sum(each.width for each in settings))
    reason = _reason(rows, kept, settings)
    if reason:
        return replace(bare, missing=reason, sentences=(reason,))
    fit = findings.inside.fit
    used = [each for each in (fit.predictors if fit else ()) if each.kind == "adjuster"]
    try:
        model = fit_tasters(kept, settings, used)
        return _told(replace(bare, dropped=dropped), model, kept, findings)
    except YieldwrightError as problem:
        reason = f"Tasters cannot be told apart in this log: {str(problem).rstrip('.')}."
        return replace(bare, missing=reason, sentences=(reason,))


def _repeating(rows: pd.DataFrame, width: int) -> tuple[pd.DataFrame, tuple[Dropped, ...]]:
    """Return the scores of tasters who gave enough of them, and an account of the others."""
    counts = rows["taster"].astype(str).map(rows["taster"].astype(str).value_counts())
    enough = counts >= width + 1 + SPARE_SCORES
    kept = rows[enough].reset_index(drop=True)
    lost = rows.loc[~rows["shot"].isin(kept["shot"]), "shot"].nunique()
    why = "tasted only by people with too few scores for effects of their own"
    return kept, (Dropped(int(lost), why),) if lost else ()


def _reason(rows: pd.DataFrame, kept: pd.DataFrame, settings: Sequence[Predictor]) -> str:
    if not settings:
        return "No setting could be judged from shot to shot, so none by taster."
    names = rows["taster"].astype(str).nunique()
    if names < 2:
        return (
            "One taster, or tasters not told apart: whether others taste the same takes a second "
            "one, and their codes in the log."
        )
    if kept["taster"].astype(str).nunique() < 2:
        return (
            f"{count(names, 'taster')}, but fewer than two with enough scores for effects of "
            "their own: let two people score the same dozen shots."
        )
    if not _linked(kept):
        return (
            "No shots link the tasters: a harsh taster looks like worse shots; let them score "
            "some shots together."
        )
    return ""


def _linked(rows: pd.DataFrame) -> bool:
    """Return whether shots scored by several tasters link them all."""
    groups: list[set[str]] = []
    for tasters in rows.groupby("shot")["taster"].unique():
        together = {str(each) for each in tasters}
        touching = [group for group in groups if group & together]
        groups = [group for group in groups if group not in touching]
        groups.append(together.union(*touching))
    return len(groups) == 1


def _told(
    bare: TasterEffects, model: TasterModel, rows: pd.DataFrame, findings: Findings
) -> TasterEffects:
    counts = rows["taster"].astype(str).value_counts()
    found = replace(
        bare,
        tasters={taster: int(counts[taster]) for taster in model.tasters},
        steps=tuple(_steps(model, findings)),
        offsets={taster: model.offset(taster) for taster in model.tasters},
        first_cup=model.first_cup() if model.has_first_cup else None,
    )
    return replace(
        found,
        sentences=tuple(taster_sentences(found, findings.words)),
        cautions=tuple(taster_cautions(found)),
    )


def _steps(model: TasterModel, findings: Findings) -> Iterator[TasterStep]:
    asked = [
        (each, step, weights)
        for each in readable_settings(findings)
        for step, weights in _weights(each, model)
    ]
    tests = [model.differing(weights, step) for _, step, weights in asked]
    corrected = holm([test.p_value for test in tests]).tolist()
    pooled = {(each.predictor.column, each.words.step): each.estimate for each in findings.effects}
    for (predictor, step, weights), test, p_holm in zip(asked, tests, corrected, strict=True):
        words = step_words(predictor, step)
        yield TasterStep(
            predictor,
            words,
            {taster: model.effect(taster, weights, step) for taster in model.tasters},
            test,
            p_holm,
            _limits(pooled.get((predictor.column, words.step))),
        )


def _weights(predictor: Predictor, model: TasterModel) -> Iterator[tuple[str, dict[str, float]]]:
    """Yield each step of a setting with the weights of its columns."""
    columns = model.slopes[predictor.column]
    if not predictor.levels:
        # Columns of numbers run from −1 to 1 between the values tried.
        yield predictor.column, {columns[0]: predictor.step / model.reaches[predictor.column]}
        return
    names = ("", *columns)
    for place, (lower, upper) in enumerate(
        zip(predictor.levels, predictor.levels[1:], strict=False)
    ):
        weights = {names[place + 1]: 1.0} | ({names[place]: -1.0} if place else {})
        yield f"{lower} → {upper}", weights


def _limits(found: Estimate | None) -> tuple[float, float, float]:
    if found is None:
        return (float("nan"),) * 3
    return found.estimate, found.ci_low, found.ci_high


def _cells(found: Estimate) -> tuple[object, ...]:
    return tuple(getattr(found, name) for name in ESTIMATE_COLUMNS[:-1])


def _shown(row: Mapping[Hashable, Any], tests: Mapping[str, float]) -> dict[str, str]:
    """Return one effect of one taster as text."""
    low, high = row["ci_low"], row["ci_high"]
    return {
        "One step": str(row["step"]),
        "Taster": clip(visible(str(row["taster"])), 16),
        "Effect": signed(row["estimate"], (high - low) / 2),
        "95 % interval": interval(low, high),
        "All agree, p": p_value(tests[str(row["step"])]),
    }
