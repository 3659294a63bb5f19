"""How it is told how long a bag lasts, and why it is not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.breaks.stretch_names import as_the_bench_is
from yieldwright.ageing.trend.state import SERVICE
from yieldwright.formatting import interval, listing, number, percent, sentence_case
from yieldwright.glossary import quantity
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.lasting.lasting import Lasting
    from yieldwright.ageing.trend.drift import Drift

__all__ = ["days_shown", "lasting_sentences", "level_words", "refusal_of"]

#: Days after the last on which shots would tell more.
LATER = (3, 6)

#: Limits closer than this share of themselves are one number.
SAME = 1e-6

#: Days shown in a table.
SHOWN = 8

#: Words of the standing of a mean, for a table.
_STANDS = {"above": "at or above", "open": "may be either", "below": "below"}


def level_words(response: str, level: float) -> str:
    """Return a level with its unit as sentences tell it.

    Parameters
    ----------
    response : str
        Column followed.
    level : float
        The level. [unit of the response]

    Returns
    -------
    str

    Examples
    --------
    >>> level_words("ey_pct", 19.0), level_words("score:overall", 6.5)
    ('19 %', '6.5')
    """
    unit = _unit(response)
    return f"{level:g}{unit}"


def _unit(response: str) -> str:
    """Return the unit of a level behind a blank, nothing for a score."""
    if attribute_of(response) is not None:
        return ""
    return f" {quantity(response).unit.partition(' ')[0]}"


def refusal_of(entwined: tuple[str, ...], missing: str) -> str:
    """Return why it cannot be told how long a bag lasts.

    Parameters
    ----------
    entwined : tuple of str
        Columns that cannot be told apart from age.
    missing : str
        Why there is no trend; empty where there is one.

    Returns
    -------
    str

    Examples
    --------
    >>> refusal_of(("grind_setting",), "")
    'the grind setting and age went together'
    """
    if missing:
        return missing
    return f"the {listing([column_label(each) for each in entwined])} and age went together"


def lasting_sentences(found: Lasting, drift: Drift | None = None) -> Iterator[str]:
    """Yield until when a response stays at a level or above, or why that is not told.

    Parameters
    ----------
    found : Lasting
        Without sentences yet.
    drift : Drift or None
        What it comes from; None where there is none.

    Yields
    ------
    str
    """
    level = level_words(found.response, found.at_least)
    noun = column_label(found.response)
    if drift is None:
        yield f"How long the {noun} stays at {level} or more cannot be told: {found.missing}."
        return
    yield f"{_held(drift, found.since)}, {_mean(found, f'the mean {noun} of a session', level)}"
    yield from _beside(found, level)
    yield from _shot(found, level)
    if found.forms == ("line",):
        yield "That rests on a line: so few days bear no curve, and a bend would move the day."
    yield from _settling(found)


def _held(drift: Drift, since: str) -> str:
    """Return at which settings and for which state of the bench a level is told."""
    same = [column_label(name) for name in drift.freed if name != SERVICE]
    held = f"At the usual {listing(same)}" if same else "With nothing else to allow for"
    return f"{held}, {as_the_bench_is(since)}" if since else held


def _mean(found: Lasting, mean: str, level: str) -> str:
    """Return what is told of the mean of a session."""
    first, last = f"day {found.first:g}", f"day {found.last:g}"
    told = {
        "told": lambda: f"{mean} falls below {level} {_day(found)}.",
        "back": lambda: (
            f"{mean} falls below {level} {_day(found)}, and is clearly back at {level} or more "
            f"{_from_day(found.stretches[-1].begins)}."
        ),
        "not yet": lambda: _not_yet(found, mean, level),
        "holds": lambda: (
            f"{mean} is still clearly at {level} or more on {last}, the last pulled at: "
            f"{_at_last(found)}. Of later days nothing is told."
        ),
        "early": lambda: (
            f"{mean} {_early(found, level)}; whether it was at that level before, the shots leave "
            "open."
        ),
        "below": lambda: (
            f"{mean} lies clearly below {level} on every day from {first} to {last} already."
        ),
        "rising": lambda: (
            f"{mean} lies clearly below {level} until day {math.floor(found.low)}; whether it "
            f"reaches it later, up to {last}, the shots leave open."
        ),
        "between": lambda: (
            f"{mean} lies clearly below {level} until day {math.floor(found.low)} and from day "
            f"{math.ceil(found.high)} on; whether it reaches it between, the shots leave open."
        ),
        "unsure": lambda: (
            f"{_unsure(found, first, last)} whether {mean} is at {level} or more; on the last it "
            f"is {_at_last(found)}."
        ),
    }
    return told[found.verdict]()


def _day(found: Lasting) -> str:
    limits = f"day {math.floor(found.low)} to day {math.ceil(found.high)}"
    if math.isnan(found.day):
        return f"between {limits.replace(' to ', ' and ')} (95 %)"
    return f"about day {found.day:.0f} after the roast (95 % limits {limits})"


def _early(found: Lasting, level: str) -> str:
    latest = f"day {math.ceil(found.high)} on at the latest (95 %)"
    if math.isnan(found.day):
        return f"lies below {level} from {latest}"
    about = f"about day {found.day:.0f} after the roast"
    return f"falls below {level} {about}, and lies there from {latest}"


def _unsure(found: Lasting, first: str, last: str) -> str:
    below = [each for each in found.stretches if each.standing == "below"]
    if not below:
        return f"on no day from {first} to {last} can it be told"
    clear = f"day {math.ceil(below[0].begins)} to day {math.floor(below[-1].ends)}"
    return f"but for {clear}, where it is not, on no day from {first} to {last} can it be told"


def _not_yet(found: Lasting, mean: str, level: str) -> str:
    known = f"not before day {math.floor(found.low)} (95 %)"
    last = f"day {found.last:g}, the last pulled at"
    if found.low <= found.first:
        known = f"from day {found.first:g} on it cannot be told"
    if math.isnan(found.day):
        return (
            f"{mean} is not seen to fall below {level}: it stays at it until day "
            f"{math.floor(found.low)} at least (95 %), and on {last}, it is {_at_last(found)}."
        )
    return (
        f"{mean} falls below {level} about day {found.day:.0f} after the roast: {known}. On "
        f"{last}, it need not have fallen yet: there it is {_at_last(found)}."
    )


def _from_day(age_d: float) -> str:
    return f"from day {math.ceil(age_d)} on"


def _at_last(found: Lasting) -> str:
    row = found.levels.iloc[-1]
    return f"{_value(found, row['mean'], row['low'], row['high'])}, 95 %)"


def _value(found: Lasting, mean: float, low: float, high: float) -> str:
    """Return a level with its limits in a bracket still open."""
    unit = _unit(found.response)
    if not math.isfinite(high - low):
        return f"{number(mean)}{unit} (no limits"
    if not _apart(low, high):
        return f"{number(mean)}{unit} (no spread at all"
    return f"{number(mean, (high - low) / 2)}{unit} ({interval(low, high)}"


def _apart(low: float, high: float) -> bool:
    """Return whether limits differ by more than what arithmetic leaves."""
    return high - low > SAME * max(abs(low), abs(high), 1.0)


def _half(low: float, high: float) -> float | None:
    """Return half the width of an interval to round to, None where there is none."""
    return (high - low) / 2 if _apart(low, high) else None


def _span(low: float, high: float) -> str:
    return interval(low, high) if _apart(low, high) else number(low)


def _beside(found: Lasting, level: str) -> Iterator[str]:
    """Yield on which early days the mean was below, and on which late ones it may rise."""
    if found.verdict not in ("told", "back", "not yet"):
        return
    first = found.stretches[0]
    if first.standing == "below":
        yield f"Up to day {math.floor(first.ends)} it is below {level}, too."
    if found.verdict == "told" and found.stretches[-1].standing == "open":
        after = math.floor(found.stretches[-1].begins)
        yield f"Whether it stays below after day {after}, the shots leave open."


def _shot(found: Lasting, level: str) -> Iterator[str]:
    """Yield what is told of a single shot."""
    last = f"day {found.last:g}"
    row = found.levels.iloc[-1]
    low, high = row["shot_low"], row["shot_high"]
    if not math.isfinite(high - low):
        return
    between = f"between {interval(low, high)}".replace(" to ", " and ")
    falls = f"a single shot falls {between}{_unit(found.response)} (95 %)"
    if not _apart(low, high):
        falls = f"every shot is expected at {number(low)}{_unit(found.response)}"
    if math.isnan(found.hardly_from):
        yield f"On {last} {falls}{_share(found, level)}."
        return
    begins = found.hardly_from
    since = (
        f"On every day from day {found.first:g} to {last}"
        if begins <= found.first
        else f"From day {math.ceil(begins)} on"
    )
    yield (
        f"{since} hardly a single shot reaches {level}: its 95 % limits lie below. "
        f"On {last} {falls}{_share(found, level)}."
    )


def _share(found: Lasting, level: str) -> str:
    if math.isnan(found.share) or found.share_low == found.share_high:
        return ""
    share, low, high = map(percent, (found.share, found.share_low, found.share_high))
    limits = "" if low == high else f" (95 % limits {low} to {high})"
    return f"; of all shots pulled then, {share} would reach {level}{limits}"


def _settling(found: Lasting) -> Iterator[str]:
    """Yield which shots would tell what is still open."""
    if found.verdict in ("not yet", "holds"):
        days = listing([f"day {math.ceil(found.last) + each}" for each in LATER])
        yield (
            f"Two shots each on {days} at that setting would tell more, or on those days of the "
            "next bag."
        )
    elif found.verdict == "early":
        yield (
            f"More shots of the next bag before day {math.ceil(found.high)}, two or three a day, "
            "would tell."
        )
    elif found.verdict in ("unsure", "rising", "between"):
        yield (
            "Three shots each early, in the middle and late, at one setting, would narrow that "
            "down; a level further from what these shots gave is told sooner."
        )


def days_shown(found: Lasting) -> pd.DataFrame:
    """Return what is expected on a few days as text.

    Parameters
    ----------
    found : Lasting
        How long a bag lasts.

    Returns
    -------
    DataFrame
        One row per day.

    Examples
    --------
    >>> from yieldwright.ageing.lasting.lasting import no_lasting
    >>> days_shown(no_lasting("ey_pct", 19.0, missing="no shot has a roast age")).empty
    True
    """
    if found.levels.empty:
        return pd.DataFrame()
    last = len(found.levels) - 1
    places = np.unique(np.linspace(0, last, SHOWN).round().astype(int))
    label = sentence_case(column_label(found.response))
    unit = _unit(found.response).strip()
    return pd.DataFrame(
        {
            "Day": f"{row['roast_age_d']:.0f}",
            f"{label}{f' [{unit}]' if unit else ''}": number(
                row["mean"], _half(row["low"], row["high"])
            ),
            "95 % interval": _span(row["low"], row["high"]),
            "One shot": _span(row["shot_low"], row["shot_high"]),
            f"Mean and {level_words(found.response, found.at_least)}": _STANDS[
                _standing_at(found, row["roast_age_d"])
            ],
        }
        for row in found.levels.iloc[places].to_dict("records")
    )


def _standing_at(found: Lasting, age_d: float) -> str:
    return next(each.standing for each in found.stretches if age_d <= each.ends)
