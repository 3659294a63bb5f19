"""Sugar scale to strength: coffee is no sugar, so a factor with a spread stands between."""

from __future__ import annotations

import numpy as np

from yieldwright.bench import Refractometer
from yieldwright.checks import Measured, named, require_possible, same_kind
from yieldwright.errors import OutOfRangeError

__all__ = ["strength_half_width", "strength_of_brix"]

_ASSUMED = Refractometer()


def strength_of_brix(
    sugar_brix: Measured, *, tds_per_brix: float = _ASSUMED.tds_per_brix
) -> Measured:
    r"""Return the strength that a reading on the sugar scale stands for.

    Parameters
    ----------
    sugar_brix : float or Series
        Sugar scale reading, compensated to 20 °C. [°Bx]
    tds_per_brix : float
        Strength of one degree on the sugar scale. [% by mass per °Bx]

    Returns
    -------
    tds_pct : same kind and index as `sugar_brix`
        Strength, good to :func:`strength_half_width`. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a reading lies outside 0–100 °Bx, or the factor is not above zero.

    Notes
    -----
    .. math:: c = f \, B

    Factors between 0.83 and 0.91 are in circulation: a bench that has dried samples in an
    oven should use its own. The factor is common to all readings of one bench, so it
    cancels in the ratio of two of them, and does not in the level.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> round(strength_of_brix(11.76), 3)
    9.996
    """
    require_possible(sugar_brix=sugar_brix)
    _require(tds_per_brix > 0, "tds_per_brix must be above 0 % by mass per °Bx", tds_per_brix)
    return named("tds_pct", same_kind(sugar_brix, np.asarray(sugar_brix) * tds_per_brix))


def strength_half_width(
    tds_pct: Measured, *, spread: float = _ASSUMED.tds_per_brix_spread
) -> Measured:
    r"""Return how far a strength found from the sugar scale may be off.

    Parameters
    ----------
    tds_pct : float or Series
        Strength from :func:`strength_of_brix`. [% by mass]
    spread : float
        Half-width of the factor, relative to it. [1]

    Returns
    -------
    half_width : same kind and index as `tds_pct`
        Half-width of the strength, common to all readings of one bench. [% by mass]

    Raises
    ------
    OutOfRangeError
        If a strength lies outside 0–100 %, or the spread outside 0–1.

    Notes
    -----
    .. math:: a = s \, c

    As a rectangular distribution it is a standard uncertainty of a/√3. The error of the
    sugar table itself, 0.005 °Bx, is a hundredth of it at espresso strength and left out.

    References
    ----------
    .. [1] Common practice, no source: 5 % about 0.85 covers factors from 0.81 to 0.89.
    .. [2] JCGM 100:2008, 4.3.7.

    Examples
    --------
    >>> strength_half_width(10.0)
    0.5
    """
    require_possible(tds_pct=tds_pct)
    _require(0 <= spread <= 1, "spread must lie in 0–1", spread)
    return named("half_width", same_kind(tds_pct, np.asarray(tds_pct) * spread))


def _require(is_possible: bool, rule: str, value: float) -> None:  # noqa: FBT001 — a guard
    if not is_possible:
        raise OutOfRangeError(f"{rule}; {value:g} does not (0.85 and 0.05 are usual)")
