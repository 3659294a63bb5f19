"""Units, shots and logs as the sentences of a chart call them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import clip, count, number, percent, visible
from yieldwright.glossary import find_quantity

if TYPE_CHECKING:
    from yieldwright.repeatability.charts.watching import Watch

__all__ = ["alarms_in_short", "amount_of", "difference_unit", "like_this", "shot_words", "unit_of"]

#: Characters of a shot's code that a sentence shows.
LONGEST_CODE = 16


def alarms_in_short(found: Watch) -> str:
    """Return how many alarms there are, beside what chance gives on a steady bench.

    Parameters
    ----------
    found : Watch
        A response in the order pulled; one that has a chart.

    Returns
    -------
    str
    """
    chance = "" if found.chances is None else percent(found.chances.of_any)
    if not found.alarms:
        return "No alarm."
    first = found.table["shot"].iloc[min(each.first for each in found.alarms)]
    code = clip(visible(str(first)), LONGEST_CODE)
    told = f"{count(len(found.alarms), 'alarm')}, the first at shot {code}"
    return f"{told}; of steady benches {chance} show one." if chance else f"{told}."


def unit_of(column: str) -> str:
    """Return the unit a level of a column is told in.

    Parameters
    ----------
    column : str
        Canonical name, or `score:` and an attribute.

    Returns
    -------
    str

    Examples
    --------
    >>> unit_of("time_s"), unit_of("ey_pct"), unit_of("score:overall")
    ('s', '%', 'points')
    """
    entry = find_quantity(column)
    if entry is None:
        return "points"
    return "%" if entry.unit.startswith("%") else entry.unit.removeprefix("1")


def difference_unit(found: Watch) -> str:
    """Return the unit a difference of the response is told in.

    Parameters
    ----------
    found : Watch
        Whose response.

    Returns
    -------
    str
    """
    unit = unit_of(found.response)
    return "points" if unit == "%" else unit


def amount_of(found: Watch, value: float, u: float) -> str:
    """Return a value of the response with its unit, if it has one.

    Parameters
    ----------
    found : Watch
        Whose response.
    value, u : float
        The value, and how well it is known. [unit of the response]

    Returns
    -------
    str
    """
    unit = unit_of(found.response)
    return f"{number(value, u)} {unit}".rstrip()


def like_this(found: Watch) -> str:
    """Return which logs a chance speaks of: as long, judged alike.

    Parameters
    ----------
    found : Watch
        Chart and alarms.

    Returns
    -------
    str
    """
    first = f" judged by the first {found.baseline}" if found.baseline < found.n_shots else ""
    return f"of {count(found.n_shots, 'shot')}{first}"


def shot_words(table: pd.DataFrame, row: int, *, until: int | None = None) -> str:
    """Return the name of a shot, or of the first and last of several, with days.

    Parameters
    ----------
    table : DataFrame
        One row per shot: `shot` and `pulled_on`.
    row : int
        Which one.
    until : int or None
        The last of several; None for one.

    Returns
    -------
    str

    Examples
    --------
    >>> table = pd.DataFrame(
    ...     {"shot": ["s1", "s2"], "pulled_on": pd.to_datetime(["2026-05-03"] * 2)}
    ... )
    >>> shot_words(table, 0), shot_words(table, 0, until=1)
    ('shot s1 (2026-05-03)', 'shots s1 to s2 (2026-05-03)')
    """
    last = row if until is None else until
    names = [clip(visible(str(table["shot"].iloc[place])), 24) for place in (row, last)]
    days = [table["pulled_on"].iloc[place] for place in (row, last)]
    told = [day.date().isoformat() for day in days if not pd.isna(day)]
    when = f" ({' to '.join(dict.fromkeys(told))})" if told else ""
    if last == row:
        return f"shot {names[0]}{when}"
    return f"shots {names[0]} to {names[1]}{when}"
