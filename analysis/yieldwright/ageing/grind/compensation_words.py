"""How a grind that follows its bag is told."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.ageing.breaks.stretch_names import as_the_bench_is
from yieldwright.ageing.trend.state import SERVICE, state_at
from yieldwright.cautions import Caution
from yieldwright.formatting import listing, number
from yieldwright.taste.words.phrases import level_phrase
from yieldwright.taste.words.wording import effect_interval, signed_span

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.grind.compensation import Compensation
    from yieldwright.ageing.trend.rows import BagRows
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.intervals.fieller import FiellerSet

__all__ = ["compensation_cautions", "compensation_sentences", "seconds", "setting_limits"]

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


def setting_limits(
    low: float, high: float, tried: tuple[float, float], *, coarser_up: bool
) -> str:
    """Return the limits of a setting, none of them a number beyond the settings tried.

    Parameters
    ----------
    low, high : float
        Limits. [settings]
    tried : tuple of float
        Lowest and highest setting tried.
    coarser_up : bool
        Whether larger numbers grind coarser.

    Returns
    -------
    str

    Examples
    --------
    >>> setting_limits(13.9, 19.6, (16.0, 25.0), coarser_up=True)
    'finer than tried to 19.6'
    >>> setting_limits(17.2, 19.6, (16.0, 25.0), coarser_up=True)
    '17.2 to 19.6'
    """
    if tried[0] <= low and high <= tried[1]:
        return effect_interval(low, high)
    below, above = ("finer", "coarser") if coarser_up else ("coarser", "finer")
    half = (high - low) / 2
    first = number(low, half) if low >= tried[0] else f"{below} than tried"
    last = number(high, half) if high <= tried[1] else f"{above} than tried"
    return f"{first} to {last}"


def _setting_now(found: Compensation) -> Iterator[str]:
    """Yield the setting for the last age, where it lies among those tried."""
    last = found.now.iloc[-1]
    low, high = float(last["low"]), float(last["high"])
    bench = f", {as_the_bench_is(found.since)}," if found.since else ""
    when = f"On day {float(last['roast_age_d']):g}{bench}"
    if math.isnan(low):
        return
    if not bool(last["tried"]):
        below = last["setting"] < found.tried[0]
        way = "finer" if below == found.coarser_up else "coarser"
        yield (
            f"{when} the setting for {seconds(found.target_s)} lies beyond those tried: go on "
            f"{way} from {found.tried[0] if below else found.tried[1]:g} and look."
        )
        return
    limits = setting_limits(low, high, found.tried, coarser_up=found.coarser_up)
    half = (high - low) / 2
    yield (
        f"{when}{'' if found.since else ','} setting {number(float(last['setting']), half)} gives "
        f"{seconds(found.target_s)} (95 % limits {limits}), for a shot as {_as_pulled(found)}."
    )


def _as_pulled(found: Compensation) -> str:
    """Return how a shot is pulled that a setting is told for."""
    rows = found.model.rows
    state = state_at(rows)
    names = [
        level_phrase(each.column, state[each.column])
        if each.column in state
        else level_phrase(each.column, _mean(rows, each.column))
        for each in rows.beside
        if each.column not in (GRIND, SERVICE)
    ]
    who = "most" if any(name not in (GRIND, SERVICE) for name in state) else "the others"
    return f"{who} were pulled" + (f" ({listing(names)})" if names else "")


def _mean(rows: BagRows, column: str) -> float:
    """Return the mean of a number beside the age, to three figures."""
    return float(f"{rows.prepared.frame[column].mean():.3g}")
