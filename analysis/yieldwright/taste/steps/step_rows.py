"""Single scores as steps of their scale, posed for a cumulative-link model of shots."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.models.ordinal.levels import joined_levels
from yieldwright.models.ordinal.units import UnitScores, pose_in_units
from yieldwright.models.terms.design import Design
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.strata.score_rows import score_rows
from yieldwright.taste.strata.strata import codes_of

if TYPE_CHECKING:
    from yieldwright.bench import Attribute
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.stratum_fits import StratumFit

__all__ = [
    "MOST_LEVELS",
    "StepRows",
    "posed_steps",
    "readable_settings",
    "step_rows",
    "taster_share",
]

Array = npt.NDArray[np.float64]

#: Levels kept apart; neighbours beyond are taken together. Six told as much as ten on 24
#: simulated shots, in half the time.
MOST_LEVELS = 6


@dataclass(frozen=True, eq=False)
class StepRows:
    """Scores of the shots of a fit, each on a step of its scale.

    Attributes
    ----------
    rows : DataFrame
        One row per score: `shot`, `session`, `taster` (empty where tasters were not told
        apart) and `score`, larger meaning more of what the response says.
    outside : int
        Scores outside the scale, not among the rows.
    at_ends : float
        Share of the scores where the scale ends. [1]
    levels : tuple of float
        Scores that occur, lowest first.
    """

    rows: pd.DataFrame
    outside: int
    at_ends: float
    levels: tuple[float, ...]

    @property
    def n_shots(self) -> int:
        """Shots with a score."""
        return int(self.rows["shot"].nunique())

    @property
    def n_tasters(self) -> int:
        """Tasters told apart."""
        return int(self.rows["taster"].nunique())


def step_rows(findings: Findings) -> StepRows:
    """Return the scores of the shots of a fit, each on a step of its scale.

    Parameters
    ----------
    findings : Findings
        Of a response that is a score.

    Returns
    -------
    StepRows
    """
    question, layout = findings.question, findings.inside.layout
    attribute = question.bench.attribute(attribute_of(question.response) or "")
    found = score_rows(findings.comparable, question.response, layout.frame, bench=question.bench)
    if set(found["shot"]) != set(layout.frame["shot"]):
        # Without every shot's own scores their means tell more, rounded to a step.
        found = layout.frame.assign(taster="")
    rows = found[["shot", "session", "taster", "response"]].dropna(subset=["response"])
    rows = rows.rename(columns={"response": "score"})
    rows = rows.assign(taster=rows["taster"].astype(str), score=_stepped(rows["score"], attribute))
    low, high = _ends(attribute)
    inside = rows["score"].between(low, high)
    kept = rows[inside].reset_index(drop=True)
    at_ends = float(kept["score"].isin(_true_ends(attribute)).mean()) if len(kept) else 0.0
    levels = tuple(sorted(kept["score"].unique().tolist()))
    return StepRows(kept, int((~inside).sum()), at_ends, levels)


def readable_settings(findings: Findings) -> tuple[Predictor, ...]:
    """Return the settings judged from shot to shot that can be told from every other column.

    Parameters
    ----------
    findings : Findings
        One question, its shots and the verdicts of each stratum.

    Returns
    -------
    tuple of Predictor
    """
    inside = findings.inside
    return tuple(
        each
        for each in inside.decided
        if each.kind == "setting" and inside.entangled[each.column].colour != "red"
    )


def posed_steps(found: StepRows, fit: StratumFit, *, sessions: bool) -> UnitScores:
    """Return scores posed for questions about slopes.

    Parameters
    ----------
    found : StepRows
        The scores.
    fit : StratumFit
        The line's fit of the same shots, whose columns explain.
    sessions : bool
        Whether sessions shift the scores.

    Returns
    -------
    UnitScores

    Raises
    ------
    TooFewShotsError
        If no degree of freedom is left.
    OutOfRangeError
        If all scores are equal.
    """
    told = fit.frame["shot"].isin(found.rows["shot"]).to_numpy()
    shots = fit.frame[told].reset_index(drop=True)
    place = pd.Series(np.arange(len(shots)), index=shots["shot"])
    design = Design(fit.columns[told], fit.design.columns, fit.design.terms, shots.index)
    return pose_in_units(
        design,
        joined_levels(found.rows["score"], most=MOST_LEVELS),
        found.rows["shot"].map(place).to_numpy(),
        blocks=codes_of(shots["session"]) if sessions else None,
        raters=codes_of(found.rows["taster"]),
    )


def taster_share(posed: UnitScores, weights: Array) -> float:
    """Return the share of a setting's variation that only follows who tasted.

    Parameters
    ----------
    posed : UnitScores
        Scores posed for questions.
    weights : ndarray
        Of the columns of the design.

    Returns
    -------
    float
        Between 0 and 1; 0 where one person tasted. [1]
    """
    values = (posed.design.matrix @ weights)[posed.units]
    centred = values - values.mean()
    member = np.eye(posed.raters.max() + 1)[posed.raters]
    fitted = member @ np.linalg.lstsq(member, centred, rcond=None)[0]
    whole = float(centred @ centred)
    return float(fitted @ fitted) / whole if whole > 0 else 0.0


def _stepped(values: pd.Series[float], attribute: Attribute) -> pd.Series[float]:
    """Return values moved to the nearest step: means of several tasters lie between steps."""
    low, _ = _ends(attribute)
    return low + ((values - low) / attribute.step).round() * attribute.step


def _ends(attribute: Attribute) -> tuple[float, float]:
    """Return the ends of what is explained, nearness to the middle where that is best."""
    if attribute.better != "middle":
        return attribute.low, attribute.high
    return -(attribute.high - attribute.low) / 2, 0.0


def _true_ends(attribute: Attribute) -> tuple[float, ...]:
    """Return where scores pile up for want of room; the middle of a scale is no such place."""
    low, high = _ends(attribute)
    return (low,) if attribute.better == "middle" else (low, high)
