"""What was found out about a bag as plain values: what a program reads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from yieldwright.cli.account_keys import WHY_NO_ROBUST_ERROR, Keys
from yieldwright.cli.bag_tables import needed_by_week
from yieldwright.cli.plain_values import plain
from yieldwright.taste.words.wording import response_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldwright.ageing.bag_trend import BagTrend
    from yieldwright.ageing.beginning.starting_point import StartingPoint
    from yieldwright.ageing.best.best_day import BestDay
    from yieldwright.ageing.breaks.events import Breaks
    from yieldwright.ageing.compared.bags import BagsCompared
    from yieldwright.ageing.compared.every_bag import EveryBag
    from yieldwright.ageing.compared.paired import PairedBags
    from yieldwright.ageing.grind.compensation import Compensation
    from yieldwright.ageing.lasting.lasting import Lasting
    from yieldwright.ageing.trend.drift import Drift
    from yieldwright.cli.bag_following import BagAnswer
    from yieldwright.results import Result

__all__ = ["BAG_KEYS", "account_of_bag"]

_PARTS = (
    "drift", "best", "lasting", "compensation", "breaks", "ages", "against", "paired", "next",
    "every",
)  # fmt: skip

BAG_KEYS = Keys(
    1,
    {
        **dict.fromkeys(("missing", "response", "unit", "bag", "grinder")),
        "allowed_for": [],
        "counts": None,
        **{name: [] for name in ("sentences", "cautions", "entwined", "dates")},
        "parts": dict.fromkeys(_PARTS),
    },
)


def account_of_bag(answer: BagAnswer) -> dict[str, Any]:
    """Return all that was found out about a bag as plain values, ready for JSON.

    Parameters
    ----------
    answer : BagAnswer
        What one bag brought to light.

    Returns
    -------
    dict
        With the keys that the help of the command lists; numbers at full precision.
    """
    found = answer.found
    head = {**BAG_KEYS.head(answer, _verdict(found)), "missing": answer.missing or None}
    if found is None:
        return head
    return {
        **head,
        "response": found.response,
        "unit": response_words(found.response, answer.log.bench).unit,
        "bag": found.bag,
        "grinder": found.grinder,
        "allowed_for": list(found.drift.freed) if found.drift else [],
        "counts": _counts(found),
        "sentences": list(found.sentences),
        "cautions": plain(found.cautions),
        "entwined": [_entwined(each) for each in found.entwined],
        "dates": plain(found.dates),
        "parts": _parts(answer, found),
    }


def _verdict(found: BagTrend | None) -> str:
    if found is None or found.drift is None:
        return "cannot tell"
    return "as brewed" if found.drift.as_brewed else "drift"


def _counts(found: BagTrend) -> dict[str, Any]:
    sessions = found.drift.model.rows.n_sessions if found.drift else math.nan
    counted = {"shots": found.n_shots, "sessions": sessions, "left_out": found.dropped}
    return dict(plain(counted, why_missing={"sessions": "is counted where a drift is told"}))


def _entwined(each: Any) -> dict[str, Any]:  # noqa: ANN401  # Entwined
    figures = {"inflation": each.inflation, "correlation": each.correlation}
    return {
        "column": each.column,
        **plain(figures),
        "remedy": each.caution.remedy,
    }


def _parts(answer: BagAnswer, found: BagTrend) -> dict[str, Any]:
    return {
        "drift": None if found.drift is None else _drift(found.drift),
        "best": None if found.best is None else _best(found.best),
        "lasting": None if found.lasting is None else _lasting(found.lasting),
        "compensation": None if found.compensation is None else _compensation(found.compensation),
        "breaks": None if found.breaks is None else _breaks(found.breaks),
        "ages": _part(found.ages, {"bags": found.ages.to_frame()}),
        "against": None if answer.against is None else _against(answer.against),
        "paired": None if answer.paired is None else _paired(answer.paired),
        "next": None if answer.next is None else _next(answer.next),
        "every": None if answer.every is None else _every(answer.every),
    }


def _part(part: Result, figures: Mapping[str, object]) -> dict[str, Any]:
    """Return what a part says, and its figures and tables."""
    return {
        "title": part.title,
        "sentences": list(part.sentences),
        "cautions": plain(part.cautions),
        "shots": part.n_shots,
        "left_out": plain(part.dropped),
        **plain(figures, why_missing=WHY_NO_ROBUST_ERROR),
    }


def _drift(part: Drift) -> dict[str, Any]:
    return _part(
        part,
        {
            "changes": part.to_frame(),
            "forms": part.forms_frame(),
            "detectable": part.detectable,
            "allowed_for": part.freed,
            "as_brewed": part.as_brewed,
            "carried": part.carried,
            "session_sd": part.model.session_sd,
            "expected": part.expected,
            "values": part.shots,
        },
    )


def _best(part: BestDay) -> dict[str, Any]:
    return _part(
        part,
        {
            "verdict": part.verdict,
            "best_is": "most" if part.top else "least",
            "low": part.low,
            "high": part.high,
            "first": part.first,
            "last": part.last,
            "bend": part.bend,
            "limits": part.to_frame(),
        },
    )


def _lasting(part: Lasting) -> dict[str, Any]:
    return _part(
        part,
        {
            "missing": part.missing or None,
            "at_least": part.at_least,
            "verdict": part.verdict,
            "since": part.since or None,
            **_day("day", part.day, "the curve does not fall below inside low and high"),
            "low": part.low,
            "high": part.high,
            "first": part.first,
            "last": part.last,
            "forms": part.forms,
            **_day("hardly_from", part.hardly_from, "on no day pulled at"),
            "share": part.share,
            "share_low": part.share_low,
            "share_high": part.share_high,
            "stretches": part.stretches,
            "levels": part.to_frame(),
        },
    )


def _day(name: str, day: float, why: str) -> dict[str, object]:
    """Return a day, or why there is none."""
    return {name: day} if math.isfinite(day) else {name: None, f"{name}_why": why}


def _compensation(part: Compensation) -> dict[str, Any]:
    return _part(
        part,
        {
            "target_s": part.target_s,
            "target_stated": part.target_stated,
            "since": part.since or None,
            "quantities": part.to_frame(),
            "now": part.now,
            "by_week": needed_by_week(part),
            "needed": part.needed,
            "used": part.used,
        },
    )


def _breaks(part: Breaks) -> dict[str, Any]:
    steps = part.to_frame().assign(day=list(part.days))
    return _part(part, {"by_day": part.by_day, "steps": steps, "points": part.points})


def _against(part: BagsCompared) -> dict[str, Any]:
    figures = {"missing": part.missing or None, "unit": part.unit, "bags": part.bags}
    return _part(part, {**figures, "pairs": part.to_frame(), "pulled": part.pulled})


def _paired(part: PairedBags) -> dict[str, Any]:
    rows = part.rows
    return _part(
        part,
        {
            "missing": part.missing or None,
            "unit": part.unit,
            "bags": part.bags,
            "kind": part.kind,
            "estimates": part.to_frame(),
            "detectable": part.detectable,
            "why_no_change": part.why_no_change or None,
            "allowed_for": [] if rows is None else [each.column for each in rows.kept],
            "together": part.together,
            "sessions": part.sessions,
            "expected": part.expected,
        },
    )


def _next(part: StartingPoint) -> dict[str, Any]:
    return _part(
        part,
        {
            "missing": part.missing or None,
            "roast_level": part.roast_level,
            "grinder": part.grinder,
            "time_s": part.time_s,
            "time_stated": part.time_stated,
            "age_d": part.age_d,
            "start": part.start,
            "step": part.step,
            "rescaled": part.rescaled or None,
            "bags": part.to_frame(),
            "pooled": part.pooled,
            "per_day": part.per_day,
        },
    )


def _every(part: EveryBag) -> dict[str, Any]:
    return _part(part, {"unit": part.unit, "allowed_for": part.freed, "bags": part.to_frame()})
