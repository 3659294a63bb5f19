"""The confidence set of a ratio, which need not be an interval."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from yieldwright.models.intervals.intervals import LEVEL, t_quantile

__all__ = ["FiellerSet", "fieller_ratio"]


@dataclass(frozen=True, slots=True)
class FiellerSet:
    """The values of a ratio that the data do not rule out.

    Attributes
    ----------
    kind : {"bounded", "complement", "everything"}
        An interval from low to high; everything *outside* low to high; or every value.
        Only the first may be printed as an interval.
    low, high : float
        Limits; infinite where there is none.
    estimate : float
        The ratio itself.
    """

    kind: Literal["bounded", "complement", "everything"]
    low: float
    high: float
    estimate: float

    def holds(self, value: float) -> bool:
        """Return whether a value is in the set.

        Parameters
        ----------
        value : float
            A value of the ratio.

        Returns
        -------
        bool
        """
        if self.kind == "bounded":
            return self.low <= value <= self.high
        return self.kind == "everything" or value <= self.low or value >= self.high

    def shifted(self, *, origin: float, unit: float) -> FiellerSet:
        """Return the set of origin + unit × ratio.

        Parameters
        ----------
        origin : float
            Value where the ratio is 0.
        unit : float
            Length of the ratio's unit, above 0.

        Returns
        -------
        FiellerSet
        """
        limits = [origin + unit * value for value in (self.low, self.high, self.estimate)]
        return FiellerSet(self.kind, *limits)


def fieller_ratio(
    numerator: float,
    denominator: float,
    *,
    variances: tuple[float, float],
    covariance: float,
    df: float,
    level: float = LEVEL,
) -> FiellerSet:
    """Return the confidence set of a ratio of two estimates.

    Parameters
    ----------
    numerator, denominator : float
        Estimates. [any unit]
    variances : tuple of float
        Their variances, in the same order. [unit squared]
    covariance : float
        Their covariance. [unit of one times unit of the other]
    df : float
        Degrees of freedom of the variances. [1]
    level : float
        Confidence level. [1]

    Returns
    -------
    FiellerSet
        Bounded where the denominator differs from zero at this level.

    Raises
    ------
    OutOfRangeError
        If the level is not between 0 and 1, or the degrees of freedom are not above 0.

    Notes
    -----
    All ratios ρ with (n − ρ d)² ≤ t² (Vn − 2 ρ C + ρ² Vd). Exact for normal errors,
    however uncertain the denominator; the delta method is not.

    References
    ----------
    .. [1] Fieller (1954), J. R. Stat. Soc. B 16, 175.

    Examples
    --------
    >>> found = fieller_ratio(10.0, 5.0, variances=(1.0, 0.25), covariance=0.0, df=20)
    >>> found.kind, round(found.low, 2), round(found.high, 2)
    ('bounded', 1.48, 2.7)
    """
    reach = t_quantile(df, level=level) ** 2
    square = denominator**2 - reach * variances[1]
    half = numerator * denominator - reach * covariance
    constant = numerator**2 - reach * variances[0]
    estimate = numerator / denominator if denominator else math.nan
    # half² − square · constant, multiplied out: the plain form cancels where errors are small.
    spread = (
        denominator**2 * variances[0]
        - 2 * numerator * denominator * covariance
        + numerator**2 * variances[1]
    )
    discriminant = reach * (spread - reach * (variances[0] * variances[1] - covariance**2))
    if square > 0:
        return FiellerSet("bounded", *_roots(square, half, constant, discriminant), estimate)
    if discriminant <= 0:
        return FiellerSet("everything", -math.inf, math.inf, estimate)
    return FiellerSet("complement", *_roots(square, half, constant, discriminant), estimate)


def _roots(
    square: float, half: float, constant: float, discriminant: float
) -> tuple[float, float]:
    """Return the roots of square ρ² − 2 half ρ + constant, without cancellation."""
    summed = half + math.copysign(math.sqrt(max(discriminant, 0.0)), half)
    if square == 0:
        root = constant / (2 * half)
        return (root, math.inf) if half < 0 else (-math.inf, root)
    if summed == 0:
        return 0.0, 0.0
    first, second = summed / square, constant / summed
    return min(first, second), max(first, second)
