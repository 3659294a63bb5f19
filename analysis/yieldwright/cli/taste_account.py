"""What was found out about taste as plain values: what a program reads."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from yieldwright.cli.tasting import TasteAnswer
    from yieldwright.results import Result
    from yieldwright.taste.taste_fit import TasteFit

__all__ = ["account_of_refusal", "account_of_taste", "plain"]

#: Counts up when a key changes its name or meaning.
_FORMAT = 1

#: What every part tells anyway, or what stands at the head of the account.
_TOLD_ELSEWHERE = frozenset(("dropped", "findings", "response", "bag", "grinder"))

_PARTS = (
    *("means", "turning", "spreads", "steps", "random_tasters", "tasters", "shares"),
    *("sensitivity", "surface"),
)


def account_of_taste(answer: TasteAnswer) -> dict[str, Any]:
    """Return all that was found out as plain values, ready for JSON.

    Parameters
    ----------
    answer : TasteAnswer
        What one question brought to light.

    Returns
    -------
    dict
        With the keys that the help of the command lists; numbers at full precision, a
        missing value as None, an endless limit as the text "inf" or "-inf".
    """
    fit, as_of = answer.fit, answer.log.as_of
    head = {
        **_nothing(answer.path),
        "as_of": as_of.isoformat() if as_of is not None else None,
        "verdict": "effects" if fit is not None and fit.answered else "cannot tell",
        "missing": answer.missing or None,
    }
    if fit is None:
        return head
    told = {"sentences": list(fit.sentences), "cautions": plain(fit.cautions)}
    return {**head, **_question(answer, fit), **told, "parts": _parts(answer, fit)}


def account_of_refusal(path: str, problem: Exception) -> dict[str, Any]:
    """Return why nothing was found out, with the keys of `account_of_taste`.

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
    >>> account_of_refusal("shots.csv", ValueError("it is empty"))["verdict"]
    'error'
    """
    return {**_nothing(path), "verdict": "error", "error": str(problem)}


def plain(value: object) -> Any:  # noqa: ANN401  # what JSON holds
    """Return a value as JSON can hold it.

    Parameters
    ----------
    value : object
        A table becomes a list of rows, a result or another value with fields an object.

    Returns
    -------
    dict, list, str, int, float, bool or None
        A missing number is None, an endless one "inf" or "-inf".

    Examples
    --------
    >>> plain((1, float("nan"), float("-inf"), {"a": True}))
    [1, None, '-inf', {'a': True}]
    """
    if isinstance(value, pd.DataFrame):
        return [plain(row) for row in value.astype(object).to_dict("records")]
    if isinstance(value, Mapping):
        return {str(name): plain(each) for name, each in value.items()}
    if isinstance(value, list | tuple | set | frozenset | np.ndarray):
        return [plain(each) for each in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in dataclasses.fields(value)}
    return _single(value)


def _single(value: object) -> Any:  # noqa: ANN401  # what JSON holds
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float):
        if math.isnan(value):
            return None
        return value if math.isfinite(value) else str(value)
    if value is None or value is pd.NaT or value is pd.NA:
        return None
    if isinstance(value, date):
        return value.isoformat()
    return value if isinstance(value, bool | int | str) else str(value)


def _nothing(path: str) -> dict[str, Any]:
    """Return every key of an account of which nothing is known."""
    known: dict[str, Any] = {"format": _FORMAT, "log": path, "error": None, "as_of": None}
    texts = ("verdict", "missing", "response", "unit", "bag", "grinder")
    lists = ("settings", "allowed_for")
    return {
        **known,
        **dict.fromkeys(texts),
        **{name: [] for name in lists},
        **dict.fromkeys(("model", "why", "counts")),
        "sentences": [],
        "cautions": [],
        "parts": dict.fromkeys(("effects", *_PARTS, "prediction")),
    }


def _question(answer: TasteAnswer, fit: TasteFit) -> dict[str, Any]:
    """Return what was asked, of which shots, and by which model it was answered."""
    from yieldwright.taste.words.wording import response_words

    line = fit.line
    asked = fit.findings.question if fit.findings else None
    counts = {
        "shots": line.n_shots,
        "sessions": line.n_sessions,
        "tests": line.n_tests,
        "left_out": plain(line.dropped),
    }
    return {
        "response": line.response,
        "unit": response_words(line.response, answer.log.bench).unit,
        "bag": line.bag,
        "grinder": line.grinder,
        "settings": list(asked.settings) if asked else [],
        "allowed_for": list(asked.adjusters) if asked else [],
        "model": line.model or None,
        "why": line.why or None,
        "counts": counts,
    }


def _parts(answer: TasteAnswer, fit: TasteFit) -> dict[str, Any]:
    named = {name: getattr(fit, name) for name in _PARTS}
    every = {"effects": fit.line, **named, "prediction": answer.prediction}
    return {name: None if part is None else _part(part) for name, part in every.items()}


def _part(part: Result) -> dict[str, Any]:
    """Return one part: what it says, and every figure and table it holds."""
    fields = {each.name: getattr(part, each.name) for each in dataclasses.fields(part)}
    told = {name: plain(value) for name, value in fields.items() if name not in _TOLD_ELSEWHERE}
    return {"title": part.title, **told}
