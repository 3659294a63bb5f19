"""What a chart of the bench says in plain words: alarms, their chance, and what to doubt."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import clip, count, listing, number, percent, sentence_case, visible
from yieldwright.glossary import find_quantity
from yieldwright.models.charts.false_alarms import CUSUM, EWMA
from yieldwright.models.charts.run_rules import ONE_BEYOND_3S, RULES
from yieldwright.repeatability.alarms import Alarm
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.repeatability.watched_series import WatchedSeries
    from yieldwright.repeatability.watching import Watch

__all__ = ["sentences_of", "shot_words", "too_few", "unit_of"]

#: Characters of a note that a sentence shows, and alarms of one kind that it names.
LONGEST_NOTE, MOST_NAMED = 60, 3

#: Shots on either side of a move before it is dated.
LEAST_A_SIDE = 3

#: Entries that say that nothing was done.
NOTHING = frozenset({"", "-", "–", "0", "no", "none", "nothing", "n/a", "false"})


def unit_of(column: str) -> str:
    """Return the unit a level of a column is told in.

    Parameters
    ----------
    column : str
        Canonical name, or `score:` and an attribute.

    Returns
    -------
    str

    Examples
    --------
    >>> unit_of("time_s"), unit_of("ey_pct"), unit_of("score:overall")
    ('s', '%', 'points')
    """
    entry = find_quantity(column)
    if entry is None:
        return "points"
    return "%" if entry.unit.startswith("%") else entry.unit.removeprefix("1")


def too_few(series: WatchedSeries, of: str, least: int) -> str:
    """Return why a series bears no chart, empty where it does.

    Parameters
    ----------
    series : WatchedSeries
        Shots in order.
    of : str
        Column watched.
    least : int
        Values a chart needs. [count]

    Returns
    -------
    str
    """
    n, what = len(series.observed), column_label(of)
    article = "an" if what[0] in "aeiou" else "a"
    if n < least:
        have = f"{count(n, 'shot')} {'has' if n == 1 else 'have'}" if n else "No shot has"
        return (
            f"{have} {article} {what} to chart, and {least} are needed: pull and log "
            f"{least - n} more. Limits drawn from fewer would tell chance, not the bench."
        )
    if len(np.unique(series.observed)) == 1:
        return (
            f"All {count(n, 'shot')} have the same {what}, so no spread can be told: read it "
            "to a finer figure."
        )
    return ""


def shot_words(table: pd.DataFrame, row: int, *, until: int | None = None) -> str:
    """Return the name of a shot, or of the first and last of several, with days.

    Parameters
    ----------
    table : DataFrame
        One row per shot: `shot` and `pulled_on`.
    row : int
        Which one.
    until : int or None
        The last of several; None for one.

    Returns
    -------
    str

    Examples
    --------
    >>> table = pd.DataFrame(
    ...     {"shot": ["s1", "s2"], "pulled_on": pd.to_datetime(["2026-05-03"] * 2)}
    ... )
    >>> shot_words(table, 0), shot_words(table, 0, until=1)
    ('shot s1 (2026-05-03)', 'shots s1 to s2 (2026-05-03)')
    """
    last = row if until is None else until
    names = [clip(visible(str(table["shot"].iloc[place])), 24) for place in (row, last)]
    days = [table["pulled_on"].iloc[place] for place in (row, last)]
    told = [day.date().isoformat() for day in days if not pd.isna(day)]
    when = f" ({' to '.join(dict.fromkeys(told))})" if told else ""
    if last == row:
        return f"shot {names[0]}{when}"
    return f"shots {names[0]} to {names[1]}{when}"


def sentences_of(found: Watch, series: WatchedSeries) -> tuple[str, ...]:
    """Return what a chart says.

    Parameters
    ----------
    found : Watch
        Chart and alarms.
    series : WatchedSeries
        What it was drawn from.

    Returns
    -------
    tuple of str
    """
    alike: dict[tuple[str, int], list[Alarm]] = {}
    for alarm in found.alarms:
        alike.setdefault((alarm.by, alarm.side), []).append(alarm)
    alarms = [_alarm(each[0], each[1:], found, series) for each in alike.values()]
    return (
        _level(found),
        *series.remarks,
        *_taken_out(found),
        *alarms,
        *_split(found, series),
        _chance(found),
        _seen(found),
    )


def _amount(found: Watch, value: float, u: float) -> str:
    unit = unit_of(found.response)
    return f"{number(value, u)} {unit}".rstrip()


def _level(found: Watch) -> str:
    """Return centre, spread, and how far neighbours lie apart."""
    half, u = found.center_half, (found.sigma_high - found.sigma_low) / 2
    unit = "points" if unit_of(found.response) == "%" else unit_of(found.response)
    far = int((found.table["moving_range"] > found.range_upper).sum())
    shown = "none did" if not far else f"{count(far, 'pair')} did"
    from_first = ""
    if found.baseline < found.n_shots:
        from_first = f", judged by the first {found.baseline}"
    return (
        f"{sentence_case(column_label(found.response))} of {count(found.n_shots, 'shot')} in the "
        f"order pulled{from_first}: centre {number(found.center, half)} ± {number(half, half)} "
        f"{unit_of(found.response)}, spread from shot to shot {number(found.sigma, u)} {unit} "
        f"(95 % interval {number(found.sigma_low, u)} to {number(found.sigma_high, u)}). Two "
        f"shots in a row of a steady bench seldom lie {number(found.range_upper, u)} {unit} "
        f"apart: {shown}."
    )


def _taken_out(found: Watch) -> tuple[str, ...]:
    if not found.allowed_for:
        return ()
    named = listing([column_label(column) for column in found.allowed_for])
    return (f"What {named} did was taken out first, so the chart is of what is left.",)


def _alarm(alarm: Alarm, later: Sequence[Alarm], found: Watch, series: WatchedSeries) -> str:
    """Return the first alarm of a kind as a sentence or two, and where it came again."""
    chance = found.chances.of_each[alarm.by] if found.chances else math.nan
    luck = f"Chance alone shows this in {percent(chance)} of steady logs this long."
    return f"{_told(alarm, found)} {_event(alarm, found, series)}{_again(later, found)}{luck}"


def _split(found: Watch, series: WatchedSeries) -> list[str]:
    """Return where one lasting move would explain that early and late shots alarm.

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
        return f"{whole} {_beyond(alarm, found)}: {ONE_BEYOND_3S.hint}."
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
    return f"{stretch}: {rule.meaning}{side}: {rule.hint}."


