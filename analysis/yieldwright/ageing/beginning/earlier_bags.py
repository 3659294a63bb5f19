"""Which earlier bags the next one is like, each with its own trend."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.beginning.bag_settings import BagSetting, bag_model
from yieldwright.ageing.compared.grinder_shots import in_order
from yieldwright.errors import UnknownNameError
from yieldwright.models.wording import nearest, quoted
from yieldwright.results import Dropped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.trend.model import TrendModel
    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["bag_trend", "bags_of_roast", "youngest_shared_age"]


def bags_of_roast(
    comparable: ComparableSet, roast_level: str
) -> tuple[str, ComparableSet, tuple[Dropped, ...]]:
    """Return a roast level, the shots of bags of it, and the count of the others.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    roast_level : str
        Asked for; empty for that of the bag pulled last.

    Returns
    -------
    roast_level : str
        Empty where the log has none.
    comparable : ComparableSet
    dropped : tuple of Dropped

    Raises
    ------
    UnknownNameError
        If there is no such roast level.

    Examples
    --------
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"bag": ["a", "b"], "roast_level": ["dark", "light"]})
    >>> level, kept, (other,) = bags_of_roast(ComparableSet("", "", shots), "")
    >>> level, kept.bags, str(other)
    ('light', ('b',), '1 shot of another roast level')
    """
    shots = comparable.shots
    known = shots["roast_level"].dropna() if "roast_level" in shots else pd.Series(dtype="str")
    levels = [str(level) for level in known.unique()]
    if roast_level and roast_level not in levels:
        raise UnknownNameError(
            f"no bag of this grinder has roast level {quoted(roast_level)}; "
            f"{nearest(roast_level, levels)}"
        )
    if not levels:
        return "", comparable, ()
    last = in_order(shots)["roast_level"].dropna().iloc[-1]
    level = roast_level or str(last)
    kept = (shots["roast_level"] == level).fillna(value=False)
    others = int((~kept).sum())
    dropped = (Dropped(others, "of another roast level"),) if others else ()
    return level, replace(comparable, shots=shots[kept].reset_index(drop=True)), dropped


def bag_trend(
    comparable: ComparableSet, code: str, *, bench: Bench
) -> tuple[BagSetting, TrendModel | None]:
    """Return the trend of one bag, or why there is none.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder with age and time.
    code : str
        Code of the bag.
    bench : Bench
        Whose grinder step and bands to use.

    Returns
    -------
    setting : BagSetting
        What is known of the bag before an age is asked for.
    model : TrendModel or None

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> bag_trend(ComparableSet("", "", pd.DataFrame({"bag": ["a"]})), "b", bench=Bench())[0].why
    'no age'
    """
    shots = comparable.shots[comparable.shots["bag"] == code].reset_index(drop=True)
    if shots.empty:
        return BagSetting(code, why="no age"), None
    return bag_model(replace(comparable, bag=code, shots=shots), bench=bench)


def youngest_shared_age(models: Sequence[tuple[BagSetting, TrendModel | None]]) -> float:
    """Return the youngest age that most of the bags with a trend were pulled at.

    Parameters
    ----------
    models : sequence of pairs of BagSetting and TrendModel or None
        From `bag_trend`.

    Returns
    -------
    float
        Missing where no bag has a trend. [d]

    Examples
    --------
    >>> youngest_shared_age([])
    nan
    """
    spans = [known.span_d for known, model in models if model is not None]
    youngest = sorted(low for low, _ in spans)
    shared = [sum(low <= age <= high for low, high in spans) for age in youngest]
    return youngest[int(np.argmax(shared))] if shared else math.nan
