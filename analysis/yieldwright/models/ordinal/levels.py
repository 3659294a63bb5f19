"""Ordered levels with few rows each, taken together with their neighbours."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pandas as pd

__all__ = ["joined_levels"]


def joined_levels(values: pd.Series[float], *, most: int) -> pd.Series[float]:
    """Return numbers with neighbouring values taken together, until few enough are left.

    Parameters
    ----------
    values : Series
        One number per row.
    most : int
        Values left at most. [count]

    Returns
    -------
    Series
        Each value replaced by the lowest of those it was joined with. The slopes of a
        cumulative-link model mean the same whichever neighbours are joined.

    Examples
    --------
    >>> joined_levels(pd.Series([1.0, 2.0, 2.0, 3.0, 3.0]), most=2).tolist()
    [1.0, 1.0, 1.0, 3.0, 3.0]
    """
    kept, codes = np.unique(values.to_numpy(dtype=float), return_inverse=True)
    counts = np.bincount(codes).tolist()
    groups = [[place] for place in range(len(kept))]
    while len(groups) > most:
        pairs = [low + high for low, high in pairwise(counts)]
        rarest = int(np.argmin(pairs))
        counts[rarest : rarest + 2] = [pairs[rarest]]
        groups[rarest : rarest + 2] = [groups[rarest] + groups[rarest + 1]]
    lowest = np.empty(len(kept))
    for group in groups:
        lowest[group] = kept[group[0]]
    return pd.Series(lowest[codes], index=values.index, name=values.name)
