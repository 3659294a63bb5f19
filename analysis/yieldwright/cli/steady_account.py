"""What was found out about steadiness as plain values: what a program reads."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

from yieldwright.cli.taste_account import plain

if TYPE_CHECKING:
    from yieldwright.cli.steadying import SteadyAnswer
    from yieldwright.repeatability.spread.steadiness import Steadiness
    from yieldwright.repeatability.steady import Steady
    from yieldwright.results import Result

__all__ = ["account_of_steady", "account_of_steady_refusal"]

#: Counts up when a key changes its name or meaning.
_FORMAT = 1

_TOLD_ELSEWHERE = frozenset(("dropped", "quantities"))


def account_of_steady(answer: SteadyAnswer) -> dict[str, Any]:
    """Return all that was found out as plain values, ready for JSON.

    Parameters
    ----------
    answer : SteadyAnswer
        What was found out about a bench.

    Returns
    -------
    dict
        With the keys that the help of the command lists; numbers at full precision, a
        missing value as None, an endless limit as the text "inf" or "-inf".
    """
    found, as_of = answer.found, answer.log.as_of
    head = {**_nothing(answer.path), "as_of": as_of.isoformat() if as_of is not None else None}
    if found is None:
        return {**head, "verdict": "cannot tell", "missing": {"steadiness": answer.missing}}
    return {
        **head,
        "verdict": _verdict(found),
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
            "watches": [_part(each) for each in found.watches],
            "moves": [_part(each) for each in found.moves],
            "people": [_part(each) for each in found.people],
            "progress": [_part(each) for each in found.progress],
            "tasters": [_part(each) for each in found.tasters],
        },
    }


def account_of_steady_refusal(path: str, problem: Exception) -> dict[str, Any]:
    """Return why nothing was found out, with the keys of `account_of_steady`.

    Parameters
    ----------
    path : str
        How the log was named.
    problem : Exception
        What stood in the way.

    Returns
    -------
    dict
        `error` holds the reason and the remedy.

    Examples
    --------
    >>> account_of_steady_refusal("shots.csv", ValueError("it is empty"))["verdict"]
    'error'
    """
    return {**_nothing(path), "verdict": "error", "error": str(problem)}


def _verdict(found: Steady) -> str:
    if found.answered:
        return "spreads"
    told = any(each.alike.df and each.sd > 0 for each in found.steadiness.quantities)
    return "intervals only" if told else "cannot tell"


def _nothing(path: str) -> dict[str, Any]:
    """Return every key of an account of which nothing is known."""
    return {
        "format": _FORMAT,
        "log": path,
        "error": None,
        "as_of": None,
        "verdict": None,
        "missing": {},
        "bag": None,
        "grinder": None,
        "counts": None,
        "sentences": [],
        "cautions": [],
        "parts": {
            **dict.fromkeys(("steadiness", "failures", "failing")),
            **{name: [] for name in ("watches", "moves", "people", "progress", "tasters")},
        },
    }


def _steadiness(found: Steadiness) -> dict[str, Any]:
    tables = {
        "table": found.to_frame(),
        "differences": found.differences,
        "shots_needed": found.shots_needed,
        "sessions": found.sessions,
    }
    return {**_part(found), **{name: plain(table) for name, table in tables.items()}}


def _part(part: Result) -> dict[str, Any]:
    """Return one part: what it says, and every figure and table it holds."""
    fields = {each.name: getattr(part, each.name) for each in dataclasses.fields(part)}
    told = {name: plain(value) for name, value in fields.items() if name not in _TOLD_ELSEWHERE}
    return {"title": part.title, **told}
