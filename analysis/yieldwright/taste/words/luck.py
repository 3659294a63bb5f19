"""What chance alone does, said beside every answer: many looks, the best shot, few shots."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.errors import OutOfRangeError
from yieldwright.formatting import clip, number, percent
from yieldwright.models.intervals.intervals import sd_interval
from yieldwright.models.intervals.maxima import best_of
from yieldwright.models.intervals.power import ALPHA, shots_per_setting
from yieldwright.taste.columns.by_hand import set_by_hand
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.words.wording import level_words

if TYPE_CHECKING:
    from yieldwright.taste.columns.predictors import Question
    from yieldwright.taste.findings import Findings

__all__ = ["best_shot_sentence", "looks_sentence", "shots_needed_sentence", "wanted_difference"]

#: Differences worth finding where nobody says otherwise (assumed, no source); of a score it is
#: one step of its scale. [unit of the response]
WANTED = {"ey_pct": 0.5, "tds_pct": 0.25, "time_s": 2.0, "first_drip_s": 1.0}

#: Shots a setting that nobody will pull: the number is then not said.
OUT_OF_REACH = 1000


def looks_sentence(findings: Findings) -> str:
    """Return how many effects of settings were looked at, and what chance does with so many.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    str
        Empty where no setting was judged.

    Notes
    -----
    Of k independent looks at nothing, 1 − 0.95ᵏ of logs show one that seems clear.
    """
    looks = sum(effect.predictor.kind == "setting" for effect in findings.effects)
    if not looks:
        return ""
    alarms = percent(1 - (1 - ALPHA) ** looks)
    if looks == 1:
        return f"One effect of a setting was looked at: were it none, {alarms} of logs would hint."
    return (
        f"{looks} effects of settings were looked at: were all of them none, one would seem clear "
        f"in {alarms} of logs; the p-values by Holm allow for that."
    )


def best_shot_sentence(findings: Findings, *, turn: int) -> str:
    """Return how much luck is in the best shot, and whether its settings were repeated.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.
    turn : int
        −1 where the response is best at a top, +1 at a bottom, 0 where it has no best.

    Returns
    -------
    str
        Empty where the response has no best, or there is no fit.
    """
    inside = findings.inside
    if not turn or inside.fit is None:
        return ""
    frame = inside.layout.frame
    response = frame["response"].to_numpy(dtype=float)
    best = int((turn * response).argmin())
    like = _like(findings, best)
    sd, shots = inside.fit.fit.sigma, len(frame)
    name = f"shot {clip(str(frame['shot'].iloc[best]), 24)}"
    luck = f"{number(best_of(shots) * sd, sd)} {findings.words.unit}"
    settings = "a single shot at its settings" if like == 1 else f"one of {like} at its settings"
    return (
        f"The best shot, {name}, is {settings}: luck alone makes the luckiest of {shots} like "
        f"shots about {luck} better than their mean. Repeat it twice before changing the recipe."
    )


def shots_needed_sentence(findings: Findings) -> str:
    """Return how many shots a setting would find a difference worth finding.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    str
        Empty where there is no fit.

    Notes
    -----
    Two settings compared inside sessions, 80 % power, with the spread that the fit leaves
    and with the ends of its 95 % interval.
    """
    inside = findings.inside
    if inside.fit is None or not inside.fit.fit.sigma > 0:
        return ""
    sigma, df = inside.fit.fit.sigma, inside.fit.fit.df_resid
    wanted, why = wanted_difference(findings.question)
    limits = sd_interval(sigma, df)
    need, least, most = (_needed(wanted, sd) for sd in (sigma, limits.low, limits.high))
    unit = findings.words.unit
    if need is None:
        return (
            f"A difference of {wanted:g} {unit} ({why}) between two settings is out of reach at a "
            f"spread of {number(sigma)} {unit}."
        )
    ends = f"{least} to {most}" if most is not None else f"{least} or more"
    return (
        f"To find a difference of {wanted:g} {unit} ({why}) four times in five takes "
        f"{need} shots at each of two settings ({ends}, as sure as the spread is known)"
        f"{_still_needed(findings, need)}."
    )


def wanted_difference(question: Question) -> tuple[float, str]:
    """Return the difference that is taken as worth finding, and why.

    Parameters
    ----------
    question : Question
        What was asked.

    Returns
    -------
    difference : float
        In the unit of the response.
    why : str

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.predictors import Question
    >>> wanted_difference(Question("ey_pct", Bench(), (), ()))
    (0.5, 'taken as worth finding')
    """
    name = attribute_of(question.response)
    if name is not None:
        return question.bench.attribute(name).step, "one step of the scale"
    return WANTED.get(question.response, 1.0), "taken as worth finding"


def _needed(wanted: float, sd: float) -> int | None:
    if not math.isfinite(sd):
        return None
    try:
        shots = shots_per_setting(wanted, max(sd, 1e-6 * wanted))
    except OutOfRangeError:
        return None
    return shots if shots <= OUT_OF_REACH else None


def _still_needed(findings: Findings, need: int) -> str:
    """Return what the least pulled level of a setting lacks of the shots needed."""
    frame = findings.inside.layout.frame
    counts = {
        level_words(setting.column, level): shots
        for setting in set_by_hand(frame, findings.inside.candidates)
        for level, shots in frame[setting.column].value_counts().items()
    }
    if not counts:
        return ""
    name = min(counts, key=lambda level: counts[level])
    lacking = need - counts[name]
    if lacking <= 0:
        return f"; {name}, pulled least, has {counts[name]}"
    return f"; {name}, pulled least, has {counts[name]} and needs {lacking} more"


def _like(findings: Findings, row: int) -> int:
    """Return how many shots share the settings of one, measured numbers aside."""
    frame = findings.inside.layout.frame
    settings = set_by_hand(frame, findings.inside.candidates)
    if not settings:
        return 1
    alike = np.ones(len(frame), dtype=bool)
    for setting in settings:
        values = frame[setting.column].to_numpy()
        alike &= values == values[row]
    return int(alike.sum())
