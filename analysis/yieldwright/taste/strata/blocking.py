"""Least squares with sessions as blocks, on a log of any length."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import TooFewShotsError
from yieldwright.models.linear.model import LinearFit, fit_least_squares

if TYPE_CHECKING:
    from yieldwright.models.terms.design import Design
    from yieldwright.taste.strata.strata import Layout

__all__ = ["fit_in_blocks"]

Array = npt.NDArray[np.float64]

#: Leverage within this of 1 means that a shot alone decides something.
ALONE = 1e-9


def fit_in_blocks(design: Design, response: Array, layout: Layout) -> LinearFit:
    """Fit a response with the differences between sessions removed.

    Parameters
    ----------
    design : Design
        Of the predictors, without sessions.
    response : ndarray
        One value per shot. [any unit]
    layout : Layout
        Which session each shot belongs to.

    Returns
    -------
    LinearFit
        Its intercept is the mean of all shots at the mean of the columns.

    Raises
    ------
    AliasedColumnsError
        If columns cannot be told apart inside sessions.
    TooFewShotsError
        If there are not more rows than coefficients and sessions.

    Notes
    -----
    Session means are taken off response and columns, which gives the same slopes,
    residuals and leverages as one column per session would (theorem of Frisch and
    Waugh); the degrees of freedom count the sessions.

    References
    ----------
    .. [1] Lovell (1963), J. Am. Stat. Assoc. 58, 993, theorem 4.1.
    .. [2] MacKinnon and White (1985), J. Econometrics 29, 305: HC3.
    """
    swept = replace(design, matrix=_swept(design.matrix, layout))
    return _counting_blocks(fit_least_squares(swept, _swept(response, layout)), layout)


def _swept(values: Array, layout: Layout) -> Array:
    """Return values with each session moved to the mean of all shots."""
    moved = values - layout.session_means(values)[layout.codes] + values.mean(axis=0)
    if moved.ndim > 1:
        moved[:, 0] = 1.0  # the intercept, free of rounding
    return np.asarray(moved)


def _counting_blocks(fit: LinearFit, layout: Layout) -> LinearFit:
    """Return a fit of swept columns with the degrees of freedom and leverage of its blocks."""
    df_resid = fit.df_resid - (layout.n_sessions - 1)
    if df_resid < 1:
        raise TooFewShotsError(f"{fit.n_rows} shots in {layout.n_sessions} sessions are too few")
    scale = fit.df_resid / df_resid
    shots = np.bincount(layout.codes)[layout.codes]
    leverage = fit.leverage + 1 / shots - 1 / fit.n_rows
    hc3_cov = _hc3(fit, leverage)
    return replace(
        fit,
        df_resid=df_resid,
        sigma=fit.sigma * math.sqrt(scale),
        cov=fit.cov * scale,
        std_error=fit.std_error * math.sqrt(scale),
        leverage=leverage,
        hc3_cov=hc3_cov,
        hc3_std_error=np.sqrt(np.diag(hc3_cov)),
    )


def _hc3(fit: LinearFit, leverage: Array) -> Array:
    """Return the robust covariance at given leverages; a shot that decides alone says nothing."""
    if fit.design is None:
        return np.full_like(fit.cov, np.nan)
    inverse = np.linalg.pinv(fit.design.matrix)
    alone = leverage > 1 - ALONE
    spread = inverse * np.where(alone, 0.0, fit.residuals / np.where(alone, 1.0, 1 - leverage))
    cov: Array = spread @ spread.T
    share = np.abs(inverse[:, alone]) / np.abs(inverse).max(axis=1, keepdims=True)
    hanging = (share > ALONE).any(axis=1)
    hanging[0] = False  # the mean of all shots hangs on none of them
    cov[hanging, :] = cov[:, hanging] = np.nan
    return cov
