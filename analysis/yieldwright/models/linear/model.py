"""Least squares that reports its own reliability: intervals, leverage, inflation, aliasing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.models.linear.aliasing import require_separable
from yieldwright.models.linear.problem import Problem, posed, posed_in_powers
from yieldwright.models.linear.scaling import exact_residuals

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.terms.design import Design

__all__ = ["LinearFit", "fit_least_squares", "fit_polynomial"]

Array = npt.NDArray[np.float64]

#: A row with more leverage than this alone decides some coefficient; its residual is 0.
SATURATED = 1 - 1e-10

#: A coefficient to which a row contributes less than this does not hang on it.
NO_SHARE = 1e-9

#: Rounds of correcting raw powers by their exact residuals; the third changes no digit.
REFINEMENTS = 2


@dataclass(frozen=True, eq=False)
class LinearFit:
    """A least-squares fit with its small-sample statistics.

    Attributes
    ----------
    names : tuple of str
        Names of the coefficients, intercept first.
    params, std_error : ndarray
        Coefficients and their standard errors, in the units of the design.
    cov : ndarray
        Covariance matrix of the coefficients, one variance for all rows.
    hc3_cov, hc3_std_error : ndarray
        The same where the variance may differ from row to row (HC3); not a number for
        coefficients that hang on a single row.
    df_resid, df_model : int
        Rows less coefficients, and coefficients less the intercept.
    sigma : float
        Standard deviation of a row about the fit, in the unit of the response.
    r_squared, adj_r_squared : float
        Share of the variance explained, plain and with degrees of freedom counted.
    f_statistic, f_p_value : float
        Test of all coefficients but the intercept at once.
    fitted, residuals, leverage : ndarray
        One value per row.
    vif : ndarray
        Variance inflation of each coefficient; not a number for the intercept.
    term_vif : mapping of str to float
        Generalised variance inflation of each term by its column header, to the power
        1/df, so that terms of one and of several coefficients compare.
    condition_number : float
        Of the columns after centring and scaling.
    design : Design or None
        What was fitted, where it was made from columns.
    """

    names: tuple[str, ...]
    params: Array
    std_error: Array
    cov: Array
    hc3_cov: Array
    hc3_std_error: Array
    df_resid: int
    df_model: int
    sigma: float
    r_squared: float
    adj_r_squared: float
    f_statistic: float
    f_p_value: float
    fitted: Array
    residuals: Array
    leverage: Array
    vif: Array
    term_vif: Mapping[str, float]
    condition_number: float
    design: Design | None = None

    @property
    def n_rows(self) -> int:
        """Number of rows fitted."""
        return len(self.residuals)


def fit_least_squares(
    design: Design | Array,
    response: pd.Series[float] | Array,
    *,
    names: Sequence[str] = (),
) -> LinearFit:
    """Fit a response by least squares, or say by name what cannot be told apart.

    Parameters
    ----------
    design : Design or ndarray
        What explains; a plain matrix needs a first column of ones.
    response : Series or ndarray
        What is explained, one finite value per row of the design. [any unit]
    names : sequence of str, optional
        Names of the columns of a plain matrix, intercept first.

    Returns
    -------
    LinearFit

    Raises
    ------
    AliasedColumnsError
        If columns cannot be told apart: the condition number after centring and
        scaling exceeds 1e8. The attribute `columns` names them.
    TooFewShotsError
        If there are not more rows than coefficients.
    MisalignedError
        If design and response describe different rows.
    OutOfRangeError
        If the response is missing somewhere, infinite, or the same in every row.

    Notes
    -----
    Columns are centred and scaled to at most 1 before solving, and the solution is
    carried back to the units of the design. HC3 divides each residual by one less
    its leverage [1]_. The variance inflation of a term of several columns is
    det R₁₁ · det R₂₂ / det R [2]_.

    References
    ----------
    .. [1] MacKinnon and White (1985), J. Econometrics 29, 305.
    .. [2] Fox and Monette (1992), J. Am. Stat. Assoc. 87, 178.

    Examples
    --------
    >>> matrix = np.column_stack([np.ones(4), [0.0, 1.0, 2.0, 3.0]])
    >>> fit = fit_least_squares(matrix, np.array([1.0, 3.0, 5.0, 7.5]))
    >>> fit.params.round(6).tolist(), fit.df_resid
    ([0.9, 2.15], 2)
    """
    problem = posed(design, response, names=names)
    condition = require_separable(problem.scaled, problem.sources)
    coded, inverse = problem.scaled.solve(problem.observed)
    residuals = problem.observed - problem.scaled.matrix @ coded
    return _reported(problem, inverse, problem.scaled.back @ coded, residuals, condition)


def fit_polynomial(values: Array, response: Array, degree: int) -> LinearFit:
    """Fit a polynomial by least squares and return the coefficients of the raw powers.

    Parameters
    ----------
    values : ndarray
        What explains, one finite value per row. [any unit]
    response : ndarray
        What is explained, one finite value per row. [any unit]
    degree : int
        Highest power, at least 1.

    Returns
    -------
    LinearFit
        Named `(intercept)`, `x^1`, `x^2`, …

    Raises
    ------
    AliasedColumnsError
        If the powers cannot be told apart at this degree.
    TooFewShotsError
        If there are not more rows than coefficients.
    MisalignedError
        If `values` and `response` differ in length.
    OutOfRangeError
        If a value is missing or infinite, the response is the same in every row, or
        the degree is below 1.

    Notes
    -----
    Solved in powers of the variable scaled to run from −1 to +1. Carrying high powers
    back cancels digits; taking the residuals of the raw powers exactly, and fitting
    what is left, restores them.

    Examples
    --------
    >>> fit = fit_polynomial(np.arange(5.0), np.array([1.0, 2.0, 5.0, 10.0, 17.0]), 2)
    >>> fit.params.tolist()
    [1.0, 0.0, 1.0]
    """
    problem = posed_in_powers(values, response, degree)
    condition = require_separable(problem.scaled, problem.sources)
    coded, inverse = problem.scaled.solve(problem.observed)
    exact = [Fraction(value) for value in (problem.scaled.back @ coded).tolist()]
    for _ in range(REFINEMENTS):
        left = exact_residuals(problem.matrix[:, 1], problem.observed, exact)
        change = problem.scaled.back @ (inverse @ left)
        exact = [old + Fraction(new) for old, new in zip(exact, change.tolist(), strict=True)]
    residuals = exact_residuals(problem.matrix[:, 1], problem.observed, exact)
    return _reported(problem, inverse, np.array(exact, dtype=float), residuals, condition)


def _reported(
    problem: Problem, coded_inverse: Array, params: Array, residuals: Array, condition: float
) -> LinearFit:
    """Return everything a fit reports, from its coefficients and residuals."""
    n_rows, n_params = problem.matrix.shape
    inverse = problem.scaled.back @ coded_inverse
    leverage = np.einsum("ij,ji->i", problem.scaled.matrix, coded_inverse)
    sigma = float(np.sqrt(residuals @ residuals / (n_rows - n_params)))
    cov = sigma**2 * (inverse @ inverse.T)
    hc3_cov = _hc3(inverse, residuals, leverage)
    vif, term_vif = _inflation(problem, inverse)
    return LinearFit(
        names=problem.names,
        params=params,
        std_error=np.sqrt(np.diag(cov)),
        cov=cov,
        hc3_cov=hc3_cov,
        hc3_std_error=np.sqrt(np.diag(hc3_cov)),
        df_resid=n_rows - n_params,
        df_model=n_params - 1,
        sigma=sigma,
        **_explained(problem.observed, residuals, n_params),
        fitted=problem.observed - residuals,
        residuals=residuals,
        leverage=leverage,
        vif=vif,
        term_vif=term_vif,
        condition_number=condition,
        design=problem.design,
    )


def _explained(observed: Array, residuals: Array, n_params: int) -> dict[str, float]:
    """Return R² and the test of all coefficients at once."""
    df_resid, df_model = len(observed) - n_params, n_params - 1
    total = float(np.sum((observed - observed.mean()) ** 2))
    rest = float(residuals @ residuals)
    share = rest / total
    ratio = np.inf if rest == 0 else (total - rest) / max(df_model, 1) / (rest / df_resid)
    f_statistic = ratio if df_model else np.nan
    return {
        "r_squared": 1 - share,
        "adj_r_squared": 1 - share * (len(observed) - 1) / df_resid,
        "f_statistic": f_statistic,
        "f_p_value": float(special.fdtrc(max(df_model, 1), df_resid, f_statistic)),
    }


def _hc3(inverse: Array, residuals: Array, leverage: Array) -> Array:
    """Return the HC3 covariance, not a number where one row alone decides."""
    alone = leverage > SATURATED
    jackknifed = np.where(alone, 0.0, residuals / np.where(alone, 1.0, 1 - leverage))
    spread = inverse * jackknifed
    cov: Array = spread @ spread.T
    share = np.abs(inverse[:, alone]) / np.abs(inverse).max(axis=1, keepdims=True)
    hanging = (share > NO_SHARE).any(axis=1)
    cov[hanging, :] = np.nan
    cov[:, hanging] = np.nan
    return cov


def _inflation(problem: Problem, inverse: Array) -> tuple[Array, dict[str, float]]:
    """Return how much wider each coefficient, and each term, is known for the others."""
    known = inverse @ inverse.T
    centred = problem.matrix - problem.matrix.mean(axis=0)
    alone = centred.T @ centred
    vif = np.diag(known) * np.diag(alone)
    vif[0] = np.nan
    terms = {
        name: float(vif[block.start])
        if block.stop - block.start == 1
        else _volume_ratio(known[block, block], alone[block, block])
        for name, block in _blocks(problem.sources).items()
    }
    return vif, terms


def _volume_ratio(known: Array, alone: Array) -> float:
    """Return the generalised inflation of a block, to the power 1/df."""
    logarithm = np.linalg.slogdet(known).logabsdet + np.linalg.slogdet(alone).logabsdet
    return float(np.exp(logarithm / len(known)))


def _blocks(sources: tuple[str, ...]) -> dict[str, slice]:
    """Return where the columns of each source stand, side by side as they are."""
    blocks: dict[str, slice] = {}
    for position, name in enumerate(sources[1:], start=1):
        start = blocks[name].start if name in blocks else position
        blocks[name] = slice(start, position + 1)
    return blocks
