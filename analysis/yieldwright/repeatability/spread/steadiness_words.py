"""What the spread of like shots means, in plain words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.formatting import count, listing, percent, sentence_case, visible, with_article
from yieldwright.repeatability.spread.likeness import ENOUGH
from yieldwright.repeatability.spread.measured import measured_unit
from yieldwright.repeatability.spread.spread_texts import (
    amount,
    share_span,
    share_words,
    sized,
    span,
)
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldwright.repeatability.spread.quantity_spread import QuantitySpread

__all__ = [
    "limit_sentence",
    "missing_quantity",
    "quantity_sentences",
    "spread_sentences",
    "steadiness_sentences",
]

_ALIKE = {
    "hand": "Shots pulled alike (one setting, one session, one hand)",
    "setting": "Shots pulled alike (one setting, one session)",
}


#: How the names of instruments begin that are more than one.
_SEVERAL = ("refractometer and", "repeated readings")


def steadiness_sentences(
    quantities: Sequence[QuantitySpread], missing: Mapping[str, str]
) -> Iterator[str]:
    """Yield everything there is to say of all quantities.

    Parameters
    ----------
    quantities : sequence of QuantitySpread
        In the order asked for.
    missing : mapping of str to str
        Why there is nothing of the others.

    Yields
    ------
    str

    Examples
    --------
    >>> list(steadiness_sentences((), {}))
    ['Nothing was measured in a shot that may be compared: nothing can be steady.']
    """
    if not quantities and not missing:
        yield "Nothing was measured in a shot that may be compared: nothing can be steady."
    for each, known in _told_singly(quantities):
        yield from quantity_sentences(each, line_known=known)
    yield from _together(quantities)
    yield from (sentence_case(why) for why in missing.values())


def spread_sentences(quantities: Sequence[QuantitySpread]) -> Iterator[str]:
    """Yield how much like shots differ, a sentence for each quantity.

    Parameters
    ----------
    quantities : sequence of QuantitySpread
        In the order wanted.

    Yields
    ------
    str
        With fewer than 5 repeats an interval alone; after a time, what was left out of it.

    Examples
    --------
    >>> list(spread_sentences(()))
    []
    """
    for each, known in _told_singly(quantities):
        yield _spread_sentence(each, line_known=known) if each.firm else _few(each)
    yield from _together(quantities)
    for each in quantities:
        for lost in each.dropped:
            verb = "is" if lost.count == 1 else "are"
            yield f"{sentence_case(str(lost))} {verb} left out of {_noun(each)}."


def quantity_sentences(each: QuantitySpread, *, line_known: bool = False) -> tuple[str, ...]:
    """Return what the spread of one quantity means, the most useful first.

    Parameters
    ----------
    each : QuantitySpread
        One measured quantity.
    line_known : bool
        Whether the line through the settings was named before.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.spread.quantity_spread import quantity_spread
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_s": [30.0, 34.0, 33.0]})
    >>> one = quantity_spread(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> quantity_sentences(one)[0].partition(":")[2]
    ' its SD lies somewhere in 1.1 to 13 s (95 % interval). At 5 repeats more is said; pull one \
setting six times in one session.'
    """
    if not each.firm:
        return _few(each), *_session_sentences(each)
    told = (
        _spread_sentence(each, line_known=line_known),
        limit_sentence(each, named=False),
        _share_sentence(each),
        _difference_sentence(each),
    )
    return (*filter(None, told), *_session_sentences(each))


def limit_sentence(each: QuantitySpread, *, named: bool = True) -> str:
    """Return by how much two shots of one setting differ at most 19 times in 20.

    Parameters
    ----------
    each : QuantitySpread
        One measured quantity.
    named : bool
        Whether the sentence has to say which.

    Returns
    -------
    str
        Empty with too few repeats.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.spread.quantity_spread import quantity_spread
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"ey_pct": [20.0, 21, 20, 21, 20, 21]})
    >>> limit_sentence(quantity_spread(ComparableSet("", "", shots), "ey_pct", bench=Bench()))
    'Two shots of one setting differ in extraction yield by less than 1.5 points 19 times in 20 \
(repeatability limit, 2.8 × SD; 2.0 points allowing for 5 repeats).'
    """
    if not each.firm:
        return ""
    unit, what = measured_unit(each.column), f" in {_noun(each)}" if named else ""
    more = f"; {sized(each.limit_few, unit)} allowing for {_repeats(each)}"
    head = (
        f"Two shots of one setting differ{what} by less than {sized(each.limit, unit)} 19 times "
        f"in 20 (repeatability limit, 2.8 × SD{more if each.limit_few > each.limit else ''})"
    )
    if math.isnan(each.within):
        return f"{head}."
    within, low, high = (min(s, 0.9999) for s in (each.within, *each.within_limits))
    share, limits = share_words(within), share_span(low, high)
    ends = "" if limits == share else f" ({limits})"
    return (
        f"{head}; were their mean on target, {share} of them{ends} would land within "
        f"± {each.forgiven:g} {unit}."
    )


def missing_quantity(column: str) -> str:
    """Return why nothing is told of a quantity no shot holds.

    Parameters
    ----------
    column : str
        Canonical name.

    Returns
    -------
    str

    Examples
    --------
    >>> missing_quantity("time_s")
    'no shot that may be compared has a shot time.'
    """
    return f"no shot that may be compared has {with_article(visible(column_label(column)))}."


def _told_singly(quantities: Sequence[QuantitySpread]) -> Iterator[tuple[QuantitySpread, bool]]:
    """Yield the quantities of which something is known, and whether their line was told."""
    lines: set[tuple[str, ...]] = set()
    for each in quantities:
        if each.alike.df and each.sd > 0:
            about = {each.alike.allowed_for} if each.alike.basis == "fit" else set()
            yield each, bool(about & lines)
            lines |= about


def _together(quantities: Sequence[QuantitySpread]) -> Iterator[str]:
    """Yield what is the same for several quantities once."""
    none = [each for each in quantities if not each.alike.df]
    same = [each for each in quantities if each.alike.df and not each.sd > 0]
    if none:
        yield _none_alike(none)
    if same:
        yield _all_the_same(same)


def _none_alike(quantities: Sequence[QuantitySpread]) -> str:
    nouns = listing([_noun(each) for each in quantities])
    most = max(each.alike.n_measured for each in quantities)
    verb = "is" if len(quantities) == 1 else "are"
    shots = "there is one shot" if most == 1 else f"no two of {most:,} shots were pulled alike"
    return (
        f"How steady {nouns} {verb}, the log cannot tell: {shots}. Pull one setting six times in "
        "one session."
    )


def _all_the_same(quantities: Sequence[QuantitySpread]) -> str:
    nouns = listing([_noun(each) for each in quantities])
    shots = count(len(quantities[0].alike.rows), "like shot")
    verb = "is" if len(quantities) == 1 else "are"
    return (
        f"{sentence_case(nouns)} of {shots} {verb} the same to the last digit: they differ by "
        "less than displays show, or were not measured one by one."
    )


def _few(each: QuantitySpread) -> str:
    noun, unit, alike = _noun(each), measured_unit(each.column), each.alike
    if not alike.df:
        return _none_alike([each])
    if not alike.sd > 0:
        return _all_the_same([each])
    limits = f"{span(each.low, each.high)} {unit}".strip()
    return (
        f"How steady the {noun} is, {_repeats(each)} cannot tell: its SD lies somewhere in "
        f"{limits} (95 % interval). At {ENOUGH} repeats more is said; pull one setting six times "
        "in one session."
    )


def _spread_sentence(each: QuantitySpread, *, line_known: bool) -> str:
    noun, unit, alike = _noun(each), measured_unit(each.column), each.alike
    if alike.basis == "fit":
        who = _line_phrase(alike.allowed_for, known=line_known)
        rest = (
            f"; of {len(alike.rows):,} shots the line takes {len(alike.rows) - alike.df:,} and "
            f"{alike.df:,} are left"
            if alike.allowed_for
            else f", {_repeats(each)}"
        )
    else:
        who, rest = _ALIKE[alike.basis], f", {_repeats(each)} in {count(alike.n_sets, 'set')}"
    share = ""
    if not math.isnan(each.variation):
        low, high = (percent(end, places=1) for end in each.variation_limits)
        share = f", {percent(each.variation, places=1)} of its mean ({low} to {high})"
    return (
        f"{who} differ in {noun} by {sized(each.sd, unit)}{share} – standard deviation; 95 % "
        f"interval {span(each.low, each.high)}{rest}."
    )


def _line_phrase(names: Sequence[str], *, known: bool) -> str:
    if not names:
        return (
            "Too few shots were pulled alike in one session; over sessions, at one setting, shots"
        )
    if known:
        return "About the same line shots"
    told = listing([visible(column_label(name)) for name in names])
    return f"Too few shots were pulled alike; about a line in {told} shots"


def _repeats(each: QuantitySpread) -> str:
    return count(each.alike.df, "repeat")


def _share_sentence(each: QuantitySpread) -> str:
    found = each.instrument
    if found is None:
        return ""
    share, limits = share_words(found.share), share_span(found.low, found.high)
    seen = share if limits == share else f"{share} ({limits})"
    verb = "cause" if found.name.startswith(_SEVERAL) else "causes"
    ends = {
        True: "the rest is puck, hand and machine",
        False: "that hides much of what differs, and reading or tasting more often would show it",
        None: "whether that is small enough stays open until more shots are pulled alike",
    }
    name = sentence_case(found.name)
    return f"{name} {verb} {seen} of that variance: {ends[each.instrument_good_enough]}."


def _difference_sentence(each: QuantitySpread) -> str:
    unit = measured_unit(each.column)
    four = next(d for d in each.differences if d.n_each == 4)
    head = (
        f"With 4 shots at each of two settings a difference of {sized(four.size, unit)} is "
        f"seen four times in five ({span(four.low, four.high)}, as far as the SD is known)"
    )
    tails = [
        f"{amount(need.size, unit)} takes {need.n_each:,} each ({need.low:,} to {need.high:,})"
        for need in each.needed
    ]
    return f"{'; '.join([head, *tails])}."


def _session_sentences(each: QuantitySpread) -> Iterator[str]:
    found = each.sessions
    if found is None:
        return
    unit, noun = measured_unit(each.column), _noun(each)
    total = (
        f"over sessions the SD is {sized(found.total, unit)} "
        f"({span(found.total_low, found.total_high)})"
    )
    sessions = count(found.n_sessions, "session")
    if found.at_zero:
        yield (
            f"From session to session, at one setting, no further difference in {noun} shows: its "
            f"SD is at most {sized(found.high, unit)} ({sessions}); {total}."
        )
        return
    yield (
        f"From session to session, at one setting, the {noun} differs by a further "
        f"{sized(found.sd, unit)} ({span(found.low, found.high)}; {sessions}; what the coffee "
        f"aged is in it); {total}."
    )


def _noun(each: QuantitySpread) -> str:
    return visible(column_label(each.column))
