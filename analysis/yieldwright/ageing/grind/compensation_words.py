"""How a grind that follows its bag is told."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import number
from yieldwright.taste.words.wording import effect_interval, signed_span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.grind.compensation import Compensation
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.intervals.fieller import FiellerSet

__all__ = ["compensation_cautions", "compensation_sentences", "seconds"]

GRIND = "grind_setting"

#: Days of which it is worth saying that one setting lasts so long.
FEWEST_DAYS, MOST_DAYS = 1.5, 100.0


def compensation_sentences(found: Compensation) -> Iterator[str]:
    """Yield what the grind must do to hold the time, in plain words.

    Parameters
    ----------
    found : Compensation
        Without sentences yet.

    Yields
    ------
    str
    """
    first, last = found.model.age.low, found.model.age.high
    span = f"from day {first:g} to day {last:g}"
    yield _at_one_setting(found.seconds_per_day, span)
    if found.finer_per_day is None:
        yield (
            f"{_why_no_grind(found)}, so how many settings that is stays open: pull one shot of "
            "each session a setting finer."
        )
        return
    yield _holding(found, found.finer_per_day, span)
    if found.finer_now is not None and _is_clear(found.finer_now):
        yield f"At the end, on day {last:g}, it {_direction(found.finer_now)}."
    yield from _setting_now(found)


def compensation_cautions(found: Compensation) -> tuple[Caution, ...]:
    """Return what a reader of settings per day must know.

    Parameters
    ----------
    found : Compensation
        Without cautions yet.

    Returns
    -------
    tuple of Caution
    """
    if found.finer_per_day is not None and found.finer_per_day.kind != "bounded":
        why = _why_unbounded(found)
        few = "sessions" in why
        return (
            Caution(
                "grind-unclear",
                "care",
                f"Settings per day have no limits: {why}.",
                "Pull the bag on more days, two settings on each."
                if few
                else "Pull two settings at least two steps apart in one session, twice each.",
                ("grind_setting", "time_s"),
            ),
        )
    if not found.target_stated:
        return (
            Caution(
                "no-target-time",
                "note",
                f"The bench states no time to aim at; {seconds(found.target_s)}, the median of "
                "these shots, stands in.",
                "State time_s in the recipe of the bench file.",
                ("time_s",),
            ),
        )
    return ()


def _at_one_setting(per_day: Estimate, span: str) -> str:
    half = (per_day.ci_high - per_day.ci_low) / 2
    if per_day.ci_low * per_day.ci_high <= 0:
        return (
            f"At one setting no drift of the time shows {span}: "
            f"{signed_span(per_day.ci_low, per_day.ci_high)} s a day (95 % interval)."
        )
    way = "faster" if per_day.estimate < 0 else "slower"
    near, far = sorted((abs(per_day.ci_low), abs(per_day.ci_high)))
    return (
        f"At one setting shots run {number(abs(per_day.estimate), half)} s {way} each day {span} "
        f"(95 % interval {effect_interval(near, far)} s)."
    )


def _holding(found: Compensation, finer: FiellerSet, span: str) -> str:
    target = seconds(found.target_s)
    if finer.kind != "bounded":
        return f"How many settings a day hold {target} cannot be told: {_why_unbounded(found)}."
    if not _is_clear(finer):
        half = (finer.high - finer.low) / 2
        ends = [f"{number(abs(end), half)} {_way(end)}" for end in (finer.low, finer.high)]
        return (
            f"Whether the grind must follow to hold {target} stays open: "
            f"{number(abs(finer.estimate), half)} settings {_way(finer.estimate)} a day on "
            f"average {span}, 95 % limits {ends[0]} to {ends[1]}."
        )
    return f"To hold {target} the grind {_direction(finer)}{_lasts(finer)}, on average {span}."


def _why_no_grind(found: Compensation) -> str:
    """Return why no grind stands beside the age."""
    rows = found.model.rows
    if any(name == GRIND for name, _ in rows.declined):
        return "There are too few shots to tell what the grind setting does"
    if rows.prepared.frame.get(GRIND) is None and GRIND not in rows.comparable.shots:
        return "The grind setting is not logged"
    return "The grind setting never changed"


def _why_unbounded(found: Compensation) -> str:
    """Return what a ratio lacks to have limits."""
    setting = found.seconds_per_setting
    if setting is not None and setting.ci_low * setting.ci_high > 0:
        return "there are too few sessions"
    return "the shots do not show clearly what one setting does"


def seconds(time_s: float) -> str:
    """Return a time to aim at, no digit more than it has.

    Parameters
    ----------
    time_s : float
        The time. [s]

    Returns
    -------
    str

    Examples
    --------
    >>> seconds(36.0), seconds(33.54)
    ('36 s', '33.5 s')
    """
    return f"{round(time_s, 1):g} s"


def _is_clear(finer: FiellerSet) -> bool:
    return finer.kind == "bounded" and finer.low * finer.high > 0


def _direction(finer: FiellerSet) -> str:
    """Return how far the grind must go each day, with limits, where the direction is clear."""
    half = (finer.high - finer.low) / 2
    near, far = sorted((abs(finer.low), abs(finer.high)))
    return (
        f"has to go {number(abs(finer.estimate), half)} settings {_way(finer.estimate)} a day "
        f"(95 % limits {effect_interval(near, far)})"
    )


def _way(value: float) -> str:
    return "finer" if value >= 0 else "coarser"


def _lasts(finer: FiellerSet) -> str:
    """Return in how many days one setting goes."""
    days = 1 / abs(finer.estimate)
    if not FEWEST_DAYS <= days <= MOST_DAYS:
        return ""
    return f", one setting in about {number(days, figures=2)} days"


def _setting_now(found: Compensation) -> Iterator[str]:
    """Yield the setting for the last age, where it lies among those tried."""
    last = found.now.iloc[-1]
    low, high = float(last["low"]), float(last["high"])
    day = f"day {float(last['roast_age_d']):g}"
    if math.isnan(low):
        return
    if not bool(last["tried"]):
        tried = found.used["setting"]
        beyond = float(tried.min() if last["setting"] < tried.min() else tried.max())
        yield (
            f"On {day} the setting for {seconds(found.target_s)} lies beyond those tried: go on "
            f"from {beyond:g} and look."
        )
        return
    yield (
        f"On {day}, setting {number(float(last['setting']), (high - low) / 2)} gives "
        f"{seconds(found.target_s)} (95 % limits {effect_interval(low, high)}), for a shot as "
        "the others were pulled."
    )
