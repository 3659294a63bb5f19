"""How far the next shot may fall from the mean a fit gives for its settings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.models.contrasts.predictions import row_spread
from yieldwright.models.intervals.intervals import t_interval
from yieldwright.taste.columns.roles import attribute_of
from yieldwright.taste.strata.grouped_fit import GroupedFit
from yieldwright.taste.strata.strata import BETWEEN
from yieldwright.taste.strata.stratum_fits import adjusted_means

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.mixed.model import MixedFit
    from yieldwright.taste.columns.predictors import Question
    from yieldwright.taste.findings import Findings

__all__ = ["ShotLimits", "mixed_row", "next_shot_limits", "whose_shot"]


class ShotLimits(NamedTuple):
    """Limits between which the next shot falls as often as the level says.

    Attributes
    ----------
    low, high : float
        The limits, never beyond the ends of a scale; not a number where shots of one
        session say nothing of their own spread.
    sd, df : float
        Standard deviation about the mean estimated, and degrees of freedom behind it.
    """

    low: float
    high: float
    sd: float
    df: float


@dataclass(frozen=True, slots=True)
class _Part:
    """One part of a variance, and its degrees of freedom."""

    variance: float
    df: float


def next_shot_limits(
    findings: Findings, mean: Estimate, at: Mapping[str, object], *, stratum: str
) -> ShotLimits:
    """Return between which limits the next shot at some settings is expected.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.
    mean : Estimate
        Mean response at those settings.
    at : mapping of str to object
        The settings, by column.
    stratum : str
        Where the mean comes from: within sessions, between sessions, or pooled.

    Returns
    -------
    ShotLimits
        At 95 %.

    Notes
    -----
    Of one session the next shot of the same session is meant, else one of a session not
    yet pulled. Where sessions are blocks, its variance about the mean of all shots is the
    mean square between session means, which holds the spread of sessions and a share 1/n
    of that of shots, and the rest of the latter:

    V = V(mean) + s²(between) (1 + h) + s²(within) (1 − mean of 1/n),

    with h the share of the mean that single sessions decide, Σ(n/N)², where the mean comes
    from within sessions. Degrees of freedom are Satterthwaite's. In a mixed model, the
    variances of session and shot are added, those of taster and row as far as a mean of
    as many scores as a shot has meets them.
    """
    fit = findings.inside.fit
    if isinstance(fit, GroupedFit) and fit.mixed is not None:
        row, scores = mixed_row(fit.mixed, at), _scores_a_shot(findings, fit.mixed)
        sd, df = row_spread(
            fit.mixed, row, mean, at=at, shares={"taster": 1 / scores}, rows=scores
        )
    else:
        sd, df = _summed(_parts(findings, mean, stratum))
    if not math.isfinite(sd) or not df > 0:
        return ShotLimits(math.nan, math.nan, math.nan, math.nan)
    low, high = t_interval(mean.estimate, sd, df)
    least, most = _ends(findings.question)
    return ShotLimits(max(low, least), min(high, most), sd, df)


def mixed_row(mixed: MixedFit, at: Mapping[str, object]) -> npt.NDArray[np.float64]:
    """Return the row of a mixed model at some settings, everything else at its mean.

    Parameters
    ----------
    mixed : MixedFit
        The model.
    at : mapping of str to object
        Settings by column; those that are no term of it are left aside.

    Returns
    -------
    ndarray
        One value per column of its design.
    """
    row = mixed.problem.matrix.mean(axis=0)
    terms = mixed.design.terms if mixed.design else ()
    for term in terms:
        if mixed.design and term.column in at:
            row[mixed.design.place(term.column)] = term.at(at[term.column])
    return np.asarray(row)


def whose_shot(findings: Findings) -> str:
    """Return which next shot is meant, as a sentence says it.

    Parameters
    ----------
    findings : Findings
        Verdicts of each stratum.

    Returns
    -------
    str
    """
    if findings.inside.layout.n_sessions == 1:
        return "the next shot of the same session"
    return "the next shot, in another session,"


def _parts(findings: Findings, mean: Estimate, stratum: str) -> tuple[_Part, ...]:
    """Return what the difference between a mean and a new shot consists of."""
    inside, layout = findings.inside, findings.inside.layout
    if inside.fit is None:
        return ()
    within, within_df = inside.fit.fit.sigma**2, inside.fit.fit.df_resid
    if not layout.blocked:
        return (_Part(mean.std_error**2 + within, within_df),)
    counts = np.bincount(layout.codes)
    share = 1 - float(np.mean(1 / counts))
    between = _between(findings)
    if stratum == BETWEEN:
        own = _Part(mean.std_error**2 + between.variance, min(mean.df, between.df))
        return own, _Part(share * within, within_df)
    decided = float(np.sum((counts / counts.sum()) ** 2))
    return (
        _Part(mean.std_error**2 + share * within, within_df),
        _Part((1 + decided) * between.variance, between.df),
    )


def _between(findings: Findings) -> _Part:
    """Return the mean square between session means, what explains them allowed for."""
    for judged in findings.judged:
        if judged.stratum == BETWEEN and judged.fit is not None:
            return _Part(judged.fit.fit.sigma**2, judged.fit.fit.df_resid)
    means = adjusted_means(findings.inside.layout, findings.inside.fit)
    return _Part(float(means.var(ddof=1)), len(means) - 1)


def _summed(parts: tuple[_Part, ...]) -> tuple[float, float]:
    """Return the standard deviation of a sum, and Satterthwaite's degrees of freedom."""
    total = sum(part.variance for part in parts)
    if not total > 0:
        return math.nan, math.nan
    spread = sum(part.variance**2 / part.df for part in parts)
    return math.sqrt(total), total**2 / spread


def _scores_a_shot(findings: Findings, mixed: MixedFit) -> int:
    """Return of how many rows of a model the value of a shot is the mean."""
    return max(round(mixed.n_rows / len(findings.inside.layout.frame)), 1)


def _ends(question: Question) -> tuple[float, float]:
    """Return the ends of what a response can be."""
    name = attribute_of(question.response)
    if name is None:
        return 0.0, math.inf
    attribute = question.bench.attribute(name)
    if attribute.better == "middle":
        return -(attribute.high - attribute.low) / 2, 0.0
    return attribute.low, attribute.high
