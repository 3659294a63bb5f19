"""How much shots pulled alike differ from one another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import pandas as pd

from yieldwright.errors import UnknownNameError
from yieldwright.formatting import count, number
from yieldwright.glossary import find_quantity
from yieldwright.models.intervals.intervals import sd_interval
from yieldwright.results import Dropped, Result

__all__ = ["ASSUMED_YIELD_SD", "LEAST_REPEATS", "SAME", "Spread", "replicate_spread"]

#: What has to agree before two shots count as pulled alike.
SAME = (
    "bag",
    "grinder",
    "session",
    "grind_setting",
    "temp_band",
    "taper_bar",
    "puck_screen",
    "paper",
    "time_from",
)

#: Pressures held by hand agree where they round to the same whole bar.
TO_WHOLE = ("taper_bar", "hold_bar", "peak_bar", "end_bar")

#: Repeats a spread needs before it is worth printing (common practice, no source).
LEAST_REPEATS = 3

#: Spread of yield from shot to shot that stands in where a log has too few repeats, in
#: points: an assumption with no source, to be replaced by one's own repeats.
ASSUMED_YIELD_SD = (0.3, 0.8)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Spread(Result):
    """How much shots pulled alike differ: a pooled standard deviation.

    Attributes
    ----------
    column : str
        What was compared.
    groups : DataFrame
        One row per set of shots pulled alike: the columns that agree, `n_shots`,
        `mean`, `sd`.
    sd : float
        Pooled standard deviation; missing with fewer than 3 repeats. [unit of `column`]
    df : int
        Repeats it rests on: shots less sets. [count]
    low, high : float
        Its 95 % chi-square interval, or the range assumed in its place.
        [unit of `column`]
    assumed : bool
        Whether low and high are an assumption.
    """

    column: str
    groups: pd.DataFrame
    sd: float
    df: int
    low: float
    high: float
    assumed: bool

    @property
    def title(self) -> str:
        """What was compared."""
        return f"How much shots pulled alike differ in {_label(self.column)}"

    def to_frame(self) -> pd.DataFrame:
        """Return the sets of shots pulled alike."""
        return self.groups


def replicate_spread(shots: pd.DataFrame, column: str, *, same: Sequence[str] = SAME) -> Spread:
    """Return the pooled standard deviation of shots pulled alike.

    Parameters
    ----------
    shots : DataFrame
        One row per shot that may be compared: pulled and counted.
    column : str
        What to compare, such as `ey_pct`, `time_s`, `beverage_g` or `score:overall`.
    same : sequence of str
        Columns that must agree; those the table does not have are passed over.

    Returns
    -------
    Spread
        With the assumption 0.3–0.8 points in place of a yield's spread where there are
        fewer than 3 repeats, said so.

    Raises
    ------
    UnknownNameError
        If the table has no column to compare.

    Notes
    -----
    Each set of n like shots adds n − 1 repeats; drift inside a session counts as
    spread. A shot with a gap in one of the columns is like no other.

    References
    ----------
    .. [1] JCGM 100:2008, H.3.6: pooled experimental variance.

    Examples
    --------
    >>> shots = pd.DataFrame({"grind_setting": [8.0] * 4, "time_s": [30.0, 31.0, 32.0, 35.0]})
    >>> spread = replicate_spread(shots, "time_s")
    >>> round(spread.sd, 2), spread.df
    (2.16, 3)
    """
    if column not in shots:
        raise UnknownNameError(f"the table has no column {column} to compare shots by")
    keys = [name for name in same if name in shots and shots[name].notna().any()]
    whole = shots[shots[column].notna()]
    groups = _groups(whole, column, keys)
    df = int((groups["n_shots"] - 1).sum())
    squares = float((groups["sd"] ** 2 * (groups["n_shots"] - 1)).sum())
    sd = math.sqrt(squares / df) if df >= LEAST_REPEATS else math.nan
    low, high = _range(column, sd, df)
    alone = len(whole) - int(groups["n_shots"].sum())
    losses = ((len(shots) - len(whole), f"without {_label(column)}"), (alone, "without a like"))
    spread = Spread(
        column=column,
        groups=groups,
        sd=sd,
        df=df,
        low=low,
        high=high,
        assumed=df < LEAST_REPEATS and not math.isnan(low),
        n_shots=int(groups["n_shots"].sum()),
        dropped=tuple(Dropped(n, why) for n, why in losses if n),
    )
    return replace(spread, sentences=(_sentence(spread),))


def _groups(shots: pd.DataFrame, column: str, keys: Sequence[str]) -> pd.DataFrame:
    """Return the sets of at least two shots that agree in every key."""
    table = shots[[*keys, column]].copy()
    for name in set(TO_WHOLE) & set(keys):
        table[name] = table[name].round()
    if keys:
        found = table.groupby(list(keys), sort=False, observed=True)[column]
        summary = found.agg(["size", "mean", "std"]).reset_index()
    else:
        values = table[column]
        summary = pd.DataFrame({"size": [len(values)], "mean": values.mean(), "std": values.std()})
    named = summary.rename(columns={"size": "n_shots", "std": "sd"})
    return named[named["n_shots"] > 1].reset_index(drop=True)


def _range(column: str, sd: float, df: int) -> tuple[float, float]:
    if df >= LEAST_REPEATS:
        return sd_interval(sd, df)
    return ASSUMED_YIELD_SD if column == "ey_pct" else (math.nan, math.nan)


def _sentence(spread: Spread) -> str:
    unit, what, df = _unit(spread.column), _label(spread.column), spread.df
    if df >= LEAST_REPEATS:
        shown, low, high = (
            number(each, figures=2) for each in (spread.sd, spread.low, spread.high)
        )
        return (
            f"Shots pulled alike differ in {what} by {shown} {unit} (standard deviation; 95 % "
            f"interval {low} to {high}, {count(df, 'repeat')} in "
            f"{count(len(spread.groups), 'set')} of like shots)."
        )
    few = f"{count(df, 'repeat')} of like shots, and {LEAST_REPEATS} are needed"
    if not spread.assumed:
        return f"How much like shots differ in {what} is not known: {few}."
    return (
        f"How much like shots differ in {what} is not known ({few}): {spread.low:g} to "
        f"{spread.high:g} {unit} is assumed, with no source. Pull one setting four times in one "
        "session to know."
    )


def _label(column: str) -> str:
    entry = find_quantity(column)
    if entry is None:
        return f"{column.removeprefix('score:')} score"
    return entry.label[0].lower() + entry.label[1:]


def _unit(column: str) -> str:
    entry = find_quantity(column)
    if entry is None or entry.unit in ("", "1") or entry.unit.startswith("%"):
        return "points"
    return entry.unit
