"""One standard deviation from several groups, each with degrees of freedom of its own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from yieldwright.errors import MisalignedError, OutOfRangeError

__all__ = ["PooledSd", "pooled_sd", "require_spreads"]


class PooledSd(NamedTuple):
    """A standard deviation and the degrees of freedom it rests on."""

    sd: float
    df: float


def pooled_sd(sds: Sequence[float], dfs: Sequence[float]) -> PooledSd:
    """Return the standard deviation inside groups that share one.

    Parameters
    ----------
    sds : sequence of float
        Standard deviation of each group. [any unit]
    dfs : sequence of float
        Degrees of freedom behind each; they need not be whole. [1]

    Returns
    -------
    PooledSd

    Raises
    ------
    OutOfRangeError
        If there is no group, a spread is negative or one has no degrees of freedom.
    MisalignedError
        If there are not as many degrees of freedom as groups.

    References
    ----------
    .. [1] JCGM 100:2008, 4.2.4.

    Examples
    --------
    >>> pooled_sd([1.0, 3.0], [4, 4])
    PooledSd(sd=2.236, df=8)
    """
    require_spreads(sds, dfs)
    total = sum(dfs)
    squares = sum(df * sd**2 for sd, df in zip(sds, dfs, strict=True))
    return PooledSd(math.sqrt(squares / total), total)


def require_spreads(sds: Sequence[float], dfs: Sequence[float]) -> None:
    """Return nothing where every spread can be one and has degrees of freedom.

    Parameters
    ----------
    sds, dfs : sequence of float
        Standard deviations, and the degrees of freedom behind each.

    Raises
    ------
    OutOfRangeError
        If there is none, a spread is negative or missing, or has no degrees of freedom.
    MisalignedError
        If there are not as many of one as of the other.

    Examples
    --------
    >>> require_spreads([1.0, 0.5], [9, 5.2])
    """
    if len(sds) != len(dfs):
        raise MisalignedError(
            f"{len(sds)} standard deviations came with {len(dfs)} degrees of freedom; each needs "
            "its own"
        )
    if not sds or not all(sd >= 0 and df > 0 for sd, df in zip(sds, dfs, strict=True)):
        shown = ", ".join(f"{sd:g} on {df:g}" for sd, df in zip(sds, dfs, strict=True))
        raise OutOfRangeError(
            "standard deviations of at least 0 and degrees of freedom above 0 are needed; got "
            f"{shown or 'none'} (bring two rows or more of each group)"
        )
