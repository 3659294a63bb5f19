"""A day that lies far beyond all others is more likely a slip than the newest of the log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from yieldwright.shotlog.findings import Finding

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

__all__ = ["far_days", "newest_day"]

#: A pause this long before a lone last day is doubted (common practice, no source).
_LONGEST_PAUSE_D = 300
#: Days a log must have besides before one of them can stand out.
_FEWEST_DAYS = 3


def newest_day(shots: pd.DataFrame) -> date | None:
    """Return the day of the newest shot, a lone one far beyond all others left out.

    Parameters
    ----------
    shots : DataFrame
        One row per shot; `pulled_on` where it is known.

    Returns
    -------
    date or None
        None where no shot has a day.

    Examples
    --------
    >>> import pandas as pd
    >>> days = ["2026-03-05", "2026-03-06", "2026-03-07", "3026-03-08"]
    >>> newest_day(pd.DataFrame({"pulled_on": np.array(days, dtype="datetime64[s]")}))
    datetime.date(2026, 3, 7)
    """
    if "pulled_on" not in shots or shots["pulled_on"].isna().all():
        return None
    days = shots["pulled_on"].to_numpy(dtype="datetime64[D]")
    kept: date = np.nanmax(days[~_is_far(days)]).item()
    return kept


def far_days(shots: pd.DataFrame) -> list[Finding]:
    """Return the shot that lies far beyond all others, where there is one.

    Parameters
    ----------
    shots : DataFrame
        One row per shot; `pulled_on` where it is known.

    Returns
    -------
    list of Finding
        `row` is the position in `shots`.

    Examples
    --------
    >>> import pandas as pd
    >>> days = ["2026-03-05", "2026-03-06", "2026-03-07", "3026-03-08"]
    >>> far_days(pd.DataFrame({"pulled_on": np.array(days, dtype="datetime64[s]")}))[0].reason
    'lies far beyond all other shots, the newest of which is of 2026-03-07: a slip in the year?'
    """
    newest = newest_day(shots)
    if newest is None:
        return []
    days = shots["pulled_on"].to_numpy(dtype="datetime64[D]")
    reason = (
        f"lies far beyond all other shots, the newest of which is of {newest}: a slip in the year?"
    )
    return [
        Finding(row, "pulled_on", str(days[row]), reason, "correct the day")
        for row in np.flatnonzero(_is_far(days)).tolist()
    ]


def _is_far(days: np.ndarray) -> np.ndarray:
    """Return which shots were pulled on a lone last day after a very long pause."""
    known, counts = np.unique(days[~np.isnat(days)], return_counts=True)
    if len(known) <= _FEWEST_DAYS or counts[-1] > 1:
        return np.zeros(len(days), dtype=bool)
    pause = (known[-1] - known[-2]) / np.timedelta64(1, "D")
    is_far: np.ndarray = (days == known[-1]) & (pause > _LONGEST_PAUSE_D)
    return is_far
