"""What is doubtful about the days of bags: in their order, and against the bench."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.shotlog.checks.bag_days import BagDays, bag_facts
from yieldwright.shotlog.checks.frozen_days import frozen_words
from yieldwright.shotlog.findings import NO_ROW, Finding, findings_of, quoted

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from yieldwright.bench import Bench
    from yieldwright.shotlog.findings import Texts

__all__ = ["bag_checks"]

_NO_AGE = "the roast age is not known"
_BENCH = "bench.toml"
#: Bags named in one sentence.
_MOST_BAGS = 3
_CORRECT = "correct one of the two; a second roast needs a code of its own"


def bag_checks(frame: pd.DataFrame, texts: Texts, bench: Bench) -> Iterator[Finding]:
    """Yield what is wrong with the days of a bag, and what its age rests on.

    Parameters
    ----------
    frame : DataFrame
        One row per data row, computed columns included.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        What it knows of bags.

    Yields
    ------
    Finding
        Those of no row concern the log as a whole.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> days = {"frozen_on": ["2026-03-09"], "thawed_on": ["2026-03-02"]}
    >>> frame = pd.DataFrame(days).apply(pd.to_datetime)
    >>> next(bag_checks(frame, days, Bench())).reason
    'thawed before it was frozen; the roast age is not known'
    """
    if frame.empty:
        return
    days = BagDays.of(frame, bench, frame.get("pulled_on"))
    yield from _in_no_order(days, texts)
    yield from _of_the_log(days)
    yield from _frozen_by_others(frame, days)
    yield from _frozen_otherwise(days, texts)
    if bench.bags:
        yield from _against_the_bench(frame, days, texts)
        yield from _roasted_later(frame, days, texts)
        yield from _never_named(frame, days)


def _in_no_order(days: BagDays, texts: Texts) -> Iterator[Finding]:
    yield from findings_of(
        days.freezer.is_thawed_first,
        "thawed_on",
        texts,
        f"thawed before it was frozen; {_NO_AGE}",
        "correct frozen_on or thawed_on",
    )
    yield from findings_of(
        days.freezer.lacks_start,
        "thawed_on",
        texts,
        f"thawed, but no day says when it was frozen; {_NO_AGE}",
        "add frozen_on, or the number of days as frozen_d",
    )
    yield from findings_of(
        days.freezer.is_unroasted,
        "frozen_on",
        texts,
        f"frozen before the roast; {_NO_AGE}",
        "correct roasted_on or frozen_on",
    )


def _of_the_log(days: BagDays) -> Iterator[Finding]:
    """Yield what holds for many rows, said once."""
    still = int(days.freezer.is_still_frozen.sum())
    if still:
        reason = (
            f"{count(still, 'row')} with a day into the freezer and none out of it by the pull: "
            "taken as brewed straight from the freezer"
        )
        yield Finding(NO_ROW, "thawed_on", "", reason, "else write thawed_on")
    unplaced = int(days.is_unplaced.sum())
    if unplaced:
        reason = (
            f"days open are not known for {count(unplaced, 'row')}: frozen_d does not say whether "
            "the bag was frozen before or after it was opened"
        )
        yield Finding(NO_ROW, "open_d", "", reason, "write frozen_on and thawed_on")


def _frozen_by_others(frame: pd.DataFrame, days: BagDays) -> Iterator[Finding]:
    """Yield, once, that rows have days taken off which only other rows of their bag state."""
    freezer = days.freezer
    borrows = freezer.n_borrowed > 0
    if not borrows.any():
        return
    bags = frame["bag"].astype("str").to_numpy() if "bag" in frame else np.full(len(frame), "")
    told = []
    for coffee in pd.unique(freezer.coffee[borrows])[:_MOST_BAGS].tolist():
        at = int(np.nanargmax(np.where(freezer.coffee == coffee, freezer.by_dates_d, -1.0)))
        bag = f"the bag {quoted(bags[at])}" if bags[at] else "the bag"
        told.append(f"{bag} was {frozen_words(freezer.n_stays[at], freezer.by_dates_d[at])}")
    rest = len(np.unique(freezer.coffee[borrows])) - len(told)
    told += [f"{count(rest, 'more bag')} likewise"] if rest else []
    reason = (
        f"{listing(told)}: taken off {count(int(borrows.sum()), 'row')} too that "
        f"{'does' if borrows.sum() == 1 else 'do'} not state all of it"
    )
    yield Finding(NO_ROW, "frozen_on", "", reason, "give coffee that stayed out a code of its own")


def _against_the_bench(frame: pd.DataFrame, days: BagDays, texts: Texts) -> Iterator[Finding]:
    """Yield what rows say otherwise than the bench: what was typed is used."""
    for at, bag in enumerate(days.bags):
        rows = days.facts == at
        for name in ("roasted_on", "opened_on", "roast_level"):
            known = getattr(bag, name)
            if not known or name not in texts or name not in frame:
                continue
            same = frame[name].eq(known if isinstance(known, str) else pd.Timestamp(known))
            differs = rows & (frame[name].notna() & ~same).to_numpy(dtype=bool)
            reason = f"{_BENCH} says {known} for this bag; what the row says is used"
            yield from findings_of(differs, name, texts, reason, _CORRECT)


def _frozen_otherwise(days: BagDays, texts: Texts) -> Iterator[Finding]:
    """Yield rows that have their bag in the freezer on other days than the rest has it."""
    freezer = days.freezer
    for whose, differs in (
        (f"{_BENCH} has", freezer.is_otherwise_by_bench),
        ("other rows have", freezer.is_otherwise_by_rows),
    ):
        for is_of_column, column in (
            (freezer.is_dated, "frozen_on"),
            (~freezer.is_dated, "frozen_d"),
        ):
            reason = _otherwise(whose, freezer.bag_d)
            yield from findings_of(
                differs & is_of_column, column, texts, reason, "correct one of the two"
            )


def _otherwise(whose: str, bag_d: np.ndarray) -> Callable[[int], str]:
    return lambda row: (
        f"{whose} this bag frozen on other days, {count(int(bag_d[row]), 'day')} by the pull; "
        "what the row says is used"
    )


def _roasted_later(frame: pd.DataFrame, days: BagDays, texts: Texts) -> Iterator[Finding]:
    """Yield shots that cannot come from the roast the bench knows under their bag's code."""
    named = bag_facts(frame, days.bags)
    for at, bag in enumerate(days.bags):
        rows = (named == at) & (days.facts != at)
        reason = f"pulled before {bag.roasted_on}, the roast that {_BENCH} gives this bag: unused"
        remedy = "give the earlier roast a code of its own, or correct roasted_on"
        yield from findings_of(rows, "bag", texts, reason, remedy)


def _never_named(frame: pd.DataFrame, days: BagDays) -> Iterator[Finding]:
    """Yield bags of the bench no shot came from, where a bag without a roast date is alike."""
    if "bag" not in frame:
        return
    undated = frame["bag"][np.isnan(days.roasted) & frame["bag"].notna().to_numpy()]
    words = [str(word) for word in undated.unique()]
    named = frozenset(bag_facts(frame, days.bags).tolist())
    for at, bag in enumerate(days.bags):
        near = difflib.get_close_matches(bag.name, words, n=1) if at not in named else []
        for word in near:
            reason = (
                f"{_BENCH} knows the bag {quoted(bag.name)}, of which no shot was pulled, and the "
                f"log has {quoted(word)} without a roast date: the same bag?"
            )
            yield Finding(NO_ROW, "bag", "", reason, "write one code in both")
