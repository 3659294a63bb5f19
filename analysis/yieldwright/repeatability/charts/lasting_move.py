"""The one move of the level that would explain most, and how often a steady bench shows one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.formatting import clip, number, p_words, visible
from yieldwright.models.intervals.power import ALPHA
from yieldwright.models.trend.level_shift import LevelShift, find_level_shift
from yieldwright.repeatability.charts.watch_cautions import AGE_STAYS
from yieldwright.repeatability.charts.watch_texts import unit_of
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    import numpy as np

    from yieldwright.repeatability.charts.watching import Watch

__all__ = ["LastingMove", "lasting_move"]

#: Characters of a shot's code that a sentence shows.
LONGEST = 16


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class LastingMove(Result):
    """Where the level of a watched response most likely moved for good, and whether it did.

    Attributes
    ----------
    response : str
        Column watched.
    shift : LevelShift
        The likeliest place, the means on both sides, and the chance of one as clear.
    last_before, first_after : str
        Codes of the shots between which it lies.
    day : str
        Day of the first shot after it; empty where it is not known.
    """

    response: str
    shift: LevelShift
    last_before: str
    first_after: str
    day: str

    @property
    def title(self) -> str:
        """What was looked for."""
        return f"Whether {column_label(self.response)} moved for good"

    @property
    def clear(self) -> bool:
        """Whether a steady bench seldom shows a move as clear."""
        return self.shift.p_value < ALPHA

    def to_frame(self) -> pd.DataFrame:
        """Return the move at full precision.

        Returns
        -------
        DataFrame
            One row: `last_before`, `first_after`, `day`, `mean_before`, `mean_after`,
            `change`, `statistic`, `p_value`.
        """
        each = self.shift
        return pd.DataFrame(
            {
                "last_before": [self.last_before],
                "first_after": [self.first_after],
                "day": [self.day],
                "mean_before": [each.mean_before],
                "mean_after": [each.mean_after],
                "change": [each.change],
                "statistic": [each.statistic],
                "p_value": [each.p_value],
            }
        )


def lasting_move(found: Watch, *, rng: np.random.Generator) -> LastingMove | None:
    """Return the one move of the level that would explain most of a watched series.

    Parameters
    ----------
    found : Watch
        A response in the order pulled, settings taken out.
    rng : Generator
        Source of chance for steady benches to compare with.

    Returns
    -------
    LastingMove or None
        None where there are too few shots to look between.

    Notes
    -----
    Each place that leaves a share of 0.15 on either side is looked at, and the largest F is
    held against the largest of 20,000 steady series as long: looking at every place finds
    something in every log. Where sessions hold several shots, means of sessions are
    looked at, for a session shifts all its shots. What the settings took is not counted.
    Single wild shots and slow drifts are for the charts.

    References
    ----------
    .. [1] Andrews (1993), Econometrica 61, 821: a change whose place is not known.

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.repeatability.charts.watching import watch
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> times = [36.0, 36.4, 35.7, 36.1, 35.9, 36.2, 33.1, 32.8, 33.3, 32.9, 33.0, 33.2]
    >>> shots = pd.DataFrame({"shot": [f"s{n}" for n in range(12)], "time_s": times})
    >>> found = watch(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> move = lasting_move(found, rng=np.random.default_rng(1))
    >>> move.first_after, move.clear
    ('s6', True)
    """
    table = found.table
    if found.missing or table.empty:
        return None
    levels = _levels(table)
    try:
        shift = find_level_shift(levels["level"].to_numpy(dtype=float), rng=rng)
    except (OutOfRangeError, TooFewShotsError):
        return None
    before = str(levels["last"].iloc[shift.place - 1])
    after = str(levels["first"].iloc[shift.place])
    day = table.loc[table["shot"].astype(str) == after, "pulled_on"].iloc[0]
    dated = "" if pd.isna(day) else pd.Timestamp(day).date().isoformat()
    return LastingMove(
        response=found.response,
        shift=shift,
        last_before=before,
        first_after=after,
        day=dated,
        n_shots=len(table),
        sentences=(_sentence(found, shift, before, after, dated),),
    )


def _levels(table: pd.DataFrame) -> pd.DataFrame:
    """Return one row per session with its mean, or per shot where sessions hold one each."""
    names = table["shot"].astype(str)
    whole = pd.DataFrame({"level": table["adjusted"], "first": names, "last": names})
    session = table["session"].astype(str)
    if session.nunique() in (1, len(table)):
        return whole
    stretch = (session != session.shift()).cumsum()
    return whole.groupby(stretch).agg({"level": "mean", "first": "first", "last": "last"})


def _sentence(
    found: Watch, shift: LevelShift, last_before: str, first_after: str, day: str
) -> str:
    label, unit = column_label(found.response), unit_of(found.response)
    size = abs(shift.change)
    tail = f" {unit}" if unit else ""
    means = [number(mean, size / 3) for mean in (shift.mean_before, shift.mean_after)]
    names = [clip(visible(name), LONGEST) for name in (last_before, first_after)]
    when = f" ({day})" if day else ""
    equal = p_words(shift.p_value)
    where = f"between shots {names[0]} and {names[1]}{when}"
    if shift.p_value < ALPHA:
        return (
            f"The level of {label} moved for good, most likely {where}: from {means[0]} to "
            f"{means[1]}{tail} on average ({equal} among all places looked at). Look for what "
            f"changed there{_aged(found)}."
        )
    return (
        f"No lasting move of {label} shows: the likeliest, {where}, is no clearer than a "
        f"steady bench shows by chance ({equal})."
    )


def _aged(found: Watch) -> str:
    """Return that the coffee may be what moved, where its age is not taken out."""
    told = AGE_STAYS in {each.code for each in found.cautions}
    return ", or the coffee aged" if told else ""
