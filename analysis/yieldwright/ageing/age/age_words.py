"""What is said of the roast ages of a bag, and of two roasts under one code."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import clip, count, listing, visible
from yieldwright.shotlog.checks.frozen_days import frozen_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import date

__all__ = [
    "BagAges",
    "age_sentences",
    "bag_words",
    "day_words",
    "span_of",
    "span_words",
    "two_roasts",
]

#: Bags told in sentences of their own; the table has all of them.
MOST_BAGS = 6

_LONGEST_NAME = 24
_REMEDIES = {
    "without a roast date": "Write roasted_on beside the shots, or once for the bag under "
    "[[bags]] in bench.toml.",
    "without a day of the pull": "Write pulled_at, or the day alone as pulled_on.",
    "without the day the coffee was frozen": "Write frozen_on beside thawed_on.",
}
_CORRECT = "Correct the days of those shots; the log's flags name them."


@dataclass(frozen=True, slots=True, kw_only=True)
class BagAges:
    """How old the coffee of one bag was at its shots.

    Attributes
    ----------
    bag : str
        Its code; empty where the shots have none.
    n_shots, n_with_age : int
        Its shots, and those whose age is known.
    n_typed : int
        Ages typed by hand that no days of the bag check.
    first_age_d, last_age_d : float
        Youngest and oldest at a shot; missing where no age is known. [d]
    frozen_d : float
        Most days frozen by any shot; missing where nothing is known of a freezer. [d]
    opened_on : date or None
        Day the bag was opened.
    opened_at_age_d : float
        Its roast age on that day; missing where it is not known. [d]
    roasts : tuple of pairs of date and int
        Each roast date, with its number of shots.
    unknown : tuple of pairs of str and int
        Why ages are not known, and of how many shots; reasons follow a count.
    n_freezes : int
        Stays in the freezer behind the most days frozen; 0 where only their number of
        days is known. [count]
    """

    bag: str
    n_shots: int
    n_with_age: int
    n_typed: int
    first_age_d: float
    last_age_d: float
    frozen_d: float
    opened_on: date | None
    opened_at_age_d: float
    roasts: tuple[tuple[date, int], ...]
    unknown: tuple[tuple[str, int], ...]
    n_freezes: int = 0

    @property
    def roasted_on(self) -> date | None:
        """Roast date of most of its shots, the earliest of several."""
        most = max((n for _, n in self.roasts), default=0)
        return next((day for day, n in self.roasts if n == most), None)

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why ages are not known, each with its count."""
        return tuple(f"{n:,} {reason}" for reason, n in self.unknown)

    @property
    def frozen_words(self) -> str:
        """How often and for how long it was frozen, which adds nothing; empty where never."""
        if not self.frozen_d > 0:
            return ""
        adds = "adds" if self.frozen_d == 1 else "add"
        return f"{frozen_words(self.n_freezes, self.frozen_d)}, which {adds} nothing"


def age_sentences(bags: Sequence[BagAges]) -> tuple[str, ...]:
    """Return what to say of the ages of bags, and what would make unknown ones known.

    Parameters
    ----------
    bags : sequence of BagAges
        In the order to tell them.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from datetime import date
    >>> nan, roasts = float("nan"), ((date(2026, 10, 16), 2), (date(2026, 11, 6), 1))
    >>> bag = BagAges(
    ...     bag="bag-21",
    ...     n_shots=3,
    ...     n_with_age=3,
    ...     n_typed=0,
    ...     first_age_d=4.0,
    ...     last_age_d=9.0,
    ...     frozen_d=nan,
    ...     opened_on=None,
    ...     opened_at_age_d=nan,
    ...     roasts=roasts,
    ...     unknown=(),
    ... )
    >>> age_sentences([bag])
    ('All 3 shots of bag-21 have a roast age, 4 to 9 days.',)
    """
    if not bags:
        return ("There are no shots, and so no roast ages.",)
    said = [sentence for each in bags[:MOST_BAGS] for sentence in _of_bag(each)]
    if len(bags) > MOST_BAGS:
        said.append(f"The table has {count(len(bags) - MOST_BAGS, 'more bag')}.")
    typed = sum(each.n_typed for each in bags)
    if typed:
        said.append(f"The age of {count(typed, 'shot')} was typed by hand; no days check it.")
    reasons = [reason for each in bags for reason, _ in each.unknown]
    said += dict.fromkeys(_REMEDIES.get(reason, _CORRECT) for reason in reasons)
    return tuple(said)


