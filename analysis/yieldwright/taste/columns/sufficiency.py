"""Whether a log is long enough for a question, and which adjusters it can afford."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.formatting import count, listing
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.results import Dropped
    from yieldwright.taste.columns.predictors import Predictor, Prepared, Question
    from yieldwright.taste.findings import Findings

__all__ = [
    "COMFORTABLE_DF",
    "GOES_FIRST",
    "LEAST_SESSION_DF",
    "Affordable",
    "affordable",
    "missing_yet",
    "nothing_to_fit",
]

#: Degrees of freedom that shots keep for settings alone, and for adjusters beside them.
LEAST_DF, COMFORTABLE_DF = 3, 4

#: Degrees of freedom that session means keep for either: each mean stands for several shots.
LEAST_SESSION_DF = 2

#: Adjusters that go first where degrees of freedom are scarce; unnamed ones before all.
GOES_FIRST = (
    "humidity_pct",
    "purged_g",
    "retained_g",
    "frozen_d",
    "room_c",
    "tamp",
    "distribution",
    "paper",
    "puck_screen",
    "water",
    "basket",
    "machine",
    "soak_min",
    "preheat_min",
    "barista",
    "gap_min",
    "service_stretch",
    "dose_g",
    "position",
    "roast_age_d",
    "taper_bar",
    "temp_band",
    "grind_setting",
)

#: Without this one, settings of two bags would be compared with one another.
NEVER_GOES = "bag"


@dataclass(frozen=True, slots=True)
class Affordable:
    """The predictors a stratum has degrees of freedom for.

    Attributes
    ----------
    kept : tuple of Predictor
        All settings, the bag, and the adjusters that fit beside them.
    dropped : tuple of Predictor
        Adjusters that had to go.
    lacking : int
        Rows short of what the settings alone need; 0 where they can be fitted.
    """

    kept: tuple[Predictor, ...]
    dropped: tuple[Predictor, ...]
    lacking: int


def affordable(predictors: Sequence[Predictor], *, df: int, stratum: str) -> Affordable:
    """Return the predictors that leave enough degrees of freedom.

    Parameters
    ----------
    predictors : sequence of Predictor
        All that could be estimated.
    df : int
        Rows less blocks, or less one. [count]
    stratum : str
        Where they are judged.

    Returns
    -------
    Affordable

    Notes
    -----
    Shots keep 4 degrees of freedom while adjusters are in, and 3 for settings alone;
    session means keep 2. Adjusters go in a fixed order, the room first, then dose, position
    and roast age, and settings that nobody asked about last; the bag of a set that holds
    several stays as settings do.

    Examples
    --------
    >>> from yieldwright.taste.columns.predictors import Predictor
    >>> grind, dose = Predictor("grind_setting", "setting"), Predictor("dose_g", "adjuster")
    >>> affordable([grind, dose], df=5, stratum="within sessions").dropped == (dose,)
    True
    """
    kept = list(predictors)
    dropped: list[Predictor] = []
    comfortable = LEAST_SESSION_DF if stratum == BETWEEN else COMFORTABLE_DF
    adjusters = sorted(filter(_may_go, kept), key=_turn)
    while adjusters and df - _width(kept) < comfortable:
        dropped.append(adjusters.pop(0))
        kept.remove(dropped[-1])
    least = LEAST_SESSION_DF if stratum == BETWEEN else LEAST_DF
    lacking = max(least - (df - _width(kept)), 0) if kept else 0
    return Affordable(tuple(kept), tuple(dropped), lacking)


def nothing_to_fit(
    prepared: Prepared, question: Question, excluded: Sequence[Dropped] = ()
) -> str:
    """Return what a first estimate would need, empty where one may be tried.

    Parameters
    ----------
    prepared : Prepared
        Complete rows.
    question : Question
        What is asked.
    excluded : sequence of Dropped
        Shots that were out before, with reasons.

    Returns
    -------
    str
    """
    frame, what = prepared.frame, column_label(question.response)
    if frame.empty:
        losses = listing([str(each) for each in (*excluded, *prepared.dropped)])
        return (
            f"No shot can be used for the {what}: {losses or 'the log holds none'}. Log it for "
            "shots pulled at two settings at least."
        )
    if len(frame) == 1:
        return (
            f"Only 1 shot can be used for the {what}: an effect needs shots at two settings at "
            "least, each pulled more than once."
        )
    if frame["response"].nunique() == 1:
        return (
            f"The {what} is the same in all {len(frame)} shots "
            f"({frame['response'].iloc[0]:g}): there is no difference to explain. Pull "
            "settings farther apart."
        )
    if not prepared.predictors:
        shots, unchanged = count(len(frame), "shot"), _unchanged(prepared)
        return f"Nothing was changed among {shots}: {unchanged}. Change a setting in a session."
    return ""


def missing_yet(findings: Findings) -> str:
    """Return what a first estimate would need, empty where there is one.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    str
    """
    if findings.effects:
        return ""
    inside = findings.inside
    what = column_label(findings.question.response)
    shots = count(len(inside.layout.frame), "shot")
    if not inside.lacking:
        return f"No effect on the {what} can be told from {shots}."
    changed = [column_label(each.column) for each in inside.candidates if each.kind == "setting"]
    verb = "is" if inside.lacking == 1 else "are"
    return (
        f"{shots} are too few to tell what {listing(changed)} did to the {what}: "
        f"{inside.lacking} more {verb} needed, at settings already tried."
    )


def _may_go(predictor: Predictor) -> bool:
    return predictor.kind == "adjuster" and predictor.column != NEVER_GOES


def _turn(predictor: Predictor) -> int:
    named = predictor.column in GOES_FIRST
    return GOES_FIRST.index(predictor.column) if named else -1


def _width(predictors: Sequence[Predictor]) -> int:
    return sum(each.width for each in predictors)


def _unchanged(prepared: Prepared) -> str:
    reasons = [f"{column_label(column)} {reason}" for column, reason in prepared.left_out]
    return "; ".join(reasons)
