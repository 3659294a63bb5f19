"""What services did to the use of earlier bags: new scales, and bags that ended before one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.ageing.breaks.dated_events import dated_events

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

__all__ = ["ended_before_service", "on_one_scale"]


def on_one_scale(shots: pd.DataFrame, whole: pd.DataFrame) -> tuple[pd.DataFrame, str]:
    """Return the shots whose settings are on the scale the grinder has now.

    Parameters
    ----------
    shots : DataFrame
        Shots to use, each with its code.
    whole : DataFrame
        One row per shot of the grinder, warm-ups and failures too.

    Returns
    -------
    shots : DataFrame
    rescaled : str
        Event that they are since, such as new burrs; empty where all are on one scale.

    Examples
    --------
    >>> import pandas as pd
    >>> whole = pd.DataFrame({"shot": ["1", "2"], "serviced": [None, "new burrs"]})
    >>> kept, rescaled = on_one_scale(whole, whole)
    >>> kept["shot"].tolist(), rescaled
    (['2'], 'the service “new burrs” before shot 2')
    """
    stretch, happened = dated_events(whole)
    changes = [number for number, event in enumerate(happened, 1) if event.rescales]
    if not changes:
        return shots, ""
    since = set(whole.loc[stretch >= changes[-1], "shot"])
    kept = shots[shots["shot"].isin(since)].reset_index(drop=True)
    return kept, happened[changes[-1] - 1].name


def ended_before_service(whole: pd.DataFrame, bags: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    """Return the last service that left the scale alone, and the bags that ended before it.

    Parameters
    ----------
    whole : DataFrame
        One row per shot of the grinder, warm-ups and failures too.
    bags : sequence of str
        Codes of the bags to look at.

    Returns
    -------
    service : str
        In words; empty where there is none.
    bags : tuple of str

    Examples
    --------
    >>> import pandas as pd
    >>> whole = pd.DataFrame({"shot": ["1", "2", "3"], "bag": ["a", "b", "b"]})
    >>> whole["serviced"] = [None, None, "descaled"]
    >>> ended_before_service(whole, ["a", "b"])
    ('the service “descaled” before shot 3', ('a',))
    """
    stretch, happened = dated_events(whole)
    served = [n for n, event in enumerate(happened, 1) if event.served and not event.rescales]
    if not served or "bag" not in whole:
        return "", ()
    ends = stretch.groupby(whole["bag"]).max()
    before = tuple(bag for bag in bags if ends.get(bag, served[-1]) < served[-1])
    return happened[served[-1] - 1].name, before
