"""What was found out about taste as plain values: what a program reads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldwright.cli.account_keys import WHY_NO_ROBUST_ERROR, Keys, part_account
from yieldwright.cli.plain_values import plain

if TYPE_CHECKING:
    from yieldwright.cli.tasting import TasteAnswer
    from yieldwright.results import Result
    from yieldwright.taste.taste_fit import TasteFit

__all__ = ["TASTE_KEYS", "account_of_taste"]

#: What every part tells anyway, or what stands at the head of the account.
_TOLD_ELSEWHERE = frozenset(("dropped", "findings", "response", "bag", "grinder"))

_PARTS = (
    *("means", "turning", "spreads", "steps", "random_tasters", "tasters", "shares"),
    *("sensitivity", "surface"),
)

_WHY_MISSING = {
    **WHY_NO_ROBUST_ERROR,
    "p_holm": "is shared among the settings asked about alone",
}

TASTE_KEYS = Keys(
    2,
    {
        **dict.fromkeys(("missing", "response", "unit", "bag", "grinder")),
        "settings": [],
        "allowed_for": [],
        **dict.fromkeys(("model", "why", "counts")),
        "sentences": [],
        "cautions": [],
        "parts": dict.fromkeys(("effects", *_PARTS, "prediction")),
    },
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
        With the keys that the help of the command lists; numbers at full precision.
    """
    fit = answer.fit
    verdict = "effects" if fit is not None and fit.answered else "cannot tell"
    head = {**TASTE_KEYS.head(answer, verdict), "missing": answer.missing or None}
    if fit is None:
        return head
    told = {"sentences": list(fit.sentences), "cautions": plain(fit.cautions)}
    return {**head, **_question(answer, fit), **told, "parts": _parts(answer, fit)}


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
    return part_account(part, told_elsewhere=_TOLD_ELSEWHERE, why_missing=_WHY_MISSING)
