"""How a comparison of bags is told, and what would make one possible."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.ageing.age.age_words import span_words
from yieldwright.ageing.compared.grinder_shots import bag_name
from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, number, p_words, signed
from yieldwright.taste.words.wording import column_label, response_words, signed_span

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldwright.ageing.compared.bag_pairs import BagPair
    from yieldwright.bench import Bench
    from yieldwright.models.contrasts.contrasts import Estimate

__all__ = ["pair_cautions", "pair_remedy", "pair_sentence"]

#: Corrected p-value below which a difference counts as one.
CLEAR = 0.05

#: What keeps bags from being compared and can be mended.
MENDED = ("unknown age", "no age in common", "one age in common", "few", "entwined")

#: Column of services, which has no setting one could hold equal.
SERVICE = "service_stretch"


def pair_sentence(pair: BagPair, p_holm: float, *, response: str, bench: Bench) -> str:
    """Return what a comparison of two bags says, or why it says nothing.

    Parameters
    ----------
    pair : BagPair
        Two bags.
    p_holm : float
        Its p-value, corrected for all pairs compared. [1]
    response : str
        Column explained.
    bench : Bench
        Whose scales to use.

    Returns
    -------
    str
    """
    if pair.difference is None:
        return _refusal(pair)
    held = _held_equal(pair)
    clear = p_holm < CLEAR
    told = _told(pair, pair.difference, clear=clear, response=response, bench=bench)
    where = f"At {span_words(pair.age_d, pair.age_d)}{held}, {told}"
    basis = f"{count(pair.n_shots, 'shot')} in {count(pair.n_sessions, 'session')}"
    after = f", {p_words(p_holm)}"
    limits = (
        f"95 % interval {_span(pair.difference, response, bench)}" if clear else "95 % interval"
    )
    sentence = f"{where} ({limits}; {basis}{after})."
    return f"{sentence}{_ends(pair, response, bench)}"


def _told(pair: BagPair, found: Estimate, *, clear: bool, response: str, bench: Bench) -> str:
    words = response_words(response, bench)
    first, second = bag_name(pair.first), bag_name(pair.second)
    half = (found.ci_high - found.ci_low) / 2
    if not clear:
        return (
            f"no difference in {words.noun} shows between {first} and {second}: {second} less "
            f"{first} is {_span(found, response, bench)}"
        )
    return f"{second} {words.verb} {words.amount(found.estimate, half)} than {first}"


def _span(found: Estimate, response: str, bench: Bench) -> str:
    return response_words(response, bench).span(found.ci_low, found.ci_high)


def _held_equal(pair: BagPair) -> str:
    """Return what was held equal, in words that begin with a comma."""
    labels = [column_label(name) for name in pair.allowed if name != SERVICE]
    return f" and the same {listing(labels)}" if labels else ""


def _ends(pair: BagPair, response: str, bench: Bench) -> str:
    """Return the difference at both ends of the ages shared, where slopes clearly differ."""
    if not pair.at_ends:
        return ""
    words = response_words(response, bench)
    parts = [
        f"{signed(end.estimate, (end.ci_high - end.ci_low) / 2)} {words.unit} at {age:g} days "
        f"({signed_span(end.ci_low, end.ci_high)})"
        for age, end in zip(pair.shared, pair.at_ends, strict=True)
    ]
    return (
        " The two do not age alike, so one difference does not hold at every age: "
        f"{bag_name(pair.second)} less {bag_name(pair.first)} is {parts[0]} and {parts[1]}, "
        "limits that hold for both together."
    )


def _refusal(pair: BagPair) -> str:
    first, second = bag_name(pair.first), bag_name(pair.second)
    both = f"No comparison of {first} with {second}"
    if pair.why == "unknown age":
        return f"{both}: {_unknown(pair)}."
    spans = (
        f"{first} was pulled at {span_words(*pair.spans[0])} and {second} at "
        f"{span_words(*pair.spans[1])}"
    )
    if pair.why in ("no age in common", "one age in common"):
        shared = "no age in common" if pair.why.startswith("no") else "a single age in common"
        return f"{both} at equal age: {spans}, {shared}."
    inside = f"where both were pulled, at {span_words(*pair.shared)}"
    basis = f"{count(pair.n_shots, 'shot')} in {count(pair.n_sessions, 'session')}"
    if pair.why == "few":
        return f"{both}: {inside}, there are only {basis}."
    if pair.why == "entwined" and pair.entwined is not None:
        label = column_label(pair.entwined.partner)
        return (
            f"{both}: {inside}, the {label} changed with the bag, and which of "
            "the two changed the shots this log cannot tell."
        )
    if pair.why == "no spread":
        return f"{both}: {inside}, every value is the same."
    return f"{both}: {inside}, {pair.why}."


def _unknown(pair: BagPair) -> str:
    lacking = [
        bag_name(code)
        for code, span in zip((pair.first, pair.second), pair.spans, strict=True)
        if math.isnan(span[0])
    ]
    verb = "is" if len(lacking) == 1 else "are"
    return f"the roast age of {listing(lacking)} {verb} not known in any shot with a value"


def pair_remedy(pair: BagPair, *, now_d: Mapping[str, float]) -> str:
    """Return the shots that would make a comparison possible, empty where there is one.

    Parameters
    ----------
    pair : BagPair
        Two bags.
    now_d : mapping of str to float
        Age of each bag on the day the log is judged on. [d]

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.ageing.compared.bag_pairs import BagPair
    >>> pair = BagPair(
    ...     "bag-21", "bag-22", ((9.0, 14.0), (3.0, 6.0)), (9.0, 6.0), why="no age in common"
    ... )
    >>> pair_remedy(pair, now_d={"bag-22": 8.0})
    'Pull bag-22 again at 9 to 14 days.'
    """
    if pair.difference is not None or pair.why not in MENDED:
        return ""
    if pair.why == "unknown age":
        return "Note the day of the roast, and the day of each shot."
    if pair.why == "entwined" and pair.entwined is not None:
        return _remedy_of(pair.entwined.partner, pair)
    (first, second) = pair.spans
    younger = pair.second if second[1] <= first[1] else pair.first
    other = pair.spans[0] if younger == pair.second else pair.spans[1]
    wanted = pair.shared if pair.why == "few" else other
    if now_d.get(younger, wanted[0]) > wanted[1]:
        return (
            f"Unless it was frozen, {bag_name(younger)} is past that by now: pull the next bag at "
            f"{span_words(*other)}, on at least two days."
        )
    again = f"Pull {bag_name(younger)} again at {span_words(*wanted)}"
    return f"{again}, on at least two days." if pair.why == "few" else f"{again}."


def _remedy_of(column: str, pair: BagPair) -> str:
    if column == SERVICE:
        return "No shot mends that; pull one bag on both sides of the next service."
    second = bag_name(pair.second)
    return f"Pull {second} at the {column_label(column)} of {bag_name(pair.first)} too."


def pair_cautions(pairs: Sequence[BagPair]) -> Iterator[Caution]:
    """Yield what a reader of compared bags must know of each pair.

    Parameters
    ----------
    pairs : sequence of BagPair
        Pairs that were compared.

    Yields
    ------
    Caution
    """
    for pair in pairs:
        if pair.difference is None:
            continue
        names = f"{bag_name(pair.first)} and {bag_name(pair.second)}"
        if pair.entwined is not None:
            label = column_label(pair.entwined.partner)
            wider = number(pair.entwined.inflation**0.5, figures=2)
            yield Caution(
                "bag-with-setting",
                "care",
                f"The {label} differed along with the bag between {names}: that makes the "
                f"interval {wider} times as wide, and the line in {label} carries the answer.",
                _remedy_of(pair.entwined.partner, pair),
                ("bag", pair.entwined.partner),
            )
        if pair.not_allowed:
            labels = [column_label(name) for name in pair.not_allowed]
            yield Caution(
                "bags-not-held-equal",
                "note",
                f"Between {names}, {listing(labels)} also differed, and so few shots cannot "
                "allow for that.",
                "Pull more shots at ages that both bags share.",
                ("bag", *pair.not_allowed),
            )
