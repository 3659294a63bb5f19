"""What is said of tasters: who wants what, who is harsher, what the first cup gets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, p_words, sentence_case, visible

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.taste.tasters.by_taster import TasterEffects, TasterStep
    from yieldwright.taste.words.wording import ResponseWords

__all__ = ["taster_cautions", "taster_sentences"]

#: p-values above this are printed as 1.00, and none can be more.
SURELY = 0.995


def taster_sentences(found: TasterEffects, words: ResponseWords) -> Iterator[str]:
    """Yield what differs from taster to taster, and what does not show.

    Parameters
    ----------
    found : TasterEffects
        Effects by taster.
    words : ResponseWords
        How the response is talked about.

    Yields
    ------
    str
    """
    scope = f"{count(found.n_shots, 'shot')}, {count(len(found.tasters), 'taster')}"
    for step in found.steps:
        if step.differ:
            yield _differing(step, words, scope)
    alike = [step.words.clause for step in found.steps if not step.differ]
    if alike:
        worst = min(step.p_holm for step in found.steps if not step.differ)
        more = "" if worst > SURELY else " or more"
        yield (
            f"That tasters differ in what they make of {listing(alike, last='or')} does not show "
            f"({p_words(worst)}{more} by Holm, {scope}); few shots show only large differences."
        )
    yield from _harsh(found, words)
    if found.first_cup is not None:
        yield _first(found.first_cup, words)


def taster_cautions(found: TasterEffects) -> Iterator[Caution]:
    """Yield where a pooled effect hides tasters who differ.

    Parameters
    ----------
    found : TasterEffects
        Effects by taster.

    Yields
    ------
    Caution
    """
    for step in found.steps:
        if step.has_camps:
            yield Caution(
                "two-camps",
                "care",
                f"Tasters fall into two camps over {step.words.clause}: {_camps(step)} "
                f"({p_words(step.p_holm)} that all agree); their common effect is nobody's.",
                "Read the effects taster by taster, and choose whom to please.",
                (step.predictor.column,),
            )
        elif step.differ:
            yield Caution(
                "tasters-differ",
                "note",
                f"Tasters differ in how much {step.words.clause} does to the score ("
                f"{p_words(step.p_holm)} that all agree).",
                "Read the effects taster by taster.",
                (step.predictor.column,),
            )


def _camps(step: TasterStep) -> str:
    """Return whose score rises and whose falls, the latter softly where it may do neither."""
    up = {who: each for who, each in step.effects.items() if each.estimate > 0}
    down = {who: each for who, each in step.effects.items() if who not in up}
    names = [listing([visible(who) for who in camp]) for camp in (up, down)]
    clear = [any(each.ci_low * each.ci_high > 0 for each in camp.values()) for camp in (up, down)]
    lifts = "lifts" if clear[0] else "if anything lifts"
    lowers = "lowers" if clear[1] else "if anything lowers"
    return f"it {lifts} the score of {names[0]} and {lowers} that of {names[1]}"


def _differing(step: TasterStep, words: ResponseWords, scope: str) -> str:
    parts = [f"{visible(taster)} {_amount(each, words)}" for taster, each in step.effects.items()]
    return (
        f"{sentence_case(step.words.clause)} is not the same to all: {'; '.join(parts)} (95 % "
        f"intervals, {scope})."
    )


def _amount(found: Estimate, words: ResponseWords) -> str:
    amount = words.amount(found.estimate, (found.ci_high - found.ci_low) / 2)
    return f"{amount} ({words.span(found.ci_low, found.ci_high)})"


def _harsh(found: TasterEffects, words: ResponseWords) -> Iterator[str]:
    clear = {
        taster: each for taster, each in found.offsets.items() if each.ci_low * each.ci_high > 0
    }
    parts = [f"{visible(taster)} {_amount(each, words)}" for taster, each in clear.items()]
    if parts:
        yield (
            "Some score everything higher or lower than all tasters together: "
            f"{'; '.join(parts)} (95 % intervals, at the same shots)."
        )
    elif found.offsets:
        widest = max(found.offsets.values(), key=lambda each: each.ci_high - each.ci_low)
        reach = (widest.ci_high - widest.ci_low) / 2
        yield (
            "That a taster is harsher than the others does not show: their offsets are known "
            f"to within {reach:.2g} {words.unit} (95 %)."
        )


def _first(found: Estimate, words: ResponseWords) -> str:
    if found.ci_low * found.ci_high > 0:
        return f"The first cup of a tasting scored {_amount(found, words)} than later ones."
    return (
        "That the first cup of a tasting scores differently does not show: the 95 % interval "
        f"{words.span(found.ci_low, found.ci_high)} holds changes either way."
    )
