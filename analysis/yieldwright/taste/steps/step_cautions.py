"""What to know before trusting odds, and where line and odds disagree."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing, p_words
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from yieldwright.taste.steps.scored_steps import ScoredStep, ScoredSteps
    from yieldwright.taste.steps.step_rows import StepRows
    from yieldwright.taste.tables import Effect

__all__ = ["cautions_of_steps", "disagreements"]

#: p-value of one effect all along the scale below which that is in doubt, shared among steps.
UNEVEN = 0.05

#: Share of a setting's variation that may follow who tasted: a variance inflation of 5.
WITH_TASTERS = 0.8

_VERDICTS = {-1: "falls", 0: "may go either way", 1: "rises"}


def cautions_of_steps(
    steps: Sequence[ScoredStep], rows: StepRows, response: str
) -> tuple[Caution, ...]:
    """Return what to know before trusting odds.

    Parameters
    ----------
    steps : sequence of ScoredStep
        The steps.
    rows : StepRows
        The scores they come from.
    response : str
        `score:` and an attribute.

    Returns
    -------
    tuple of Caution
    """
    return (*_about_scale(rows, response), *_about_steps(steps))


def disagreements(effects: Sequence[Effect], steps: ScoredSteps | None) -> tuple[Caution, ...]:
    """Return where the line and the steps give different verdicts on a setting.

    Parameters
    ----------
    effects : sequence of Effect
        Of the line.
    steps : ScoredSteps or None
        The same scores as steps.

    Returns
    -------
    tuple of Caution
        One per way of differing: clear on one side and not on the other, or clear on both
        with opposite signs. Two estimates that are both unclear do not disagree.
    """
    if steps is None:
        return ()
    of_line = {(each.predictor.column, each.words.step): each for each in effects}
    pairs = [
        (of_line[key], step)
        for step in steps.steps
        if (key := (step.predictor.column, step.words.step)) in of_line
    ]
    apart: dict[tuple[int, int], list[ScoredStep]] = {}
    for effect, step in pairs:
        if _verdict(effect) != step.verdict:
            apart.setdefault((_verdict(effect), step.verdict), []).append(step)
    return tuple(
        _disagreement(line, odds, found, chosen=steps.chosen)
        for (line, odds), found in apart.items()
    )


def _verdict(effect: Effect) -> int:
    if not effect.is_clear:
        return 0
    return 1 if effect.estimate.estimate > 0 else -1


def _disagreement(line: int, odds: int, steps: Sequence[ScoredStep], *, chosen: bool) -> Caution:
    believe = "Read the odds" if chosen else "Take it as undecided"
    clauses = listing([step.words.clause for step in steps])
    return Caution(
        "line-and-steps-disagree",
        "care",
        f"For {clauses} the score {_VERDICTS[line]} by the line, and {_VERDICTS[odds]} where "
        "scores count as steps.",
        f"{believe}, and repeat the settings on both sides.",
        tuple(dict.fromkeys(step.predictor.column for step in steps)),
    )


def _about_scale(rows: StepRows, response: str) -> Iterator[Caution]:
    if rows.outside:
        several = rows.outside > 1
        yield Caution(
            "steps-outside-scale",
            "stop",
            f"{count(rows.outside, 'score')} {'lie' if several else 'lies'} outside the scale of "
            f"the {column_label(response)} and {'are' if several else 'is'} not counted among "
            "the steps.",
            "Correct them, or state the scale in the bench file.",
            (response,),
        )


def _about_steps(steps: Sequence[ScoredStep]) -> Iterator[Caution]:
    for step in steps:
        column = step.predictor.column
        if step.uneven < UNEVEN / len(steps):
            yield Caution(
                "odds-differ-along-scale",
                "care",
                f"{step.words.subject} does not move low scores as it moves high ones "
                f"({p_words(step.uneven)}): its odds are an average along the scale.",
                "Look at low and high scores apart.",
                (column,),
            )
        if step.with_tasters > WITH_TASTERS:
            yield Caution(
                "setting-follows-taster",
                "stop",
                f"{step.words.subject} went along with who tasted: its odds may be theirs.",
                "Let every taster score shots at every setting.",
                (column,),
            )
        if math.isinf(step.estimate.estimate):
            yield Caution(
                "scores-separate",
                "note",
                f"The scores part completely along {step.words.clause}: its odds have a limit on "
                "one side only.",
                "Repeat the settings between.",
                (column,),
            )
