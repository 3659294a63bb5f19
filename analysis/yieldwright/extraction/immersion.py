"""Extraction yield of a brew that steeps, whose grounds keep liquor as strong as the cup."""

from __future__ import annotations

import numpy as np

from yieldwright.checks import Measured, named, require_comparable, same_kind

__all__ = ["immersion_extraction_yield", "immersion_yield_from_water"]


def immersion_extraction_yield(
    tds_pct: Measured,
    beverage_g: Measured | float,
    dose_g: Measured | float,
    liquor_g_per_g: Measured | float,
) -> Measured:
    r"""Return the extraction yield where the grounds keep liquor as strong as the cup.

    Parameters
    ----------
    tds_pct : float or Series
        Total dissolved solids of the beverage. [% by mass]
    beverage_g : float or Series
        Mass of liquid in the cup. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]
    liquor_g_per_g : float or Series
        Mass of liquid held back by one gram of dose. [g/g]

    Returns
    -------
    ey_pct : same kind and index as `tds_pct`
        Extraction yield. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    .. math:: E = \frac{c \, (B + L D)}{D}

    For brews that steep. A lever shot percolates: there the retained liquor is weaker
    than the cup and :func:`extraction_yield` is the convention.

    References
    ----------
    .. [1] Mass balance.

    Examples
    --------
    >>> round(immersion_extraction_yield(1.25, 264.0, 18.0, liquor_g_per_g=2.0), 6)
    20.833333
    """
    require_comparable(
        tds_pct=tds_pct, beverage_g=beverage_g, dose_g=dose_g, liquor_g_per_g=liquor_g_per_g
    )
    dose = np.asarray(dose_g)
    liquid_g = np.asarray(beverage_g) + np.asarray(liquor_g_per_g) * dose
    return named("ey_pct", same_kind(tds_pct, np.asarray(tds_pct) * liquid_g / dose))


def immersion_yield_from_water(
    tds_pct: Measured, water_g: Measured | float, dose_g: Measured | float
) -> Measured:
    r"""Return the extraction yield of a steeped brew from the water poured on it.

    Parameters
    ----------
    tds_pct : float or Series
        Total dissolved solids of the beverage. [% by mass]
    water_g : float or Series
        Mass of water poured on the grounds. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]

    Returns
    -------
    ey_pct : same kind and index as `tds_pct`
        Extraction yield. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    .. math:: E = \frac{c}{1 - c} \, \frac{W}{D}

    Leaves out water that evaporates, and takes all liquor to be equally strong.

    References
    ----------
    .. [1] Mass balance.

    Examples
    --------
    >>> round(immersion_yield_from_water(1.25, water_g=300.0, dose_g=18.0), 6)
    21.097046
    """
    require_comparable(tds_pct=tds_pct, water_g=water_g, dose_g=dose_g)
    strength = np.asarray(tds_pct)
    balance = 100 * strength / (100 - strength) * np.asarray(water_g) / np.asarray(dose_g)
    return named("ey_pct", same_kind(tds_pct, balance))
