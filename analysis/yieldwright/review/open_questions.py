"""What the log cannot tell: missing columns, entangled pairs, effects without a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.formatting import clip, count, listing, sentence_case
from yieldwright.review.effect_rows import response_label
from yieldwright.taste.fitting import SETTINGS
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.review.looks import Look
    from yieldwright.taste.effects_fit import EffectsFit

__all__ = ["cannot_tell"]

_MOST = 6
_WIDTH = 260


def cannot_tell(fits: Sequence[EffectsFit], looks: Sequence[Look]) -> tuple[str, ...]:
    """Return what the fits of one bag and grinder leave open, the gravest first.

    Parameters
    ----------
    fits : sequence of EffectsFit
        Fits of one bag and grinder.
    looks : sequence of Look
        Their effects of settings.

    Returns
    -------
    tuple of str
        Never empty.

    Examples
    --------
    >>> cannot_tell((), ())
    ('Anything about settings: no two shots can be compared yet.',)
    """
    found = list(
        dict.fromkeys((*_missing(fits), *_entangled(fits), *_unjudged(fits), *_open(fits, looks)))
    )
    if not fits:
        return ("Anything about settings: no two shots can be compared yet.",)
    if not found:
        return ("Causes: settings chosen after seeing the last shot can look like a cure.",)
    shown = [clip(text, _WIDTH) for text in found[:_MOST]]
    more = len(found) - _MOST
    return (
        (*shown, f"{count(more, 'further point')}, in the fits themselves.")
        if more > 0
        else tuple(shown)
    )


def _missing(fits: Sequence[EffectsFit]) -> Iterator[str]:
    for fit in fits:
        if fit.missing:
            yield fit.missing


def _entangled(fits: Sequence[EffectsFit]) -> Iterator[str]:
    """Yield each pair once, as the fit a reader cares for most tells it."""
    seen: set[frozenset[str]] = set()
    for fit in fits:
        for pair in fit.confounded:
            names = frozenset((pair.first, pair.second))
            if pair.forbids_verdict and names not in seen:
                seen.add(names)
                yield pair.sentence


def _unjudged(fits: Sequence[EffectsFit]) -> Iterator[str]:
    for fit in fits:
        for column, reason in fit.left_out:
            if column in SETTINGS and fit.answered:
                label = column_label(column)
                yield f"{sentence_case(label)} was not judged: {reason}."


def _open(fits: Sequence[EffectsFit], looks: Sequence[Look]) -> Iterator[str]:
    """Yield which steps leave which response open, in one sentence."""
    told = []
    for fit in fits:
        own = [look for look in looks if look.fit is fit]
        steps = [look.step for look in own if not (look.settled or look.forbidden)]
        if steps:
            told.append(f"{response_label(fit.response)} by {listing(steps, last='or')}")
    if told:
        yield f"Not settled, read the intervals: {'; '.join(told)}."
