"""What a chart of the bench says in plain words: alarms, their chance, and what to doubt."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.formatting import count, listing, number, percent, sentence_case, with_article
from yieldwright.models.charts.run_rules import RULES
from yieldwright.repeatability.charts.alarm_words import alarm_sentence, split_sentence
from yieldwright.repeatability.charts.charting import CROWDED
from yieldwright.repeatability.charts.watch_texts import amount_of, difference_unit, like_this
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.repeatability.charts.alarms import Alarm
    from yieldwright.repeatability.charts.watched_series import WatchedSeries
    from yieldwright.repeatability.charts.watching import Watch

__all__ = ["sentences_of", "too_few"]


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
    if n < least:
        have = f"{count(n, 'shot')} {'has' if n == 1 else 'have'}" if n else "No shot has"
        return (
            f"{have} {with_article(what)} to chart, and {least} are needed: pull and log "
            f"{least - n} more{_without(series)}. Limits drawn from fewer would tell chance, not "
            "the bench."
        )
    if len(np.unique(series.observed)) == 1:
        return (
            f"All {count(n, 'shot')} have the same {what}, so no spread can be told: read it "
            "to a finer figure."
        )
    return ""


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
    alarms = [alarm_sentence(each[0], each[1:], found, series) for each in alike.values()]
    return (
        _level(found, series),
        *series.remarks,
        *_taken_out(found),
        *alarms,
        *split_sentence(found, series),
        _chance(found),
        _seen(found),
    )


def _without(series: WatchedSeries) -> str:
    """Return which shots a chart leaves out though they have a value, in brackets."""
    told = listing([str(each) for each in series.other_start])
    return f" ({told} left out)" if told else ""


def _from_shot_to_shot(shots: pd.DataFrame) -> str:
    """Return what neighbours differ by holds that like shots do not."""
    several = {
        "days": ("session", "pulled_on"),
        "hands": ("barista",),
    }
    held = [
        noun
        for noun, columns in several.items()
        if any(name in shots and len(shots[name].dropna().unique()) > 1 for name in columns)
    ]
    return f"spread from one shot to the next{f', {listing(held)} included,' if held else ''}"


def _level(found: Watch, series: WatchedSeries) -> str:
    """Return centre, spread, and how far neighbours lie apart."""
    half, u = found.center_half, (found.sigma_high - found.sigma_low) / 2
    spread = f"{number(found.sigma, u)} {difference_unit(found)}".rstrip()
    apart = f"{number(found.range_upper, u)} {difference_unit(found)}".rstrip()
    far = int((found.table["moving_range"] > found.range_upper).sum())
    shown = "none did" if not far else f"{count(far, 'pair')} did"
    from_first = ""
    if found.baseline < found.n_shots:
        from_first = f", judged by the first {found.baseline}"
    return (
        f"{sentence_case(column_label(found.response))} of {count(found.n_shots, 'shot')} in the "
        f"order pulled{from_first}{_without(series)}: centre {number(found.center, half)} ± "
        f"{amount_of(found, half, half)}, {_from_shot_to_shot(series.shots)} {spread} (95 % "
        f"interval {number(found.sigma_low, u)} to {number(found.sigma_high, u)}). Steady "
        f"neighbours seldom lie {apart} apart: {shown}."
    )


def _taken_out(found: Watch) -> tuple[str, ...]:
    if not found.allowed_for:
        return ()
    named = listing([column_label(column) for column in found.allowed_for])
    return (f"What {named} did was taken out first, so the chart is of what is left.",)


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
    judged = f" judged by the first {found.baseline}," if found.baseline < found.n_shots else ""
    return (
        f"Watched for: {watched} ({sources}). In {count(found.n_shots, 'shot')} of a bench where "
        f"nothing changes,{judged} these alarm in {percent(found.chances.of_any)} of logs, and in "
        f"more where values trail off far to one side: {verdict}."
    )


def _seen(found: Watch) -> str:
    if found.chances is not None and found.chances.of_any > CROWDED:
        return (
            f"So many steady logs {like_this(found)} alarm that no size of a lasting move can be "
            "promised to show by an alarm."
        )
    if math.isnan(found.visible_move):
        return (
            "Not even a lasting move of four times the spread, begun halfway, would show in most "
            "such logs: what was taken out changed along with time."
        )
    size = f"{number(found.visible_move, figures=2)} {difference_unit(found)}".rstrip()
    return (
        f"A lasting move of {size}, begun halfway, would show in at least 80 % of such logs that "
        "raise no alarm without it; a smaller one may go unseen."
    )
