"""What a stretch between two services is called: by the service that began or ended it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.ageing.breaks.dated_events import dated_events
from yieldwright.formatting import clip, visible
from yieldwright.taste.words.phrases import level_phrase

if TYPE_CHECKING:
    from collections.abc import Hashable

    import pandas as pd

__all__ = ["stretch_name", "stretch_short"]

SERVICE = "service_stretch"


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
