"""Extraction yield of a pull, as received and dry, and the brew ratio."""

from __future__ import annotations

import numpy as np

from yieldwright.checks import Measured, in_blocks, named, require_comparable, same_kind

__all__ = ["brew_ratio", "dry_extraction_yield", "extraction_yield"]


def extraction_yield(
    tds_pct: Measured, beverage_g: Measured | float, dose_g: Measured | float
) -> Measured:
    r"""Return the share of the dose that ended up dissolved in the cup.

    Parameters
    ----------
    tds_pct : float or Series
        Total dissolved solids of the beverage. [% by mass]
    beverage_g : float or Series
        Mass of liquid in the cup. [g]
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
    .. math:: E = \frac{c \, B}{D}

    The percolation balance: liquor held back in the puck is not counted and the
    moisture of the dose is not subtracted.

    References
    ----------
    .. [1] Cotter, Ristenpart and Guinard, Dryad, doi 10.25338/B8993H: columns Dose,
       Brew Mass, TDS and Percent Extraction agree on all 162 batches to 5e-9.

    Examples
    --------
    >>> extraction_yield(tds_pct=10.0, beverage_g=36.0, dose_g=18.0)
    20.0
    """
    require_comparable(tds_pct=tds_pct, beverage_g=beverage_g, dose_g=dose_g)
    balance = in_blocks(lambda c, b, d: c * b / d, tds_pct, beverage_g, dose_g)
    return named("ey_pct", same_kind(tds_pct, balance))


def dry_extraction_yield(
    tds_pct: Measured,
    beverage_g: Measured | float,
    dose_g: Measured | float,
    moisture_pct: Measured | float,
) -> Measured:
    r"""Return the extraction yield of the dry matter of the dose.

    Parameters
    ----------
    tds_pct : float or Series
        Total dissolved solids of the beverage. [% by mass]
    beverage_g : float or Series
        Mass of liquid in the cup. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]
    moisture_pct : float or Series
        Water in the ground coffee before brewing. [% by mass]

    Returns
    -------
    ey_pct : same kind and index as `tds_pct`
        Extraction yield, dry basis. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    .. math:: E = \frac{c \, B}{D \, (1 - m)}

    Leaves out liquor held back in the puck.

    References
    ----------
    .. [1] Mass balance. Moisture by ISO 11294, oven at 103 °C.

    Examples
    --------
    >>> round(dry_extraction_yield(10.0, 36.0, 18.0, moisture_pct=3.0), 6)
    20.618557
    """
    require_comparable(
        tds_pct=tds_pct, beverage_g=beverage_g, dose_g=dose_g, moisture_pct=moisture_pct
    )
    dry_dose_g = np.asarray(dose_g) * (1 - np.asarray(moisture_pct) / 100)
    balance = np.asarray(tds_pct) * np.asarray(beverage_g) / dry_dose_g
    return named("ey_pct", same_kind(tds_pct, balance))


def brew_ratio(beverage_g: Measured, dose_g: Measured | float) -> Measured:
    """Return the beverage mass for one gram of dose.

    Parameters
    ----------
    beverage_g : float or Series
        Mass of liquid in the cup. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]

    Returns
    -------
    brew_ratio : same kind and index as `beverage_g`
        Written 1:r. [1]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    On the strength/extraction chart a brew ratio is a straight line through the origin.

    References
    ----------
    .. [1] Definition of the trade.

    Examples
    --------
    >>> brew_ratio(36.0, dose_g=18.0)
    2.0
    """
    require_comparable(beverage_g=beverage_g, dose_g=dose_g)
    return named("brew_ratio", same_kind(beverage_g, np.asarray(beverage_g) / np.asarray(dose_g)))
