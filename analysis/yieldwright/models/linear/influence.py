"""What a fit owes to each single row: leverage, studentised residuals, Cook's distance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit

__all__ = ["INFLUENCE_COLUMNS", "influence"]

Array = npt.NDArray[np.float64]

#: The columns of a table of influence.
INFLUENCE_COLUMNS = (
    "leverage",
    "residual",
    "standardised",
    "studentised",
    "cooks_distance",
    "dffits",
)

#: What a row leaves of its leverage below which the fit passes through it.
ALONE = 1e-10


def influence(fit: LinearFit) -> pd.DataFrame:
    """Return what each row does to a fit.

    Parameters
    ----------
    fit : LinearFit
        From `fit_least_squares`.

    Returns
    -------
    DataFrame
        One row per row: leverage, residual [unit of the response], standardised (residual
        over its standard deviation), studentised (the same with the spread of all other
        rows, which follows t with one degree of freedom less than the fit),
        cooks_distance, dffits. A row of leverage 1 has the first two only.

    References
    ----------
    .. [1] Cook (1977), Technometrics 19, 15.
    .. [2] Belsley, Kuh and Welsch (1980), Regression Diagnostics, chapter 2.

    Examples
    --------
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> matrix = np.column_stack([np.ones(4), [0.0, 1.0, 2.0, 3.0]])
    >>> fit = fit_least_squares(matrix, np.array([1.0, 3.0, 5.0, 7.5]))
    >>> influence(fit)["cooks_distance"].round(3).tolist()
    [1.037, 0.02, 0.327, 2.333]
    """
    leverage, residual = fit.leverage, fit.residuals
    left = np.where(leverage > 1 - ALONE, np.nan, 1 - leverage)
    standardised = residual / (fit.sigma * np.sqrt(left)) if fit.sigma > 0 else left * np.nan
    studentised = residual / (_spread_without(fit, left) * np.sqrt(left))
    drawn = leverage / left
    figures = (
        leverage,
        residual,
        standardised,
        studentised,
        standardised**2 * drawn / (fit.n_rows - fit.df_resid),
        studentised * np.sqrt(drawn),
    )
    index = None if fit.design is None else fit.design.index
    return pd.DataFrame(dict(zip(INFLUENCE_COLUMNS, figures, strict=True)), index=index)


def _spread_without(fit: LinearFit, left: Array) -> Array:
    """Return the standard deviation about the fit without each row."""
    square = float(fit.residuals @ fit.residuals) - fit.residuals**2 / left
    df = fit.df_resid - 1 if fit.df_resid > 1 else np.nan
    return np.sqrt(np.where(square > 0, square, np.nan) / df)
