"""Effects that hang on one session or one shot: a caution, and which repeat would help."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import Caution
from yieldwright.formatting import listing, percent
from yieldwright.taste.strata import BETWEEN
from yieldwright.taste.wording import level_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Sequence

    import pandas as pd

    from yieldwright.taste.leaving_out import Again
    from yieldwright.taste.verdicts import Verdicts

__all__ = ["cautions_of_hanging"]

#: Chance below which what was left out says something else than the rest, shared among all
#: that could have been left out and all effects looked at.
APART = 0.05

#: Share of what is known of an effect from which a session or shot carries it alone.
HALF = 0.5


def cautions_of_hanging(each: Verdicts) -> Iterator[Caution]:
    """Return a caution where a clear effect is that of one session, or of one shot.

    Parameters
    ----------
    each : Verdicts
        One effect and what was tried on it.

    Yields
    ------
    Caution

    Notes
    -----
    That a verdict changes without a part of a small log is common, and told in a sentence.
    It hangs on that part where the rest says nothing, where the part brings most of what is
    known and more than twice its part, or where it says something else.
    """
    about = (each.tried.effect.predictor.column,)
    for noun, found, remedy in (
        ("session", each.tried.sessions, _repeat_session),
        ("shot", each.tried.shots, _repeat_shot),
    ):
        hanging = [again for again in each.moved(found) if _why(each, again, found)]
        if each.is_clear and hanging:
            first = hanging[0]
            yield Caution(
                f"hangs-on-{noun}",
                "care",
                f"That {each.clause} matters hangs on {noun} {first.name}, "
                f"{_why(each, first, found)}.",
                remedy(each, first.name),
                about,
            )


def _why(each: Verdicts, again: Again, found: Sequence[Again]) -> str:
    """Return why an effect hangs on what was left out; nothing where it does not."""
    if np.isnan(again.estimate):
        return "without which the log says nothing of it"
    if again.p_apart * len(found) * each.among < APART:
        return "which differs from the others by more than chance"
    if again.share > max(HALF, 2 / len(found)):
        return f"which brings {percent(again.share)} of what the log says about it"
    return ""


def _repeat_session(each: Verdicts, name: str) -> str:
    """Return which shots of another session would stand in for the one it hangs on."""
    judged = each.tried.judged
    tried = _values(each, judged.layout.frame["session"].astype(str) == name)
    if judged.stratum == BETWEEN or len(tried) < 2:
        return f"Pull another session at {listing(tried)}."
    return f"Pull {listing(tried)} side by side in another session."


def _repeat_shot(each: Verdicts, name: str) -> str:
    frame = each.tried.judged.layout.frame
    tried = _values(each, frame["shot"].astype(str) == name)
    return f"Pull it again, at {listing(tried)}, in another session."


def _values(each: Verdicts, where: pd.Series[bool]) -> list[str]:
    """Return the values a setting had in some shots; of a number the lowest and highest."""
    predictor = each.tried.effect.predictor
    values = each.tried.judged.layout.frame.loc[where, predictor.column]
    found: list[Hashable] = [level for level in predictor.levels if (values == level).any()]
    if not predictor.levels:
        found = [*dict.fromkeys([float(values.min()), float(values.max())])]
    compared = [level for level in found if str(level) in each.tried.step.split(" → ")]
    return [level_words(predictor.column, level) for level in compared or found]
