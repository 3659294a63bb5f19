"""What a stretch between two services is called: by the service that began or ended it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.ageing.breaks.dated_events import dated_events
from yieldwright.ageing.trend.state import SERVICE, service_at
from yieldwright.formatting import clip, visible
from yieldwright.taste.words.phrases import level_phrase

if TYPE_CHECKING:
    from collections.abc import Hashable

    import pandas as pd

    from yieldwright.ageing.trend.rows import BagRows

__all__ = ["as_the_bench_is", "service_in_force", "stretch_name", "stretch_short"]


def stretch_name(stretch: Hashable, told_in: pd.DataFrame | None = None) -> str:
    """Return a stretch in words that can follow `as the bench was`.

    Parameters
    ----------
    stretch : hashable
        A level of `service_stretch`, such as `since 2026-05-03`.
    told_in : DataFrame or None
        One row per shot of a whole log, in which the service is told in words.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> shots = pd.DataFrame({"shot": ["1", "2"], "serviced": [None, "burrs cleaned"]})
    >>> shots["pulled_on"] = pd.to_datetime(["2026-05-02", "2026-05-03"])
    >>> stretch_name("since 2026-05-03", shots)
    'since the service “burrs cleaned” on 2026-05-03'
    >>> stretch_name("before 2026-05-03"), stretch_name("since service 2")
    ('before the service on 2026-05-03', 'since service 2')
    """
    side, _, when = str(stretch).partition(" ")
    happened = dated_events(told_in)[1] if told_in is not None else ()
    served = [event for event in happened if event.served and event.day == when]
    if len(served) == 1:
        return f"{side} {served[0].name}"
    return level_phrase(SERVICE, str(stretch)).removeprefix("the shots ")


def service_in_force(rows: BagRows, told_in: pd.DataFrame | None = None) -> str:
    """Return since which service the bench is as it is at the last age, in words.

    Parameters
    ----------
    rows : BagRows
        Rows of one bag.
    told_in : DataFrame or None
        One row per shot of a whole log, in which the service is told in words.

    Returns
    -------
    str
        Empty where no service is taken off.
    """
    stretch = service_at(rows)
    return "" if stretch is None else stretch_name(stretch, told_in)


def as_the_bench_is(since: str) -> str:
    """Return for which state of the bench something is told, as a sentence says it.

    Parameters
    ----------
    since : str
        From `service_in_force`.

    Returns
    -------
    str

    Examples
    --------
    >>> as_the_bench_is("since the service on 2026-05-03")
    'as the bench is since the service on 2026-05-03'
    """
    return f"as the bench is {since}"


def stretch_short(stretch: Hashable) -> str:
    """Return a stretch as a table shows it.

    Parameters
    ----------
    stretch : hashable
        A level of `service_stretch`.

    Returns
    -------
    str

    Examples
    --------
    >>> stretch_short("since 2026-05-03")
    'since 2026-05-03'
    """
    return clip(visible(str(stretch)), 24)
