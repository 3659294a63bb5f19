"""Solving on columns that are centred and scaled, and the way back to the user's units."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import comb

import numpy as np
import numpy.typing as npt
from statsmodels.tools.tools import pinv_extended

from yieldwright.models.terms.columns import ROUNDING

__all__ = ["ScaledDesign", "centred_and_scaled", "exact_residuals", "scaled_powers"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class ScaledDesign:
    """A design in scaled columns, and the matrix that carries coefficients back.

    Attributes
    ----------
    matrix : ndarray
        Scaled columns, the ones first.
    back : ndarray
        Coefficients in the units of the user = `back` @ scaled coefficients.
    """

    matrix: Array
    back: Array

    @property
    def condition_number(self) -> float:
        """Largest over smallest singular value of the scaled columns."""
        sizes = np.linalg.svd(self.matrix, compute_uv=False)
        return float(sizes[0] / sizes[-1]) if sizes[-1] > 0 else np.inf

    def solve(self, response: Array) -> tuple[Array, Array]:
        """Return the scaled coefficients of a response and the pseudo-inverse.

        Parameters
        ----------
        response : ndarray
            One value per row. [any unit]

        Returns
        -------
        coefficients, pseudo_inverse : ndarray
        """
        # What OLS.fit(method="pinv") of statsmodels solves with, without a model around it. Its
        # "qr" route inverts R'R, which squares the condition number and leaves 8 digits of
        # Longley's standard errors; this keeps 13.
        inverse, _ = pinv_extended(self.matrix)
        return np.dot(inverse, response), np.asarray(inverse)


def centred_and_scaled(matrix: Array) -> ScaledDesign:
    """Return a design with every column but the ones centred and scaled to at most 1.

    Parameters
    ----------
    matrix : ndarray
        Design with a first column of ones.

    Returns
    -------
    ScaledDesign

    Examples
    --------
    >>> scaled = centred_and_scaled(np.array([[1.0, 10.0], [1.0, 20.0], [1.0, 30.0]]))
    >>> scaled.matrix[:, 1].tolist()
    [-1.0, 0.0, 1.0]
    """
    # One run of memory a column: reductions along short rows cost ten times as much.
    columns = np.ascontiguousarray(matrix.T)
    middle = columns.mean(axis=1)
    middle[0] = 0.0
    centred = columns - middle[:, np.newaxis]
    reach = np.abs(centred).max(axis=1)
    varies = reach > ROUNDING * np.abs(columns).max(axis=1)
    scale = np.where(varies, reach, 1.0)
    centred *= (varies / scale)[:, np.newaxis]
    back = np.diag(1 / scale)
    back[0, 1:] = -middle[1:] / scale[1:]
    return ScaledDesign(centred.T, back)


def scaled_powers(values: Array, degree: int) -> ScaledDesign:
    """Return the powers 0 … degree of a variable scaled to run from −1 to +1.

    Parameters
    ----------
    values : ndarray
        One value per row, not all alike. [any unit]
    degree : int
        Highest power.

    Returns
    -------
    ScaledDesign
        Carries back to the powers of `values` itself.

    Examples
    --------
    >>> scaled_powers(np.array([10.0, 20.0, 30.0]), 2).matrix[:, 2].tolist()
    [1.0, 0.0, 1.0]
    """
    middle = (values.max() + values.min()) / 2
    reach = (values.max() - values.min()) / 2
    powers = range(degree + 1)
    back = [
        [comb(k, j) * (-middle) ** (k - j) / reach**k if j <= k else 0.0 for k in powers]
        for j in powers
    ]
    unit = (values - middle) / reach
    return ScaledDesign(np.column_stack([unit**k for k in powers]), np.array(back))


def exact_residuals(values: Array, response: Array, coefficients: list[Fraction]) -> Array:
    """Return response less polynomial, evaluated without rounding.

    Parameters
    ----------
    values : ndarray
        Where the polynomial is evaluated. [any unit]
    response : ndarray
        One value per row. [any unit]
    coefficients : list of Fraction
        Of the powers 0, 1, …

    Returns
    -------
    ndarray
        One residual per row, rounded once.

    Examples
    --------
    >>> exact_residuals(np.array([2.0]), np.array([7.0]), [Fraction(1), Fraction(3)]).tolist()
    [0.0]
    """
    return np.array(
        [
            float(Fraction(y) - _polynomial(Fraction(x), coefficients))
            for x, y in zip(values.tolist(), response.tolist(), strict=True)
        ]
    )


def _polynomial(value: Fraction, coefficients: list[Fraction]) -> Fraction:
    total = Fraction(0)
    for coefficient in reversed(coefficients):
        total = total * value + coefficient
    return total
