"""One person's shots session by session: how much like shots differ, and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.models.intervals.intervals import sd_interval
from yieldwright.repeatability.persons.people_footing import SET_BEFORE
from yieldwright.repeatability.persons.people_misses import (
    AIMED,
    LEAST_MISSES,
    absolute_misses,
    mean_with_interval,
)
from yieldwright.results import Dropped
from yieldwright.taste.columns.covariates import readable
from yieldwright.taste.columns.one_start import shots_of_one_start

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["WEEK_COLUMNS", "PersonShots", "person_shots", "session_table", "week_table"]

Array = npt.NDArray[np.float64]

#: Columns of a table of weeks.
WEEK_COLUMNS = ("week", "n_shots", "n_sets", "sd", "df", "sd_low", "sd_high", "mean_age_d")

DAYS_IN_WEEK = 7.0


@dataclass(frozen=True, eq=False)
class PersonShots:
    """Shots of one person over all bags and grinders.

    Attributes
    ----------
    shots : DataFrame
        One row per shot: `value`, `set` (codes of bag and grinder), `session`, `when`
        (weeks since the first), `week` (from 1), `cell` (shots alike in one session) and
        the misses of the recipe, `miss:` and a column.
    dropped : tuple of Dropped
        Shots left out, with reasons.
    other_start : tuple of Dropped
        Those of them that are timed from another start.
    """

    shots: pd.DataFrame
    dropped: tuple[Dropped, ...]
    other_start: tuple[Dropped, ...] = ()


def person_shots(
    sets: Sequence[ComparableSet], of: str, *, barista: str, bench: Bench
) -> PersonShots:
    """Return the shots of one person, dated and gathered into cells of like shots.

    Parameters
    ----------
    sets : sequence of ComparableSet
        Bags and grinders.
    of : str
        Column followed.
    barista : str
        Code of the person.
    bench : Bench
        Whose recipe is aimed at.

    Returns
    -------
    PersonShots

    Notes
    -----
    Alike are shots of one bag, grinder and session that agree in all that was set before
    the pull. A shot without a date is left out: nobody knows its week.
    """
    parts = [_own(each, of, barista, bench) for each in sets if "barista" in each.shots]
    shots = pd.concat([part for part in parts if len(part)], ignore_index=True)
    undated, empty = shots["day"].isna(), ~np.isfinite(shots["value"])
    kept, other_start = shots_of_one_start(shots[~undated & ~empty].copy(), of)
    kept = _misses_of_one_start(kept)
    days = (kept["day"] - kept["day"].min()).dt.days.astype(float)
    # A session that runs past midnight is one point in time.
    days = days.groupby(kept["session"]).transform("min")
    kept = kept.assign(when=days / DAYS_IN_WEEK, week=(days // DAYS_IN_WEEK).astype(int) + 1)
    losses = ((int(empty.sum()), "without the value followed"),
              (int((undated & ~empty).sum()), "without a date"))  # fmt: skip
    lost = tuple(Dropped(n, why) for n, why in losses if n)
    return PersonShots(kept, (*lost, *other_start), other_start)


def _misses_of_one_start(shots: pd.DataFrame) -> pd.DataFrame:
    """Return shots whose misses of the time are known where most clocks were started."""
    same, _ = shots_of_one_start(shots.dropna(subset=["miss:time_s"]), "time_s")
    return shots.assign(**{"miss:time_s": same["miss:time_s"].reindex(shots.index)})


def _own(comparable: ComparableSet, of: str, barista: str, bench: Bench) -> pd.DataFrame:
    shots = comparable.shots
    shots = shots[shots["barista"].astype("string") == barista]
    settings = [name for name in SET_BEFORE if name != of and name in shots]
    session = shots["session"] if "session" in shots else _days(shots)
    keys = pd.DataFrame({name: _texts(readable(shots, name)) for name in settings},
                        index=shots.index)  # fmt: skip
    # Codes and not words: bags 22 and "bag 22" read alike.
    of_set = f"{comparable.bag}\x1f{comparable.grinder}"
    table = pd.DataFrame(
        {
            "value": _numbers(shots, of),
            "set": of_set,
            "bag": comparable.bag,
            "session": of_set + "\x1f" + session.astype("string").fillna(""),
            "day": _days(shots),
            "age_d": _numbers(shots, "roast_age_d"),
        },
        index=shots.index,
    )
    if "time_from" in shots:
        table["time_from"] = shots["time_from"]
    table["cell"] = table["session"].str.cat(keys, sep="\x1f") if settings else table["session"]
    for column in AIMED:
        table[f"miss:{column}"] = absolute_misses(shots, column, bench=bench)
    return table


def _texts(values: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    return np.array(["" if pd.isna(value) else str(value) for value in values.tolist()], object)


def _numbers(shots: pd.DataFrame, column: str) -> pd.Series[float]:
    if column not in shots:
        return pd.Series(np.nan, index=shots.index, dtype=float)
    return pd.to_numeric(shots[column], errors="coerce").astype(float)


def _days(shots: pd.DataFrame) -> pd.Series:
    """Return the day of each pull, as the clock on the wall has it."""
    days = pd.Series(pd.NaT, index=shots.index, dtype="datetime64[ns]")
    for column in ("pulled_on", "pulled_at"):
        if column in shots:
            found = pd.to_datetime(shots[column], errors="coerce", utc=column == "pulled_at")
            plain = found.dt.tz_localize(None) if found.dt.tz is not None else found
            days = days.fillna(plain.dt.normalize().astype("datetime64[ns]"))
    return days


def session_table(shots: pd.DataFrame) -> pd.DataFrame:
    """Return the sum of squares of each session, about the means of its cells.

    Parameters
    ----------
    shots : DataFrame
        From `person_shots`.

    Returns
    -------
    DataFrame
        One row per session with at least one repeat: `set`, `bag`, `when`, `week`,
        `squares`, `df`.
    """
    cells = shots.groupby("cell", sort=False)["value"]
    away = shots["value"] - cells.transform("mean")
    tiny = away.abs() <= 1e-12 * shots["value"].abs()
    free = 1 - 1 / cells.transform("size")
    parts = shots.assign(squares=away.mask(tiny, 0.0) ** 2, df=free)
    sums = parts.groupby("session", sort=False).agg(
        set=("set", "first"), bag=("bag", "first"), when=("when", "first"),
        week=("week", "first"), squares=("squares", "sum"), df=("df", "sum"),
    )  # fmt: skip
    sums["df"] = sums["df"].round()
    return sums[sums["df"] > 0].reset_index(drop=True)


def week_table(shots: pd.DataFrame, sessions: pd.DataFrame) -> pd.DataFrame:
    """Return each week's spread and misses with their intervals.

    Parameters
    ----------
    shots : DataFrame
        From `person_shots`.
    sessions : DataFrame
        From `session_table`.

    Returns
    -------
    DataFrame
        One row per week with shots: counts, `sd`, `df` and chi-square interval, mean roast
        age, and for each thing aimed at its mean absolute miss with an interval, both missing in
        a week of fewer than `LEAST_MISSES` shots.
    """
    rows = [_week(week, part, sessions[sessions["week"] == week])
            for week, part in shots.groupby("week")]  # fmt: skip
    misses = [f"{kind}:{column}" for column in AIMED for kind in ("miss", "miss_low", "miss_high")]
    return pd.DataFrame(rows, columns=[*WEEK_COLUMNS, *misses])


def _week(week: object, shots: pd.DataFrame, sessions: pd.DataFrame) -> dict[str, object]:
    df, squares = float(sessions["df"].sum()), float(sessions["squares"].sum())
    row: dict[str, object] = {
        "week": week,
        "n_shots": len(shots),
        "n_sets": shots["set"].nunique(),
        "df": df,
        "mean_age_d": float(shots["age_d"].mean()),
    }
    if df > 0:
        sd = float(np.sqrt(squares / df))
        row["sd"] = sd
        row["sd_low"], row["sd_high"] = sd_interval(sd, df)
    for column in AIMED:
        found = shots[f"miss:{column}"].dropna().to_numpy(dtype=float)
        if len(found) >= LEAST_MISSES:
            names = (f"miss:{column}", f"miss_low:{column}", f"miss_high:{column}")
            row.update(zip(names, mean_with_interval(found), strict=True))
    return row
