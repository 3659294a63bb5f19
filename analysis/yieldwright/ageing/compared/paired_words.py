"""How two bags that were pulled side by side are told, and what would make that possible."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.age.age_words import day_words, span_words
from yieldwright.ageing.compared.grinder_shots import bag_name
from yieldwright.ageing.compared.paired_rows import FEW_SESSIONS, FIRST, LEAST_SESSIONS
from yieldwright.formatting import count, listing, number, p_words, signed, visible, with_article
from yieldwright.models.intervals.power import ALPHA
from yieldwright.taste.words.wording import column_label, response_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.age.age_words import BagAges
    from yieldwright.ageing.compared.paired import PairedBags
    from yieldwright.ageing.compared.paired_model import OwnDrift
    from yieldwright.ageing.compared.paired_rows import PairedRows
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.taste.words.wording import ResponseWords

__all__ = ["frozen_span", "paired_sentences", "too_few_words"]

#: Days by which a coffee may age over all sessions and still count as the same one
#: (an assumption, no source).
STEADY_D = 3.0

#: Differences that differ by less than this share of them are one number.
SAME = 1e-9

#: Days over which sessions must reach for that to mean anything (an assumption, no source).
LEAST_SPAN_D = 6.0

_CHANGED = "after a grind change"

_DAY = "palate, water and weather"


def paired_sentences(found: PairedBags) -> Iterator[str]:
    """Yield what two bags in the same sessions say, in plain words.

    Parameters
    ----------
    found : PairedBags
        With a difference, and without sentences yet.

    Yields
    ------
    str
    """
    if found.rows is None or found.difference is None:
        return
    words = response_words(found.response, found.rows.question.bench)
    yield _what(found)
    yield from _how_old(found)
    yield _difference(found, found.difference, words)
    yield from _laid_to(found)
    yield from _change(found, words)
    yield from _by_itself(found, words)


def too_few_words(
    bags: tuple[str, str],
    rows: PairedRows | None,
    response: str,
    problem: Exception | None,
    other_grinder: tuple[str, str] | None,
) -> tuple[str, str]:
    """Return why two bags cannot be compared, and which shots would mend it.

    Parameters
    ----------
    bags : pair of str
        Their codes.
    rows : PairedRows or None
        What was found of them; None for a bag beside itself.
    response : str
        Column explained.
    problem : Exception or None
        What the model said, where it got that far.
    other_grinder : pair of str or None
        The grinders of both, where these differ.

    Returns
    -------
    why, remedy : str
    """
    first, second = (bag_name(code) for code in bags)
    remedy = (
        f"Pull two shots of each in the same session, on five days or more, and begin with "
        f"{first} on one day and with {second} on the next."
    )
    if other_grinder is not None:
        mine, theirs = (visible(code) for code in other_grinder)
        return f"{first} was ground on {mine} and {second} on {theirs}", remedy
    if rows is None:
        return f"{first} can only be compared with another bag", (
            "Give each half of a bag a code of its own, such as bag-7a and bag-7b, and pull two "
            "shots of each in the same session, on five days or more."
        )
    if problem is not None:
        return _of_model(rows, problem), remedy
    if rows.n_sessions:
        times = count(rows.n_sessions, "session")
        why = f"{first} and {second} were pulled together in {times} only"
        return f"{why}; {LEAST_SESSIONS} would do, {FEW_SESSIONS} are better", remedy
    changed = next((each for each in rows.dropped if _CHANGED in each.reason), None)
    lone = " and ".join(
        f"{name} in {count(n, 'session')}"
        for name, n in zip((first, second), rows.own_sessions, strict=True)
    )
    label = column_label(response)
    why = f"no session has both bags with {with_article(label)} ({lone})"
    if changed is None:
        return why, remedy
    return (
        f"{why}; {changed}",
        f"{remedy} Where the grind differs, pull those of one bag in a row.",
    )


def frozen_span(found: PairedBags, code: str) -> tuple[float, float]:
    """Return the least and most days that a bag had been frozen at the sessions compared.

    Parameters
    ----------
    found : PairedBags
        Bags compared.
    code : str
        Which of them.

    Returns
    -------
    pair of float
        Zeros where nothing is known of a freezer. [d]
    """
    shots = found.rows.comparable.shots if found.rows is not None else None
    if shots is None or "frozen_d" not in shots:
        return 0.0, 0.0
    days = shots.loc[shots["bag"] == code, "frozen_d"].astype(float).fillna(0.0)
    return float(days.min()), float(days.max())


def _of_model(rows: PairedRows, problem: Exception) -> str:
    means = rows.frame.groupby([FIRST, "session"])["response"].mean()
    apart = (means.loc[True] - means.loc[False]).to_numpy()
    if np.ptp(apart) > SAME * np.abs(apart).max():
        return str(problem)
    told = "both bags came out the same" if not apart.any() else "the difference is the same"
    return f"{told} in all {rows.n_sessions} sessions, which leaves no spread to judge by"


def _what(found: PairedBags) -> str:
    first, second = (bag_name(code) for code in found.bags)
    sessions = count(found.n_sessions, "session")
    shots = f"{int(found.sessions['n_first'].sum())} and {int(found.sessions['n_second'].sum())}"
    side = f"pulled side by side in {sessions} ({shots} shots)"
    if found.kind == "two halves" and found.ages is not None:
        roasted = day_words(found.ages.bags[0].roasted_on)
        return f"{first} and {second} are halves of one roast, that of {roasted}, {side}."
    if found.kind == "two roasts":
        return f"{second} is a control coffee beside {first}, of another roast, {side}."
    return (
        f"{first} and {second} were {side}; whether they are halves of one roast the log does "
        "not say: note roasted_on of both."
    )


def _how_old(found: PairedBags) -> Iterator[str]:
    """Yield what each bag had been through at these sessions."""
    if found.ages is None or not any(each.n_with_age for each in found.ages.bags):
        return
    yield f"At these shots {listing([_one_age(found, each) for each in found.ages.bags])}."


def _one_age(found: PairedBags, ages: BagAges) -> str:
    name = bag_name(ages.bag)
    if not ages.n_with_age:
        return f"the age of {name} is not known"
    days = span_words(ages.first_age_d, ages.last_age_d)
    low, high = frozen_span(found, ages.bag)
    frozen = f"frozen for {span_words(low, high)} before" if high > 0 else "never frozen"
    opened = f", opened on {day_words(ages.opened_on)}" if ages.opened_on else ""
    return f"{name} was {days} old ({frozen}{opened})"


def _difference(found: PairedBags, told: Estimate, words: ResponseWords) -> str:
    first, second = (bag_name(code) for code in found.bags)
    half = (told.ci_high - told.ci_low) / 2
    kept = [] if found.rows is None else [column_label(each.column) for each in found.rows.kept]
    held = (
        f"On average over the same sessions{f' and at the same {listing(kept)}' if kept else ''}"
    )
    labels = listing(["bag", *(column_label(name) for name in found.together)])
    both = f", {labels} together" if found.together else ""
    could = f"{number(found.detectable, figures=2)} {words.unit}"
    span = words.span(told.ci_low, told.ci_high)
    if told.p_value < ALPHA:
        chance = p_words(told.p_value)
        return (
            f"{held} {first} {words.verb} {words.amount(told.estimate, half)} than {second}{both} "
            f"(95 % interval {span}; {chance}). Such a log finds {could} with a chance of 80 %."
        )
    return (
        f"{held} no difference in {words.noun} shows{both}: {first} less {second} is {span} "
        f"(95 % interval). Such a log finds {could} with a chance of 80 %; less may be real."
    )


def _laid_to(found: PairedBags) -> Iterator[str]:
    """Yield what the difference of two halves can be laid to, as far as logged."""
    rows = found.rows
    if found.kind != "two halves" or found.ages is None or rows is None:
        return
    if rows.together or rows.wider or rows.declined:
        return
    frozen = [frozen_span(found, code)[1] > 0 for code in found.bags]
    opened = [each.opened_on for each in found.ages.bags]
    parts = []
    if frozen[0] != frozen[1]:
        parts.append("the freezing")
    elif all(frozen):
        parts.append("how long each was frozen")
    if None not in opened and opened[0] != opened[1]:
        parts.append("the day of opening")
    if parts:
        yield (
            f"Of what is logged the halves differ in {listing(parts)} alone, with the age that "
            "follows from it: nothing else logged would explain a difference."
        )
        return
    yield (
        "Nothing that is logged tells the halves apart: note frozen_on and thawed_on, or "
        "opened_on, of each."
    )


def _change(found: PairedBags, words: ResponseWords) -> Iterator[str]:
    told = found.per_day
    if told is None:
        if found.why_no_change:
            yield f"How the difference changes is not told: {found.why_no_change}."
        return
    days = _days(found)
    span = f"{signed_span(told.ci_low, told.ci_high)} {words.unit} a day"
    if not told.p_value < ALPHA:
        yield f"Over {days:g} days no change of that difference shows: {span} (95 % interval)."
        return
    half = (told.ci_high - told.ci_low) / 2
    # Of a steady bag and one that aged, it is the one that aged that moved.
    moved, beside = (1, 0) if _is_steady(found, 0) and not _is_steady(found, 1) else (0, 1)
    estimate = told.estimate if moved == 0 else -told.estimate
    limits = (told.ci_low, told.ci_high) if moved == 0 else (-told.ci_high, -told.ci_low)
    off = f", with {_DAY} taken off" if _is_steady(found, beside) else ""
    yield (
        f"The difference changes: beside {bag_name(found.bags[beside])}, "
        f"{bag_name(found.bags[moved])} {'gained' if estimate > 0 else 'lost'} "
        f"{number(abs(estimate), half)} {words.unit} with each day{off}, "
        f"{number(abs(estimate) * days, half * days)} over {days:g} days "
        f"(95 % interval {signed_span(*limits)} {words.unit} a day)."
    )


def _by_itself(found: PairedBags, words: ResponseWords) -> Iterator[str]:
    """Yield the drift of a bag whose coffee stayed what it was, else that of the second."""
    steady = [place for place in (0, 1) if _is_steady(found, place)]
    for place in steady or [1]:
        own = found.own[place]
        if own is not None and _days(found) > LEAST_SPAN_D:
            yield _own(found, place, own, words)


def _own(found: PairedBags, place: int, own: OwnDrift, words: ResponseWords) -> str:
    name, told = bag_name(found.bags[place]), own.per_day
    labels = listing([column_label(each) for each in own.with_it])
    along = f", with the {labels} that changed meanwhile" if labels else ""
    span = f"{signed_span(told.ci_low, told.ci_high)} {words.unit} a day"
    clear, half = told.p_value < ALPHA, (told.ci_high - told.ci_low) / 2
    drifted = (
        f"drifted by {signed(told.estimate, half)} {words.unit} a day{along} "
        f"(95 % interval {span})"
        if clear
        else f"shows no drift{along}: {span} (95 % interval)"
    )
    if not _is_steady(found, place):
        tail = f"That is its age, {_DAY}; only a coffee that stays the same parts them."
        return f"{name} by itself {drifted}. {tail if clear else ''}".strip()
    stayed = f"{name} stayed the same coffee, {_aged_words(found, place)},"
    if clear:
        return f"{stayed} and yet {drifted}: that is {_DAY}."
    return f"{stayed} and by itself {drifted}."


def _aged_words(found: PairedBags, place: int) -> str:
    aged = _aged_by(found, place)
    older = "no day older" if not aged else f"{span_words(aged, aged)} older"
    return f"{older} after {_days(found):g} days"


def _is_steady(found: PairedBags, place: int) -> bool:
    """Return whether a bag hardly aged while the days went by, as one frozen in portions."""
    return _days(found) > LEAST_SPAN_D and _aged_by(found, place) <= STEADY_D


def _aged_by(found: PairedBags, place: int) -> float:
    """Return by how many days a bag aged over the sessions."""
    if found.ages is None or len(found.ages.bags) != 2:
        return math.nan
    ages = found.ages.bags[place]
    return ages.last_age_d - ages.first_age_d


def _days(found: PairedBags) -> float:
    return float(found.sessions["day"].max() - found.sessions["day"].min())
