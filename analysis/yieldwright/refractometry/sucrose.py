"""Sugar scale against refractive index, both ways."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.polynomial import Polynomial

from yieldwright.checks import Measured, in_blocks, named, require_inside, same_kind
from yieldwright.glossary import Span, quantity

__all__ = ["brix_of_index", "index_of_brix"]

#: nD at 20 °C, relative to air, of solutions with so much sucrose in 100 g: figures of the
#: ICUMSA table as quoted from memory, each rounded to the fifth decimal.
_SUCROSE = {
    0: 1.33299,
    5: 1.34026,
    10: 1.34782,
    15: 1.35568,
    20: 1.36384,
    25: 1.37233,
    30: 1.38115,
}
_STEPS = 4  # of Newton's method: from a straight line, four reach the last digit
_LOWEST, *_, _HIGHEST = _SUCROSE.values()
_INDEX = dataclasses.replace(quantity("index_air"), possible=Span(_LOWEST, _HIGHEST))
_BRIX = dataclasses.replace(quantity("sugar_brix"), possible=Span(min(_SUCROSE), max(_SUCROSE)))
_CURVE = Polynomial.fit(
    list(_SUCROSE), list(_SUCROSE.values()), deg=3, domain=[-1, 1], window=[-1, 1]
)
_SLOPE = _CURVE.deriv()


def brix_of_index(index_air: Measured) -> Measured:
    """Return the sugar scale reading of a refractive index.

    Parameters
    ----------
    index_air : float or Series
        Refractive index at 589.3 nm and 20 °C, relative to air. [1]

    Returns
    -------
    sugar_brix : same kind and index as `index_air`
        Sugar scale reading. [°Bx]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the table, 1.33299–1.38115: below it a sample is warm or
        the index no nD, above it no drink.

    Notes
    -----
    The inverse of :func:`index_of_brix`, by Newton's method; good to 0.005 °Bx.
    An index relative to vacuum goes through :func:`index_in_air` first.

    References
    ----------
    .. [1] ICUMSA, refractive index of sucrose solutions at 20 °C.

    Examples
    --------
    >>> round(brix_of_index(1.34782), 2)
    10.0
    """
    require_inside(_INDEX, index_air)
    return named("sugar_brix", same_kind(index_air, in_blocks(_solve, index_air)))


def index_of_brix(sugar_brix: Measured) -> Measured:
    """Return the refractive index of a sugar scale reading.

    Parameters
    ----------
    sugar_brix : float or Series
        Sugar scale reading. [°Bx]

    Returns
    -------
    index_air : same kind and index as `sugar_brix`
        Refractive index at 589.3 nm and 20 °C, relative to air. [1]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the table, 0–30 °Bx.

    Notes
    -----
    A cubic through the seven printed figures by least squares. It meets each within its
    rounding of 0.000005, and other smooth curves through them differ from it by less than
    0.000007 between: an error of 0.005 °Bx.

    References
    ----------
    .. [1] ICUMSA, refractive index of sucrose solutions at 20 °C.

    Examples
    --------
    >>> round(index_of_brix(15.0), 5)
    1.35568
    """
    require_inside(_BRIX, sugar_brix)
    return named("index_air", same_kind(sugar_brix, _CURVE(np.asarray(sugar_brix, dtype=float))))


def _solve(index_air: np.ndarray) -> np.ndarray:
    brix = (index_air - _LOWEST) / (_HIGHEST - _LOWEST) * max(_SUCROSE)
    for _ in range(_STEPS):
        brix = brix - (_CURVE(brix) - index_air) / _SLOPE(brix)
    return brix
