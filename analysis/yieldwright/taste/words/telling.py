"""The sentences of an answer: each with unit, interval and number of shots."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from yieldwright.formatting import count, listing, number, p_words, sentence_case
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.strata.strata import BETWEEN, POOLED
from yieldwright.taste.words.luck import best_shot_sentence, looks_sentence, shots_needed_sentence
from yieldwright.taste.words.wording import ResponseWords, column_label, level_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from yieldwright.models.intervals.fieller import FiellerSet
    from yieldwright.taste.columns.predictors import Question
    from yieldwright.taste.effects_fit import EntangledPair
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.curvature import Curvature
    from yieldwright.taste.strata.judging import Judged
    from yieldwright.taste.tables import Effect

__all__ = ["curve_sentence", "peak_sentence", "sentences_of", "wanted_turn"]

Kind = Literal["setting", "adjuster"]

#: Responses other than scores whose highest point means something at the bench.
PEAKS = ("ey_pct", "tds_pct")

#: What would let a column be judged, by how the reason that it was not begins.
MENDING = {
    "the same in all": "Change it inside a session.",
    "not logged": "Log it for every shot.",
    "logged for only": "Log it for every shot.",
    "cannot be told apart from": "Pull shots in which they part.",
    "the response does not differ": "Pull settings farther apart.",
    "varied only in shots": "Change it inside a session.",
}

#: Closes the sentence on what was allowed for.
_TAKEN_OFF = "; taken off and not tested"

#: Corrected p-values above this are said to be within chance.
SIGNIFICANT = 0.05


def sentences_of(
    findings: Findings, pairs: Sequence[EntangledPair], peak: FiellerSet | None
) -> tuple[str, ...]:
    """Return all that a fit has to say, in the order a reader wants it.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.
    pairs : sequence of EntangledPair
        What cannot be told apart.
    peak : FiellerSet or None
        Where a curve in the grind setting is at its best.

    Returns
    -------
    tuple of str
        Clear effects of settings, unclear ones, pairs, settings without a verdict, what was
        taken off and is clear, curves, the best setting, what was allowed for, what chance
        alone does.
    """
    told = {name for pair in pairs for name in (pair.first, pair.second)}
    curves = [tried for each in findings.judged for tried in each.curvature]
    closing = (
        _allowed_for(findings),
        _about_middle(findings),
        looks_sentence(findings),
        shots_needed_sentence(findings),
        best_shot_sentence(findings, turn=wanted_turn(findings.question)),
    )
    return (
        *_effects(findings, pairs, kind="setting"),
        *(f"{pair.sentence} {pair.remedy}" for pair in pairs),
        *_unjudged(findings, told),
        *_effects(findings, pairs, kind="adjuster"),
        *(curve_sentence(tried) for tried in curves),
        *([peak_sentence(peak, findings)] if peak else []),
        *(sentence for sentence in closing if sentence),
    )


def wanted_turn(question: Question) -> int:
    """Return −1 where a response is best at a top, +1 at a bottom, 0 where it has no best.

    Parameters
    ----------
    question : Question
        What was asked.

    Returns
    -------
    int
    """
    attribute = attribute_of(question.response)
    if attribute is None:
        return -1 if question.response in PEAKS else 0
    return 1 if question.bench.attribute(attribute).better == "less" else -1


def curve_sentence(curvature: Curvature) -> str:
    """Return whether a curve was tried, and what came of it.

    Parameters
    ----------
    curvature : Curvature
        The outcome.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.taste.strata.curvature import Curvature
    >>> curve_sentence(Curvature("grind_setting", tried=True, p_value=0.41))
    'A curve in grind setting was allowed for; none shows (p = 0.41).'
    """
    label = column_label(curvature.column)
    if not curvature.tried:
        return f"A curve in {label} was not tried: {curvature.reason}."
    if curvature.bends:
        return (
            f"The line in {label} bends ({p_words(curvature.p_value)}): the effect given is "
            "the average over these shots."
        )
    return f"A curve in {label} was allowed for; none shows ({p_words(curvature.p_value)})."


def peak_sentence(peak: FiellerSet, findings: Findings) -> str:
    """Return where a curve in the grind setting turns to its best, in the tried range only.

    Parameters
    ----------
    peak : FiellerSet
        Places of the turn that the shots do not rule out.
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    str

    Notes
    -----
    Nothing is said about settings outside those tried but the name of the next one.
    """
    values = findings.prepared.frame["grind_setting"].to_numpy(dtype=float)
    low, high = float(values.min()), float(values.max())
    best = "lowest" if wanted_turn(findings.question) > 0 else "highest"
    noun = findings.words.noun
    if peak.kind != "bounded":
        return f"The line bends, but this log cannot bound where the {noun} is {best}."
    if low <= peak.low and peak.high <= high:
        return f"The {noun} is {best} between {_settings(peak.low, peak.high)} (95 %)."
    step = abs(findings.inside.predictor("grind_setting").step)
    beyond = [low - step] if peak.low < low else []
    beyond += [high + step] if peak.high > high else []
    following = listing([level_words("grind_setting", each) for each in beyond], last="or")
    named = f"the next to try is {following}, about which this log says nothing"
    if peak.high <= low or peak.low >= high:
        return f"The {noun} is {best} beyond the settings tried (95 %): {named}."
    inside = _settings(max(peak.low, low), min(peak.high, high))
    return f"The {noun} is {best} between {inside}, or beyond the edge (95 %): {named}."


def _settings(low: float, high: float) -> str:
    return f"grind settings {number(low, high - low)} and {number(high, high - low)}"


def _effects(findings: Findings, pairs: Iterable[EntangledPair], *, kind: Kind) -> Iterator[str]:
    """Yield one sentence per effect that may be read: clear ones, then unclear settings.

    Of what was taken off only clear ones are told, as nobody asked and nothing was tested.
    """
    told = [pair for pair in pairs if pair.forbids_verdict]
    mute = {name for pair in told for name in (pair.first, pair.second)}
    scopes = {each.stratum: _scope(each) for each in findings.judged}
    n_tests = sum(effect.predictor.kind == "setting" for effect in findings.effects)
    unclear: list[str] = []
    corrected = findings.table["p_holm"].tolist()
    for effect, p_holm in zip(findings.effects, corrected, strict=True):
        if effect.predictor.column in mute or effect.predictor.kind != kind:
            continue
        if effect.is_clear:
            chance = _chance(p_holm, n_tests) if kind == "setting" else _TAKEN_OFF
            yield _clear(effect, findings.words, scopes[effect.stratum], chance)
        elif kind == "setting":
            unclear.append(_unclear(effect, findings.words, scopes[effect.stratum]))
    yield from unclear


def _chance(p_holm: float, n_tests: int) -> str:
    if not p_holm > SIGNIFICANT:
        return ""
    by_holm = f"{p_words(p_holm)} by Holm"
    return f"; with {n_tests} effects looked at, chance alone could do this ({by_holm})"


def _clear(effect: Effect, words: ResponseWords, scope: str, chance: str) -> str:
    found = effect.estimate
    amount = words.amount(found.estimate, (found.ci_high - found.ci_low) / 2)
    span = words.span(found.ci_low, found.ci_high)
    return (
        f"{effect.words.subject} {words.verb} {amount}{effect.words.than} "
        f"(95 % interval {span}, {scope}){chance}."
    )


def _unclear(effect: Effect, words: ResponseWords, scope: str) -> str:
    found = effect.estimate
    span = f"{signed_span(found.ci_low, found.ci_high)} {words.unit}"
    return (
        f"The log cannot tell whether {effect.words.clause} changes the {words.noun}: the 95 % "
        f"interval {span} still holds changes either way ({scope}); it would have found "
        f"{number(effect.detectable, figures=2)} {words.unit} four times in five."
    )


def _unjudged(findings: Findings, told: Collection[str]) -> Iterator[str]:
    """Yield one sentence per setting without a verdict, or without one on some levels."""
    partly = {effect.predictor.column for effect in findings.effects}
    for column, reason in findings.left_out:
        if column in findings.question.settings and column not in told:
            verdict = "judged in part" if column in partly else "not judged"
            label = column_label(column)
            yield f"{sentence_case(label)} was {verdict}: {reason}.{_mending(reason)}"


def _mending(reason: str) -> str:
    """Return what would let a column be judged, empty where the reason itself says it."""
    for start, remedy in MENDING.items():
        if reason.startswith(start):
            return f" {remedy}"
    return ""


def _allowed_for(findings: Findings) -> str:
    names = [
        column_label(each.column)
        for judged in findings.judged
        for each in (judged.fit.predictors if judged.fit else ())
        if each.kind == "adjuster" and each.column not in judged.undecidable
    ]
    if findings.inside.layout.blocked:
        names.append("differences between sessions")
    return f"Allowed for: {listing(names)}." if names else ""


def _about_middle(findings: Findings) -> str:
    attribute = attribute_of(findings.question.response)
    if attribute is None or findings.question.bench.attribute(attribute).better != "middle":
        return ""
    return f"Explained is how near the {attribute} score came to the middle, where it is best."


def _scope(judged: Judged) -> str:
    """Return shots and sessions behind a stratum, as sentences close with them."""
    sessions = count(judged.layout.n_sessions, "session")
    shots = count(len(judged.layout.frame), "shot")
    if judged.stratum == BETWEEN:
        return f"means of {sessions} with {shots}"
    return f"{shots} in {sessions}" + (", pooled" if judged.stratum == POOLED else "")
