"""What stands below the table of effects: models, days, tasters, luck, what could be found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, interval, listing, number, sentence_case
from yieldwright.review.effect_rows import response_label
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import response_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.bench import Bench
    from yieldwright.taste.effects_fit import EffectsFit
    from yieldwright.taste.spreads import Spreads
    from yieldwright.taste.steps.scored_steps import ScoredSteps

__all__ = ["effect_notes"]

#: Each model in a few words; a mixed model says which groups it has by itself.
_MODELS = {
    "sessions as blocks": "shots compared inside their session",
    "one pooled line": "one line through all shots, about one a session",
    "least squares": "least squares, all shots of one session",
}
_STEPS_TOLD = 2
_NOTE_WIDTH = 260


def effect_notes(
    fits: Sequence[EffectsFit],
    *,
    bench: Bench,
    steps: ScoredSteps | None = None,
    groups: Sequence[Spreads] = (),
    luck: str = "",
) -> tuple[str, ...]:
    """Return how the effects were found, and what puts them in their place.

    Parameters
    ----------
    fits : sequence of EffectsFit
        Fits of one bag and grinder.
    bench : Bench
        Whose scales and steps are meant.
    steps : ScoredSteps or None
        Scores as steps, told where they are to be read instead of the line.
    groups : sequence of Spreads
        How much sessions and tasters differ.
    luck : str
        How much luck is in the best shot.

    Returns
    -------
    tuple of str
        What a reader needs most first.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> effect_notes((), bench=Bench())
    ()
    """
    chosen = steps if steps is not None and steps.chosen else None
    fitted = [fit for fit in fits if len(fit.settings)]
    lines = [fit for fit in fitted if chosen is None or fit.response != chosen.response]
    peaks = filter(None, (_peak(fit) for fit in lines if fit.peak is not None))
    odds = (chosen.why, *chosen.sentences[:_STEPS_TOLD]) if chosen else ()
    told = (
        *odds,
        *_could_find(lines, bench),
        _models(fitted),
        *peaks,
        _differing(groups, bench),
        luck if fitted else "",
    )
    return tuple(clip(note, _NOTE_WIDTH) for note in dict.fromkeys(told) if note)


def _models(fits: Sequence[EffectsFit]) -> str:
    """Return which model each response comes from, those of one model together."""
    labels: dict[str, list[str]] = {}
    for fit in (fit for fit in fits if fit.model):
        labels.setdefault(_model(fit), []).append(response_label(fit.response))
    told = [f"{listing(names)} – {model}" for model, names in labels.items()]
    return sentence_case(f"{'; '.join(told)}.") if told else ""


def _model(fit: EffectsFit) -> str:
    """Return the model of a fit in a few words."""
    if fit.model in _MODELS:
        return _MODELS[fit.model]
    text = fit.why.partition(":")[0].rstrip(".")
    return f"{text[:1].lower()}{text[1:]}"


def _differing(groups: Sequence[Spreads], bench: Bench) -> str:
    """Return by how much sessions and tasters shift each response."""
    days = [_amount(each, "session", bench) for each in groups]
    tasters = [_amount(each, "taster", bench) for each in groups]
    parts = (("Sessions differ by", days), ("tasters by", tasters))
    told = [f"{head} {listing(found)}" for head, all_ in parts if (found := [*filter(None, all_)])]
    return sentence_case(f"{'; '.join(told)} (SD, 95 % interval).") if told else ""


def _amount(found: Spreads, group: str, bench: Bench) -> str:
    rows = found.table[found.table["group"] == group].to_dict("records")
    if not rows:
        return ""
    row, attribute = rows[0], attribute_of(found.response)
    on = f" on {clip(attribute, 16)}" if attribute else ""
    unit = response_words(found.response, bench).unit
    span = interval(row["ci_low"], row["ci_high"])
    return f"{number(row['sd'], figures=2)} {unit}{on} ({span})"


def _could_find(fits: Sequence[EffectsFit], bench: Bench) -> Iterator[str]:
    """Yield what the shots would have shown with 80 % power, the step named once if it can be."""
    steps = [str(fit.settings["step"].iloc[0]) for fit in fits]
    amounts = [_detectable(fit, bench) for fit in fits]
    if not fits:
        return
    if len(set(steps)) == 1:
        told = f"{listing(amounts)} for {steps[0]}"
    else:
        pairs = zip(amounts, steps, strict=True)
        told = listing([f"{amount} for {step}" for amount, step in pairs])
    yield f"Four times in five these shots would have shown {told}."


def _detectable(fit: EffectsFit, bench: Bench) -> str:
    amount = number(float(fit.settings["detectable"].iloc[0]), figures=2)
    attribute = attribute_of(fit.response)
    on = f" on {clip(attribute, 16)}" if attribute else ""
    return f"{amount} {response_words(fit.response, bench).unit}{on}"


def _peak(fit: EffectsFit) -> str:
    """Return the sentence of a fit that says where its response is at its best."""
    told = (each for each in fit.sentences if " is highest" in each or " is lowest" in each)
    return next(told, "")
