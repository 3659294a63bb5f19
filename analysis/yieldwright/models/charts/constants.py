"""Constants of control charts: how wide ranges and spreads of normal samples come out."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.errors import OutOfRangeError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "D2_OF_PAIRS",
    "D4_OF_PAIRS",
    "MEDIAN_OF_PAIRS",
    "chart_constants",
    "mean_range",
    "range_spread",
    "spread_bias",
]

Array = npt.NDArray[np.float64]

#: Mean, upper limit over mean, and median of the distance between two normal values.
D2_OF_PAIRS = 2 / math.sqrt(math.pi)
D4_OF_PAIRS = 1 + 3 * math.sqrt(2 - D2_OF_PAIRS**2) / D2_OF_PAIRS
MEDIAN_OF_PAIRS = math.sqrt(2) * float(special.ndtri(0.75))

#: Sizes for which the sums below hold 11 digits.
SMALLEST, LARGEST = 2, 1000

#: How finely ranges and normal values are summed over, and half of how far they reach.
_N_NODES, _HALF_RANGE, _FARTHEST = 160, 8.0, 9.0


def mean_range(sizes: int | Sequence[int] | npt.NDArray[np.int64]) -> Array:
    """Return d2: the mean range of normal samples, in standard deviations.

    Parameters
    ----------
    sizes : int or sequence of int
        Values in each sample, 2 to 1,000. [count]

    Returns
    -------
    ndarray
        One value per size.

    Raises
    ------
    OutOfRangeError
        If a size lies outside 2 to 1,000, or is no whole number.

    Notes
    -----
    The chance of a wider range, summed over all ranges.

    References
    ----------
    .. [1] Tippett (1925), Biometrika 17, 364.

    Examples
    --------
    >>> mean_range([2, 5]).round(3).tolist()
    [1.128, 2.326]
    """
    _, weights = _ranges()
    return _wider(_required(sizes)) @ weights


def range_spread(sizes: int | Sequence[int] | npt.NDArray[np.int64]) -> Array:
    """Return d3: the standard deviation of the range of normal samples, in their own.

    Parameters
    ----------
    sizes : int or sequence of int
        Values in each sample, 2 to 1,000. [count]

    Returns
    -------
    ndarray
        One value per size.

    Raises
    ------
    OutOfRangeError
        If a size lies outside 2 to 1,000, or is no whole number.

    References
    ----------
    .. [1] Tippett (1925), Biometrika 17, 364.

    Examples
    --------
    >>> range_spread([2, 5]).round(3).tolist()
    [0.853, 0.864]
    """
    ranges, weights = _ranges()
    wider = _wider(_required(sizes))
    squares = 2 * (wider @ (weights * ranges))
    return np.asarray(np.sqrt(squares - (wider @ weights) ** 2))


def spread_bias(sizes: int | Sequence[int] | npt.NDArray[np.int64]) -> Array:
    """Return c4: the mean standard deviation of normal samples, in the true one.

    Parameters
    ----------
    sizes : int or sequence of int
        Values in each sample, at least 2. [count]

    Returns
    -------
    ndarray
        One value per size.

    Raises
    ------
    OutOfRangeError
        If a size lies outside 2 to 1,000, or is no whole number.

    Examples
    --------
    >>> spread_bias([2, 10]).round(4).tolist()
    [0.7979, 0.9727]
    """
    n = _required(sizes)
    ratio = np.exp(special.gammaln(n / 2) - special.gammaln((n - 1) / 2))
    return np.asarray(np.sqrt(2 / (n - 1)) * ratio)


def chart_constants(sizes: int | Sequence[int] | npt.NDArray[np.int64]) -> pd.DataFrame:
    """Return the factors of charts of means, ranges and spreads, each computed.

    Parameters
    ----------
    sizes : int or sequence of int
        Values in each sample, 2 to 1,000. [count]

    Returns
    -------
    DataFrame
        One row per size: `n`, `d2`, `d3`, `c4`, and the factors `A2`, `A3` of limits of
        means, `D3`, `D4` of ranges, `B3`, `B4` of spreads, `E2` of single values.

    Raises
    ------
    OutOfRangeError
        If a size lies outside 2 to 1,000, or is no whole number.

    Notes
    -----
    Limits lie three standard deviations out; a lower one that would be negative is 0.

    References
    ----------
    .. [1] ISO 7870-2:2013, table 2.

    Examples
    --------
    >>> chart_constants([2])[["A2", "D4", "E2"]].round(3).values.tolist()
    [[1.88, 3.267, 2.659]]
    """
    n = _required(sizes)
    d2, d3, c4 = mean_range(n), range_spread(n), spread_bias(n)
    of_range, of_spread = 3 * d3 / d2, 3 * np.sqrt(1 - c4**2) / c4
    columns = {
        "n": n,
        "d2": d2,
        "d3": d3,
        "c4": c4,
        "A2": 3 / (d2 * np.sqrt(n)),
        "D3": np.maximum(1 - of_range, 0.0),
        "D4": 1 + of_range,
        "E2": 3 / d2,
        "A3": 3 / (c4 * np.sqrt(n)),
        "B3": np.maximum(1 - of_spread, 0.0),
        "B4": 1 + of_spread,
    }
    return pd.DataFrame(columns)


def _required(sizes: int | Sequence[int] | npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    n = np.atleast_1d(np.asarray(sizes))
    whole = np.issubdtype(n.dtype, np.integer)
    if not whole or n.min() < SMALLEST or n.max() > LARGEST:
        raise OutOfRangeError(
            f"sizes of samples must be whole numbers from {SMALLEST} to {LARGEST:,}"
        )
    return n.astype(np.int64)


def _wider(n: npt.NDArray[np.int64]) -> Array:
    """Return the chance that the range of a sample is wider, by size and range."""
    between, density = _between()
    return np.array([1 - size * (between ** (size - 1) @ density) for size in n.tolist()])


@cache
def _ranges() -> tuple[Array, Array]:
    """Return the ranges that are summed over, and their weights."""
    nodes, weights = np.polynomial.legendre.leggauss(_N_NODES)
    return _HALF_RANGE * (nodes + 1), _HALF_RANGE * weights


@cache
def _between() -> tuple[Array, Array]:
    """Return the chance of a value from each normal value to each range above it, and density."""
    nodes, weights = np.polynomial.legendre.leggauss(_N_NODES)
    x, ranges = _FARTHEST * nodes, _ranges()[0]
    density = np.exp(-(x**2) / 2) / math.sqrt(2 * math.pi) * (_FARTHEST * weights)
    return special.ndtr(x + ranges[:, None]) - special.ndtr(x), density
