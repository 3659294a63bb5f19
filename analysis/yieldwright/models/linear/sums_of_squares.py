"""How much of the spread each term accounts for, after those before it or after all others."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.models.linear._orthonormal import orthonormal_columns
from yieldwright.models.terms.design import design_of

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit
    from yieldwright.models.terms.design import Design

__all__ = ["RESIDUAL", "SUM_COLUMNS", "partial_sums", "sequential_sums"]

Array = npt.NDArray[np.float64]

#: Name of the row of what no term explains.
RESIDUAL = "(residual)"

#: The columns of both tables.
SUM_COLUMNS = ("term", "sum_of_squares", "df", "mean_square", "statistic", "p_value")


def sequential_sums(fit: LinearFit) -> pd.DataFrame:
    """Return what each term explains of what the terms before it left.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns, in the order in which terms are to be taken.

    Returns
    -------
    DataFrame
        One row per term and one for the residual: term, sum_of_squares [squared unit of
        the response], df, mean_square, statistic (F), p_value. With the residual the sums
        add up to the spread of the response about its mean.

    Raises
    ------
    RoleError
        If the fit was made from a plain matrix.

    Notes
    -----
    Known as sums of type I. Where terms lean on one another, the first takes what both
    could explain: another order gives other sums. Columns and response are centred before
    solving, so that no digits are spent on their means.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11], "y": [1.0, 3.0, 5.0, 8.0]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind")]), frame["y"])
    >>> sequential_sums(fit)[["term", "sum_of_squares", "df"]].round(3).to_numpy().tolist()
    [['grind', 26.45, 1], ['(residual)', 0.3, 2]]
    """
    design = design_of(fit)
    effects = _effects(design.matrix, fit)
    sums = [float(np.sum(effects[design.place(term.column)] ** 2)) for term in design.terms]
    return _table(fit, design, sums)


def partial_sums(fit: LinearFit) -> pd.DataFrame:
    """Return what each term explains of what all other terms left.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.

    Returns
    -------
    DataFrame
        One row per term and one for the residual, columns as in `sequential_sums`. The
        sums do not add up where terms lean on one another.

    Raises
    ------
    RoleError
        If the fit was made from a plain matrix.

    Notes
    -----
    By how much the residual sum grows when the term alone is dropped, a curve or a factor
    as a whole. Our terms hold no products of columns, so that sums of type II and of type
    III, which part only over these, are both meant.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11], "y": [1.0, 3.0, 5.0, 8.0]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind")]), frame["y"])
    >>> partial_sums(fit)["sum_of_squares"].round(3).tolist()
    [26.45, 0.3]
    """
    design = design_of(fit)
    return _table(fit, design, [_dropped(fit, design, term.column) for term in design.terms])


def _dropped(fit: LinearFit, design: Design, column: str) -> float:
    """Return by how much the residual sum grows without a term, which is put last for it."""
    place = design.place(column)
    own = np.arange(place.start, place.stop)
    others = np.setdiff1d(np.arange(design.matrix.shape[1]), own)
    effects = _effects(design.matrix[:, [*others, *own]], fit)
    return float(np.sum(effects[len(others) :] ** 2))


def _effects(matrix: Array, fit: LinearFit) -> Array:
    """Return the centred response along orthonormal columns, each free of those before it."""
    observed = fit.fitted + fit.residuals
    effects: Array = orthonormal_columns(matrix).columns.T @ (observed - observed.mean())
    return effects


def _table(fit: LinearFit, design: Design, sums: list[float]) -> pd.DataFrame:
    left = float(fit.residuals @ fit.residuals)
    widths = [len(term.labels) for term in design.terms]
    values, df = np.array([*sums, left]), np.array([*widths, fit.df_resid])
    mean = values / df
    ratio = np.full(len(mean), np.nan)
    if left > 0:
        ratio[:-1] = mean[:-1] / mean[-1]
    names = [*(term.column for term in design.terms), RESIDUAL]
    p_values = special.fdtrc(df, fit.df_resid, ratio)
    figures = (names, values, df, mean, ratio, p_values)
    return pd.DataFrame(dict(zip(SUM_COLUMNS, figures, strict=True)))
