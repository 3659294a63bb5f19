"""How far the best of several single values lies above the rest by luck alone."""

from __future__ import annotations

import math

import numpy as np
from scipy import special

from yieldwright.errors import OutOfRangeError

__all__ = ["best_of"]

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
