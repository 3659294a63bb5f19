"""How a drift with roast age is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.ageing.trend.state import SERVICE
from yieldwright.formatting import count, listing, number, p_words, percent, sentence_case, signed
from yieldwright.models.intervals.power import ALPHA
from yieldwright.taste.words.wording import column_label, response_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.trend.drift import Drift
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.trend.forms import Form
    from yieldwright.taste.words.wording import ResponseWords

__all__ = ["drift_sentences"]

#: Weights from which a form counts as clear, and as the likelier one.
CLEAR, LIKELIER = 0.9, 0.6

#: Sessions below which the correction of the criterion alone outweighs a line by more than 5,
#: evidence of 12 to 1, and the forms that it then prefers.
LEAST_WEIGHED, SIMPLE = 9, ("flat", "line")

#: What sessions and ages are called where nobody knows of coffee.
_BENCH_WORDS = {
    "groups": "sessions",
    "rows": "shots",
    "different values of x": "different ages",
    "parameters": "figures to be found",
}

_FORMS = {
    "flat": "no drift at all",
    "line": "a line",
    "curve": "a curve",
    "two lines": "two lines that meet",
}


def drift_sentences(found: Drift) -> Iterator[str]:
    """Yield how a response drifts, in plain words.

    Parameters
    ----------
    found : Drift
        Without sentences yet.

    Yields
    ------
    str
    """
    words = response_words(found.model.rows.response, found.model.rows.bench)
    age = found.model.age
    span = f"from day {age.low:g} to day {age.high:g}"
    held = _held(found)
    yield _average(found, words, span, held)
    yield from _rank_sentence(found)
    if found.ends and _turns(found.ends):
        first, last = found.ends
        yield (
            f"It does not go one way: {_a_day(first, words)} at day {age.low:g}, and "
            f"{_a_day(last, words)} at day {age.high:g}."
        )
    yield from _form_sentences(found)


def _held(found: Drift) -> str:
    if found.as_brewed:
        return "As it was brewed"
    same = [column_label(name) for name in found.freed if name != SERVICE]
    held = f"At the same {listing(same)}" if same else "With nothing else to allow for"
    return f"{held}, services taken off" if SERVICE in found.freed else held


def _average(found: Drift, words: ResponseWords, span: str, held: str) -> str:
    each = found.average
    half = (each.ci_high - each.ci_low) / 2
    if not found.clear:
        reach = number(found.detectable, figures=2)
        return (
            f"{held}, no steady drift of the {words.noun} shows {span}: "
            f"{words.span(each.ci_low, each.ci_high)} a day (95 % interval); a drift of {reach} "
            f"{words.unit} a day would have been found four times in five."
        )
    return (
        f"{held}, shots {words.verb} {words.amount(each.estimate, half)} a day {span} "
        f"(95 % interval {words.span(each.ci_low, each.ci_high)})."
    )


def _rank_sentence(found: Drift) -> Iterator[str]:
    """Yield whether ranks of session means, which no wild session sways, say the same."""
    if found.ranks is None or not found.clear:
        return
    equal = p_words(found.ranks.p_value)
    if found.ranks.p_value < ALPHA and found.ranks.tau * found.average.estimate > 0:
        yield f"Ranks of the sessions, which assume no form, agree ({equal})."
    else:
        yield (
            f"By ranks of the sessions, which no single one can sway, it is not clear ({equal}): "
            "read it with care."
        )


def _turns(ends: tuple[Estimate, ...]) -> bool:
    """Return whether the slopes at both ends are clear and of different sign."""
    first, last = ends
    return (first.ci_low > 0 > last.ci_high) or (last.ci_low > 0 > first.ci_high)


def _a_day(each: Estimate, words: ResponseWords) -> str:
    half = (each.ci_high - each.ci_low) / 2
    limits = f"{signed(each.ci_low, half)} to {signed(each.ci_high, half)}"
    return f"{signed(each.estimate, half)} {words.unit} a day ({limits})"


def _form_sentences(found: Drift) -> Iterator[str]:
    """Yield which form the log speaks for, and how surely."""
    forms = found.forms
    if not forms.possible:
        yield f"Forms of the drift cannot be weighed: {forms.forms[0].why_not}."
        return
    if len(forms.possible) < 2:
        return
    best, *others = forms.possible
    beside = [f"{_FORMS[each.name]} {_share(each.weight)}" for each in others]
    weights = f"weight {_share(best.weight)}; {', '.join(beside)}"
    name = _FORMS[best.name]
    where = f" (at day {number(best.turn, figures=2)})" if best.name == "two lines" else ""
    if forms.unit == "groups" and forms.n_units < LEAST_WEIGHED and best.name in SIMPLE:
        yield (
            f"Forms of the drift cannot be weighed on {count(forms.n_units, 'session')}: the "
            "correction for so few would choose the simplest whatever the shots say."
        )
        return
    if _denies(found):
        yield (
            f"The criterion that weighs forms prefers {name} ({weights}), against what "
            "the intervals show: it charges for every bend, and so settles nothing here."
        )
    elif best.weight >= CLEAR:
        yield f"Of the forms tried the log speaks clearly for {name}{where} ({weights})."
    elif best.weight >= LIKELIER:
        yield f"Of the forms tried {name}{where} is the likeliest ({weights})."
    else:
        yield (
            f"{sentence_case(name)}{where} fits a little better than other forms, but the log "
            f"hardly tells them apart ({weights})."
        )
    missing: list[Form] = [each for each in forms.forms if not each.possible]
    for each in missing:
        yield f"{sentence_case(_FORMS[each.name])} could not be tried: {_at_the_bench(each)}."


def _share(weight: float) -> str:
    """Return a weight in words that stand in a list."""
    return percent(weight).replace("<", "under ").replace(">", "over ")


def _denies(found: Drift) -> bool:
    """Return whether the form with most weight is simpler than what intervals show clearly."""
    best = found.forms.best.name
    turns = bool(found.ends) and _turns(found.ends)
    return (best == "flat" and (found.clear or turns)) or (best == "line" and turns)


def _at_the_bench(form: Form) -> str:
    """Return what a form lacks in words of the bench."""
    why = form.why_not
    for word, ours in _BENCH_WORDS.items():
        why = why.replace(word, ours)
    return why
