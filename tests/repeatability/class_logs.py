"""Invented shots of a class: who pulled what, on which day, in which time."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import pandas as pd

from yieldwright.bench import Bench, Recipe
from yieldwright.taste.columns.comparable import ComparableSet

#: A bench that states what it aims at.
BENCH = Bench(recipe=Recipe(beverage_g=36.0, time_s=36.0), stated=frozenset({"recipe"}))


def class_shots(
    sds: Sequence[float] = (1.0, 1.0),
    *,
    sessions: int = 4,
    each: int = 4,
    grinds: Sequence[float] = (11.0,),
    levels: Sequence[float] | None = None,
    seed: int = 3,
) -> pd.DataFrame:
    """Return shots of several people, each as often as the others in every session."""
    rng = np.random.default_rng(seed)
    days = rng.normal(0, 2.0, sessions)
    rows = []
    for session, person, turn in product(range(sessions), range(len(sds)), range(each)):
        grind = grinds[turn % len(grinds)]
        level = 36.0 + (levels[person] if levels else 0.0)
        time_s = level + days[session] - 2 * (grind - 11) + sds[person] * rng.normal()
        rows.append((f"p{person + 1}", f"day {session + 1}", 5.0 + 3 * session, grind, time_s))
    names = ["barista", "session", "roast_age_d", "grind_setting", "time_s"]
    return pd.DataFrame(rows, columns=names)


def in_set(shots: pd.DataFrame, *, bag: str = "bag-1") -> ComparableSet:
    """Return shots as a set of one bag and grinder."""
    return ComparableSet(bag, "mill", shots)


def course_shots(
    weeks: int = 6, *, each: int = 4, falling: float = 0.0, bags: str = "", seed: int = 4
) -> pd.DataFrame:
    """Return one person's shots, one session a week, the spread falling by a share of itself."""
    rng = np.random.default_rng(seed)
    rows = []
    for week, _ in product(range(weeks), range(each)):
        day = pd.Timestamp("2026-03-01") + pd.Timedelta(days=7 * week)
        sd = 3.0 * (1 - falling) ** week
        bag = bags[week] if bags else "a"
        rows.append(("s1", f"day {week + 1}", day, bag, 11.0, 36 + sd * rng.normal()))
    names = ["barista", "session", "pulled_on", "bag", "grind_setting", "time_s"]
    return pd.DataFrame(rows, columns=names)


def in_bags(shots: pd.DataFrame) -> list[ComparableSet]:
    """Return shots as one set a bag."""
    return [in_set(part, bag=str(bag)) for bag, part in shots.groupby("bag")]
