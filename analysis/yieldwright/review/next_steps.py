"""What to do next: the shots worth pulling, then the columns worth logging."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.taste.columns.roles import SCORE_PREFIX

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import pandas as pd

    from yieldwright.planning import Suggestion

__all__ = ["next_steps"]

_MOST = 3
_WORTH_LOGGING = (
    ("grind_setting", "Log the grind setting of every shot: it is what one changes most."),
    (
        "ey_pct",
        "Weigh dose and cup, and read the strength (TDS) of that cup: they give the yield.",
    ),
    ("time_s", "Time the shots, always from the same start, and log it."),
)
_TASTE = (
    "Score every cup before looking at the numbers: without taste nobody knows which is better."
)
_STEADY = "Pull the same recipe in one more session: every interval on this page would narrow."
_BEGIN = "Log shots as you pull them, one row each, and make this page again."


def next_steps(shots: pd.DataFrame | None, suggestions: Sequence[Suggestion]) -> tuple[str, ...]:
    """Return what to do next, the most useful first.

    Parameters
    ----------
    shots : DataFrame or None
        One row per comparable shot; None where there is none at all.
    suggestions : sequence of Suggestion
        Shots worth pulling.

    Returns
    -------
    tuple of str
        One to three sentences.

    Examples
    --------
    >>> next_steps(None, ())
    ('Log shots as you pull them, one row each, and make this page again.',)
    """
    if shots is None:
        return (_BEGIN,)
    found = [each.sentence for each in suggestions]
    found += _worth_logging(shots)
    return tuple(found[:_MOST]) or (_STEADY,)


def _worth_logging(shots: pd.DataFrame) -> Iterator[str]:
    for column, sentence in _WORTH_LOGGING:
        if column not in shots or shots[column].isna().all():
            yield sentence
    if shots.filter(like=SCORE_PREFIX).isna().all(axis=None):
        yield _TASTE
