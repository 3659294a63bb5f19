"""Which shots a weekend page looks at: the newest days, one bag, or all there is."""

from __future__ import annotations

import datetime as dt
import difflib
from dataclasses import dataclass

import pandas as pd

from yieldwright.errors import UnknownNameError
from yieldwright.formatting import count
from yieldwright.results import Dropped

__all__ = ["DAYS_BEFORE_NEWEST", "ReviewedShots", "choose_shots"]

#: One weekend and the week before it (common practice, no source).
DAYS_BEFORE_NEWEST = 10


@dataclass(frozen=True)
class ReviewedShots:
    """The shots under review, and the rule that chose them.

    Attributes
    ----------
    shots : DataFrame
        One row per reviewed shot, in time order.
    rule : str
        How the shots were chosen, as a sentence.
    first_day, last_day : date or None
        Days of the first and the last reviewed shot, None where no day was logged.
    left_out : tuple of Dropped
        Accepted shots outside the review, counted by reason.
    """

    shots: pd.DataFrame
    rule: str
    first_day: dt.date | None = None
    last_day: dt.date | None = None
    left_out: tuple[Dropped, ...] = ()

    @property
    def n_shots(self) -> int:
        """How many shots are under review."""
        return len(self.shots)


def choose_shots(
    shots: pd.DataFrame,
    *,
    as_of: dt.date | None = None,
    since: dt.date | None = None,
    bag: str | None = None,
    everything: bool = False,
) -> ReviewedShots:
    """Return the shots a weekend page looks at.

    Without options these are the shots of the ten days before the newest one, and the
    newest day itself.

    Parameters
    ----------
    shots : DataFrame
        One row per accepted shot.
    as_of : date or None
        Day the review speaks for; later shots stay out. By default the newest shot's.
    since : date or None
        First day to look at; wins over `everything`.
    bag : str or None
        Look at this bag only.
    everything : bool
        Look at every day.

    Returns
    -------
    ReviewedShots

    Raises
    ------
    UnknownNameError
        If no accepted shot is of this bag.

    Notes
    -----
    A log without days cannot be cut by days: all of it is reviewed, and the rule says so.

    Examples
    --------
    >>> log = pd.DataFrame(
    ...     {"shot": ["a", "b"], "pulled_on": pd.to_datetime(["2026-03-01", "2026-03-20"])}
    ... )
    >>> choose_shots(log, as_of=dt.date(2026, 3, 20)).shots["shot"].tolist()
    ['b']
    """
    of_bag = shots if bag is None else _of_bag(shots, bag)
    ordered = _in_time_order(of_bag)
    days = _days(ordered)
    start = since if since is not None else (None if everything else _ten_days_back(days, as_of))
    keep, left_out = _cut_by_day(days, start=start, end=as_of)
    if bag is not None:
        left_out = (Dropped(len(shots) - len(of_bag), "of another bag, or of none"), *left_out)
    chosen = ordered.loc[keep].reset_index(drop=True)
    first, last = _span(_days(chosen))
    return ReviewedShots(
        shots=chosen,
        rule=_rule(days, start=start, since=since, bag=bag),
        first_day=first,
        last_day=last,
        left_out=tuple(each for each in left_out if each.count),
    )


def _of_bag(shots: pd.DataFrame, bag: str) -> pd.DataFrame:
    """Return the shots of one bag; refuse a bag the log does not hold."""
    bags = shots["bag"] if "bag" in shots else pd.Series(pd.NA, index=shots.index, dtype="str")
    chosen = shots.loc[(bags == bag).fillna(value=False)]
    if chosen.empty:
        known = sorted(bags.dropna().unique())
        near = difflib.get_close_matches(bag, known, n=3) or known[:3]
        offer = f"; the log has {', '.join(near)}" if near else "; the log names no bag"
        raise UnknownNameError(f"no accepted shot is of bag {bag!r}{offer}")
    return chosen


def _in_time_order(shots: pd.DataFrame) -> pd.DataFrame:
    """Return the shots by day, session and position, undated days last.

    Sessions of one day keep the order in which the log names them.
    """
    keys = pd.DataFrame({"day": _days(shots)})
    if "session" in shots:
        keys["session"] = pd.factorize(shots["session"])[0]
    if "position" in shots:
        keys["position"] = shots["position"]
    by = [name for name in ("day", "session", "position") if name in keys]
    return shots.loc[keys.sort_values(by, kind="stable", na_position="last").index]


def _days(shots: pd.DataFrame) -> pd.Series[pd.Timestamp]:
    """Return the day of each shot, missing where none was logged."""
    if "pulled_on" in shots:
        return pd.to_datetime(shots["pulled_on"])
    return pd.Series(pd.NaT, index=shots.index, dtype="datetime64[s]")


def _ten_days_back(days: pd.Series[pd.Timestamp], as_of: dt.date | None) -> dt.date | None:
    known = days.dropna() if as_of is None else days[days <= pd.Timestamp(as_of)]
    if known.empty:
        return None
    newest: dt.date = known.max().date()
    return newest - dt.timedelta(days=DAYS_BEFORE_NEWEST)


def _cut_by_day(
    days: pd.Series[pd.Timestamp], *, start: dt.date | None, end: dt.date | None
) -> tuple[pd.Series[bool], tuple[Dropped, ...]]:
    """Return which shots lie in the days wanted, and why the others do not."""
    late = days > pd.Timestamp.max if end is None else days > pd.Timestamp(end)
    early = days < pd.Timestamp.min if start is None else days < pd.Timestamp(start)
    undated = days.isna() & (start is not None)
    dropped = (
        Dropped(int(early.sum()), f"before {start}"),
        Dropped(int(late.sum()), f"after {end}"),
        Dropped(int(undated.sum()), "without a day"),
    )
    return ~(early | late | undated), dropped


def _span(days: pd.Series[pd.Timestamp]) -> tuple[dt.date | None, dt.date | None]:
    known = days.dropna()
    return (known.min().date(), known.max().date()) if len(known) else (None, None)


def _rule(
    days: pd.Series[pd.Timestamp], *, start: dt.date | None, since: dt.date | None, bag: str | None
) -> str:
    """Return the sentence that says how the shots were chosen."""
    of_bag = f" of bag {bag}" if bag is not None else ""
    if since is not None:
        return f"Reviewed are the shots{of_bag} since {since}."
    if start is None and days.isna().all() and len(days):
        return f"The log states no day, so all its shots{of_bag} are reviewed."
    if start is None:
        return f"Reviewed are all shots{of_bag}."
    span = count(DAYS_BEFORE_NEWEST, "day")
    return f"Reviewed are the shots{of_bag} of the newest day and the {span} before it."
