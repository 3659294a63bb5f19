"""The two fits behind an answer: shots inside sessions, and means between sessions."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import TooFewShotsError
from yieldwright.models.contrasts.contrasts import Estimate, contrast
from yieldwright.models.intervals.intervals import t_interval, t_quantile
from yieldwright.models.linear.model import LinearFit, fit_least_squares
from yieldwright.models.terms.design import INTERCEPT, Design, build_design
from yieldwright.models.terms.terms import Numeric
from yieldwright.taste.strata.blocking import fit_in_blocks
from yieldwright.taste.strata.strata import BETWEEN, Layout

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from yieldwright.taste.columns.predictors import Predictor

__all__ = [
    "CURVED",
    "StratumFit",
    "adjusted_means",
    "fit_between",
    "fit_inside",
    "narrowed",
    "stratum_design",
]

Array = npt.NDArray[np.float64]

#: Columns that may bend: extraction rises and falls with grind (Cameron et al. 2020,
#: Matter 2:631), and what a bag needs with its age is reported not to be monotone.
CURVED = ("grind_setting", "roast_age_d")


@dataclass(frozen=True, eq=False)
class StratumFit:
    """One least-squares fit, and what it borrows from another.

    Attributes
    ----------
    stratum : str
        Within sessions, between sessions, or pooled.
    frame : DataFrame
        Rows fitted: shots, or sessions.
    predictors : tuple of Predictor
        What explains.
    fit : LinearFit
        The fit.
    columns : ndarray
        The columns of its design as they were before session means were taken off.
    borrowed : ndarray or None
        Covariance that the coefficients owe to the adjustment of session means, beyond
        what the residuals of the means already show.
    borrowed_df : int
        Degrees of freedom of that adjustment.
    least : ndarray or None
        Covariance that the coefficients would have if sessions did not differ: their means
        are no steadier than the shots behind them.
    least_df : int
        Degrees of freedom of that.
    """

    stratum: str
    frame: pd.DataFrame
    predictors: tuple[Predictor, ...]
    fit: LinearFit
    columns: Array
    borrowed: Array | None = None
    borrowed_df: int = 0
    least: Array | None = None
    least_df: int = 0

    @property
    def design(self) -> Design:
        """The design that was fitted."""
        if self.fit.design is None:
            raise TooFewShotsError("this fit was not made from columns of a table")
        return self.fit.design

    @property
    def curved(self) -> frozenset[str]:
        """Columns that enter with their square."""
        numbers = (term for term in self.design.terms if isinstance(term, Numeric))
        return frozenset(term.column for term in numbers if term.power == 2)

    def estimate(self, weights: Array, term: str) -> Estimate:
        """Return a weighted sum of coefficients with every source of its variance.

        Parameters
        ----------
        weights : ndarray
            One per coefficient.
        term : str
            What to call it.

        Returns
        -------
        Estimate

        Notes
        -----
        Where session means were adjusted for settings changed inside sessions, the
        variance of that adjustment is added, and the degrees of freedom are
        Satterthwaite's: V² / Σ Vᵢ²/νᵢ. A few session means may lie close together by
        chance: no interval is narrower than it would be if sessions did not differ.
        """
        plain = contrast(self.fit, weights, term=term)
        if self.least is None:
            return plain
        extra = 0.0
        if self.borrowed is not None:
            extra = max(float(weights @ self.borrowed @ weights), 0.0)
        own = _mixture((plain.std_error**2, plain.df), (extra, self.borrowed_df))
        least = max(float(weights @ self.least @ weights), 0.0)
        alike = _mixture((least + extra, self.least_df))
        return _restated(plain, max(own, alike, key=_half_width), extra)


def stratum_design(rows: pd.DataFrame, predictors: Sequence[Predictor]) -> Design:
    """Return the design with every column the fits of a stratum may need.

    Parameters
    ----------
    rows : DataFrame
        Shots, or sessions.
    predictors : sequence of Predictor
        What may explain.

    Returns
    -------
    Design
        Grind and age with their squares.
    """
    return build_design(rows, [each.term(curved=each.column in CURVED) for each in predictors])


def narrowed(
    design: Design, predictors: Sequence[Predictor], curved: frozenset[str] = frozenset()
) -> Design:
    """Return the part of a design that some predictors fill.

    Parameters
    ----------
    design : Design
        From `stratum_design`.
    predictors : sequence of Predictor
        What explains.
    curved : frozenset of str
        Columns that enter with their square.

    Returns
    -------
    Design
    """
    own = [design.term(each.column) for each in predictors]
    terms = [
        replace(term, power=1) if isinstance(term, Numeric) and term.column not in curved else term
        for term in own
    ]
    starts = [design.place(term.column).start for term in terms]
    places = [
        start + offset
        for start, term in zip(starts, terms, strict=True)
        for offset in range(len(term.labels))
    ]
    labels = tuple(label for term in terms for label in term.labels)
    return Design(design.matrix[:, [0, *places]], (INTERCEPT, *labels), tuple(terms), design.index)


def fit_inside(layout: Layout, design: Design, predictors: Sequence[Predictor]) -> StratumFit:
    """Fit the response of shots, session differences removed where there are several.

    Parameters
    ----------
    layout : Layout
        Rows and sessions.
    design : Design
        Of these predictors.
    predictors : sequence of Predictor
        What explains; those that can stand together.

    Returns
    -------
    StratumFit

    Raises
    ------
    AliasedColumnsError
        If columns cannot be told apart.
    TooFewShotsError
        If there are not more rows than coefficients.

    Notes
    -----
    Several sessions are blocks, see `fit_in_blocks`.
    """
    response = layout.frame["response"].to_numpy(dtype=float)
    if layout.blocked:
        fit = fit_in_blocks(design, response, layout)
    else:
        fit = fit_least_squares(design, response)
    return StratumFit(layout.stratum, layout.frame, tuple(predictors), fit, design.matrix)


def fit_between(
    layout: Layout, design: Design, predictors: Sequence[Predictor], inside: StratumFit | None
) -> StratumFit:
    """Fit the means of sessions, adjusted to the same settings inside them.

    Parameters
    ----------
    layout : Layout
        Rows and sessions.
    design : Design
        Of these predictors, one row per session.
    predictors : sequence of Predictor
        Constant in every session; those that can stand together.
    inside : StratumFit or None
        The fit of shots that adjusts the means; None to leave them as they are.

    Returns
    -------
    StratumFit

    Raises
    ------
    AliasedColumnsError
        If columns cannot be told apart.
    TooFewShotsError
        If there are not more sessions than coefficients.

    Notes
    -----
    Every session counts once, whatever its number of shots. A mean moved to common
    settings by slopes b carries their uncertainty, of covariance D V(b) Dᵀ with D the
    distance of each session from the common settings. The residuals of the means hold
    the part of it that lies across the fit; the part along it is added.
    """
    fit = fit_least_squares(design, adjusted_means(layout, inside))
    found = StratumFit(BETWEEN, layout.sessions, tuple(predictors), fit, design.matrix)
    if inside is None:
        return found
    of_shots = _of_shots(design.matrix, layout, inside)
    found = replace(found, least=of_shots, least_df=inside.fit.df_resid)
    if not inside.predictors:
        return found
    own = _own_places(inside)
    distance = layout.session_means(_apart(inside, own))
    moved = distance @ inside.fit.cov[np.ix_(own, own)] @ distance.T
    return replace(
        found, borrowed=_beyond_residuals(design.matrix, moved), borrowed_df=inside.fit.df_resid
    )


def _of_shots(matrix: Array, layout: Layout, inside: StratumFit) -> Array:
    """Return the covariance of coefficients if session means differed by their shots alone."""
    inverse = np.linalg.pinv(matrix)
    shots = np.bincount(layout.codes)
    return np.asarray(inverse * (inside.fit.sigma**2 / shots) @ inverse.T)


def _beyond_residuals(matrix: Array, moved: Array) -> Array:
    """Return the covariance that coefficients owe to moved means, less what residuals show."""
    inverse = np.linalg.pinv(matrix)
    left = np.eye(len(matrix)) - matrix @ inverse
    shown = np.trace(left @ moved) / (len(matrix) - matrix.shape[1])
    return np.asarray(inverse @ moved @ inverse.T - shown * (inverse @ inverse.T))


def adjusted_means(layout: Layout, inside: StratumFit | None) -> Array:
    """Return the mean response of each session, moved to the same settings inside them.

    Parameters
    ----------
    layout : Layout
        Rows and sessions.
    inside : StratumFit or None
        The fit of shots that moves them; None to leave them as they are.

    Returns
    -------
    ndarray
        One value per session.
    """
    response = layout.frame["response"].to_numpy(dtype=float)
    if inside is None or not inside.predictors:
        return layout.session_means(response)
    own = _own_places(inside)
    return layout.session_means(response - _apart(inside, own) @ inside.fit.params[own])


def _apart(fit: StratumFit, own: list[int]) -> Array:
    """Return how far each shot lies from the mean settings."""
    columns = fit.columns[:, own]
    return np.asarray(columns - columns.mean(axis=0))


def _own_places(fit: StratumFit) -> list[int]:
    """Return where the coefficients of the predictors stand, blocks and intercept not."""
    places = [fit.design.place(each.column) for each in fit.predictors]
    return [position for place in places for position in range(place.start, place.stop)]


def _mixture(*sources: tuple[float, float]) -> tuple[float, float]:
    """Return the sum of some variances, and its degrees of freedom by Satterthwaite."""
    total = sum(variance for variance, _ in sources)
    spread = sum(variance**2 / df for variance, df in sources if variance > 0)
    return total, total**2 / spread if spread > 0 else math.inf


def _half_width(source: tuple[float, float]) -> float:
    variance, df = source
    return math.sqrt(variance) * t_quantile(df) if variance > 0 else 0.0


def _restated(plain: Estimate, known: tuple[float, float], extra: float) -> Estimate:
    """Return an estimate with another variance and other degrees of freedom."""
    variance, df = known
    if not variance > 0 or (variance, df) == (plain.std_error**2, plain.df):
        return plain
    std_error = math.sqrt(variance)
    robust = math.sqrt(plain.hc3_std_error**2 + extra)
    statistic = plain.estimate / std_error
    low, high = t_interval(plain.estimate, std_error, df)
    robust_low, robust_high = t_interval(plain.estimate, robust, df)
    return replace(
        plain,
        std_error=std_error,
        df=df,
        ci_low=low,
        ci_high=high,
        statistic=statistic,
        p_value=float(2 * special.stdtr(df, -abs(statistic))),
        hc3_std_error=robust,
        hc3_ci_low=robust_low,
        hc3_ci_high=robust_high,
        hc3_p_value=float(2 * special.stdtr(df, -abs(plain.estimate / robust))),
    )
