"""Each effect again without a session, without a shot, and under other analyses."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import YieldwrightError
from yieldwright.models.linear.clusters import cluster_contrast
from yieldwright.models.linear.without import Without, without_groups, without_rows
from yieldwright.models.terms.design import Design
from yieldwright.taste.strata.grouped_fit import GroupedFit
from yieldwright.taste.strata.regrouping import Regrouped
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.strata.stratum_fits import StratumFit, fit_between, fit_inside
from yieldwright.taste.strata.weights import step_weights
from yieldwright.taste.tables import Effect, effects_of

if TYPE_CHECKING:
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.taste.findings import Findings
    from yieldwright.taste.strata.judging import Judged
    from yieldwright.taste.strata.strata import Layout

__all__ = [
    "ADJUSTERS",
    "AS_FITTED",
    "BY_SESSION",
    "LINES",
    "SESSION",
    "SHOT",
    "Again",
    "Tried",
    "tried_again",
]

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

#: What was changed.
AS_FITTED = "as fitted"
SESSION = "without session"
SHOT = "without shot"
BY_SESSION = "errors by session"
ADJUSTERS = "without adjusters"
LINES = "straight lines"

#: Sessions below which errors by session cannot be told (common practice, no source).
LEAST_SESSIONS = 4

#: Sessions below which leaving one out leaves no comparison between sessions, or no shot.
LEAST_TO_LEAVE = 2


class Again(NamedTuple):
    """One effect after one change.

    Attributes
    ----------
    change : str
        What was changed.
    name : str
        Session or shot left out; empty for a change of the analysis.
    n_shots : int
        Shots left.
    estimate, std_error, df, low, high : float
        The effect and its 95 % interval; not numbers where nothing is left to tell it.
    share : float
        Share of what the line of shots, or of means, knows of the effect that was left out;
        not a number for a change of the analysis.
    p_apart : float
        Probability of as large a change where what was left out says the same as the rest;
        not a number where it cannot be told.
    """

    change: str
    name: str
    n_shots: int
    estimate: float
    std_error: float
    df: float
    low: float
    high: float
    share: float = np.nan
    p_apart: float = np.nan


@dataclass(frozen=True, eq=False)
class Tried:
    """One effect, and all that was tried on it.

    Attributes
    ----------
    effect : Effect
        As it was fitted.
    step : str
        Which step of its column: the column itself, or a pair of levels.
    judged : Judged
        The stratum that judged it.
    sessions, shots, analyses : tuple of Again
        Without each session; without each shot, or without the one that moves it most; and
        under each other analysis that differs at all.
    """

    effect: Effect
    step: str
    judged: Judged
    sessions: tuple[Again, ...]
    shots: tuple[Again, ...]
    analyses: tuple[Again, ...]


def tried_again(findings: Findings) -> tuple[Tried, ...]:
    """Return every effect of a setting with all that was tried on it.

    Parameters
    ----------
    findings : Findings
        One question and its verdicts.

    Returns
    -------
    tuple of Tried

    Notes
    -----
    The effect stays the same weighted sum of coefficients: of a curve the slope at the mean
    of all shots, also where some are left out. Of shots compared inside sessions, and of one
    pooled line, leaving out has a closed form; session means and mixed models are fitted
    anew, and of the latter only the shot that moves the line of shots most is left out.
    """
    grouped = Regrouped(findings)
    return tuple(tried for judged in findings.judged for tried in _of_stratum(judged, grouped))


def _of_stratum(judged: Judged, grouped: Regrouped) -> Iterator[Tried]:
    fit = judged.fit
    if fit is None:
        return
    steps = [step for each in judged.decided for step in step_weights(fit, each)]
    asked = [
        (effect, *step)
        for effect, step in zip(effects_of(judged), steps, strict=True)
        if effect.predictor.kind == "setting"
    ]
    if not asked:
        return
    sessions, shots = _leaving(judged, fit, grouped)
    others = tuple(_analyses(judged, fit))
    for effect, step, weights in asked:
        analyses = [*_by_session(judged, fit, weights), *_otherwise(effect, step, others)]
        yield Tried(
            effect, step, judged, tuple(sessions(weights)), tuple(shots(weights)), tuple(analyses)
        )


#: From the weights of an effect to the effect without each of something.
_Leaving = Callable[[Array], Iterator[Again]]


def _leaving(judged: Judged, fit: StratumFit, grouped: Regrouped) -> tuple[_Leaving, _Leaving]:
    """Return the ways to leave sessions and shots out that suit a stratum."""
    layout = judged.layout
    if isinstance(fit, GroupedFit):
        sessions = _each_session(layout, lambda keep: grouped.left(fit, layout, keep))
        shots = _none if judged.stratum == BETWEEN else partial(_farthest, layout, fit, grouped)
        return partial(_estimated, SESSION, sessions, fit, _shares(judged, fit)), shots
    if judged.stratum == BETWEEN:
        sessions = _each_session(layout, lambda keep: _between(judged, fit, keep))
        return partial(_estimated, SESSION, sessions, fit, _shares(judged, fit)), _none
    names = [str(name) for name in layout.frame["shot"]]
    shots = partial(_told, SHOT, without_rows(fit.fit), names)
    if layout.n_sessions < LEAST_TO_LEAVE:
        return _none, shots
    labels = layout.frame["session"].to_numpy()
    left = without_groups(fit.fit, labels, swept=layout.blocked)
    return partial(_told, SESSION, left, [str(label) for label in left.labels]), shots


def _shares(judged: Judged, fit: StratumFit) -> Callable[[Array], Array]:
    """Return what gives the share of each session in a stratum of shots, or of means."""
    if judged.stratum == BETWEEN:
        left = without_rows(fit.fit)
    else:
        left = without_groups(fit.fit, judged.layout.codes, swept=judged.layout.blocked)
    return lambda weights: left.figures(weights)["share"]


def _none(weights: Array) -> Iterator[Again]:  # noqa: ARG001
    """Return nothing: there is nothing to leave out."""
    return iter(())


def _told(change: str, left: Without, names: Sequence[str], weights: Array) -> Iterator[Again]:
    """Yield an effect without each row or group, in closed form."""
    figures = left.figures(weights)
    columns = ("n_left", "estimate", "std_error", "df", "ci_low", "ci_high", "share", "p_apart")
    rows = zip(*(figures[name].tolist() for name in columns), strict=True)
    for name, row in zip(names, rows, strict=True):
        yield Again(change, name, *row)


def _estimated(
    change: str,
    fits: Sequence[tuple[str, int, StratumFit | None]],
    whole: StratumFit,
    shares: Callable[[Array], Array],
    weights: Array,
) -> Iterator[Again]:
    """Yield an effect from each of several fits, no number where there is no fit."""
    fitted = whole.estimate(weights, change)
    for (name, n_shots, fit), share in zip(fits, shares(weights).tolist(), strict=True):
        found = None if fit is None else _attempted(fit, weights)
        if fit is None or found is None:
            nothing = Again(change, name, n_shots, np.nan, np.nan, np.nan, np.nan, np.nan)
            yield nothing._replace(share=share)
        else:
            again = _again(change, name, n_shots, found)
            grown = _spread(fit) / _spread(whole) if _spread(whole) > 0 else np.nan
            yield again._replace(share=share, p_apart=_apart(again, fitted, grown**2))


def _attempted(fit: StratumFit, weights: Array) -> Estimate | None:
    """Return a weighted sum, or None where so few rows give it no error to speak of."""
    try:
        # On the fewest rows a mixed model's adjusted variance may be below zero, or its
        # degrees of freedom have no value.
        with np.errstate(invalid="ignore"):
            found = fit.estimate(weights, "")
    except (YieldwrightError, ArithmeticError):
        return None
    return found if np.isfinite(found.std_error) else None


def _spread(fit: StratumFit) -> float:
    """Return the standard deviation of a row that a fit reckons with."""
    mixed = fit.mixed if isinstance(fit, GroupedFit) else None
    return fit.fit.sigma if mixed is None else mixed.sigma


def _apart(again: Again, fitted: Estimate, grown: float) -> float:
    """Return the chance of as large a change, by the standard errors at one and the same spread.

    The effect of all rows is the more precise one, so that the difference of both has the
    difference of their variances.
    """
    added = again.std_error**2 - grown * fitted.std_error**2
    if not added > 0:
        return np.nan
    statistic = (again.estimate - fitted.estimate) / np.sqrt(added)
    return 2 * float(special.stdtr(again.df, -abs(statistic)))


def _again(change: str, name: str, n_shots: int, found: Estimate) -> Again:
    interval = (found.ci_low, found.ci_high)
    return Again(change, name, n_shots, found.estimate, found.std_error, found.df, *interval)


def _each_session(
    layout: Layout, fitted: Callable[[Mask], StratumFit | None]
) -> list[tuple[str, int, StratumFit | None]]:
    """Return the name of each session with the shots and the fit that are left without it."""
    names = [str(name) for name in layout.sessions["session"]]
    kept = [layout.codes != code for code in range(layout.n_sessions)]
    return [(name, int(keep.sum()), fitted(keep)) for name, keep in zip(names, kept, strict=True)]


def _farthest(
    layout: Layout, fit: GroupedFit, grouped: Regrouped, weights: Array
) -> Iterator[Again]:
    """Return an effect without the shot that moves the line of shots most."""
    figures = without_rows(fit.fit).figures(weights)
    far = np.abs(np.nan_to_num(figures["estimate"] - weights @ fit.fit.params, nan=0.0))
    keep = np.arange(len(far)) != far.argmax()
    name = str(layout.frame["shot"].iloc[int(far.argmax())])
    found = [(name, len(far) - 1, grouped.left(fit, layout, keep))]
    own = figures["share"][[far.argmax()]]
    return _estimated(SHOT, found, fit, lambda _: own, weights)


def _between(judged: Judged, fit: StratumFit, keep: Mask) -> StratumFit | None:
    """Return the fit of session means without some shots, or None where they are too few."""
    layout = replace(judged.layout, frame=judged.layout.frame[keep].reset_index(drop=True))
    sessions = np.isin(np.arange(judged.layout.n_sessions), judged.layout.codes[keep])
    try:
        adjusting = judged.adjusting
        if adjusting is not None and adjusting.predictors:
            design = _rows_of(adjusting, keep)
            adjusting = fit_inside(layout, design, adjusting.predictors)
        return fit_between(layout, _rows_of(fit, sessions), fit.predictors, adjusting)
    except YieldwrightError:
        return None


def _rows_of(fit: StratumFit, keep: Mask) -> Design:
    """Return some rows of the design of a stratum, session means not taken off."""
    design = fit.design
    return Design(fit.columns[keep], design.columns, design.terms, design.index[keep])


def _analyses(judged: Judged, fit: StratumFit) -> Iterator[tuple[str, StratumFit]]:
    """Yield the other fits of the same rows that differ from the one there is."""
    settings = tuple(each for each in fit.predictors if each.kind == "setting")
    if len(settings) < len(fit.predictors):
        curved = frozenset(each.column for each in settings) & fit.curved
        yield ADJUSTERS, judged.refitted(settings, curved=curved)
    if fit.curved:
        yield LINES, judged.refitted(fit.predictors)


def _otherwise(
    effect: Effect, step: str, others: Sequence[tuple[str, StratumFit]]
) -> Iterator[Again]:
    """Yield an effect under other fits of the same rows."""
    for change, fit in others:
        weights = dict(step_weights(fit, effect.predictor))[step]
        yield _again(change, "", len(fit.frame), fit.estimate(weights, change))


def _by_session(judged: Judged, fit: StratumFit, weights: Array) -> Iterator[Again]:
    """Yield an effect with errors that may go together within sessions, if not of one alone."""
    plain = judged.stratum != BETWEEN and not isinstance(fit, GroupedFit)
    if plain and judged.layout.n_sessions >= LEAST_SESSIONS:
        labels = judged.layout.frame["session"].to_numpy()
        found = cluster_contrast(fit.fit, weights, labels)
        if np.isfinite(found.std_error):
            yield _again(BY_SESSION, "", len(labels), found)
