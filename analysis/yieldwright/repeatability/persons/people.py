"""People who pull, compared in level and spread on equal footing, and never ranked by chance."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, ClassVar

import pandas as pd
from scipy import special

from yieldwright.cautions import gravest_first
from yieldwright.errors import OutOfRangeError
from yieldwright.formatting import interval, number
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.spreads.ratios import smallest_sd_ratio
from yieldwright.repeatability.persons.people_cautions import cautions_of
from yieldwright.repeatability.persons.people_column import (
    require_differences,
    require_numbers,
)
from yieldwright.repeatability.persons.people_few import (
    FEW_COLUMNS,
    few_sentence,
    pulls_of,
)
from yieldwright.repeatability.persons.people_footing import Footing, footing_of
from yieldwright.repeatability.persons.people_judged import figures_of
from yieldwright.repeatability.persons.people_misses import (
    MISS_COLUMNS,
    failures_by_person,
    misses_of_people,
)
from yieldwright.repeatability.persons.people_tied import person_words
from yieldwright.repeatability.persons.people_words import (
    sentences_of,
    unequal_sentence,
    unit_words,
)
from yieldwright.repeatability.spread.likeness import ENOUGH
from yieldwright.repeatability.spread.spread_texts import figure, span
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.repeatability.failing.failures import FailureRates
    from yieldwright.repeatability.persons.people_figures import Figures
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["PAIR_COLUMNS", "PEOPLE_COLUMNS", "People", "compare_people", "smallest_ratio"]

#: Columns of a table of people.
PEOPLE_COLUMNS = (
    "person",
    "n_shots",
    "plain_mean",
    "mean",
    "mean_low",
    "mean_high",
    "sd",
    "df",
    "sd_low",
    "sd_high",
    "robust_low",
    "robust_high",
)

#: Columns of a table of pairs; differences and ratios are of the first to the second.
PAIR_COLUMNS = (
    "first",
    "second",
    "difference",
    "difference_low",
    "difference_high",
    "p_value",
    "p_holm",
    "ratio",
    "ratio_low",
    "ratio_high",
    "p_ratio",
    "p_ratio_holm",
    "robust_low",
    "robust_high",
    "p_robust_holm",
    "sd_difference",
    "sd_difference_low",
    "sd_difference_high",
    "refused",
)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class People(Result):
    """How the shots of several people lie and differ, on equal footing.

    Attributes
    ----------
    of : str
        Column compared.
    set_name : str
        Bag and grinder in words.
    unit : str
        Unit of differences, in words.
    people : DataFrame
        One row per person in the order of their codes: shots; mean as pulled; mean with
        everything allowed for at the average of the log, with its t interval; standard
        deviation, degrees of freedom and chi-square interval; the interval that allows
        for long tails. [unit of `of`]
    pairs : DataFrame
        One row per pair: difference of levels, ratio and difference of standard
        deviations, each with interval and p-value, by itself and after Holm; why a pair is
        not compared in something (`refused`).
    misses : DataFrame
        One row per person and target of the recipe: mean absolute miss with its interval.
    few : DataFrame
        One row per person who is named in the log and has too few shots to be compared.
    failures : FailureRates or None
        How many pulls of each person failed; None where the log does not say.
    allowed_for : tuple of str
        Columns held equal in levels.
    smallest : float
        Ratio of standard deviations from which on the F test would show one in the direction
        seen, all pairs counted; missing where no two spreads are known.
    """

    drawing: ClassVar[str] = "people_lanes"

    of: str
    set_name: str = ""
    unit: str = ""
    people: pd.DataFrame
    pairs: pd.DataFrame
    misses: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(MISS_COLUMNS)))
    few: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(FEW_COLUMNS)))
    failures: FailureRates | None = None
    allowed_for: tuple[str, ...] = ()
    smallest: float = math.nan

    @property
    def title(self) -> str:
        """What was compared."""
        return f"People compared in {column_label(self.of)}"

    @property
    def left_out(self) -> str:
        """Who is not compared for want of shots; empty where nobody is left out."""
        return few_sentence(self.few)

    @property
    def differences(self) -> tuple[str, ...]:
        """Sentences on those who are compared, levels before spreads."""
        return tuple(each for each in self.sentences[1:] if each != self.left_out)

    def to_frame(self) -> pd.DataFrame:
        """Return the people at full precision."""
        return self.people

    def display_frame(self) -> pd.DataFrame:
        """Return the people as text.

        Returns
        -------
        DataFrame
            One row per person: shots, level and spread, each with its interval, the
            interval alone where repeats are few; whoever is not compared comes last.
        """
        rows = [_shown(row) for row in self.people.to_dict("records")]
        return pd.DataFrame([*rows, *map(_not_compared, self.few.to_dict("records"))])


def compare_people(
    comparable: ComparableSet, of: str, *, bench: Bench, pulls: pd.DataFrame | None = None
) -> People | None:
    """Return how several people compare in one outcome, on equal footing.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    of : str
        Column compared, such as `ey_pct`, `time_s`, `beverage_g` or `score:overall`.
    bench : Bench
        Whose recipe is aimed at.
    pulls : DataFrame or None
        Every shot of the log, failures included, where failures are to be counted.

    Returns
    -------
    People or None
        None where fewer than two people pulled 3 shots or more.

    Raises
    ------
    UnknownNameError
        If the shots have no such column.
    RoleError
        If the column holds no numbers, or one and the same in all shots of a session, or times
        of which no two people share a start.

    Notes
    -----
    Sessions and what was set before the pull (grind, band, targets, screen, paper,
    machine, basket, water) are held equal, as far as the shots afford; what a hand does
    while it pulls is its own. Where a person is tied to a setting or day, the pair is
    refused. Spreads are ranked only where the F test and the one that allows for long
    tails both exclude equality after Holm's rule.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> times = [36.0, 33, 38, 37, 34, 36, 35, 37, 36, 36]
    >>> shots = pd.DataFrame({"barista": ["p1", "p2"] * 5, "time_s": times})
    >>> found = compare_people(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> found.people["sd"].round(2).tolist()
    [1.48, 1.64]
    """
    require_numbers(comparable.shots, of)
    here = pulls_of(pulls, comparable)
    footing = footing_of(comparable, of, pulls=here)
    if footing is None:
        return None
    require_differences(comparable.shots, of)
    values = footing.shots[of].to_numpy(dtype=float)
    figures = figures_of(footing, values)
    found = People(
        of=of,
        set_name=comparable.name,
        unit=unit_words(of, bench),
        people=_people_table(figures),
        pairs=_pair_table(footing, figures),
        misses=misses_of_people(footing.shots, bench=bench),
        few=footing.few,
        failures=failures_by_person(here),
        allowed_for=footing.held_equal,
        smallest=_smallest(figures),
        n_shots=len(values),
        dropped=(*comparable.excluded, *footing.dropped),
    )
    return replace(
        found,
        sentences=tuple(sentences_of(found, figures, footing=footing)),
        cautions=gravest_first(cautions_of(footing, figures, bench=bench)),
    )


def smallest_ratio(n_first: int, n_second: int, *, pairs: int = 1) -> float:
    """Return the ratio of two standard deviations from which on a log would show it.

    Parameters
    ----------
    n_first, n_second : int
        Shots of the two people. [count]
    pairs : int
        Pairs looked at, which the first of Holm's tests counts. [count]

    Returns
    -------
    float
        Of the larger to the smaller. [1]

    Raises
    ------
    OutOfRangeError
        If somebody has fewer than two shots, or there is no pair.

    Examples
    --------
    >>> [round(smallest_ratio(n, n), 2) for n in (10, 20, 30)]
    [2.01, 1.59, 1.45]
    """
    if min(n_first, n_second) < 2 or pairs < 1:
        raise OutOfRangeError(
            f"two shots of each and one pair are the least; got {n_first}, {n_second} and {pairs}"
        )
    return smallest_sd_ratio(n_first - 1, n_second - 1, level=1 - (1 - LEVEL) / pairs)


def _people_table(figures: Figures) -> pd.DataFrame:
    rows = [
        (each.person, each.n_shots, each.plain_mean, each.level.estimate, each.level.ci_low,
         each.level.ci_high, each.sd, each.df, each.sd_low, each.sd_high, each.robust_low,
         each.robust_high)
        for each in figures.people
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(PEOPLE_COLUMNS))


def _pair_table(footing: Footing, figures: Figures) -> pd.DataFrame:
    rows = []
    for pair in figures.pairs:
        level, refused = pair.level, footing.refused.get((pair.first, pair.second))
        told = (level.estimate, level.ci_low, level.ci_high, level.p_value, level.p_holm)
        spread: tuple[float, ...] = (math.nan,) * 11
        if (each := pair.spread) is not None:
            spread = (
                each.ratio.ratio, each.ratio.low, each.ratio.high, each.ratio.p_value,
                each.p_holm, each.robust.low, each.robust.high, each.robust_p_holm,
                each.difference, each.difference_low, each.difference_high,
            )  # fmt: skip
        why = refused.sentence if refused else unequal_sentence(footing)
        rows.append((pair.first, pair.second, *told, *spread, why))
    return pd.DataFrame(rows, columns=list(PAIR_COLUMNS))


def _smallest(figures: Figures) -> float:
    """Return the least ratio, of the larger SD to the smaller, that any pair had to show."""
    dfs = {each.person: each.df for each in figures.people}
    seen = []
    for pair in figures.pairs:
        if pair.spread is not None:
            both = dfs[pair.first], dfs[pair.second]
            seen.append(both if pair.spread.ratio.ratio >= 1 else both[::-1])
    tail = (1 - LEVEL) / 2 / max(len(seen), 1)
    return min((math.sqrt(special.fdtri(*both, 1 - tail)) for both in seen), default=math.nan)


def _shown(row: Mapping[Hashable, Any]) -> dict[str, str]:
    width = (row["mean_high"] - row["mean_low"]) / 2
    return {
        "Who": person_words(row["person"]),
        "Shots": str(row["n_shots"]),
        "Level": number(row["mean"], width),
        "95 % interval": interval(row["mean_low"], row["mean_high"]),
        "SD": figure(row["sd"] if row["df"] >= ENOUGH else math.nan),
        "95 %, SD": _span(row["sd_low"], row["sd_high"]),
        "Long tails": _span(row["robust_low"], row["robust_high"]),
    }


def _not_compared(row: Mapping[Hashable, Any]) -> dict[str, str]:
    heads = ("Level", "95 % interval", "SD", "95 %, SD", "Long tails")
    unknown = dict.fromkeys(heads, number(math.nan))
    return {"Who": person_words(row["person"]), "Shots": str(row["n_shots"]), **unknown}


def _span(low: float, high: float) -> str:
    return number(math.nan) if math.isnan(low) else span(low, high)
