"""Refractive index relative to vacuum, as physics prints it, and to air, as sugar tables do."""

from __future__ import annotations

import numpy as np

from yieldwright.checks import Measured, named, require_possible, same_kind

__all__ = ["index_in_air", "index_in_vacuum"]

#: Refractive index of dry air at 589.3 nm, 20 °C and 1 atm: Ciddor 1996, Appl Opt 35:1566.
_AIR = 1.000272


def index_in_air(index_vacuum: Measured) -> Measured:
    r"""Return a refractive index relative to air from one relative to vacuum.

    Parameters
    ----------
    index_vacuum : float or Series
        Refractive index at 589.3 nm relative to vacuum. [1]

    Returns
    -------
    index_air : same kind and index as `index_vacuum`
        Refractive index relative to air at 20 °C and 1 atm. [1]

    Raises
    ------
    OutOfRangeError
        If a value lies outside 1–2.

    Notes
    -----
    .. math:: n_\mathrm{air} = n_\mathrm{vacuum} / 1.000272

    The gap is 0.00036 for drinks, which is 0.24 °Bx on the sugar scale: an index of one
    kind read in a table of the other is wrong by about 0.2 % strength. Weather changes
    the index of air by less than 0.00003, which is left out.

    References
    ----------
    .. [1] Ciddor, P. E. (1996). Refractive index of air. Applied Optics 35, 1566.

    Examples
    --------
    >>> round(index_in_air(1.333349), 6)
    1.332986
    """
    require_possible(index_vacuum=index_vacuum)
    return named("index_air", same_kind(index_vacuum, np.asarray(index_vacuum) / _AIR))


def index_in_vacuum(index_air: Measured) -> Measured:
    r"""Return a refractive index relative to vacuum from one relative to air.

    Parameters
    ----------
    index_air : float or Series
        Refractive index at 589.3 nm relative to air at 20 °C and 1 atm. [1]

    Returns
    -------
    index_vacuum : same kind and index as `index_air`
        Refractive index relative to vacuum. [1]

    Raises
    ------
    OutOfRangeError
        If a value lies outside 1–2.

    Notes
    -----
    .. math:: n_\mathrm{vacuum} = 1.000272 \, n_\mathrm{air}

    References
    ----------
    .. [1] Ciddor, P. E. (1996). Refractive index of air. Applied Optics 35, 1566.

    Examples
    --------
    >>> round(index_in_vacuum(1.332986), 6)
    1.333349
    """
    require_possible(index_air=index_air)
    return named("index_vacuum", same_kind(index_air, np.asarray(index_air) * _AIR))
