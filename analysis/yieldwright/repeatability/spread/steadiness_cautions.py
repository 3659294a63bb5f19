"""What to doubt in a spread of like shots: failures, lines, hands, coarse readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.cautions import Caution, gravest_first
from yieldwright.formatting import count, listing, sentence_case, visible
from yieldwright.repeatability.spread.instrument_shares import display_step
from yieldwright.repeatability.spread.measured import measured_unit
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.bench import Bench
    from yieldwright.repeatability.spread.quantity_spread import QuantitySpread
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["steadiness_cautions"]

#: Parts of a bench by the name under which it states them, and what they measure.
_PARTS = {
    "refractometer": ("the refractometer", ("ey_pct", "tds_pct")),
    "beverage_scale": ("the scale under the cup", ("ey_pct", "beverage_g")),
    "dose_scale": ("the scale for the dose", ("ey_pct", "dose_g")),
}


def steadiness_cautions(
    comparable: ComparableSet, quantities: Sequence[QuantitySpread], bench: Bench
) -> tuple[Caution, ...]:
    """Return what a reader must know before trusting a spread.

    Parameters
    ----------
    comparable : ComparableSet
        The shots, and how many were left out for what reason.
    quantities : sequence of QuantitySpread
        What was found.
    bench : Bench
        What it states of its instruments.

    Returns
    -------
    tuple of Caution
        The gravest first.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import set_of
    >>> shots = set_of(pd.DataFrame({"fate": ["pulled", "choked"]}))
    >>> [each.code for each in steadiness_cautions(shots, (), Bench())]
    ['failures-left-out']
    """
    found = [
        *_failures(comparable),
        *_other_starts(quantities),
        *_about_lines(quantities),
        *_left_in(quantities),
        *_hands(quantities),
        *_coarse(quantities),
        *_assumed(quantities, bench),
    ]
    return gravest_first(found)


def _failures(comparable: ComparableSet) -> Iterator[Caution]:
    failed = sum(each.count for each in comparable.excluded if each.reason == "not pulled")
    if failed:
        yield Caution(
            "failures-left-out",
            "care",
            f"{count(failed, 'shot')} that failed {'is' if failed == 1 else 'are'} left out, "
            "which makes the spread look smaller than it is.",
            "Read the share of failures beside the spread.",
            ("fate",),
        )


def _other_starts(quantities: Sequence[QuantitySpread]) -> Iterator[Caution]:
    for each in quantities:
        for lost in each.dropped:
            yield Caution(
                "mixed-timing",
                "care",
                f"{sentence_case(str(lost))} {'is' if lost.count == 1 else 'are'} left out of "
                f"{_noun(each)}: times from two starts are no difference between shots.",
                "Start the clock at the same moment always, and log which.",
                ("time_from",),
            )


def _about_lines(quantities: Sequence[QuantitySpread]) -> Iterator[Caution]:
    about = [each for each in quantities if each.alike.basis == "fit"]
    if about:
        yield Caution(
            "spread-about-a-line",
            "care",
            f"In {listing([_noun(each) for each in about])} the spread is that about a line "
            "through the settings: a bend the line misses counts as spread.",
            "Pull one setting six times in one session.",
            tuple(each.column for each in about),
        )


def _left_in(quantities: Sequence[QuantitySpread]) -> Iterator[Caution]:
    left = [each for each in quantities if each.alike.not_taken]
    for names in dict.fromkeys(each.alike.not_taken for each in left):
        nouns = listing([_noun(each) for each in left if each.alike.not_taken == names])
        told = listing([visible(column_label(name)) for name in names])
        yield Caution(
            "settings-left-in",
            "care",
            f"In {nouns} too few shots were pulled to take {told} out of the spread: what "
            "differs with it counts as spread.",
            "Pull one setting six times in one session, or each setting more often.",
            names,
        )


def _hands(quantities: Sequence[QuantitySpread]) -> Iterator[Caution]:
    mixed = [each for each in quantities if each.alike.pools_hands]
    if mixed:
        yield Caution(
            "several-hands",
            "note",
            f"In {listing([_noun(each) for each in mixed])} shots of several hands are compared "
            "as if of one: what differs between hands counts as spread.",
            "Let one person pull one setting six times in one session.",
            ("barista",),
        )


def _coarse(quantities: Sequence[QuantitySpread]) -> Iterator[Caution]:
    for each in quantities:
        if each.column.startswith("score:") or not each.alike.df or each.column == "ey_pct":
            continue
        step = display_step(each.alike.rows[each.column])
        if 0 < each.sd < step / 2:
            unit = measured_unit(each.column)
            yield Caution(
                "coarse-reading",
                "care",
                f"The {_noun(each)} was written in steps of {step:g} {unit}, more than twice what "
                "like shots differ by: its spread is known to that step only.",
                "Write it down finer.",
                (each.column,),
            )


def _assumed(quantities: Sequence[QuantitySpread], bench: Bench) -> Iterator[Caution]:
    used = {each.column for each in quantities if each.instrument and not each.instrument.measured}
    assumed = [
        words
        for name, (words, columns) in _PARTS.items()
        if name not in bench.stated and used & set(columns)
    ]
    if assumed:
        yield Caution(
            "assumed-instruments",
            "note",
            f"The bench does not describe {listing(assumed)}: their resolution and repeatability "
            "are assumed.",
            "State them in the bench file.",
        )


def _noun(each: QuantitySpread) -> str:
    return visible(column_label(each.column))
