"""What strength, or what beverage mass, a wanted extraction yield asks for."""

from __future__ import annotations

import numpy as np

from yieldwright.checks import Measured, named, require_comparable, same_kind

__all__ = ["beverage_for_yield", "strength_for_yield", "strength_of_solution"]


def strength_for_yield(
    ey_pct: Measured, beverage_g: Measured | float, dose_g: Measured | float
) -> Measured:
    """Return the strength at which a cup of this mass holds this extraction yield.

    Parameters
    ----------
    ey_pct : float or Series
        Extraction yield. [% by mass]
    beverage_g : float or Series
        Mass of liquid in the cup, above zero. [g]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]

    Returns
    -------
    tds_pct : same kind and index as `ey_pct`
        Strength; infinite for an empty cup. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    The inverse of :func:`extraction_yield` in strength.

    References
    ----------
    .. [1] Mass balance.

    Examples
    --------
    >>> strength_for_yield(20.0, beverage_g=36.0, dose_g=18.0)
    10.0
    """
    require_comparable(ey_pct=ey_pct, beverage_g=beverage_g, dose_g=dose_g)
    with np.errstate(divide="ignore", invalid="ignore"):
        strength = np.asarray(ey_pct) * np.asarray(dose_g) / np.asarray(beverage_g)
    return named("tds_pct", same_kind(ey_pct, strength))


def beverage_for_yield(
    ey_pct: Measured, tds_pct: Measured | float, dose_g: Measured | float
) -> Measured:
    """Return the beverage mass that makes this yield and this strength go together.

    Parameters
    ----------
    ey_pct : float or Series
        Extraction yield. [% by mass]
    tds_pct : float or Series
        Total dissolved solids of the beverage, above zero. [% by mass]
    dose_g : float or Series
        Mass of ground coffee as weighed. [g]

    Returns
    -------
    beverage_g : same kind and index as `ey_pct`
        Mass of liquid in the cup; infinite at strength zero. [g]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    The inverse of :func:`extraction_yield` in beverage mass.

    References
    ----------
    .. [1] Mass balance.

    Examples
    --------
    >>> beverage_for_yield(20.0, tds_pct=10.0, dose_g=18.0)
    36.0
    """
    require_comparable(ey_pct=ey_pct, tds_pct=tds_pct, dose_g=dose_g)
    with np.errstate(divide="ignore", invalid="ignore"):
        beverage = np.asarray(ey_pct) * np.asarray(dose_g) / np.asarray(tds_pct)
    return named("beverage_g", same_kind(ey_pct, beverage))


def strength_of_solution(solids_g: Measured, beverage_g: Measured | float) -> Measured:
    """Return the strength of a beverage that holds a known mass of solids.

    Parameters
    ----------
    solids_g : float or Series
        Dissolved solids, such as an oven-dried residue. [g]
    beverage_g : float or Series
        Mass of liquid they were in, above zero. [g]

    Returns
    -------
    tds_pct : same kind and index as `solids_g`
        Strength. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a value lies outside its possible range in the glossary.
    MisalignedError
        If two Series carry different indexes.

    Notes
    -----
    Definition of a mass fraction, times one hundred.

    References
    ----------
    .. [1] Definition.

    Examples
    --------
    >>> strength_of_solution(3.6, beverage_g=36.0)
    10.0
    """
    require_comparable(solids_g=solids_g, beverage_g=beverage_g)
    with np.errstate(divide="ignore", invalid="ignore"):
        strength = 100 * np.asarray(solids_g) / np.asarray(beverage_g)
    return named("tds_pct", same_kind(solids_g, strength))
