"""Rows of several bags of one grinder, each bag with a level of its own."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from yieldwright.ageing.trend.rows import BESIDE, LEAST_BETWEEN, ROWS_EACH, BagRows, bag_rows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.columns.predictors import Predictor

__all__ = ["rows_of_bags"]

BAG = "bag"


def rows_of_bags(
    comparable: ComparableSet,
    response: str,
    *,
    bench: Bench,
    beside: Sequence[str] = BESIDE,
) -> BagRows:
    """Return rows of several bags with the bag first among what is allowed for.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.
    beside : sequence of str
        Columns to allow for, the weightiest first.

    Returns
    -------
    BagRows
        Of one bag, as `bag_rows` gives them. Where not even the bag can be borne, it is
        among those declined.

    Notes
    -----
    The limits are those of `bag_rows`: what a log can bear beside the age, it must bear
    beside the bags too.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aaabbbcccdddeee"), "time_s": 36.0})
    >>> shots["roast_age_d"] = [5.0] * 3 + [8.0] * 3 + [12.0] * 3 + [6.0] * 3 + [9.0] * 3
    >>> shots["bag"] = ["one"] * 9 + ["two"] * 6
    >>> found = rows_of_bags(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> [each.column for each in found.beside]
    ['bag']
    """
    rows = bag_rows(comparable, response, bench=bench, beside=beside)
    bag = next((each for each in rows.prepared.predictors if each.column == BAG), None)
    if bag is None:
        return rows
    kept: list[Predictor] = []
    declined = list(rows.declined)
    for each in (bag, *rows.beside):
        why = _objection(rows, kept, each)
        if why:
            declined.append((each.column, why))
        else:
            kept.append(each)
    return replace(rows, beside=tuple(kept), declined=tuple(declined))


def _objection(rows: BagRows, kept: Sequence[Predictor], predictor: Predictor) -> str:
    """Return why a column cannot be borne beside those kept, empty where it can."""
    every = [*kept, predictor]
    if rows.grouped and rows.same_in_sessions(predictor.column):
        between = sum(each.width for each in every if rows.same_in_sessions(each.column))
        if rows.n_sessions - 2 - between < LEAST_BETWEEN:
            return "too few sessions"
    groups = rows.n_sessions if rows.n_shots > rows.n_sessions else 1
    taken = sum(each.width for each in every)
    return "" if ROWS_EACH * taken <= rows.n_shots - groups - 1 else "too few shots"
