"""Where each shot stands in time: the age of its bag, days frozen, services done."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from yieldwright.simulate.events import Freeze, Service
    from yieldwright.simulate.laws import Bag
    from yieldwright.simulate.truth import Truth

__all__ = ["dated_events", "days_frozen", "is_after", "pulled_days", "roast_age"]


def roast_age(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    """Return the age each shot's bag has reached, days frozen left out.

    Parameters
    ----------
    truth : Truth
        Its bags.
    shots : DataFrame
        One row per shot, with bag and pulled_at.

    Returns
    -------
    Series
        Days since the roast less the days frozen by then. [d]

    Examples
    --------
    >>> from yieldwright.simulate import Truth
    >>> day = pd.Series(pd.to_datetime(["2026-10-26T18:30+01:00"]))
    >>> roast_age(Truth(), pd.DataFrame({"bag": "bag-17", "pulled_at": day})).tolist()
    [10.0]
    """
    roasted = pd.to_datetime(shots["bag"].map({bag.bag: bag.roasted_on for bag in truth.bags}))
    on_shelf = (pulled_days(shots) - roasted).dt.days.astype(float)
    age: pd.Series[float] = on_shelf - days_frozen(truth, shots)
    return age.rename("roast_age_d")


def days_frozen(truth: Truth, shots: pd.DataFrame) -> pd.Series[float]:
    """Return how many days each shot's bag had spent in the freezer by the pull.

    Parameters
    ----------
    truth : Truth
        Its bags.
    shots : DataFrame
        One row per shot, with bag and pulled_at.

    Returns
    -------
    Series
        Whole days. [d]

    Examples
    --------
    >>> from yieldwright.simulate import Truth
    >>> day = pd.Series(pd.to_datetime(["2026-10-26T18:30+01:00"]))
    >>> days_frozen(Truth(), pd.DataFrame({"bag": "bag-17", "pulled_at": day})).tolist()
    [0.0]
    """
    frozen = pd.Series(0.0, index=shots.index, name="frozen_d")
    for bag in truth.bags:
        own = shots["bag"] == bag.bag
        if bag.freezes and own.any():
            frozen[own] = _frozen_by(bag, pulled_days(shots[own]))
    return frozen


def is_after(service: Service, shots: pd.DataFrame) -> pd.Series[bool]:
    """Return which shots were pulled on the day of a service or later.

    Parameters
    ----------
    service : Service
        What was done, and when.
    shots : DataFrame
        One row per shot, with pulled_at.

    Returns
    -------
    Series
        Of bool.

    Examples
    --------
    >>> from datetime import date
    >>> from yieldwright.simulate.events import Service
    >>> days = pd.Series(pd.to_datetime(["2026-10-26T18:30+01:00", "2026-10-28T18:30+01:00"]))
    >>> cleaned = Service("burrs cleaned", date(2026, 10, 28))
    >>> is_after(cleaned, pd.DataFrame({"pulled_at": days})).tolist()
    [False, True]
    """
    return pulled_days(shots) >= pd.Timestamp(service.serviced_on)


def pulled_days(shots: pd.DataFrame) -> pd.Series[pd.Timestamp]:
    """Return the day of each pull, at the bench.

    Parameters
    ----------
    shots : DataFrame
        One row per shot, with pulled_at.

    Returns
    -------
    Series
        Midnights without a zone.

    Examples
    --------
    >>> late = pd.Series(pd.to_datetime(["2026-10-26T23:30+01:00"]))
    >>> pulled_days(pd.DataFrame({"pulled_at": late}))[0].date().isoformat()
    '2026-10-26'
    """
    days: pd.Series[pd.Timestamp] = shots["pulled_at"].dt.tz_localize(None).dt.normalize()
    return days


def dated_events(truth: Truth, shots: pd.DataFrame) -> pd.DataFrame:
    """Return what a log states of openings, freezes and services, one value per shot.

    Parameters
    ----------
    truth : Truth
        Its bags and services.
    shots : DataFrame
        One row per shot in the order of pulling, with bag and pulled_at.

    Returns
    -------
    DataFrame
        Columns of the log, None where there is nothing to state; no column that nobody
        would fill in. A shot before a freeze knows nothing of it, one after several has
        the last; a service stands at the first shot after it.

    Examples
    --------
    >>> from yieldwright.simulate import Truth
    >>> day = pd.Series(pd.to_datetime(["2026-10-26T18:30+01:00"]))
    >>> dated_events(Truth(), pd.DataFrame({"bag": "bag-17", "pulled_at": day})).shape
    (1, 0)
    """
    bags = {bag.bag: bag for bag in truth.bags}
    own = [bags[code] for code in shots["bag"]]
    freezes = list(map(_last_freeze, own, pulled_days(shots)))
    columns: dict[str, list[object]] = {
        "opened_on": [bag.opened_on for bag in own],
        "frozen_on": [freeze and freeze.frozen_on for freeze in freezes],
        "thawed_on": [freeze and freeze.thawed_on for freeze in freezes],
        "serviced": [None] * len(shots),
    }
    for service in truth.services:
        after = is_after(service, shots).to_numpy()
        if after.any():
            columns["serviced"][int(after.argmax())] = service.serviced
    stated = {name: values for name, values in columns.items() if any(values)}
    return pd.DataFrame(stated, index=shots.index, dtype=object)


def _last_freeze(bag: Bag, day: pd.Timestamp) -> Freeze | None:
    """Return the last freeze that began before a day."""
    begun = [each for each in bag.freezes if pd.Timestamp(each.frozen_on) < day]
    return begun[-1] if begun else None


def _frozen_by(bag: Bag, days: pd.Series[pd.Timestamp]) -> pd.Series[float]:
    """Return days frozen by each day; a stretch counts as far as the day has come."""
    frozen = pd.Series(0.0, index=days.index)
    for freeze in bag.freezes:
        so_far = (days - pd.Timestamp(freeze.frozen_on)).dt.days.clip(lower=0)
        if freeze.thawed_on is not None:
            so_far = so_far.clip(upper=(freeze.thawed_on - freeze.frozen_on).days)
        frozen += so_far
    return frozen
