"""The next grind setting: past an edge toward better, or back to the recipe's time."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from yieldwright.formatting import number
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import level_words, response_words

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.taste import ComparableSet, EffectsFit

__all__ = ["beyond_the_edge", "steer_time"]

GRIND = "grind_setting"

#: Corrected p-value above which a slope is no reason to walk on.
SIGNIFICANT = 0.05


def beyond_the_edge(
    comparable: ComparableSet, bench: Bench, fits: Sequence[EffectsFit]
) -> Iterator[str]:
    """Yield the next grind setting past the edge that a clear slope points to.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Which way is good, and the window of the yield.
    fits : sequence of EffectsFit
        The first score decides; without one the yield, where it misses its window.

    Yields
    ------
    str
        The step is named; nothing is predicted there.
    """
    for fit in _deciding(fits):
        coarser = _points_to(fit, comparable, bench)
        if coarser is not None:
            edge, following = _edge(fit, comparable, bench, coarser=coarser)
            yield (
                f"Pull {level_words(GRIND, following)} twice: {level_words(GRIND, edge)} is the "
                f"{'coarsest' if coarser else 'finest'} tried, and up to there the "
                f"{response_words(fit.response, bench).noun} was still getting better. What "
                "happens beyond is not known."
            )


def steer_time(
    comparable: ComparableSet, bench: Bench, fits: Sequence[EffectsFit]
) -> Iterator[str]:
    """Yield the grind setting that would bring the shot time back to the recipe's.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Recipe and grinder step.
    fits : sequence of EffectsFit
        That of the shot time tells what one setting does.

    Yields
    ------
    str
        Nothing where the newest session met the recipe, or the slope is not clear.
    """
    fit = next((each for each in fits if each.response == "time_s"), None)
    row = _clear_grind(fit) if fit else None
    newest = _newest(comparable.shots)
    target, tolerance = bench.recipe.time_s, bench.recipe.time_tolerance_s
    if fit is None or row is None or newest is None or target is None:
        return
    setting, time_s = newest
    steps = round((target - time_s) / row["estimate"])
    if abs(time_s - target) <= tolerance or not steps:
        return
    grinder = bench.grinder(comparable.grinder)
    wanted = setting + steps * grinder.step * grinder.coarser_sign
    low, high = fit.tried[GRIND]
    reached = min(max(wanted, low - grinder.step), high + grinder.step)
    untried = "" if low <= reached <= high else ", which was never tried, so nothing is promised"
    words = response_words("time_s", bench)
    yield (
        f"To come back to {target:g} s pull {level_words(GRIND, reached)}{untried}: the newest "
        f"session took {number(time_s)} s at {level_words(GRIND, setting)}, and one setting "
        f"coarser takes {words.span(row['ci_low'], row['ci_high'])}."
    )


def _deciding(fits: Sequence[EffectsFit]) -> list[EffectsFit]:
    scores = [fit for fit in fits if attribute_of(fit.response) and fit.answered]
    return scores[:1] or [fit for fit in fits if fit.response == "ey_pct" and fit.answered]


def _points_to(fit: EffectsFit, comparable: ComparableSet, bench: Bench) -> bool | None:
    """Return whether better lies past the coarsest setting, or the finest; None for neither."""
    if any(each.bends and each.column == GRIND for each in fit.curvature):
        return _peak_past(fit, bench.grinder(comparable.grinder).coarser_sign)
    wanted, row = _wanted(fit, comparable, bench), _clear_grind(fit)
    if row is None or not wanted:
        return None
    return bool(row["estimate"] * wanted > 0)


def _peak_past(fit: EffectsFit, coarser_sign: int) -> bool | None:
    low, high = fit.tried[GRIND]
    if fit.peak is None or low <= fit.peak.estimate <= high:
        return None
    return (fit.peak.estimate > high) == (coarser_sign > 0)


def _clear_grind(fit: EffectsFit) -> Mapping[Hashable, Any] | None:
    """Return the row of the grind setting where it may be read and is clear."""
    told = [pair for pair in fit.confounded if pair.forbids_verdict]
    mute = {name for pair in told for name in (pair.first, pair.second)}
    rows = fit.effects[fit.effects["term"] == GRIND].to_dict("records")
    if GRIND in mute or not rows or not rows[0]["p_holm"] < SIGNIFICANT:
        return None
    return rows[0]


def _wanted(fit: EffectsFit, comparable: ComparableSet, bench: Bench) -> int:
    """Return +1 where more of the response is better, −1 where less is, 0 where neither."""
    attribute = attribute_of(fit.response)
    if attribute is not None:
        return -1 if bench.attribute(attribute).better == "less" else 1
    mean = float(comparable.shots["ey_pct"].mean())
    if mean < bench.window.yield_low_pct:
        return 1
    return -1 if mean > bench.window.yield_high_pct else 0


def _edge(
    fit: EffectsFit, comparable: ComparableSet, bench: Bench, *, coarser: bool
) -> tuple[float, float]:
    """Return the outermost setting tried in a direction, and the next one."""
    grinder = bench.grinder(comparable.grinder)
    upward = coarser == (grinder.coarser_sign > 0)
    low, high = fit.tried[GRIND]
    return (high, high + grinder.step) if upward else (low, low - grinder.step)


def _newest(shots: pd.DataFrame) -> tuple[float, float] | None:
    """Return grind setting and mean time of the newest shots at one setting, in one session."""
    if GRIND not in shots or "time_s" not in shots:
        return None
    timed = shots.dropna(subset=[GRIND, "time_s"])
    if timed.empty:
        return None
    last = timed.iloc[-1]
    alike = timed[GRIND] == last[GRIND]
    if "session" in timed:
        alike &= timed["session"] == last["session"]
    time_s = float(timed.loc[alike, "time_s"].mean())
    return (float(last[GRIND]), time_s) if math.isfinite(time_s) else None
