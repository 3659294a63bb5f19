"""Which settings were set by hand to values that return, and which were only measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from yieldwright.taste.columns.predictors import Predictor

__all__ = ["set_by_hand"]

#: A number with more different values than this share of the shots was measured, not set.
BY_HAND = 1 / 3

#: What no instrument reads: set by hand, however many values there are.
ALWAYS_SET = ("grind_setting",)

#: What an instrument reads: set by hand only where these few values return.
READ = ("hold_bar", "peak_bar", "end_bar", "taper_bar", "temp_c", "beverage_g", "brew_ratio")
FEW_VALUES = 5


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
        Settings with levels, the grind setting, readings of at most 5 different values, and
        other numbers with at most a third as many values as shots.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.columns.predictors import Predictor
    >>> frame = pd.DataFrame({"grind_setting": [10.0, 11, 10, 11, 10, 11]})
    >>> frame["taper_bar"] = [2.1, 2.4, 3, 1.9, 2.2, 2.7]
    >>> settings = [Predictor("grind_setting", "setting"), Predictor("taper_bar", "setting")]
    >>> [each.column for each in set_by_hand(frame, settings)]
    ['grind_setting']
    """
    return tuple(each for each in predictors if each.kind == "setting" and _is_set(frame, each))


def _is_set(frame: pd.DataFrame, setting: Predictor) -> bool:
    if setting.levels or setting.column in ALWAYS_SET:
        return True
    different = len(frame[setting.column].unique())
    if setting.column in READ:
        return different <= FEW_VALUES
    return different <= BY_HAND * len(frame)
