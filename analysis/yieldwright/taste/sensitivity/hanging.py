"""Sessions and shots that an effect hangs on, or that say something else: what would help."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import Caution
from yieldwright.formatting import listing, p_words, percent, sentence_case
from yieldwright.taste.sensitivity.leaving_out import SESSION, SHOT
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.words.wording import level_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    import pandas as pd

    from yieldwright.taste.sensitivity.leaving_out import Again
    from yieldwright.taste.sensitivity.verdicts import Verdicts

__all__ = ["cautions_of_parts"]

#: Chance below which what was left out says something else than the rest, shared among all
#: that could have been left out and all effects looked at.
APART = 0.05

#: Share of what is known of an effect from which a session or shot carries it alone.
HALF = 0.5


def cautions_of_parts(verdicts: Sequence[Verdicts]) -> tuple[Caution, ...]:
    """Return cautions on sessions and shots that an effect hangs on, or that stand apart.

    Parameters
    ----------
    verdicts : sequence of Verdicts
        Effects that may be told, and what was tried on them.

    Returns
    -------
    tuple of Caution

    Notes
    -----
    That a verdict changes without a part of a small log is common, and told in a sentence.
    It hangs on that part where the rest says nothing, where the part brings most of what is
    known and more than twice its share, or where it says something else than the rest. A
    part that says something else by more than chance is named whatever hangs on it.
    """
    hanging = {
        (change, again.name): _hanging(each, again, found)
        for each in verdicts
        if each.is_clear
        for change, found in ((SESSION, each.tried.sessions), (SHOT, each.tried.shots))
        for again in [again for again in each.moved(found) if _why(each, again, found)][:1]
    }
    apart = {
        (again.change, again.name): _apart(verdicts, again, chance)
        for again, chance in _strangest(verdicts)
        if chance < APART and (again.change, again.name) not in hanging
    }
    return (*hanging.values(), *apart.values())


def _hanging(each: Verdicts, again: Again, found: Sequence[Again]) -> Caution:
    noun = _noun(again)
    remedy = _repeat_session if again.change == SESSION else _repeat_shot
    return Caution(
        f"hangs-on-{noun}",
        "care",
        f"That {each.clause} matters hangs on {noun} {again.name}, {_why(each, again, found)}.",
        remedy(each, again.name),
        (each.tried.effect.predictor.column,),
    )


def _strangest(verdicts: Sequence[Verdicts]) -> list[tuple[Again, float]]:
    """Return each part with the chance of its being so strange, for all that were looked at."""
    found: dict[tuple[str, str], tuple[Again, float]] = {}
    for each in verdicts:
        for parts, looks in ((each.tried.sessions, each.among), (each.tried.shots, 1)):
            for again in (again for again in parts if np.isfinite(again.p_apart)):
                chance = again.p_apart * len(parts) * looks
                key = (again.change, again.name)
                if key not in found or chance < found[key][1]:
                    found[key] = (again, chance)
    return sorted(found.values(), key=lambda pair: pair[1])


def _apart(verdicts: Sequence[Verdicts], again: Again, chance: float) -> Caution:
    noun = _noun(again)
    about = [
        each.tried.effect
        for each in verdicts
        if again in (*each.tried.sessions, *each.tried.shots)
    ]
    of = f" about {about[0].words.clause}" if noun == "session" else ""
    return Caution(
        f"{noun}-apart",
        "care",
        f"{sentence_case(noun)} {again.name} says something else{of} than the others by more "
        f"than chance ({p_words(min(chance, 1.0))}, for all that were looked at).",
        "Look up what was different then; if nothing was, repeat it.",
        tuple(effect.predictor.column for effect in about),
    )


def _noun(again: Again) -> str:
    return "session" if again.change == SESSION else "shot"


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
