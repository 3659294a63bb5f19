"""How far the best of several single shots lies above the rest by luck alone."""

from __future__ import annotations

import math

import numpy as np
from scipy import special

from yieldwright.errors import OutOfRangeError

__all__ = ["best_of", "shrunk_lead"]

#: Ends and steps of the sum that stands for an integral over a normal deviate.
_REACH, _STEPS = 9.0, 4001


def best_of(shots: int) -> float:
    r"""Return how many standard deviations the best of several like shots lies above their mean.

    Parameters
    ----------
    shots : int
        Single shots among which the best was picked. [count]

    Returns
    -------
    float

    Raises
    ------
    OutOfRangeError
        If there is no shot.

    Notes
    -----
    .. math:: E_k = \int x \, k \, \varphi(x) \, \Phi(x)^{k-1} \, dx

    The expected largest of k normal deviates: what luck alone does to the best of k.

    References
    ----------
    .. [1] Harter (1961), Biometrika 48, 151: expected values of normal order statistics.

    Examples
    --------
    >>> [round(best_of(k), 2) for k in (3, 5, 8, 12)]
    [0.85, 1.16, 1.42, 1.63]
    """
    if shots < 1:
        raise OutOfRangeError(f"the best is picked among at least 1 shot; got {shots}")
    deviate = np.linspace(-_REACH, _REACH, _STEPS)
    density = np.exp(-(deviate**2) / 2) / math.sqrt(2 * math.pi)
    density *= shots * special.ndtr(deviate) ** (shots - 1)
    return float(np.trapezoid(deviate * density, deviate))


def shrunk_lead(lead: float, *, sd: float, shots: int) -> float:
    """Return what is left of the lead of the best shot once its luck is taken off.

    Parameters
    ----------
    lead : float
        Best value less the mean of all. [any unit]
    sd : float
        Spread of like shots. [unit of the lead]
    shots : int
        Single shots among which the best was picked. [count]

    Returns
    -------
    float
        At least 0. [unit of the lead]

    Raises
    ------
    OutOfRangeError
        If there is no shot, or the spread is negative.

    Notes
    -----
    Luck is what the best of as many like shots would lead by: a rough allowance, exact
    only where the settings make no difference at all.

    Examples
    --------
    >>> round(shrunk_lead(2.0, sd=1.0, shots=8), 2)
    0.58
    """
    if sd < 0:
        raise OutOfRangeError(f"a spread must be at least 0; got {sd:g}")
    return max(lead - sd * best_of(shots), 0.0)
