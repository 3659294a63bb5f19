"""What is left of the lead of the best of several single shots once luck is taken off."""

from __future__ import annotations

from yieldwright.errors import OutOfRangeError
from yieldwright.models.intervals.maxima import best_of

__all__ = ["best_of", "shrunk_lead"]


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
