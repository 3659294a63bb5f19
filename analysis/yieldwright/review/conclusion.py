"""The one sentence at the head of the page, chosen from the fits by a stated rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from yieldwright.formatting import count, number, p_words
from yieldwright.taste.words.wording import response_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.review.looks import Look
    from yieldwright.taste.effects_fit import EffectsFit

__all__ = ["Conclusion", "conclude"]


@dataclass(frozen=True, slots=True)
class Conclusion:
    """What to take away, and what it rests on.

    Attributes
    ----------
    verdict : {"settled", "open", "entangled", "missing"}
        An effect beyond doubt; effects, none of them beyond doubt; only effects that
        cannot be told apart; none at all.
    sentence : str
        The sentence itself, with unit, interval and number of shots where it has them.
    rests_on : str
        What else a reader must know to weigh it.
    response : str
        Column the sentence is about, empty where there is none.
    clause : str
        The practical step it is about, as sentences name it; likewise.
    """

    verdict: Literal["settled", "open", "entangled", "missing"]
    sentence: str
    rests_on: str = ""
    response: str = ""
    clause: str = ""


def conclude(fits: Sequence[EffectsFit], looks: Sequence[Look], *, bench: Bench) -> Conclusion:
    """Return the sentence to take away from the fits of one bag and grinder.

    Parameters
    ----------
    fits : sequence of EffectsFit
        In the order in which a reader cares: taste, yield, time.
    looks : sequence of Look
        Their effects of settings.
    bench : Bench
        Whose scales and steps are meant.

    Returns
    -------
    Conclusion

    Notes
    -----
    The rule: the first response with an effect that stays below 5 % after Holm's
    correction over all effects of settings on the page, and whose verdict the robust
    interval (HC3) shares; of that response the effect with the largest t. Where there
    is none, the effect with the largest t of all, told as open. An effect that cannot be
    told apart from another column's is passed over.
    Where nothing is left, what is missing.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> conclude([], [], bench=Bench()).sentence
    'No shot can be compared with another yet.'
    """
    readable = [look for look in looks if not look.forbidden]
    settled = _clearest([look for look in readable if look.settled], fits)
    if settled is not None:
        return _settled(settled, looks, fits, bench)
    clearest = max(
        (look for look in readable if look.weight >= 0), key=lambda look: look.weight, default=None
    )
    return _nothing(fits) if clearest is None else _open(clearest, looks, fits, bench)


def _clearest(looks: Sequence[Look], fits: Sequence[EffectsFit]) -> Look | None:
    """Return the effect with the largest t of the first response that has any."""
    for fit in fits:
        own = [look for look in looks if look.fit is fit and look.weight >= 0]
        if own:
            return max(own, key=lambda look: look.weight)
    return None


def _settled(
    look: Look, looks: Sequence[Look], fits: Sequence[EffectsFit], bench: Bench
) -> Conclusion:
    words, step = response_words(look.fit.response, bench), look.words
    sentence = (
        f"{step.subject} {words.verb} {words.amount(look.estimate, look.half_width)}{step.than} "
        f"(95 % interval {words.span(look.ci_low, look.ci_high)}, {look.scope})."
    )
    sentence = look.odds or sentence
    counted = f"{count(len(looks), 'effect')} looked at"
    rests = [f"{p_words(look.p_page)} after Holm’s correction for {counted}.", _bend(look)]
    if look.fit is not fits[0]:
        rests.append(_first_response(looks, fits[0], bench))
    return Conclusion(
        "settled", sentence, " ".join(filter(None, rests)), look.fit.response, look.words.clause
    )


def _open(
    look: Look, looks: Sequence[Look], fits: Sequence[EffectsFit], bench: Bench
) -> Conclusion:
    words = response_words(look.fit.response, bench)
    sentence = (
        f"No setting’s effect is settled yet. The clearest is on the {words.noun}: "
        f"{look.words.clause}, {signed_span(look.ci_low, look.ci_high)} {words.unit} "
        f"(95 % interval, {look.scope})."
    )
    found = (
        f"A true effect of {number(look.detectable, figures=2)} {words.unit} would have been "
        "found four times in five."
    )
    rests = [
        f"{count(len(looks), 'effect')} looked at, {p_words(look.p_page)} after Holm’s correction."
    ]
    if look.odds:
        sentence = f"No setting’s effect is settled yet. The clearest: {look.odds}"
    else:
        rests.append(found)
    if look.fit is not fits[0]:
        rests.append(_first_response(looks, fits[0], bench))
    return Conclusion("open", sentence, " ".join(rests), look.fit.response, look.words.clause)


def _first_response(looks: Sequence[Look], first: EffectsFit, bench: Bench) -> str:
    """Return what the log says about the response a reader cares for most."""
    noun = response_words(first.response, bench).noun
    clearest = _clearest([look for look in looks if not look.forbidden], [first])
    if clearest is None:
        return f"About the {noun} it says nothing yet."
    if clearest.odds:
        return f"The {noun} is not settled; the clearest: {clearest.odds}"
    unit = response_words(first.response, bench).unit
    span = f"{signed_span(clearest.ci_low, clearest.ci_high)} {unit} (95 % interval)"
    return f"The {noun} is not settled; the clearest: {clearest.words.clause}, {span}."


def _bend(look: Look) -> str:
    kept = any(each.bends and each.column == look.term for each in look.fit.curvature)
    return "The line bends: this is the average over these shots." if kept else ""


def _nothing(fits: Sequence[EffectsFit]) -> Conclusion:
    """Return what stands in the way of any effect."""
    pairs = [pair for fit in fits for pair in fit.confounded if pair.forbids_verdict]
    if pairs:
        sentence, _, told = pairs[0].sentence.partition(": ")
        return Conclusion("entangled", f"{sentence.rstrip('.')}.", told, fits[0].response)
    missing = tuple(dict.fromkeys(fit.missing for fit in fits if fit.missing))
    if not missing:
        return Conclusion("missing", "No shot can be compared with another yet.")
    return Conclusion(
        "missing", "The log cannot say yet what any setting does.", " ".join(missing)
    )
