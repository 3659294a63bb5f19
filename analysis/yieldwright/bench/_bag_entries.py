"""The bags of a bench file: each day checked against the others."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from datetime import date, datetime
from typing import TYPE_CHECKING

from yieldwright.bench._parts import doubles
from yieldwright.bench.bags import BagFacts, Freeze
from yieldwright.glossary import quantity

if TYPE_CHECKING:
    from yieldwright.bench._entries import Entries

_FIRST_YEAR = 2000
_AS_FREEZES = "pairs of days, such as frozen = [[2026-10-20, 2026-11-02]]"


def read_bags(document: Entries) -> tuple[BagFacts, ...]:
    bags = [_bag(entries) for entries in document.repeated("bags")]
    for name in doubles(bag.name.casefold() for bag in bags if bag.name):
        document.complain(
            f"[[bags]] has more than one named {name!r}; give each roast a code of its own"
        )
    return tuple(bags)


def _bag(entries: Entries) -> BagFacts:
    levels = quantity("roast_level").choices
    bag = BagFacts(
        name=entries.text("name", None),
        roast_level=entries.word("roast_level", "", choices=levels),
        roasted_on=_day(entries, "roasted_on"),
        opened_on=_day(entries, "opened_on"),
        frozen=_freezes(entries),
    )
    if bag.roasted_on and bag.opened_on and bag.opened_on < bag.roasted_on:
        entries.complain(
            f"opened_on {bag.opened_on} lies before roasted_on {bag.roasted_on}; correct one"
        )
    if bag.roasted_on:
        _guard_roast(entries, bag.roasted_on, bag.frozen)
    entries.refuse_others()
    return bag


def _day(entries: Entries, key: str) -> date | None:
    value = entries.value(key)
    day = _as_day(value)
    if value is not None and day is None:
        entries.refuse(key, value, _a_day(key, value))
    return day


def _as_day(value: object) -> date | None:
    if not isinstance(value, date) or isinstance(value, datetime) or value.year < _FIRST_YEAR:
        return None
    return value


def _a_day(key: str, value: object) -> str:
    """Return what a day should look like, and how to mend one that was typed otherwise."""
    wanted = f"a day from {_FIRST_YEAR} on, year first and without quotes"
    try:
        day = date.fromisoformat(value.strip()) if isinstance(value, str) else None
    except ValueError:
        day = None
    if isinstance(value, datetime):
        day = value.date()
    return f"{wanted}, such as {key} = {day or '2026-10-16'}"


def _freezes(entries: Entries) -> tuple[Freeze, ...]:
    """Return the stays in the freezer, earliest first; none where any of them is wrong."""
    listed = entries.value("frozen")
    if listed is None:
        return ()
    pairs = listed if isinstance(listed, list) else [None]
    found = [_freeze(pair) for pair in pairs]
    if None in found:
        wanted = f"{_AS_FREEZES}; the day out may be missing while the bag is still frozen"
        entries.refuse("frozen", listed, wanted)
        return ()
    freezes = sorted((each for each in found if each), key=_in_order)
    complaints = list(_out_of_order(freezes))
    for sentence in complaints:
        entries.complain(f"frozen: {sentence}")
    return () if complaints else tuple(freezes)


def _in_order(freeze: Freeze) -> tuple[date, date]:
    return freeze.frozen_on, freeze.thawed_on or date.max


def _freeze(pair: object) -> Freeze | None:
    days = [_as_day(each) for each in pair] if isinstance(pair, list) else []
    if None in days or len(days) not in (1, 2) or days[0] is None:
        return None
    return Freeze(days[0], days[1] if len(days) == 2 else None)


def _out_of_order(freezes: Iterable[Freeze]) -> Iterable[str]:
    """Yield what is wrong with stays in the freezer that are sorted by their first day."""
    freezes = list(freezes)
    for each in freezes:
        if each.thawed_on and each.thawed_on < each.frozen_on:
            yield f"thawed on {each.thawed_on}, but frozen later, on {each.frozen_on}; swap them"
    for first, second in itertools.pairwise(freezes):
        if first.thawed_on is None:
            yield (
                f"frozen on {second.frozen_on} again, but no day says when the freeze of "
                f"{first.frozen_on} ended; add it"
            )
        elif second.frozen_on < first.thawed_on:
            yield (
                f"frozen on {second.frozen_on} while still frozen until {first.thawed_on}; let "
                "one stay end before the next begins"
            )


def _guard_roast(entries: Entries, roasted_on: date, freezes: Iterable[Freeze]) -> None:
    for each in freezes:
        if each.frozen_on < roasted_on:
            entries.complain(
                f"frozen on {each.frozen_on}, before the roast on {roasted_on}; correct one"
            )
