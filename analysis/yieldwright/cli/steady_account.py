"""What was found out about steadiness as plain values: what a program reads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldwright.cli.account_keys import Keys, part_account
from yieldwright.cli.plain_values import plain

if TYPE_CHECKING:
    from yieldwright.cli.steadying import SteadyAnswer
    from yieldwright.repeatability.spread.steadiness import Steadiness
    from yieldwright.repeatability.steady import Steady
    from yieldwright.results import Result

__all__ = ["STEADY_KEYS", "account_of_steady"]

_TOLD_ELSEWHERE = frozenset(("dropped", "quantities"))

#: Parts of which there may be several, one for each quantity or taste.
_SEVERAL = ("watches", "moves", "people", "progress", "tasters")

_NO_SHARE_OF_MEAN = (
    "is told where zero means none, repeats are enough and the spread is small beside the mean"
)
_NO_AIM = "is told where repeats are enough and the recipe allows a miss"
_WHY_MISSING = {
    "miss_forgiven": "is nothing the recipe states",
    **dict.fromkeys(("within", "within_ci_low", "within_ci_high"), _NO_AIM),
    **dict.fromkeys(("variation", "variation_ci_low", "variation_ci_high"), _NO_SHARE_OF_MEAN),
    "moving_range": "is the step from the shot before, of which there is none",
}

STEADY_KEYS = Keys(
    2,
    {
        "missing": {},
        **dict.fromkeys(("bag", "grinder", "counts")),
        "sentences": [],
        "cautions": [],
        "parts": {
            **dict.fromkeys(("steadiness", "failures", "failing")),
            **{name: [] for name in _SEVERAL},
        },
    },
)


def account_of_steady(answer: SteadyAnswer) -> dict[str, Any]:
    """Return all that was found out as plain values, ready for JSON.

    Parameters
    ----------
    answer : SteadyAnswer
        What was found out about a bench.

    Returns
    -------
    dict
        With the keys that the help of the command lists; numbers at full precision.
    """
    found = answer.found
    if found is None:
        missing = {"steadiness": answer.missing}
        return {**STEADY_KEYS.head(answer, "cannot tell"), "missing": missing}
    return {
        **STEADY_KEYS.head(answer, _verdict(found)),
        "missing": {**found.missing, **found.steadiness.missing},
        "bag": found.bag,
        "grinder": found.grinder,
        "counts": {"shots": found.n_shots, "left_out": plain(found.dropped)},
        "sentences": list(found.sentences),
        "cautions": plain(found.cautions),
        "parts": {
            "steadiness": _steadiness(found.steadiness),
            "failures": _part(found.failures),
            "failing": None if found.failing is None else _part(found.failing),
            **{name: [_part(each) for each in getattr(found, name)] for name in _SEVERAL},
        },
    }


def _verdict(found: Steady) -> str:
    if found.answered:
        return "spreads"
    told = any(each.alike.df and each.sd > 0 for each in found.steadiness.quantities)
    return "intervals only" if told else "cannot tell"


def _steadiness(found: Steadiness) -> dict[str, Any]:
    tables = {
        "table": found.to_frame(),
        "differences": found.differences,
        "shots_needed": found.shots_needed,
        "sessions": found.sessions,
    }
    return {**_part(found), **plain(tables, why_missing=_WHY_MISSING)}


def _part(part: Result) -> dict[str, Any]:
    return part_account(part, told_elsewhere=_TOLD_ELSEWHERE, why_missing=_WHY_MISSING)
