"""Standard uncertainty of a yield, and how it leans on the strength it was computed from."""

from __future__ import annotations

import numpy as np
import pandas as pd

from yieldwright.checks import Measured, in_blocks, named, require_comparable, same_kind

__all__ = [
    "combined_uncertainty",
    "strength_yield_covariance",
    "yield_budget",
    "yield_uncertainty",
]


def combined_uncertainty(sensitivities: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    r"""Return the standard uncertainty of a quantity from those of its inputs.

    Parameters
    ----------
    sensitivities : ndarray, shape (..., k)
        Partial derivative by each of k inputs.
    covariance : ndarray, shape (..., k, k)
        Covariance of the inputs.

    Returns
    -------
    u : ndarray, shape (...)
        Combined standard uncertainty.

    Notes
    -----
    .. math:: u^2 = J \, \Sigma \, J^\top

    First order: good where the inputs' relative uncertainties are small.

    References
    ----------
    .. [1] JCGM 100:2008, equation 13.

    Examples
    --------
    >>> float(combined_uncertainty(np.array([3.0, 4.0]), np.eye(2)))
    5.0
    """
    variance: np.ndarray = np.einsum(
        "...i,...ij,...j->...", sensitivities, covariance, sensitivities
    )
    return np.asarray(np.sqrt(variance))


def yield_uncertainty(
    tds_pct: Measured,
    beverage_g: Measured | float,
    dose_g: Measured | float,
    *,
    u_tds_pct: Measured | float,
    u_beverage_g: Measured | float,
    u_dose_g: Measured | float,
) -> Measured:
    r"""Return the standard uncertainty of an extraction yield.

    Parameters
    ----------
    tds_pct : float or Series
        Total dissolved solids of the beverage. [% by mass]
    beverage_g : float or Series
        Mass of liquid in the cup. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]
    u_tds_pct : float or Series
        Standard uncertainty of the strength. [% by mass]
    u_beverage_g : float or Series
        Standard uncertainty of the beverage mass. [g]
    u_dose_g : float or Series
        Standard uncertainty of the dose. [g]

    Returns
    -------
    u_ey_pct : same kind and index as `tds_pct`
        Standard uncertainty of the extraction yield. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    .. math:: u_E = \frac{1}{D}
              \sqrt{(B \, u_c)^2 + (c \, u_B)^2 + (E \, u_D)^2}, \quad E = c B / D

    Strength, beverage and dose are taken as measured independently.

    References
    ----------
    .. [1] JCGM 100:2008, equation 10.

    Examples
    --------
    >>> u = yield_uncertainty(10.0, 36.0, 18.0, u_tds_pct=0.05, u_beverage_g=0.06, u_dose_g=0.06)
    >>> round(u, 3)
    0.125
    """
    require_comparable(
        tds_pct=tds_pct,
        beverage_g=beverage_g,
        dose_g=dose_g,
        u_tds_pct=u_tds_pct,
        u_beverage_g=u_beverage_g,
        u_dose_g=u_dose_g,
    )
    inputs = (tds_pct, beverage_g, dose_g, u_tds_pct, u_beverage_g, u_dose_g)
    return named("u_ey_pct", same_kind(tds_pct, in_blocks(_spread_of_yield, *inputs)))


def strength_yield_covariance(
    beverage_g: Measured, dose_g: Measured | float, *, u_tds_pct: Measured | float
) -> Measured:
    """Return the covariance of a shot's strength and its extraction yield.

    Parameters
    ----------
    beverage_g : float or Series
        Mass of liquid in the cup. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]
    u_tds_pct : float or Series
        Standard uncertainty of the strength. [% by mass]

    Returns
    -------
    cov_tds_ey : same kind and index as `beverage_g`
        Covariance. [(% by mass)²]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    The yield is computed from the same reading, so every error ellipse leans along its
    ratio line: covariance = brew ratio × variance of the strength.

    References
    ----------
    .. [1] JCGM 100:2008, equation 13 and H.2.4.

    Examples
    --------
    >>> round(strength_yield_covariance(36.0, 18.0, u_tds_pct=0.05), 6)
    0.005
    """
    require_comparable(beverage_g=beverage_g, dose_g=dose_g, u_tds_pct=u_tds_pct)
    ratio = np.asarray(beverage_g) / np.asarray(dose_g)
    return named("cov_tds_ey", same_kind(beverage_g, ratio * np.square(u_tds_pct)))


def yield_budget(
    tds_pct: float,
    beverage_g: float,
    dose_g: float,
    *,
    u_tds_pct: float,
    u_beverage_g: float,
    u_dose_g: float,
) -> pd.DataFrame:
    """Return what each measurement adds to the uncertainty of one yield.

    Parameters
    ----------
    tds_pct : float
        Total dissolved solids of the beverage. [% by mass]
    beverage_g : float
        Mass of liquid in the cup. [g]
    dose_g : float
        Mass of ground coffee as weighed. [g]
    u_tds_pct : float
        Standard uncertainty of the strength. [% by mass]
    u_beverage_g : float
        Standard uncertainty of the beverage mass. [g]
    u_dose_g : float
        Standard uncertainty of the dose. [g]

    Returns
    -------
    DataFrame
        One row per measurement: `u_ey_pct` it alone would cause, and its `share` of the
        variance as a fraction.

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.

    References
    ----------
    .. [1] JCGM 100:2008, H.1: an uncertainty budget.

    Examples
    --------
    >>> budget = yield_budget(10, 36, 18, u_tds_pct=0.05, u_beverage_g=0.06, u_dose_g=0.06)
    >>> round(float(budget.loc["tds_pct", "share"]), 2)
    0.64
    """
    spreads = {"u_tds_pct": u_tds_pct, "u_beverage_g": u_beverage_g, "u_dose_g": u_dose_g}
    nothing = dict.fromkeys(spreads, 0.0)
    alone = [
        yield_uncertainty(tds_pct, beverage_g, dose_g, **{**nothing, name: spread})
        for name, spread in spreads.items()
    ]
    parts = np.square(alone)
    return pd.DataFrame(
        {"u_ey_pct": alone, "share": parts / parts.sum()},
        index=pd.Index(["tds_pct", "beverage_g", "dose_g"], name="measurement"),
    )


def _spread_of_yield(
    tds: np.ndarray,
    beverage: np.ndarray,
    dose: np.ndarray,
    *spreads: np.ndarray,
) -> np.ndarray:
    """Return the root of the variances that strength, beverage and dose cause."""
    u_tds, u_beverage, u_dose = spreads
    of_tds, of_beverage = beverage * u_tds, tds * u_beverage
    of_dose = tds * beverage / dose * u_dose
    spread: np.ndarray = (
        np.sqrt(of_tds * of_tds + of_beverage * of_beverage + of_dose * of_dose) / dose
    )
    return spread