def _beyond(alarm: Alarm, found: Watch) -> str:
    """Return which limit a shot or several lie beyond, with the value of a single one."""
    limit = found.upper if alarm.side > 0 else found.lower
    where = f"{'above' if alarm.side > 0 else 'below'} the limit of "
    where += _amount(found, limit, found.sigma / 3)
    if alarm.first != alarm.last:
        return f"lie {where}"
    row = found.table.iloc[alarm.first]
    value = _amount(found, row["adjusted"], found.sigma / 3)
    adjusted = " with that taken out" if found.allowed_for else ""
    return f"lies {where}, at {value}{adjusted}"


def _event(alarm: Alarm, found: Watch, series: WatchedSeries) -> str:
    """Return what the log says was cleaned or changed as an alarm began, or of its one shot."""
    shots = series.shots
    row = _serviced(alarm, shots)
    if row is not None:
        what = shots["serviced"].iloc[row] if "serviced" in shots else None
        quoted = "something was cleaned or changed before"
        if isinstance(what, str) and what.strip().casefold() not in NOTHING:
            quoted = f"“{clip(visible(what.strip()), LONGEST_NOTE)}” stands at"
        place = "where this began" if row <= alarm.begins else "while this built up"
        return f"The log says: {quoted} {shot_words(found.table, row)}, {place}. "
    if alarm.by != ONE_BEYOND_3S.name or alarm.first != alarm.last or "notes" not in shots:
        return ""
    note = shots["notes"].iloc[alarm.first]
    if not isinstance(note, str) or not note.strip():
        return ""
    return f"Its note: “{clip(visible(note.strip()), LONGEST_NOTE)}”. "


def _serviced(alarm: Alarm, shots: pd.DataFrame) -> int | None:
    """Return the row before which something was serviced as an alarm began, None if nowhere."""
    start = alarm.begins
    if "session" in shots and pd.notna(shots["session"].iloc[start]):
        same = shots["session"] == shots["session"].iloc[start]
        start = int(np.flatnonzero(same.to_numpy())[0])
    served = np.zeros(len(shots), dtype=bool)
    if "serviced" in shots:
        said = shots["serviced"].astype("string").fillna("").str.strip().str.casefold()
        served |= ~said.isin(NOTHING).to_numpy(dtype=bool)
    if "service_stretch" in shots:
        stretch = shots["service_stretch"].astype("string")
        served[1:] |= (stretch != stretch.shift()).fillna(value=False).to_numpy(dtype=bool)[1:]
    places = np.flatnonzero(served[start : alarm.first + 1])
    return start + int(places[0]) if len(places) else None


def _chance(found: Watch) -> str:
    """Return how often all this alarms though nothing changes, and who says so."""
    if found.chances is None:
        return ""
    sources = "Nelson 1984; Lucas and Saccucci 1990; Lucas and Crosier 1982"
    if any("Nelson" not in rule.source for rule in found.watchers.rules):
        sources = "sources: see the rules"
    names = [RULES[rule.name].meaning for rule in found.watchers.rules]
    watched = listing([*names, "a running average", "sums of small differences"])
    verdict = (
        "an alarm is a reason to look, and no proof"
        if found.alarms
        else "no alarm is no proof that nothing changed"
    )
    return (
        f"Watched for: {watched} ({sources}). In {count(found.n_shots, 'shot')} of a bench where "
        f"nothing changes, these alarm in {percent(found.chances.of_any)} of logs, and in more "
        f"where values trail off far to one side: {verdict}."
    )


def _seen(found: Watch) -> str:
    unit = "points" if unit_of(found.response) == "%" else unit_of(found.response)
    if math.isnan(found.visible_move):
        return (
            "Not even a lasting move of four times the spread, begun halfway, would show in most "
            "such logs: what was taken out changed along with time."
        )
    return (
        f"A lasting move of {number(found.visible_move, figures=2)} {unit}, begun halfway, would "
        "show in at least 80 % of such logs; a smaller one may go unseen."
    )
