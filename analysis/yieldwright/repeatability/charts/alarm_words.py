"""Each alarm of a chart as a sentence or two: what, where, how likely by chance, and why."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import listing, percent, sentence_case
from yieldwright.models.charts.false_alarms import CUSUM, EWMA
from yieldwright.models.charts.run_rules import ONE_BEYOND_3S, RULES
from yieldwright.repeatability.charts.alarms import Alarm
from yieldwright.repeatability.charts.watch_events import note_of, service_at
from yieldwright.repeatability.charts.watch_texts import amount_of, like_this, shot_words
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.charts.run_rules import Rule
    from yieldwright.repeatability.charts.watched_series import WatchedSeries
    from yieldwright.repeatability.charts.watching import Watch

__all__ = ["alarm_sentence", "split_sentence"]

#: Alarms of one kind that a sentence names.
MOST_NAMED = 3

#: Shots on either side of a move before it is dated.
LEAST_A_SIDE = 3

#: Other watchers that must see a move before a shot beyond the limits is put down to it, and
#: how far out the other shots of their stretch must lie, in spreads.
MOVE_WATCHERS, MOVE_LEAST = 2, 0.5


def alarm_sentence(
    alarm: Alarm, later: Sequence[Alarm], found: Watch, series: WatchedSeries
) -> str:
    """Return the first alarm of a kind as a sentence or two, and where it came again.

    Parameters
    ----------
    alarm : Alarm
        The first of its kind.
    later : sequence of Alarm
        The others of one watcher and side.
    found : Watch
        Chart and alarms.
    series : WatchedSeries
        What it was drawn from.

    Returns
    -------
    str
    """
    chance = found.chances.of_each[alarm.by] if found.chances else math.nan
    luck = f"Chance alone shows this in {percent(chance)} of steady logs {like_this(found)}."
    return f"{_told(alarm, found)} {_event(alarm, found, series)}{_again(later, found)}{luck}"


def split_sentence(found: Watch, series: WatchedSeries) -> list[str]:
    """Return where one lasting move would explain that early and late shots alarm.

    Parameters
    ----------
    found : Watch
        Chart and alarms.
    series : WatchedSeries
        What it was drawn from.

    Returns
    -------
    list of str
        None or one.

    Notes
    -----
    Limits drawn from all shots stand between two levels, and then both of them alarm.
    """
    lasting = [alarm for alarm in found.alarms if alarm.by != ONE_BEYOND_3S.name]
    if {alarm.side for alarm in lasting if alarm.side} != {-1, 1}:
        return []
    left = found.table["adjusted"].to_numpy() - found.center
    places = np.arange(LEAST_A_SIDE, len(left) - LEAST_A_SIDE + 1)
    before = np.cumsum(left)[places - 1]
    apart = np.abs(before / places - (left.sum() - before) / (len(left) - places))
    row = int(places[np.argmax(apart * np.sqrt(places * (len(left) - places)))])
    low, high = ("low", "high") if left[row:].mean() > left[:row].mean() else ("high", "low")
    event = _event(Alarm("split", row, row, row, 0), found, series)
    return [
        f"Shots before {shot_words(found.table, row)} lie {low} and those from it on {high}: one "
        f"lasting move there would explain alarms on both sides of the centre. {event}".strip()
    ]


def _again(later: Sequence[Alarm], found: Watch) -> str:
    """Return at which shots the same watcher alarmed anew on the same side."""
    if not later:
        return ""
    names = [shot_words(found.table, alarm.first) for alarm in later[:MOST_NAMED]]
    if len(later) > MOST_NAMED:
        names.append(f"{len(later) - MOST_NAMED} more")
    return f"Again at {listing(names)}. "


def _told(alarm: Alarm, found: Watch) -> str:
    table, way = found.table, "up" if alarm.side > 0 else "down"
    whole = sentence_case(shot_words(table, alarm.first, until=alarm.last))
    if alarm.by == ONE_BEYOND_3S.name:
        return f"{whole} {_beyond(alarm, found)}: {_lone_hint(alarm, found)}."
    begin, seen = (shot_words(table, row) for row in (alarm.begins, alarm.first))
    if alarm.by == CUSUM:
        return (
            f"Sums of small differences date a lasting move {way} from {begin} on, and pass "
            f"their limit at {seen}: the level has moved and stayed."
        )
    if alarm.by == EWMA:
        return (
            f"The running average, which moved {way} from {begin} on, passes its limit at {seen}: "
            "the level has moved, by less than a single shot can show."
        )
    rule = RULES[alarm.by]
    sides = {"beyond": ("below it", "above it"), "trend": ("falling", "rising")}
    side = f", all {sides[rule.pattern][alarm.side > 0]}" if rule.pattern in sides else ""
    stretch = sentence_case(shot_words(table, alarm.begins, until=alarm.last))
    return f"{stretch}: {_met(rule, alarm)}{side}: {rule.hint}."


def _met(rule: Rule, alarm: Alarm) -> str:
    """Return the meaning of a rule, where a stretch meets it with more values than it asks."""
    longer = rule.least == rule.of and alarm.last - alarm.begins + 1 > rule.of
    return rule.meaning.replace(" values", " or more values", 1) if longer else rule.meaning


def _lone_hint(alarm: Alarm, found: Watch) -> str:
    """Return what befell shots beyond a limit: something of their own, or a move others see."""
    if sum(_moved_over(alarm, other, found) for other in found.alarms) >= MOVE_WATCHERS:
        return "other charts say that the level moved here, so it need be no mishap of its own"
    return ONE_BEYOND_3S.hint if alarm.first == alarm.last else "something befell these"


def _moved_over(alarm: Alarm, other: Alarm, found: Watch) -> bool:
    """Return whether another watcher sees a move that holds without the shots themselves."""
    covers = other.begins <= alarm.first and alarm.last <= other.last
    if other.by == ONE_BEYOND_3S.name or other.side != alarm.side or not covers:
        return False
    rows = np.setdiff1d(
        np.arange(other.begins, other.last + 1), np.arange(alarm.first, alarm.last + 1)
    )
    left = found.table["adjusted"].to_numpy()[rows] - found.center
    return bool(len(rows) and alarm.side * left.mean() > MOVE_LEAST * found.sigma)


def _beyond(alarm: Alarm, found: Watch) -> str:
    """Return which limit a shot or several lie beyond, with the value of a single one."""
    limit = found.upper if alarm.side > 0 else found.lower
    where = f"{'above' if alarm.side > 0 else 'below'} the limit of "
    where += amount_of(found, limit, found.sigma / 3)
    if alarm.first != alarm.last:
        return f"lie {where}"
    row = found.table.iloc[alarm.first]
    value = amount_of(found, row["adjusted"], found.sigma / 3)
    named = listing([column_label(column) for column in found.allowed_for])
    adjusted = f" with {named} taken out" if named else ""
    return f"lies {where}, at {value}{adjusted}"


def _event(alarm: Alarm, found: Watch, series: WatchedSeries) -> str:
    """Return what the log says was cleaned or changed as an alarm began, or of its one shot."""
    row = _serviced(alarm, series)
    if row is not None:
        what = service_at(row, shot_words(found.table, row), series.served)
        place = "where this began" if row <= alarm.begins else "while this built up"
        return f"The log says: {what}, {place}. "
    lone = alarm.by == ONE_BEYOND_3S.name and alarm.first == alarm.last
    return note_of(series.shots, alarm.first) if lone else ""


def _serviced(alarm: Alarm, series: WatchedSeries) -> int | None:
    """Return the row before which something was serviced as an alarm began, None if nowhere."""
    start, shots = alarm.begins, series.shots
    if "session" in shots and pd.notna(shots["session"].iloc[start]):
        same = shots["session"] == shots["session"].iloc[start]
        start = int(np.flatnonzero(same.to_numpy())[0])
    return min((row for row in series.served if start <= row <= alarm.first), default=None)
