"""How old the coffee of each bag was at its shots, and why that is not known of the others."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.age.age_words import (
    BagAges,
    age_sentences,
    bag_words,
    day_words,
    span_of,
    two_roasts,
)
from yieldwright.bench import Bench
from yieldwright.errors import UnknownNameError
from yieldwright.formatting import listing
from yieldwright.glossary import quantity
from yieldwright.models.wording import nearest
from yieldwright.results import Dropped, Result
from yieldwright.shotlog.checks.bag_days import BagDays

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["RoastAges", "roast_ages"]

AGE = "roast_age_d"

#: What is left where the days of a shot are in order and yet make no age.
NO_AGE = "with days that make no roast age"

_DAYS = ("roasted_on", "opened_on", "frozen_on", "thawed_on", "pulled_on")
_NO_BAG = ""


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class RoastAges(Result):
    """The roast ages of bags: how far they reach, and why some are not known.

    `n_shots` counts the shots with an age, `dropped` the others by reason.

    Attributes
    ----------
    bags : tuple of BagAges
        In the order of the table.
    """

    bags: tuple[BagAges, ...] = ()

    @property
    def title(self) -> str:
        """What was asked."""
        if len(self.bags) != 1:
            return "Roast age of each bag"
        return f"Roast age of {bag_words(self.bags[0].bag)}"

    def to_frame(self) -> pd.DataFrame:
        """Return one row per bag, at full precision.

        Returns
        -------
        DataFrame
            One row per bag: `bag`, `roasted_on` (of most of its shots), `n_shots`,
            `n_with_age`, `n_typed`, `first_age_d`, `last_age_d`, `frozen_d`, `n_freezes`,
            `opened_on`, `opened_at_age_d`, `unknown` (the reasons as text).
        """
        return pd.DataFrame(
            {
                "bag": [each.bag for each in self.bags],
                "roasted_on": _as_column([each.roasted_on for each in self.bags]),
                "n_shots": [each.n_shots for each in self.bags],
                "n_with_age": [each.n_with_age for each in self.bags],
                "n_typed": [each.n_typed for each in self.bags],
                "first_age_d": [each.first_age_d for each in self.bags],
                "last_age_d": [each.last_age_d for each in self.bags],
                "frozen_d": [each.frozen_d for each in self.bags],
                "n_freezes": [each.n_freezes for each in self.bags],
                "opened_on": _as_column([each.opened_on for each in self.bags]),
                "opened_at_age_d": [each.opened_at_age_d for each in self.bags],
                "unknown": [listing(each.reasons) for each in self.bags],
            }
        )

    def display_frame(self) -> pd.DataFrame:
        """Return one row per bag as text.

        Returns
        -------
        DataFrame
        """
        return pd.DataFrame(
            {
                "bag": [bag_words(each.bag) for each in self.bags],
                "shots": [f"{each.n_shots:,}" for each in self.bags],
                "with age": [f"{each.n_with_age:,}" for each in self.bags],
                "age (d)": [span_of(each.first_age_d, each.last_age_d) for each in self.bags],
                "frozen (d)": [span_of(each.frozen_d, each.frozen_d) for each in self.bags],
                "roasted on": [day_words(each.roasted_on) for each in self.bags],
                "opened on": [day_words(each.opened_on) for each in self.bags],
            }
        )


def roast_ages(shots: pd.DataFrame, *, bag: str = "", bench: Bench | None = None) -> RoastAges:
    """Return how old the coffee of each bag was, and why some ages are not known.

    Parameters
    ----------
    shots : DataFrame
        One row per shot; any of the glossary's columns may be absent. Where `roast_age_d`
        is missing, an age is worked out from the days of the row.
    bag : str
        Code of the one bag meant; empty for all of them.
    bench : Bench or None
        What it lists of bags counts beside what the rows say.

    Returns
    -------
    RoastAges

    Raises
    ------
    UnknownNameError
        If no shot comes from the bag that was asked for.

    Notes
    -----
    The age is the day of the pull less that of the roast and less the days frozen in between,
    those of every freeze that the bench or any row of the bag states.
    A shot without one has a reason, never an age of zero.

    Examples
    --------
    >>> days = pd.to_datetime(["2026-10-20", "2026-10-27", None])
    >>> shots = pd.DataFrame({"bag": "bag-21", "pulled_on": days})
    >>> shots["roasted_on"] = pd.Timestamp("2026-10-16")
    >>> found = roast_ages(shots)
    >>> print(found.sentences[0])
    2 of 3 shots of bag-21 have a roast age, 4 to 11 days.
    >>> [str(each) for each in found.dropped]
    ['1 shot without a day of the pull']
    """
    aged = _aged(shots, bench or Bench())
    if bag:
        known = aged["bag"].unique().tolist()
        if bag not in known:
            raise UnknownNameError(f"no shot comes from the bag {bag}; {nearest(bag, known)}")
        aged = aged[aged["bag"] == bag]
    columns = {str(name): _values(aged[name]) for name in aged}
    parts = aged.groupby("bag", sort=False).indices
    bags = tuple(
        _bag_ages(str(name), {column: values[parts[name]] for column, values in columns.items()})
        for name in aged["bag"].unique()
    )
    return RoastAges(
        n_shots=sum(each.n_with_age for each in bags),
        dropped=tuple(Dropped(n, reason) for reason, n in _all_unknown(bags).items()),
        cautions=two_roasts(bags),
        sentences=age_sentences(bags),
        bags=bags,
    )


def _all_unknown(bags: Sequence[BagAges]) -> Counter[str]:
    total: Counter[str] = Counter()
    for each in bags:
        total.update(dict(each.unknown))
    return total


def _aged(shots: pd.DataFrame, bench: Bench) -> pd.DataFrame:
    """Return one row per shot: bag, age, days of the bag, and why an age is not known."""
    frame = _dated(shots)
    days = BagDays.of(frame, bench, frame.get("pulled_on"))
    computed = np.where(_is_an_age(days.roast_age_d), days.roast_age_d, np.nan)
    age = _numbers(frame, AGE).fillna(pd.Series(computed, frame.index))
    age = age.where(age >= 0)
    frozen = _numbers(frame, "frozen_d").fillna(pd.Series(days.freezer.by_dates_d, frame.index))
    open_d = _numbers(frame, "open_d").fillna(pd.Series(days.open_d, frame.index))
    reasons = days.missing_reasons()
    why = np.select(list(reasons.values()), list(reasons), NO_AGE)
    return pd.DataFrame(
        {
            "bag": frame["bag"].astype("str").fillna(_NO_BAG) if "bag" in frame else _NO_BAG,
            AGE: age,
            "is_typed": _numbers(frame, f"typed_{AGE}").notna() & np.isnan(computed),
            "frozen_d": frozen,
            "n_freezes": days.freezer.n_stays,
            "open_d": open_d,
            "roasted_on": frame.get("roasted_on", pd.Series(pd.NaT, frame.index)),
            "opened_on": frame.get("opened_on", pd.Series(pd.NaT, frame.index)),
            "reason": np.where(age.isna(), why, ""),
        },
        index=frame.index,
    )


def _dated(shots: pd.DataFrame) -> pd.DataFrame:
    """Return a table with its days as days; a moment gives the day where none is said."""
    frame = shots.reset_index(drop=True)
    if "pulled_on" not in frame and "pulled_at" in frame:
        frame = frame.assign(pulled_on=frame["pulled_at"])
    made = {name: _as_days(frame[name]) for name in _DAYS if name in frame}
    if "frozen_d" in frame and "typed_frozen_d" not in frame:
        made["typed_frozen_d"] = _numbers(frame, "frozen_d")
    return frame.assign(**made)


def _as_days(column: pd.Series) -> pd.Series:
    """Return the days in a column, missing where it holds something else."""
    is_moment = isinstance(column.dtype, pd.DatetimeTZDtype)
    told = column.dt.tz_localize(None) if is_moment else column
    if told.dtype.kind != "M":
        is_written = told.map(lambda cell: isinstance(cell, str | date)).astype(bool)
        told = told.astype("object").where(is_written).astype("str")
    return pd.to_datetime(told, errors="coerce", format="ISO8601").dt.normalize()


def _values(column: pd.Series) -> np.ndarray:
    """Return the cells of a column, days to the day."""
    kind = column.dtype.kind
    values: np.ndarray = column.to_numpy(dtype="datetime64[D]" if kind == "M" else None)
    return values


def _numbers(frame: pd.DataFrame, name: str) -> pd.Series[float]:
    if name not in frame:
        return pd.Series(np.nan, index=frame.index)
    return pd.to_numeric(frame[name], errors="coerce").astype(float)


def _is_an_age(days: np.ndarray) -> np.ndarray:
    hard = quantity(AGE).hard
    inside: np.ndarray = (days >= hard.low) & (days <= hard.high)
    return inside


def _bag_ages(name: str, part: Mapping[str, np.ndarray]) -> BagAges:
    """Return what there is to say of one bag."""
    ages = part[AGE]
    known = ages[~np.isnan(ages)]
    frozen, n_freezes = _frozen(part)
    opened_on, opened_at_age_d = _opening(part)
    reasons = Counter(part["reason"][np.isnan(ages)].tolist())
    return BagAges(
        bag=name,
        n_shots=len(ages),
        n_with_age=len(known),
        n_typed=int((part["is_typed"] & ~np.isnan(ages)).sum()),
        first_age_d=float(known.min()) if len(known) else math.nan,
        last_age_d=float(known.max()) if len(known) else math.nan,
        frozen_d=frozen,
        opened_on=opened_on,
        opened_at_age_d=opened_at_age_d,
        roasts=_counted(part["roasted_on"]),
        unknown=tuple(reasons.most_common()),
        n_freezes=n_freezes,
    )


def _frozen(part: Mapping[str, np.ndarray]) -> tuple[float, int]:
    """Return the most days frozen of any shot, and how many stays in the freezer they are."""
    days = part["frozen_d"]
    if np.isnan(days).all():
        return math.nan, 0
    most = int(np.nanargmax(days))
    return float(days[most]), int(part["n_freezes"][most])


def _counted(days: np.ndarray) -> tuple[tuple[date, int], ...]:
    """Return each day with how many shots say it, the earliest first."""
    known, counts = np.unique(days[~np.isnat(days)], return_counts=True)
    return tuple(zip(known.tolist(), counts.tolist(), strict=True))


def _opening(part: Mapping[str, np.ndarray]) -> tuple[date | None, float]:
    """Return the day most shots say a bag was opened, and its roast age then."""
    opened, since = part["opened_on"], part[AGE] - part["open_d"]
    in_order = ~np.isnat(opened) & ~np.isnan(since)
    days = _counted(opened[in_order] if in_order.any() else opened)
    if not days:
        return None, math.nan
    day = max(days, key=lambda each: each[1])[0]
    then = since[in_order & (opened == np.datetime64(day, "D"))]
    return day, float(np.median(then)) if len(then) else math.nan


def _as_column(days: Sequence[date | None]) -> pd.Series:
    return pd.Series(np.array(days, dtype="datetime64[s]"))