def two_roasts(bags: Iterable[BagAges]) -> tuple[Caution, ...]:
    """Return a caution on each bag whose shots carry different roast dates.

    Parameters
    ----------
    bags : iterable of BagAges
        Any.

    Returns
    -------
    tuple of Caution

    Examples
    --------
    >>> from datetime import date
    >>> nan, roasts = float("nan"), ((date(2026, 10, 16), 2), (date(2026, 11, 6), 1))
    >>> bag = BagAges(
    ...     bag="bag-21",
    ...     n_shots=3,
    ...     n_with_age=3,
    ...     n_typed=0,
    ...     first_age_d=4.0,
    ...     last_age_d=9.0,
    ...     frozen_d=nan,
    ...     opened_on=None,
    ...     opened_at_age_d=nan,
    ...     roasts=roasts,
    ...     unknown=(),
    ... )
    >>> two_roasts([bag])[0].code
    'two-roast-dates'
    """
    return tuple(_two_roasts(each) for each in bags if len(each.roasts) > 1)


def bag_words(bag: str) -> str:
    """Return the code of a bag as a sentence shows it.

    Parameters
    ----------
    bag : str
        From a log; empty where the shots have none.

    Returns
    -------
    str

    Examples
    --------
    >>> bag_words("bag-21"), bag_words("")
    ('bag-21', 'the bag')
    """
    return clip(visible(bag), _LONGEST_NAME) or "the bag"


def day_words(day: date | None) -> str:
    """Return a day year first, empty where it is not known.

    Parameters
    ----------
    day : date or None
        Any.

    Returns
    -------
    str

    Examples
    --------
    >>> from datetime import date
    >>> day_words(date(2026, 10, 16)), day_words(None)
    ('2026-10-16', '')
    """
    return "" if day is None else day.isoformat()


def span_of(first: float, last: float) -> str:
    """Return two numbers of days as a span, one where they agree, none where unknown.

    Parameters
    ----------
    first, last : float
        Days. [d]

    Returns
    -------
    str

    Examples
    --------
    >>> span_of(4.0, 41.0), span_of(4.0, 4.0), span_of(float("nan"), float("nan"))
    ('4 to 41', '4', '')
    """
    if math.isnan(first):
        return ""
    return f"{first:g}" if first == last else f"{first:g} to {last:g}"


def span_words(low: float, high: float) -> str:
    """Return a span of ages in words.

    Parameters
    ----------
    low, high : float
        Its ends. [d]

    Returns
    -------
    str

    Examples
    --------
    >>> span_words(4.0, 10.0), span_words(9.0, 9.0), span_words(1.0, 1.0)
    ('4 to 10 days', '9 days', '1 day')
    """
    return f"{span_of(low, high)} {'day' if low == high == 1 else 'days'}"


def _two_roasts(ages: BagAges) -> Caution:
    dated = [f"{day_words(day)} ({count(n, 'shot')})" for day, n in ages.roasts]
    return Caution(
        "two-roast-dates",
        "care",
        f"Shots of {bag_words(ages.bag)} carry {len(dated)} roast dates: {listing(dated)}. Two "
        "roasts are two coffees, and one line through both would mix them.",
        "Give the second roast a code of its own, or correct the date.",
        ("bag", "roasted_on"),
    )


def _of_bag(ages: BagAges) -> Iterator[str]:
    name, known = bag_words(ages.bag), ages.n_with_age
    shots = count(ages.n_shots, "shot")
    if not known:
        why = ages.unknown[0][0] if len(ages.unknown) == 1 else f"– {listing(ages.reasons)}"
        yield f"No roast age is known of {name} ({shots} {why})."
        return
    which = f"All {shots}" if known == ages.n_shots else f"{known:,} of {shots}"
    if known == ages.n_shots <= 2:
        which = ("The one shot", "Both shots")[known - 1]
    verb = "has" if known == 1 else "have"
    days = span_words(ages.first_age_d, ages.last_age_d)
    yield f"{which} of {name} {verb} a roast age, {days}{_frozen(ages)}."
    if ages.opened_on:
        yield f"The bag was opened on {day_words(ages.opened_on)}{_old(ages.opened_at_age_d)}."
    if ages.unknown:
        yield f"Not known: {listing(ages.reasons)}."


def _frozen(ages: BagAges) -> str:
    if not ages.frozen_d > 0:
        return ""
    return f"; it was {ages.frozen_words} to its age"


def _old(age: float) -> str:
    if math.isnan(age):
        return ""
    return f", {age:g} {'day' if age == 1 else 'days'} old"
