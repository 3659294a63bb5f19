"""Which settings were set by hand to values that return, and which were only measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from yieldwright.taste.predictors import Predictor

__all__ = ["set_by_hand"]

#: A number with more different values than this share of the shots was measured, not set.
BY_HAND = 0.5


def set_by_hand(frame: pd.DataFrame, predictors: Iterable[Predictor]) -> tuple[Predictor, ...]:
    """Return the settings whose values return often enough to have been set by hand.

    Parameters
    ----------
    frame : DataFrame
        One row per shot.
    predictors : iterable of Predictor
        Columns to look at.

    Returns
    -------
    tuple of Predictor
        Settings with levels, and numbers with at most half as many values as shots.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.predictors import Predictor
    >>> frame = pd.DataFrame(
    ...     {"grind_setting": [10.0, 11, 10, 11], "taper_bar": [2.1, 2.4, 3, 1.9]}
    ... )
    >>> settings = [Predictor("grind_setting", "setting"), Predictor("taper_bar", "setting")]
    >>> [each.column for each in set_by_hand(frame, settings)]
    ['grind_setting']
    """
    return tuple(
        each
        for each in predictors
        if each.kind == "setting"
        and (each.levels or len(frame[each.column].unique()) <= BY_HAND * len(frame))
    )
