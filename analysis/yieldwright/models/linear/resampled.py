"""Coefficients of many refits, and the interval of any function of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.errors import MisalignedError, OutOfRangeError
from yieldwright.models.intervals.intervals import LEVEL

__all__ = ["BootstrapInterval", "Function", "Resampled", "in_portions"]

Array = npt.NDArray[np.float64]

#: From rows of coefficients to one number a row.
Function = Callable[[Array], Array]

#: Values held at once in one pass.
PORTION = 2_000_000


class BootstrapInterval(NamedTuple):
    """An interval by resampling, with what chance in the resampling leaves open.

    Attributes
    ----------
    estimate, std_error : float
        Value for all rows, and standard deviation of the resamples.
    low, high : float
        Limits; infinite where the resamples do not reach far enough to tell.
    mc_low, mc_high : float
        Monte Carlo standard error of each limit: what another seed would change.
    """

    estimate: float
    std_error: float
    low: float
    high: float
    mc_low: float
    mc_high: float


@dataclass(frozen=True, eq=False)
class Resampled:
    """Coefficients of a fit and of its refits to resampled rows.

    Attributes
    ----------
    names : tuple of str
        Names of the coefficients.
    params : ndarray
        Coefficients of the fit.
    draws : ndarray
        Coefficients of the refits, one row each.
    scheme : str
        How rows were resampled.
    n_unsolved : int
        Resamples that could not be fitted, and are not among the draws.
    jackknife : ndarray or None
        Coefficients without each row or group, for bias-corrected limits.
    """

    names: tuple[str, ...]
    params: Array
    draws: Array
    scheme: str
    n_unsolved: int = 0
    jackknife: Array | None = None

    def interval(
        self,
        function: Function,
        *,
        kind: Literal["percentile", "bca"] = "percentile",
        level: float = LEVEL,
    ) -> BootstrapInterval:
        """Return the interval of any function of the coefficients.

        Parameters
        ----------
        function : callable
            From rows of coefficients, in the order of `names`, to one number a row:
            `lambda rows: -rows[:, 1] / (2 * rows[:, 2])`.
        kind : {"percentile", "bca"}
            Quantiles of the refits as they are, or at levels corrected for bias and for a
            spread that changes with the value.
        level : float
            Confidence level. [1]

        Returns
        -------
        BootstrapInterval

        Raises
        ------
        OutOfRangeError
            If the level is not between 0 and 1, the function gives no number for the fit or
            for a refit, or bias-corrected limits are asked for without a jackknife.
        MisalignedError
            If the function does not give one number a row.

        References
        ----------
        .. [1] Efron and Tibshirani (1993), An Introduction to the Bootstrap, chapter 14.
        """
        if not 0 < level < 1:
            raise OutOfRangeError(f"a confidence level must lie between 0 and 1, not {level:g}")
        if kind not in ("percentile", "bca"):
            raise OutOfRangeError(f"kind must be 'percentile' or 'bca', not {kind!r:.60}")
        estimate = float(_values(function, self.params[np.newaxis])[0])
        values = _values(function, self.draws)
        shares = ((1 - level) / 2, (1 + level) / 2)
        if kind == "bca":
            shares = self._corrected(function, estimate, values, shares)
        (low, mc_low), (high, mc_high) = (_limit(values, share) for share in shares)
        return BootstrapInterval(estimate, float(values.std(ddof=1)), low, high, mc_low, mc_high)

    def _corrected(
        self, function: Function, estimate: float, values: Array, shares: tuple[float, float]
    ) -> tuple[float, float]:
        """Return the levels corrected for bias and acceleration."""
        if self.jackknife is None:
            raise OutOfRangeError(
                f"limits corrected for bias need fits without each row, which resampling by "
                f"{self.scheme} does not bring; ask for kind 'percentile'"
            )
        below = np.mean(values < estimate) + np.mean(values == estimate) / 2
        bias = float(special.ndtri(below))
        left = _values(function, self.jackknife)
        pulls = left.mean() - left
        size = float(np.sum(pulls**2)) ** 1.5
        lean = float(np.sum(pulls**3)) / (6 * size) if size > 0 else 0.0
        moved = [bias + float(special.ndtri(share)) for share in shares]
        low, high = (float(special.ndtr(bias + z / (1 - lean * z))) for z in moved)
        return low, high


def in_portions(times: int, width: int) -> Iterator[int]:
    """Return how many resamples to draw at once, so that few numbers are held together.

    Parameters
    ----------
    times : int
        How many in all. [count]
    width : int
        Numbers per resample. [count]

    Yields
    ------
    int

    Examples
    --------
    >>> list(in_portions(5, 1_000_000))
    [2, 2, 1]
    """
    step = max(PORTION // width, 1)
    yield from (min(step, times - start) for start in range(0, times, step))


def _values(function: Function, rows: Array) -> Array:
    with np.errstate(divide="ignore", invalid="ignore"):
        values = np.asarray(function(rows), dtype=float)
    if values.shape != (len(rows),):
        raise MisalignedError(
            f"the function gave {values.size} numbers for {len(rows)} rows of coefficients; it "
            "must give one for each (use rows[:, k])"
        )
    if np.isnan(values).any():
        raise OutOfRangeError(
            f"the function gives no number for {int(np.isnan(values).sum())} of {len(rows)} rows "
            "of coefficients; ask for one that is defined for all"
        )
    return values


def _limit(values: Array, share: float) -> tuple[float, float]:
    """Return a quantile and its Monte Carlo error, or infinity beyond all draws."""
    outermost = 1 / (len(values) + 1)
    if not outermost <= share <= 1 - outermost:
        return (-np.inf if share < outermost else np.inf), np.nan
    error = math.sqrt(share * (1 - share) / len(values))
    around = np.clip([share - error, share, share + error], 0, 1)
    below, limit, above = np.quantile(values, around, method="weibull").tolist()
    return limit, (above - below) / 2
