"""What the next shot at stated settings will give, or why this log cannot say."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.errors import OutOfRangeError, UnknownNameError
from yieldwright.formatting import clip, interval, listing, number, sentence_case, visible
from yieldwright.models.contrasts.contrasts import independent_sum
from yieldwright.models.mixed.contrasts import mixed_contrast
from yieldwright.models.terms.design import INTERCEPT, Design
from yieldwright.models.terms.tried_combinations import require_combined
from yieldwright.models.wording import nearest, quoted
from yieldwright.results import Result
from yieldwright.taste.means.setting_words import told_mean, told_noun, told_unit
from yieldwright.taste.means.shot_spread import mixed_row, next_shot_limits, whose_shot
from yieldwright.taste.strata.grouped_fit import GroupedFit
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.strata.weights import mean_weights
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.taste.columns.predictors import Predictor
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.judging import Judged

__all__ = ["ShotPrediction", "predict_shot"]

#: Characters of a value that a refusal shows.
LONGEST_SHOWN = 40


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ShotPrediction(Result):
    """The mean response at stated settings and where the next shot falls, or a refusal.

    Attributes
    ----------
    response : str
        Column explained.
    bag, grinder : str
        Codes, empty where the log names none.
    at : mapping of str to object
        The settings stated.
    assumed : mapping of str to object
        Levels not stated, taken as most of the shots had them.
    mean, ci_low, ci_high : float
        Mean of all shots that could be pulled there, with its 95 % interval; not a
        number where the log says nothing.
    shot_low, shot_high : float
        Limits the next shot falls between 19 times in 20.
    refused : str
        Why there is no number; empty where there is one.
    """

    response: str
    bag: str = ""
    grinder: str = ""
    at: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))
    assumed: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))
    mean: float = math.nan
    ci_low: float = math.nan
    ci_high: float = math.nan
    shot_low: float = math.nan
    shot_high: float = math.nan
    refused: str = ""

    @property
    def title(self) -> str:
        """Response and settings."""
        where = listing([level_words(column, _shown(value)) for column, value in self.at.items()])
        return f"{sentence_case(column_label(self.response))} at {where or 'the average shot'}"

    @property
    def answered(self) -> bool:
        """Whether there is a number."""
        return not self.refused

    def to_frame(self) -> pd.DataFrame:
        """Return the figures at full precision, in one row; none where there are none."""
        names = ("mean", "ci_low", "ci_high", "shot_low", "shot_high")
        rows = [{name: getattr(self, name) for name in names}] if self.answered else []
        return pd.DataFrame(rows, columns=list(names))

    def display_frame(self) -> pd.DataFrame:
        """Return the figures as text.

        Returns
        -------
        DataFrame
            One row: mean, its interval, and the limits of the next shot.
        """
        if not self.answered:
            return pd.DataFrame()
        row = {
            "Mean": number(self.mean, (self.ci_high - self.ci_low) / 2),
            "95 % interval": interval(self.ci_low, self.ci_high),
            "Next shot": interval(self.shot_low, self.shot_high),
        }
        return pd.DataFrame([row])


def predict_shot(findings: Findings, at: Mapping[str, object]) -> ShotPrediction:
    """Return what a shot at stated settings will give, or why the log cannot say.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.
    at : mapping of str to object
        Values by column. Numbers not stated stand at their mean, levels not stated at
        the one that most shots had.

    Returns
    -------
    ShotPrediction
        A refusal that says which setting or combination lies outside what was tried, and
        what lies nearest; or which setting has no verdict, and why.

    Raises
    ------
    UnknownNameError
        If a column is none of those asked about, or a level was not tried.

    Notes
    -----
    The mean comes from the fit that gives the effects. A setting that is judged between
    sessions brings the mean of a session at it, to which the effects of what changes
    inside sessions are added; their variances add, with Satterthwaite's degrees of
    freedom. See `next_shot_limits` for the next shot.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> from yieldwright.taste.findings import Findings
    >>> from yieldwright.taste.strata.judging import judge_strata
    >>> from yieldwright.taste.columns.predictors import Question, prepare
    >>> shots = pd.DataFrame(
    ...     {
    ...         "grind_setting": [10.0, 11.0, 12.0, 12.0, 11.0, 10.0],
    ...         "time_s": [40.1, 37.8, 36.2, 35.7, 38.1, 39.8],
    ...     }
    ... )
    >>> question = Question("time_s", Bench(), ("grind_setting",), ())
    >>> one = ComparableSet("", "", shots)
    >>> prepared = prepare(one, question)
    >>> findings = Findings(question, one, prepared, judge_strata(prepared))
    >>> print(predict_shot(findings, {"grind_setting": 11.0}).sentences[0])
    At setting 11 the shot time averages 37.95 s (37.69 to 38.21, 95 %).
    >>> print(predict_shot(findings, {"grind_setting": 14.0}).refused)
    Grind setting was tried from 10 to 12; 14 lies outside, where nothing is predicted (the next \
to try is 13).
    """
    stated = {column: _value(findings, column, value) for column, value in at.items()}
    reason = _unjudged(findings, stated)
    if reason:
        return _refusal(findings, at, reason)
    assumed = _assumed(findings, stated)
    settings = {**stated, **assumed}
    design = _whole_design(findings)
    try:
        require_combined(design, design.row(settings), settings)
    except OutOfRangeError as problem:
        return _refusal(findings, at, _in_plain_words(str(problem), settings))
    return _predicted(findings, stated, assumed)


def _predicted(
    findings: Findings, stated: Mapping[str, object], assumed: Mapping[str, object]
) -> ShotPrediction:
    settings = {**stated, **assumed}
    mean, stratum = _mean(findings, settings)
    shot = next_shot_limits(findings, mean, settings, stratum=stratum)
    question = findings.question
    found = ShotPrediction(
        response=question.response,
        bag=findings.comparable.bag,
        grinder=findings.comparable.grinder,
        n_shots=len(findings.inside.layout.frame),
        at=stated,
        assumed=assumed,
        mean=mean.estimate,
        ci_low=mean.ci_low,
        ci_high=mean.ci_high,
        shot_low=shot.low,
        shot_high=shot.high,
    )
    return replace(found, sentences=tuple(_sentences(findings, found)))


def _sentences(findings: Findings, found: ShotPrediction) -> list[str]:
    question = findings.question
    where = listing([level_words(column, _shown(value)) for column, value in found.at.items()])
    mean = told_mean(question, found.mean, found.ci_low, found.ci_high)
    told = [f"At {where or 'the average shot'} the {told_noun(question)} averages {mean}, 95 %)."]
    if math.isfinite(found.shot_low):
        shot = told_mean(question, found.mean, found.shot_low, found.shot_high)
        limits = shot.partition("(")[2].replace(" to ", " and ")
        whose = sentence_case(whose_shot(findings))
        told.append(f"{whose} is expected between {limits} {told_unit(question)} (95 %).")
    if found.assumed:
        words = [level_words(column, _shown(value)) for column, value in found.assumed.items()]
        told.append(f"Not stated, and taken to be as in most shots: {listing(words)}.")
    told.append("Everything else stands at the mean of these shots.")
    return told


def _refusal(findings: Findings, at: Mapping[str, object], reason: str) -> ShotPrediction:
    sentence = sentence_case(reason)
    return ShotPrediction(
        response=findings.question.response,
        bag=findings.comparable.bag,
        grinder=findings.comparable.grinder,
        n_shots=len(findings.inside.layout.frame),
        at=dict(at),
        refused=sentence,
        sentences=(sentence,),
    )


def _value(findings: Findings, column: str, value: object) -> object:
    """Return a value as the column holds it: numbers written as text, yes or no as words."""
    levels = next((p.levels for p in findings.prepared.predictors if p.column == column), ())
    if levels and isinstance(value, bool):
        return "yes" if value else "no"
    if levels or not isinstance(value, str):
        return value
    try:
        return float(value)
    except ValueError:
        return value


def _unjudged(findings: Findings, stated: Mapping[str, object]) -> str:
    """Return why a stated column cannot be predicted by, empty where all can."""
    judged = {each.column: each.levels for _, each in _explaining(findings)}
    logged = {each.column: each.levels for each in findings.prepared.predictors}
    reasons = dict(findings.left_out)
    for column, value in stated.items():
        lone = value in logged.get(column, ()) and value not in judged.get(column, ())
        if column in judged and not lone:
            continue
        if column not in reasons and column not in {*_asked(findings)}:
            raise UnknownNameError(
                f"{quoted(column)} is none of the columns asked about; "
                f"{nearest(column, _asked(findings))}"
            )
        why = reasons.get(column, "it has no effect of its own here")
        shown = clip(visible(str(value)), LONGEST_SHOWN)
        return f"this log cannot predict by {column_label(column)} {shown}: {why}."
    return ""


def _asked(findings: Findings) -> tuple[str, ...]:
    return (*findings.question.settings, *findings.question.adjusters)


def _explaining(findings: Findings) -> list[tuple[Judged, Predictor]]:
    """Return every predictor of every fit, with its stratum."""
    return [
        (judged, each)
        for judged in findings.judged
        if judged.fit is not None
        for each in judged.decided
    ]


def _assumed(findings: Findings, stated: Mapping[str, object]) -> dict[str, object]:
    """Return the level most shots had, of each column of levels that is not stated."""
    frame = findings.inside.layout.frame
    return {
        each.column: Counter(frame[each.column].tolist()).most_common(1)[0][0]
        for _, each in _explaining(findings)
        if each.levels and each.column not in stated
    }


def _whole_design(findings: Findings) -> Design:
    """Return the design of the shots with the columns of all strata, as they were set."""
    fit = findings.inside.fit
    if isinstance(fit, GroupedFit) and fit.mixed is not None and fit.mixed.design is not None:
        return fit.mixed.design
    frame = findings.inside.layout.frame
    terms = tuple(
        term
        for judged in findings.judged
        if judged.fit is not None
        for term in judged.fit.design.terms
    )
    matrix = np.column_stack([np.ones(len(frame)), *(term.coded(frame) for term in terms)])
    labels = (INTERCEPT, *(label for term in terms for label in term.labels))
    return Design(matrix, labels, terms, frame.index)


def _mean(findings: Findings, settings: Mapping[str, object]) -> tuple[Estimate, str]:
    """Return the mean at some settings, and the stratum it comes from."""
    inside = findings.inside
    if isinstance(inside.fit, GroupedFit) and inside.fit.mixed is not None:
        row = mixed_row(inside.fit.mixed, settings)
        found = mixed_contrast(inside.fit.mixed, row, term="mean", df="kenward_roger")
        return found, inside.stratum
    between = next((each for each in findings.judged if each.stratum == BETWEEN), None)
    columns = {each.column for each in between.decided} if between else set()
    if between is None or not columns & set(settings):
        return _own_mean(inside, settings, whole=True), inside.stratum
    of_session = _own_mean(between, settings, whole=True)
    if inside.fit is None or not set(settings) - columns:
        return of_session, BETWEEN
    return independent_sum(of_session, _own_mean(inside, settings, whole=False)), BETWEEN


def _own_mean(judged: Judged, settings: Mapping[str, object], *, whole: bool) -> Estimate:
    """Return the mean of one stratum at its settings, or how far that lies from the average."""
    fit = judged.fit
    if fit is None:
        raise UnknownNameError(f"nothing is judged {judged.stratum}; state other settings")
    average = mean_weights(fit)
    weights = average.copy()
    for term in fit.design.terms:
        if term.column in settings:
            weights[fit.design.place(term.column)] = term.at(settings[term.column])
    return fit.estimate(weights if whole else weights - average, "mean")


def _in_plain_words(text: str, settings: Mapping[str, object]) -> str:
    for column in settings:
        text = text.replace(quoted(column), column_label(column))
    return f"{text.rstrip('.')}."


def _shown(value: object) -> str | float:
    return float(value) if isinstance(value, int | float) else str(value)
