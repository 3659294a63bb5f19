"""What to doubt of a chart of the bench: order, adjusting, age, coarse values, lone shots."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import Caution, gravest_first
from yieldwright.formatting import count, listing, percent
from yieldwright.models.charts.false_alarms import CUSUM, EWMA
from yieldwright.models.charts.run_rules import RULES
from yieldwright.repeatability.charts.watch_texts import like_this, shot_words
from yieldwright.repeatability.charts.watched_series import AGE
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.repeatability.charts.watched_series import WatchedSeries
    from yieldwright.repeatability.charts.watching import Watch

__all__ = ["AGE_STAYS", "cautions_of", "hanging_caution", "with_a_move"]

#: Code of the caution that coffee aged while shots were pulled.
AGE_STAYS = "age-not-taken-out"

#: Values written in fewer different figures are steps, and not the smooth ones chances are for.
FEW_FIGURES = 6

#: From here on an alarm is to be expected now and then though nothing changes.
OFTEN = 0.25

#: What the two charts that are no rules are called.
_CHARTS = {EWMA: "the running average", CUSUM: "the sums of small differences"}

#: Shots beyond the limits that a sentence names one by one.
_MOST_NAMED = 3


def hanging_caution(found: Watch, rows: Sequence[int], gone: Sequence[str]) -> tuple[Caution, ...]:
    """Return that alarms would be gone without the shots beyond the limits.

    Parameters
    ----------
    found : Watch
        Chart and alarms.
    rows : sequence of int
        Shots beyond the limits.
    gone : sequence of str
        Watchers that would not alarm without them.

    Returns
    -------
    tuple of Caution
        None where nothing would be gone.
    """
    if not gone:
        return ()
    shots = f"the {count(len(rows), 'shot')} beyond the limits"
    if len(rows) <= _MOST_NAMED:
        shots = listing([shot_words(found.table, row) for row in rows])
    named = [_CHARTS[name] if name in _CHARTS else RULES[name].meaning for name in gone]
    return (
        Caution(
            "alarms-hang-on-one",
            "care",
            f"Without {shots} there would be no alarm by {listing(named)}: it may come of "
            f"{'that shot' if len(rows) == 1 else 'those shots'} alone.",
            "Find out what happened there, and leave it out if it was no shot like the others.",
            (found.response,),
        ),
    )


def cautions_of(found: Watch, series: WatchedSeries) -> tuple[Caution, ...]:
    """Return what a reader of a chart must know before trusting it.

    Parameters
    ----------
    found : Watch
        Chart and alarms.
    series : WatchedSeries
        What it was drawn from.

    Returns
    -------
    tuple of Caution
    """
    return (*_of_series(series), *_of_chart(found, series))


def with_a_move(cautions: Sequence[Caution]) -> tuple[Caution, ...]:
    """Return the cautions of a chart beside which a lasting move is told.

    Parameters
    ----------
    cautions : sequence of Caution
        Of the chart.

    Returns
    -------
    tuple of Caution
        That age is not taken out must then be read, for it may be what moved.

    Examples
    --------
    >>> note = Caution("age-not-taken-out", "note", "Coffee aged.")
    >>> [each.severity for each in with_a_move([note])]
    ['care']
    """
    return gravest_first(
        replace(each, severity="care") if each.code == AGE_STAYS else each for each in cautions
    )


def _of_series(series: WatchedSeries) -> Iterator[Caution]:
    if not series.ordered:
        yield Caution(
            "order-of-file",
            "care",
            "A chart tells what came after what, and this one trusts the order of the file.",
            "Log when each shot was pulled, or day and position.",
            ("pulled_at",),
        )
    if series.not_allowed_for:
        named = listing([column_label(column) for column in series.not_allowed_for])
        yield Caution(
            "chart-not-adjusted",
            "care",
            f"Also different among these shots, and not allowed for because they are too few: "
            f"{named}. An alarm may come of that.",
            "Chart shots pulled at one setting, or more of them.",
            series.not_allowed_for,
        )
    settings = [column for column in series.allowed_for if column != AGE]
    if settings:
        yield Caution(
            "put-down-to-settings",
            "note",
            "A move of the bench that came along with a change of "
            f"{listing([column_label(column) for column in settings], last='or')} is put down "
            "to that change, and does not show.",
            "Pull one setting in every session, by which to know the bench.",
            tuple(settings),
        )
    if AGE in series.allowed_for:
        yield Caution(
            "put-down-to-age",
            "note",
            "A slow and even drift is put down to the age of the bag: this chart cannot tell "
            "one from the other.",
            "Keep a frozen half of the bag to compare with.",
            (AGE,),
        )


def _of_chart(found: Watch, series: WatchedSeries) -> Iterator[Caution]:
    days = found.table["pulled_on"].nunique()
    if AGE not in (*series.allowed_for, *series.not_allowed_for) and days > 1:
        yield Caution(
            AGE_STAYS,
            "care" if found.alarms else "note",
            f"The shots charted in {column_label(found.response)} were pulled on {days} days, and "
            "what age did to the coffee meanwhile is not taken out: it may look like a bench that "
            "moved.",
            "Log the roast date.",
            (AGE,),
        )
    if len(np.unique(series.observed)) < FEW_FIGURES:
        yield Caution(
            "coarse-values",
            "care",
            f"The values of {column_label(found.response)} come in "
            f"{len(np.unique(series.observed))} different figures: the chance of an alarm that "
            "is told holds for values that vary smoothly.",
            "Read to a finer figure.",
            (found.response,),
        )
    if found.chances is not None and found.chances.of_any > OFTEN:
        yield _expected(found, found.chances.of_any)


def _expected(found: Watch, chance: float) -> Caution:
    """Return that alarms are to be expected though nothing changes, and why."""
    why, remedy = "", "Look whether several watchers agree, and at the same shots."
    if found.baseline < found.n_shots:
        carried = "limits"
        if found.allowed_for:
            named = listing([column_label(column) for column in found.allowed_for])
            carried += f", and what {named} did,"
        why = f": {carried} are carried from these to shots they do not rest on"
        remedy = "Let limits rest on more shots, or on shots of one setting."
    return Caution(
        "alarms-expected",
        "note",
        f"Of steady logs {like_this(found)}, {percent(chance)} alarm too{why}.",
        remedy,
        (found.response,),
    )
