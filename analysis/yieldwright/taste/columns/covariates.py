"""How one column of a log is read before it enters a fit: numbers, or levels with names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.formatting import count, visible

if TYPE_CHECKING:
    from collections.abc import Hashable

    from yieldwright.bench import Bench

__all__ = [
    "LONGEST_GAP_MIN",
    "Values",
    "absence",
    "level_order",
    "lone_levels",
    "readable",
    "sameness",
]

#: A column as an array: numbers, or words as objects.
Values = npt.NDArray[Any]

#: A column missing in more than one in so many shots is left out, and those shots are kept.
ONE_GAP_IN = 3

#: Beyond this a longer rest adds nothing: the heat of the shot before is gone (common
#: practice, no source).
LONGEST_GAP_MIN = 15.0

#: Two gaps give a jump; a recovery needs one more.
LEAST_GAPS = 3

#: Of so many shots one may be lost to levels that were pulled only once.
ONE_LOST_IN = 10

#: Columns of free words, in which the case of letters means nothing.
FREE_WORDS = ("distribution", "tamp", "paper", "puck_screen")

#: Words that stand for a puck without.
WITHOUT = ("no", "none", "without", "nothing")


def readable(shots: pd.DataFrame, column: str, *, as_setting: bool = False) -> Values:
    """Return a column as numbers, or as words; all missing where the table has none.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    column : str
        Canonical name.
    as_setting : bool
        Whether its own effect is asked for.

    Returns
    -------
    ndarray
        One value per shot.

    Notes
    -----
    A gap since the last shot counts up to 15 min: what acts is the heat the shot before
    left behind. The first shot of a session, which none went before, is allowed for as
    one after 15 min, and says nothing where the effect of waiting is asked for.
    Temperatures are kept where they were read at the place most of them were. Words of
    one spelling in capital and small letters are one level.

    Examples
    --------
    >>> readable(pd.DataFrame({"position": [1, 2], "gap_min": [None, 4.0]}), "gap_min").tolist()
    [15.0, 4.0]
    """
    if column not in shots:
        return np.full(len(shots), np.nan)
    values = shots[column]
    if pd.api.types.is_bool_dtype(values) or not pd.api.types.is_numeric_dtype(values):
        return _words(values, free=column in FREE_WORDS)
    numbers = values.to_numpy(dtype=float, na_value=np.nan)
    if column == "gap_min":
        return np.minimum(numbers if as_setting else _rested(numbers, shots), LONGEST_GAP_MIN)
    return _of_one_place(numbers, shots) if column == "temp_c" else numbers


def absence(values: Values, column: str, *, is_setting: bool) -> str:
    """Return why a column cannot enter at all, empty where it can.

    Parameters
    ----------
    values : ndarray
        One value per shot, from `readable`.
    column : str
        Canonical name.
    is_setting : bool
        Whether its own effect is asked for.

    Returns
    -------
    str

    Examples
    --------
    >>> absence(np.array([4.0, 8.0, 4.0]), "gap_min", is_setting=True)
    'only 2 different gaps; how long to wait takes 3 or more'
    """
    present = len(values) - int(pd.isna(values).sum())
    if not present:
        return "not logged"
    if ONE_GAP_IN * (len(values) - present) > len(values):
        return f"logged for only {present} of {count(len(values), 'shot')}"
    if column == "gap_min" and is_setting:
        gaps = len(np.unique(values[~pd.isna(values)].astype(float)))
        if 1 < gaps < LEAST_GAPS:
            return f"only {gaps} different gaps; how long to wait takes {LEAST_GAPS} or more"
    lone = lone_levels(values, column)
    if ONE_LOST_IN * len(lone) > max(present, ONE_LOST_IN):
        return f"{len(lone)} of {count(present, 'entry', 'entries')} stand for one shot each"
    return ""


def lone_levels(values: Values, column: str) -> tuple[Hashable, ...]:
    """Return the words that stand for a single shot, which says nothing beside its level.

    Parameters
    ----------
    values : ndarray
        One value per shot, from `readable`.
    column : str
        Canonical name; bands are kept whatever their number of shots.

    Returns
    -------
    tuple of hashable
        None for numbers, and where every level has one shot or there are no two of them.

    Examples
    --------
    >>> lone_levels(np.array(["stir", "tap", "stir", "rake", "tap"], dtype=object), "tamp")
    ('rake',)
    """
    if values.dtype != object or column == "temp_band":
        return ()
    counts = pd.Series(values).value_counts(sort=False)
    return tuple(counts[counts == 1].index)


def level_order(shots: pd.DataFrame, column: str, bench: Bench) -> list[Hashable]:
    """Return the order a column gives its levels, empty where it gives none.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    column : str
        Canonical name.
    bench : Bench
        Whose bands come in order.

    Returns
    -------
    list of hashable
        Bands as on the bench, stretches in order of time, a puck without before one with.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> level_order(pd.DataFrame({"temp_band": ["high"]}), "temp_band", Bench())
    ['low', 'medium', 'high']
    """
    if column == "temp_band":
        return [band.name for band in bench.bands]
    if isinstance(shots[column].dtype, pd.CategoricalDtype):
        return [str(level) for level in shots[column].cat.categories]
    if column not in FREE_WORDS:
        return []
    found = {str(word) for word in readable(shots, column) if not pd.isna(word)}
    return [word for word in sorted(found) if word.casefold() in WITHOUT]


def sameness(values: pd.Series, column: str) -> str:
    """Return how a column that does not vary is told.

    Parameters
    ----------
    values : Series
        One value per complete shot.
    column : str
        Canonical name.

    Returns
    -------
    str

    Examples
    --------
    >>> sameness(pd.Series(["yes", "yes"]), "puck_screen")
    'used in all 2 shots; pull some without in the same session'
    """
    if values.empty:
        return "no shot is complete"
    value, number = values.iloc[0], count(len(values), "shot")
    if column in ("puck_screen", "paper") and len(values) > 1:
        if str(value).casefold() in WITHOUT:
            return f"used in none of {number}; pull some with it in the same session"
        return f"used in all {number}; pull some without in the same session"
    shown = f"{value:g}" if isinstance(value, float) else str(value)
    if len(values) == 1:
        return f"{shown} in the only shot"
    return f"the same in all {number} ({shown})"


def _words(values: pd.Series, *, free: bool) -> Values:
    """Return words fit to stand in a sentence; of free ones the first spelling stands for all."""
    said = {True: "yes", False: "no"}
    different = values.dropna().unique()
    shown = {word: visible(str(said.get(word, word))).replace("→", "->") for word in different}
    if free:
        first: dict[str, str] = {}
        shown = {word: first.setdefault(text.casefold(), text) for word, text in shown.items()}
    return np.array([shown.get(word, np.nan) for word in values.to_numpy(dtype=object)], object)


def _rested(gaps: Values, shots: pd.DataFrame) -> Values:
    """Return gaps with the longest that matters for the first shot of a session."""
    if np.isnan(gaps).all():
        return gaps
    position = shots["position"].to_numpy(dtype=float) if "position" in shots else np.nan
    first = np.isnan(gaps) & (position == 1)
    return np.where(first, LONGEST_GAP_MIN, gaps)


def _of_one_place(temperatures: Values, shots: pd.DataFrame) -> Values:
    """Return temperatures read where most of them were read, the others as missing."""
    if "temp_where" not in shots:
        return temperatures
    places = shots["temp_where"].astype("string").fillna("")
    usual = places[~np.isnan(temperatures)].mode()
    return np.where(places == usual.iloc[0], temperatures, np.nan) if len(usual) else temperatures
