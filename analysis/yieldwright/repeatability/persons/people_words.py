"""What is said of people compared: nobody stands before another unless the log shows it."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from yieldwright.formatting import count, interval, listing, number, p_words, percent
from yieldwright.glossary import find_quantity, quantity
from yieldwright.repeatability.persons.people_few import NAMED
from yieldwright.repeatability.persons.people_misses import LEAST_MISSES
from yieldwright.repeatability.persons.people_tied import person_words
from yieldwright.repeatability.spread.likeness import ENOUGH
from yieldwright.repeatability.spread.spread_texts import figure, span
from yieldwright.taste.columns.one_start import CLOCKED, shots_of_one_start
from yieldwright.taste.words.phrases import column_noun
from yieldwright.taste.words.wording import column_label, response_words

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.repeatability.failing.failures import FailureRates
    from yieldwright.repeatability.persons.people import People
    from yieldwright.repeatability.persons.people_figures import (
        Figures,
        PairFigures,
        Pooled,
        SpreadPair,
    )
    from yieldwright.repeatability.persons.people_footing import Footing

__all__ = ["sentences_of", "unequal_sentence", "unit_words"]


def unit_words(of: str, bench: Bench) -> str:
    """Return the unit of a difference in words.

    Parameters
    ----------
    of : str
        Column compared.
    bench : Bench
        Whose attributes are scored.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> unit_words("ey_pct", Bench()), unit_words("beverage_g", Bench())
    ('points of yield', 'g')
    """
    unit = response_words(of, bench).unit if find_quantity(of) or ":" in of else ""
    return "" if unit == "1" else unit


def sentences_of(found: People, figures: Figures, *, footing: Footing) -> Iterator[str]:
    """Yield what a comparison of people says in plain words.

    Parameters
    ----------
    found : People
        Tables, in which the figures stand.
    figures : Figures
        Levels and spreads.
    footing : Footing
        What is allowed for in levels and in spreads.

    Yields
    ------
    str
    """
    yield _who(found, figures, footing)
    if found.left_out:
        yield found.left_out
    yield from _levels(found, figures)
    yield from _spreads(found, figures, days=footing.days_alone)
    if unequal := unequal_sentence(footing):
        yield unequal
    for column in found.misses["column"].unique():
        yield f"{_missed(found.misses, column)}{_no_mean(found.misses, column, footing)}."
    if found.failures is not None:
        yield _failed(found.failures)


def unequal_sentence(footing: Footing) -> str:
    """Return why no spreads are told, empty where settings do not stand in the way.

    Parameters
    ----------
    footing : Footing
        What spreads allow for.

    Returns
    -------
    str
    """
    if not footing.unequal_alone:
        return ""
    nouns = listing([column_noun(column) for column in footing.unequal_alone])
    return (
        f"Nobody is ranked by steadiness, and no SD is told: there are too few repeats to take "
        f"{nouns} out of it."
    )


def _who(found: People, figures: Figures, footing: Footing) -> str:
    named = [f"{person_words(each.person)} ({count(each.n_shots, 'shot')})"
             for each in figures.people]  # fmt: skip
    who = listing(named) if len(named) <= NAMED else count(len(named), "person", "people")
    nouns = ["session" if each == "session" else column_noun(each) for each in found.allowed_for]
    lost = "".join(f"; {each} left out" for each in footing.other_start)
    equal = f"{listing(nouns)} held equal" if nouns else "nothing had to be held equal"
    return f"Compared in {column_label(found.of)}, {found.set_name}: {who}; {equal}{lost}."


def _tail(unit: str) -> str:
    return f" {unit}" if unit else ""


def _levels(found: People, figures: Figures) -> Iterator[str]:
    told = [pair for pair in figures.pairs if not math.isnan(pair.level.p_value)]
    clear = [pair for pair in told if pair.level.is_clear]
    for pair in clear:
        yield _level(pair, found.unit)
    if told and not clear:
        widest = max(told, key=lambda pair: pair.level.ci_high - pair.level.ci_low)
        half = (widest.level.ci_high - widest.level.ci_low) / 2
        least = "" if len(told) == 1 else f", {count(len(told), 'pair')} looked at"
        yield (
            f"No difference in level shows{least}; differences are known to within "
            f"{number(half, figures=2)}{_tail(found.unit)} or better."
        )


def _level(pair: PairFigures, unit: str) -> str:
    first, second, level = pair.first, pair.second, pair.level
    low, high = level.ci_low, level.ci_high
    if level.estimate < 0:
        first, second, low, high = second, first, -high, -low
    amount = number(abs(level.estimate), (high - low) / 2)
    return (
        f"Shots of {person_words(first)} lie {amount}{_tail(unit)} above those of "
        f"{person_words(second)} (95 % interval {interval(low, high)})."
    )


def _spreads(found: People, figures: Figures, *, days: bool) -> Iterator[str]:
    known = [each for each in figures.people if each.sd > 0]
    if known and len(known) <= NAMED:
        sds = [_person_with(each.person, each.sd, each.sd_low, each.sd_high, repeats=each.df)
               for each in known]  # fmt: skip
        held = ", days included" if days else ""
        few = f" (no SD below {ENOUGH} repeats)" if min(each.df for each in known) < ENOUGH else ""
        yield (
            f"Spread from shot to shot{held}, SD{_in(found.unit)} with 95 % interval{few}: "
            f"{listing(sds)}."
        )
    told = [(pair, pair.spread) for pair in figures.pairs if pair.spread is not None]
    clear = [(pair, spread) for pair, spread in told if spread.is_clear]
    for pair, spread in clear:
        yield _steadier(pair, spread)
    tailed = [(pair, spread) for pair, spread in told if spread.by_one_test]
    if told and not clear:
        yield from (_by_one_test(pair, spread) for pair, spread in tailed)
        if not tailed:
            yield _unranked(found, figures, len(told))
    if figures.pooled is not None and len(figures.people) > 2:
        yield _together(figures.pooled, found.unit, any_clear=bool(clear))


def _person_with(
    person: str, value: float, low: float, high: float, *, repeats: int, unit: str = ""
) -> str:
    """Return a person with a figure and its limits, or the limits alone of a few repeats."""
    who, limits = person_words(person), span(low, high)
    if repeats < ENOUGH:
        return f"{who} {limits}{_tail(unit)}"
    return f"{who} {figure(value)}{_tail(unit)} ({limits})"


def _in(unit: str) -> str:
    return f" in {unit}" if unit else ""


def _steadier(pair: PairFigures, spread: SpreadPair) -> str:
    steady, wide, times = _times_as_large(pair, spread)
    return f"{steady} is steadier: the SD of {wide} is {times}."


def _times_as_large(pair: PairFigures, spread: SpreadPair) -> tuple[str, str, str]:
    """Return the steadier of two people, the other, and how many times their SD is as large."""
    wide, steady, ratio = pair.first, pair.second, spread.ratio.ratio
    low, high = spread.ratio.low, spread.ratio.high
    if ratio < 1:
        wide, steady, ratio, low, high = steady, wide, 1 / ratio, 1 / high, 1 / low
    times = f"{figure(ratio)} times as large (95 % interval {span(low, high)})"
    return person_words(steady), person_words(wide), times


def _by_one_test(pair: PairFigures, spread: SpreadPair) -> str:
    steady, wide, times = _times_as_large(pair, spread)
    return (
        f"By the F test the SD of {wide} is {times}, but that test trusts that no shot lies far "
        f"out; the one that allows for long tails does not tell {wide} from {steady}, so neither "
        "is ranked."
    )


def _unranked(found: People, figures: Figures, n_pairs: int) -> str:
    dfs = [each.df for each in figures.people if not math.isnan(each.sd)]
    repeats = f"{min(dfs)} to {max(dfs)} repeats" if min(dfs) < max(dfs) else f"{dfs[0]} repeats"
    among = f" among {n_pairs} pairs" if n_pairs > 1 else ""
    way = " the way they do here" if min(dfs) < max(dfs) else ""
    return (
        f"The log cannot rank them by steadiness: with {repeats} each, two SDs{among} must "
        f"differ{way} by a factor of {number(found.smallest, figures=2)} or more before it shows."
    )


def _together(pooled: Pooled, unit: str, *, any_clear: bool) -> str:
    if pooled.p_value < 0.05:
        rank = "" if any_clear else ", but not who differs from whom"
        return f"Taken together their spreads differ ({p_words(pooled.p_value)}){rank}."
    return (
        f"Taken together no difference in spread shows ({p_words(pooled.p_value)}); one SD "
        f"for all is {figure(pooled.sd)}{_tail(unit)} (95 % interval "
        f"{span(pooled.sd_low, pooled.sd_high)}, {pooled.df:.0f} repeats)."
    )


def _missed(misses: pd.DataFrame, column: str) -> str:
    rows = misses[misses["column"] == column].to_dict("records")
    unit = quantity(column).unit
    target = rows[0]["target"]
    aim = f" of {target:g} {unit}" if not math.isnan(target) else ""
    told = [_miss(row, unit) for row in rows[:NAMED]]
    few = min(row["n_shots"] for row in rows) <= ENOUGH
    alone = f" (no mean below {ENOUGH + 1} shots)" if few else ""
    who = listing(told + _further(len(rows)))
    return f"Mean miss of the {column_noun(column)}{aim}, 95 % interval{alone}: {who}"


def _no_mean(misses: pd.DataFrame, column: str, footing: Footing) -> str:
    """Return of whom no miss is told, and why; empty where nobody is compared without one."""
    told = set(misses.loc[misses["column"] == column, "person"])
    named = [person_words(each) for each in footing.people if each not in told]
    if not named:
        return ""
    who = listing(named) if len(named) <= NAMED else count(len(named), "person", "people")
    same = " of one start" if _several_starts(footing, column) else ""
    return f"; {who} under {LEAST_MISSES} shots{same}"


def _several_starts(footing: Footing, column: str) -> bool:
    """Return whether some shots are left out of a time because they have another start."""
    others = footing.other_start or shots_of_one_start(footing.shots, column)[1]
    return column in CLOCKED and bool(others)


def _miss(row: Mapping[Hashable, Any], unit: str) -> str:
    low, high = row["ci_low"], row["ci_high"]
    if math.isnan(low):
        return f"{person_words(row['person'])} {figure(row['miss'])} {unit} in every shot"
    return _person_with(
        row["person"], row["miss"], low, high, repeats=row["n_shots"] - 1, unit=unit
    )


def _further(n_people: int) -> list[str]:
    """Return how many people are not named, as one more item of a list; empty where all are."""
    return [count(n_people - NAMED, "other")] if n_people > NAMED else []


def _failed(failures: FailureRates) -> str:
    rows = failures.rates.to_dict("records")
    told = [
        f"{person_words(str(row['barista']))} {row['n_failed']:.0f} of {row['n_shots']} "
        f"({percent(row['ci_low'])} to {percent(row['ci_high'])})"
        for row in rows[:NAMED]
    ]
    return f"Failed pulls, with 95 % interval of the share: {listing(told + _further(len(rows)))}."
