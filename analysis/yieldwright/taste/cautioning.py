"""What a reader must know before trusting the effects: cautions of a fit."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import Caution, Severity
from yieldwright.formatting import count, listing, number, percent, sentence_case
from yieldwright.taste.confounding import AMBER
from yieldwright.taste.judging import Judged, unadjusted_for
from yieldwright.taste.reacting import reacting_settings
from yieldwright.taste.roles import attribute_of
from yieldwright.taste.strata import BETWEEN, POOLED, WITHIN, group_means
from yieldwright.taste.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from yieldwright.taste.comparable import ComparableSet
    from yieldwright.taste.effects_fit import EntangledPair
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.predictors import Question
    from yieldwright.taste.tables import Effect

__all__ = ["cautions_of"]

#: Below so many shots every interval is wide and rests on normal errors.
FEW_SHOTS = 12

#: Share of scores at the ends of the scale from which a line misleads.
AT_AN_END = 0.2

#: Share of what is known about a slope that a single shot may bring.
ONE_SHOT = 0.5

#: Correlation from which an adjuster that is not in the fit is worth a word: a quarter of
#: the variance is shared.
WITH_ONE_ANOTHER = 0.5

#: Ratio of robust to plain standard error beyond which the spread counts as uneven.
UNEVEN = 1.25

#: Share of the shots whose sessions hold a change, below which few of them speak.
FEW_CHANGES = 0.5


def cautions_of(findings: Findings, pairs: Iterable[EntangledPair]) -> tuple[Caution, ...]:
    """Return all cautions of a fit.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.
    pairs : iterable of EntangledPair
        What cannot be told apart.

    Returns
    -------
    tuple of Caution
    """
    return (
        *(_entangled(pair) for pair in pairs),
        *_about_size(findings),
        *_about_adjusters(findings.judged),
        *_about_support(findings.judged),
        *_about_errors(findings.effects),
        *_about_reactions(findings),
        *_about_scores(findings.question, findings.comparable),
        *_about_curves(findings),
        *_about_bench(findings),
    )


def _entangled(pair: EntangledPair) -> Caution:
    severity: Severity = "stop" if pair.forbids_verdict else "care"
    about = (pair.first, pair.second)
    return Caution("settings-entangled", severity, pair.sentence, pair.remedy, about)


def _about_size(findings: Findings) -> Iterator[Caution]:
    layout = findings.inside.layout
    n_shots, n_sessions = len(layout.frame), layout.n_sessions
    if n_shots < FEW_SHOTS:
        yield Caution(
            "few-shots",
            "care",
            f"Only {count(n_shots, 'shot')}: intervals are wide and lean on normal errors.",
            "Pull more shots at settings already tried.",
        )
    if layout.stratum == POOLED:
        yield Caution(
            "one-shot-sessions",
            "care",
            f"{count(n_shots, 'shot')} in {count(n_sessions, 'session')}: with about one "
            "shot a session, differences between days cannot be told from differences between "
            "shots.",
            "Pull at least two settings in each session.",
        )
    elif n_sessions == 1:
        yield Caution(
            "one-session",
            "note",
            "All shots are of one session: what holds on that day may not hold on another.",
            "Repeat one comparison on another day.",
        )


def _about_curves(findings: Findings) -> Iterator[Caution]:
    """Say that taste need not follow a parabola: shown for the demo by `tests/evidence`."""
    if attribute_of(findings.question.response) is None:
        return
    tried = (each for judged in findings.judged for each in judged.curvature if each.tried)
    for curve in tried:
        yield Caution(
            "uneven-bend",
            "care",
            f"A score need not bend in {column_label(curve.column)} as evenly as a parabola: the "
            "interval of its average effect may miss more often than 1 time in 20.",
            "Read that effect as a rough average over these shots.",
            (curve.column,),
        )


def _about_adjusters(judged: Iterable[Judged]) -> Iterator[Caution]:
    for each in judged:
        noun = "sessions" if each.stratum == BETWEEN else "shots"
        for setting in (p.column for p in each.decided if p.kind == "setting"):
            for adjuster, vif in unadjusted_for(each, setting):
                correlation = math.sqrt(1 - 1 / vif)
                if correlation < WITH_ONE_ANOTHER or vif >= AMBER:
                    continue
                names = (column_label(setting), column_label(adjuster))
                yield Caution(
                    "adjuster-left-out",
                    "care",
                    f"Too few {noun} to allow for {names[1]}, which went along with "
                    f"{names[0]} (correlation {number(correlation, figures=2)}): part of the "
                    "effect may be its own.",
                    f"Pull more {noun} in which {names[0]} and {names[1]} part.",
                    (setting, adjuster),
                )


def _about_support(judged: Iterable[Judged]) -> Iterator[Caution]:
    """Yield where a slope rests on one shot, or on the changes of few sessions."""
    for each in judged:
        for predictor in (p for p in each.decided if p.kind == "setting"):
            column = predictor.column
            share, row = _heaviest(each, column)
            if share > ONE_SHOT and each.swept.df > 2:
                yield _on_one_row(each, column, share, row)
            if each.stratum == WITHIN and each.layout.blocked and not predictor.levels:
                yield from _few_changes(each, column)


def _heaviest(judged: Judged, column: str) -> tuple[float, int]:
    """Return the largest share of what is known of a term that one row brings, and the row."""
    others = [judged.swept.columns[name] for name in judged.entangled if name != column]
    own = judged.swept.columns[column]
    if others:
        basis, _ = np.linalg.qr(np.column_stack(others))
        own, _ = np.linalg.qr(own - basis @ (basis.T @ own))
    shares = (own**2).sum(axis=1)
    return float(shares.max()), int(shares.argmax())


def _on_one_row(judged: Judged, column: str, share: float, row: int) -> Caution:
    frame = judged.layout.frame
    name = f"shot {frame['shot'].iloc[row]}"
    if judged.stratum == BETWEEN:
        name = f"session {frame['session'].unique()[row]}"
    label = column_label(column)
    return Caution(
        "rests-on-one-shot",
        "care",
        f"{percent(share)} of what the log says about {label} rests on {name}.",
        f"Repeat it before acting on {label}.",
        (column,),
    )


def _few_changes(judged: Judged, column: str) -> Iterator[Caution]:
    layout = judged.layout
    changing = group_means((layout.deviation(column) != 0).astype(float), layout.codes) > 0
    shots = int(changing[layout.codes].sum())
    if shots < FEW_CHANGES * len(layout.codes):
        label = column_label(column)
        yield Caution(
            "few-changes-inside",
            "note",
            f"{sentence_case(label)} was changed inside "
            f"{count(int(changing.sum()), 'session')} of {layout.n_sessions}, "
            f"{count(shots, 'shot')}; only these say what it does, since bag age and day change "
            "between sessions too.",
            f"Change {label} inside more sessions.",
            (column,),
        )


def _about_errors(effects: Iterable[Effect]) -> Iterator[Caution]:
    settings = (effect for effect in effects if effect.predictor.kind == "setting")
    doubtful = [effect.words.step for effect in settings if _is_doubtful(effect)]
    if doubtful:
        yield Caution(
            "spread-uneven",
            "care",
            f"For {listing(doubtful)} the verdict changes when the spread may differ from "
            "setting to setting (HC3).",
            "Repeat the settings at the ends.",
        )


def _is_doubtful(effect: Effect) -> bool:
    """Return whether the robust interval differs in verdict, and notably in width."""
    found = effect.estimate
    if not (found.std_error > 0 and math.isfinite(found.hc3_std_error)):
        return False
    ratio = found.hc3_std_error / found.std_error
    is_clear = found.hc3_ci_low * found.hc3_ci_high > 0
    return is_clear != effect.is_clear and not 1 / UNEVEN < ratio < UNEVEN


def _about_reactions(findings: Findings) -> Iterator[Caution]:
    for column in reacting_settings(findings):
        label = column_label(column)
        yield Caution(
            "reactive-settings",
            "care",
            f"{sentence_case(label)} followed the {findings.words.noun} of the shot "
            "before: a chance miss that rights itself then looks like its effect.",
            "Fix the order of the settings before the session.",
            (column,),
        )


def _about_scores(question: Question, comparable: ComparableSet) -> Iterator[Caution]:
    name = attribute_of(question.response)
    if name is None or question.response not in comparable.shots:
        return
    attribute = question.bench.attribute(name)
    scores = comparable.shots[question.response].dropna()
    share = float(((scores <= attribute.low) | (scores >= attribute.high)).mean())
    if share > AT_AN_END:
        yield Caution(
            "scores-at-an-end",
            "care",
            f"{percent(share)} of the scores for {name} lie at an end of the scale "
            f"({attribute.low:g}–{attribute.high:g}): a line understates what happens there.",
            "Use more of the scale, or a wider one.",
            (question.response,),
        )


def _about_bench(findings: Findings) -> Iterator[Caution]:
    comparable = findings.comparable
    columns = {each.column for each in findings.prepared.predictors}
    grinder = findings.question.bench.grinder(comparable.grinder)
    if "grind_setting" in columns and not grinder.stated:
        yield Caution(
            "assumed-grinder",
            "note",
            "The bench does not describe this grinder: one setting is taken as 1, and larger "
            "numbers as coarser.",
            "State its step and direction in the bench file.",
            ("grind_setting",),
        )
    question = findings.question
    asked = {*question.settings, *question.adjusters}
    mixed = tuple(each for each in comparable.mixed_conditions if each not in asked)
    if mixed:
        names = [column_label(column) for column in mixed]
        yield Caution(
            "mixed-conditions",
            "note",
            f"Shots differ in {listing(names)}, which the fit does not allow for.",
            "",
            mixed,
        )
    if "serviced" in comparable.shots and comparable.shots["serviced"].iloc[1:].notna().any():
        yield Caution(
            "serviced-between",
            "care",
            "Something was cleaned or changed between these shots: grind settings before and "
            "after may not mean the same.",
            "Compare only shots from one side of the service.",
            ("serviced",),
        )
