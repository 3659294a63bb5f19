"""Times are compared only where the clock was started at the same moment."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldwright.results import Dropped

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["CLOCKED", "of_one_start", "shots_of_one_start"]

#: Quantities that are counted from the start of the clock.
CLOCKED = ("time_s", "first_drip_s", "taper_start_s")


def of_one_start(
    comparable: ComparableSet, column: str = "time_s"
) -> tuple[ComparableSet, tuple[Dropped, ...]]:
    """Return the shots timed from where most were, and how many were not.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    column : str
        What is compared: all shots stay where it is not counted from the start of the clock.

    Returns
    -------
    comparable : ComparableSet
    dropped : tuple of Dropped

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_from": ["lever", "lever", "first_drip"]})
    >>> str(of_one_start(ComparableSet("", "", shots))[1][0])
    '1 shot timed from another start than lever'
    """
    kept, dropped = shots_of_one_start(comparable.shots, column)
    if not dropped:
        return comparable, ()
    return replace(comparable, shots=kept.reset_index(drop=True)), dropped


def shots_of_one_start(
    shots: pd.DataFrame, column: str
) -> tuple[pd.DataFrame, tuple[Dropped, ...]]:
    """Return the shots timed from where most were that have a time, and how many were not.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    column : str
        What is compared: all shots stay where it is not counted from the start of the clock.

    Returns
    -------
    shots : DataFrame
        Those without a time stay: they are compared with none.
    dropped : tuple of Dropped

    Examples
    --------
    >>> import pandas as pd
    >>> starts = ["lever", "lever", "first_drip"]
    >>> shots = pd.DataFrame({"time_from": starts, "time_s": [36.0, 35.0, 27.0], "ey_pct": 20.0})
    >>> [len(shots_of_one_start(shots, name)[0]) for name in ("time_s", "ey_pct")]
    [2, 3]
    """
    if column not in CLOCKED or "time_from" not in shots or shots.empty:
        return shots, ()
    starts = shots["time_from"].fillna("unstated")
    timed = shots[column].notna() if column in shots else starts.notna()
    if not timed.any():
        return shots, ()
    usual = str(starts[timed].mode()[0])
    others = timed & (starts != usual)
    if not others.any():
        return shots, ()
    why = f"timed from another start than {usual.replace('_', ' ')}"
    return shots[~others], (Dropped(int(others.sum()), why),)
