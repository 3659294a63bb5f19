"""How a step at an event is told, what plain means would have said, and why not to trust them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.ageing.compared.grinder_shots import bag_name
from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, number, p_words, sentence_case, signed
from yieldwright.taste.words.wording import column_label, response_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.ageing.breaks.event_steps import EventStep, StepFit
    from yieldwright.bench import Bench

__all__ = ["event_names", "step_cautions", "step_sentences"]

#: Corrected p-value below which a step counts as one.
CLEAR = 0.05

#: Plain means that lie farther off than this share of the step's half-width mislead.
NEAR = 0.5


def event_names(step: EventStep) -> str:
    """Return what happened, in words.

    Parameters
    ----------
    step : EventStep
        One event, or several told together.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.ageing.breaks.dated_events import DatedEvent
    >>> from yieldwright.ageing.breaks.event_steps import EventStep
    >>> event_names(EventStep((DatedEvent("the service “descaled”", "2026-05-03", "17"),)))
    'the service “descaled” on 2026-05-03'
    """
    return listing([event.name for event in step.events])


def step_sentences(
    step: EventStep, p_holm: float, fitted: StepFit, *, response: str, bench: Bench
) -> list[str]:
    """Return what is told of one event.

    Parameters
    ----------
    step : EventStep
        The event.
    p_holm : float
        Its p-value, corrected for all events told. [1]
    fitted : StepFit
        What it was taken from.
    response : str
        Column explained.
    bench : Bench
        Whose scales to use.

    Returns
    -------
    list of str
    """
    if step.step is None or fitted.model is None:
        return [_refusal(step)]
    words, found = response_words(response, bench), step.step
    half = (found.ci_high - found.ci_low) / 2
    basis = f"{count(step.sides[0][0], 'shot')} before and {step.sides[1][0]} after"
    chance = f"{p_words(p_holm)}{_looks(fitted)}"
    span = words.span(found.ci_low, found.ci_high)
    held = listing(["the trend in age", *_held(fitted)])
    if p_holm < CLEAR:
        amount = words.amount(found.estimate, half)
        said = (
            f"After {event_names(step)}, shots {words.verb} {amount} than before it, with {held} "
            f"taken off (95 % interval {span}; {basis}, {chance})."
        )
    else:
        said = (
            f"No step in {words.noun} shows at {event_names(step)}, with {held} taken off: {span} "
            f"(95 % interval; {basis}, {chance})."
        )
    return [said, _plain(step, fitted, response=response, bench=bench)]


def _looks(fitted: StepFit) -> str:
    """Return for how many events a p-value was corrected, where there are several."""
    told = sum(step.step is not None for step in fitted.steps)
    return f" corrected for {told} events" if told > 1 else ""


def _held(fitted: StepFit) -> list[str]:
    """Return what was held equal beside the age."""
    model = fitted.model
    if model is None:
        return []
    names = {"bag": "the bag"}
    return [
        names.get(each.column, f"the {column_label(each.column)}")
        for each in model.rows.beside
        if not each.column.startswith("step_")
    ]


def _plain(step: EventStep, fitted: StepFit, *, response: str, bench: Bench) -> str:
    """Return what two plain means would have said, and why they mislead where they do."""
    words, found = response_words(response, bench), step.step
    estimate, low, high = step.plain
    if found is None or math.isnan(estimate):
        return ""
    half = (high - low) / 2
    said = f"{signed(estimate, half)} {words.unit} ({signed_span(low, high)})"
    reach = (found.ci_high - found.ci_low) / 2
    alike = (low * high > 0) == (found.ci_low * found.ci_high > 0)
    if alike and abs(estimate - found.estimate) <= NEAR * reach:
        return f"Two plain means would have said much the same: {said}."
    older = (
        f"{number(abs(step.older_d), figures=2)} days {'older' if step.older_d > 0 else 'younger'}"
    )
    rest = estimate - found.estimate - step.ageing
    others = "" if abs(rest) <= NEAR * reach else f" {_the_rest(fitted)} make up the rest."
    return (
        f"Two plain means would have said {said}, and misled: the coffee was {older} after it "
        f"on average, and ageing by itself comes to {signed(step.ageing, reach)} {words.unit}."
        f"{others}"
    )


def _the_rest(fitted: StepFit) -> str:
    """Return what parts plain means from a step beside ageing, as far as it differs."""
    several = sum(step.step is not None for step in fitted.steps) > 1
    held = ["the bags" if name == "the bag" else name for name in _held(fitted)]
    other = ["the other events"] if several else []
    return sentence_case(listing([*held, *other, "the days those shots came from"]))


def _refusal(step: EventStep) -> str:
    """Return why a step cannot be told, and what would have allowed it."""
    start = f"Whether anything changed at {event_names(step)} cannot be told"
    (before, days_before), (after, days_after) = step.sides
    sides = (
        f"{count(before, 'shot')} in {count(days_before, 'session')} before it and "
        f"{count(after, 'shot')} in {count(days_after, 'session')} after it"
    )
    codes = listing([bag_name(code) for code in step.bags])
    label = "" if step.entwined is None else column_label(step.entwined.partner)
    reasons = {
        "few": (
            f": {sides}, counted to the nearest other event, and 4 shots in 2 sessions are "
            "needed on each side."
        ),
        "no spread": ": every value is the same.",
        "new bag": (
            ": it fell together with a new bag, and no bag was pulled on both sides. Pull one "
            "bag before and after the next one."
        ),
        "few of one bag": (
            f": it fell close to a new bag. Of {codes}, pulled on both sides, there are {sides}; "
            "4 shots in 2 sessions are needed on each."
        ),
        "entwined": (
            f": the {label} changed along with it. Pull shots at the old and the new {label} on "
            "the same day."
        ),
        "unknown age": (
            " apart from ageing: the roast age is not known or does not differ. Note the day of "
            "the roast."
        ),
        "sessions": ": there are too few sessions to take off ageing. Pull on more days.",
    }
    return f"{start}{reasons.get(step.why, f': {step.why}.')}"


def step_cautions(fitted: StepFit, steps: Sequence[EventStep]) -> Iterator[Caution]:
    """Yield what a reader of steps must know.

    Parameters
    ----------
    fitted : StepFit
        What they were taken from.
    steps : sequence of EventStep
        Those events.

    Yields
    ------
    Caution
    """
    for step in steps:
        if any(event.rescales for event in step.events):
            yield Caution(
                "other-grinder-scale",
                "care",
                f"After {event_names(step)}, a number on the grinder need not mean what it meant "
                "before: settings on the two sides are not on one scale.",
                "Give the grinder a new code from then on, and begin its settings anew.",
                ("grinder", "grind_setting", "serviced"),
            )
        if len(step.events) > 1 and step.step is not None:
            yield Caution(
                "events-together",
                "care",
                f"Too few shots lie between {event_names(step)} to tell them apart: the step is "
                "that of all together.",
                "Pull four shots on two days before the next change.",
                ("serviced", "water"),
            )
    if fitted.not_allowed:
        labels = [column_label(name) for name in dict.fromkeys(fitted.not_allowed)]
        yield Caution(
            "events-not-held-equal",
            "note",
            f"{listing(labels).capitalize()} also differed, and so few sessions cannot allow for "
            "that beside the events.",
            "",
            ("serviced", *fitted.not_allowed),
        )
