"""The repeats that would tell a named pair apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldwright.errors import RoleError
from yieldwright.taste.columns.predictors import Prepared, Question, prepare
from yieldwright.taste.confounding.separating import (
    SeparatingShot,
    age_next,
    repeats_that_separate,
)
from yieldwright.taste.effects_fit import EntangledPair
from yieldwright.taste.fitting import ADJUSTERS, SETTINGS
from yieldwright.taste.strata.strata import WITHIN, laid_out

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["separating_shot"]


def separating_shot(
    pair: EntangledPair | tuple[str, str],
    comparable: ComparableSet,
    bench: Bench,
    *,
    settings: Sequence[str] = SETTINGS,
    adjusters: Sequence[str] = ADJUSTERS,
) -> SeparatingShot:
    """Return the repeats in one coming session that best tell a pair of columns apart.

    Parameters
    ----------
    pair : EntangledPair or tuple of str
        A pair a fit has named, or two columns: the setting to learn about, and the
        column it went along with.
    comparable : ComparableSet
        Shots of one bag and grinder.
    bench : Bench
        Whose bands and grinder step to use.
    settings, adjusters : sequence of str
        Other columns of the fit the shots are for.

    Returns
    -------
    SeparatingShot

    Raises
    ------
    RoleError
        If one of the pair never varied: then one must change it, not repeat it.

    Notes
    -----
    Candidates are the values of both columns tried so far, at today's roast age. The
    shots are found one after the other, each the one that leaves the least variance of
    the setting's effect, until there are at least 3 and its variance inflation is below
    2.5, or there are 6.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aabbcc"), "ey_pct": 19.0})
    >>> shots["grind_setting"] = [12.0, 12.0, 11.0, 11.0, 10.0, 10.0]
    >>> shots["roast_age_d"] = [6.0, 6.0, 9.0, 9.0, 13.0, 13.0]
    >>> pair = ("grind_setting", "roast_age_d")
    >>> found = separating_shot(pair, ComparableSet("", "", shots), Bench())
    >>> {shot["grind_setting"] for shot in found.shots}
    {12.0}
    """
    if isinstance(pair, EntangledPair):
        if pair.separation is not None:
            return pair.separation
        pair = (pair.first, pair.second)
    prepared = _all_shots(comparable, bench, (*pair, *settings), adjusters)
    varied = {each.column: each for each in prepared.predictors}
    fixed_ones = [column for column in pair if column not in varied]
    if fixed_ones:
        raise RoleError(
            f"{' and '.join(fixed_ones)} never varied in these shots: change it first, a repeat "
            "cannot tell it apart from anything"
        )
    layout = laid_out(prepared)
    inside = sum(each.column in pair for each in layout.inside)
    together = (layout.between, prepared.predictors, layout.inside)[inside]
    age = age_next(comparable)
    dated = math.isfinite(age) and any(each.column == "roast_age_d" for each in together)
    return repeats_that_separate(
        layout.frame,
        together,
        pair,
        blocked=inside == 2 and layout.stratum == WITHIN,
        fixed={"roast_age_d": age} if dated else {},
    )


def _all_shots(
    comparable: ComparableSet, bench: Bench, settings: Sequence[str], adjusters: Sequence[str]
) -> Prepared:
    """Return the rows of a plan, for which it does not matter what the shots came out as."""
    shots = comparable.shots.assign(ey_pct=0.0)
    asked = dict.fromkeys(each for each in settings if each not in adjusters)
    question = Question("ey_pct", bench, tuple(asked), tuple(adjusters))
    return prepare(replace(comparable, shots=shots), question)
