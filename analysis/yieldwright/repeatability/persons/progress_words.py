"""What is said of one person over the weeks, and of the coffee that changed meanwhile."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from yieldwright.cautions import Caution
from yieldwright.formatting import MINUS, count, listing, number, p_words, signed
from yieldwright.glossary import quantity
from yieldwright.repeatability.persons.people_few import NAMED
from yieldwright.repeatability.persons.people_figures import CLEAR
from yieldwright.repeatability.persons.people_tied import person_words
from yieldwright.taste.words.phrases import column_noun
from yieldwright.taste.words.wording import column_label, signed_span

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.repeatability.persons.progress import Progress

__all__ = ["LEAST_SESSIONS", "about_the_coffee", "coffee_refusal", "not_followed", "sentences_of",
           "too_few", "verdict_of"]  # fmt: skip

#: Sessions with repeats that a trend needs.
LEAST_SESSIONS = 3

#: Repeats that a trend needs, beside one for the level of each further bag. With 3 against 3
#: an SD must change fourfold before an F test shows it (the root of 15.4, F tables).
LEAST_REPEATS = 6

#: Days of ageing over which a bag counts as another coffee (common practice, no source).
AGED_D = 7.0

_CONTROL = (
    "Freeze part of one bag in single doses and pull 3 shots of it every week: they tell the "
    "hand from the coffee."
)


def sentences_of(found: Progress) -> Iterator[str]:
    """Yield what the weeks of one person say in plain words.

    Parameters
    ----------
    found : Progress
        Weeks and trends.

    Yields
    ------
    str
    """
    if found.missing:
        yield found.missing
        yield from _other_start(found)
        return
    yield _spread(found)
    yield from _other_start(found)
    told = [row for row in found.misses.to_dict("records") if not row["missing"]]
    yield from (_miss(row, found.n_tests) for row in told)
    yield from _no_miss(found.misses)
    if found.n_tests > 1:
        yield (
            f"{found.n_tests} changes over the weeks were tested: one is told as such where "
            "Holm’s rule for all of them leaves it; each 95 % interval stands for itself."
        )


def _other_start(found: Progress) -> Iterator[str]:
    """Yield which shots are left out because their clock was started at another moment."""
    who = person_words(found.barista)
    yield from (f"Left out of what is told of {who}: {lost}." for lost in found.other_start)


def too_few(found: Progress, sessions: pd.DataFrame) -> str:
    """Return why the repeats of one person bear no trend, by their layout; empty where they do.

    Parameters
    ----------
    found : Progress
        Weeks, repeats and sessions.
    sessions : DataFrame
        One row per session with a repeat.

    Returns
    -------
    str
    """
    days, bags = sessions["when"].nunique(), sessions["set"].nunique()
    who, needed = person_words(found.barista), LEAST_REPEATS + bags - 1
    if min(found.n_sessions, days) < LEAST_SESSIONS:
        return (
            f"A trend needs {LEAST_SESSIONS} sessions on different days in which {who} pulled at "
            f"least two shots alike; the log holds {days}."
        )
    if found.n_repeats < needed:
        over = f" over {bags} bags or grinders" if bags > 1 else ""
        return (
            f"A trend{over} needs {needed} repeats of like shots, and {who} pulled "
            f"{found.n_repeats} in {count(found.n_sessions, 'session')}: from fewer even a spread "
            "that changes fourfold does not show."
        )
    return ""


def not_followed(found: Sequence[Progress]) -> str:
    """Return who cannot be followed over the weeks, and why the first of them cannot.

    Parameters
    ----------
    found : sequence of Progress
        People without a trend.

    Returns
    -------
    str
        Empty where there are none.
    """
    if not found:
        return ""
    others = [person_words(each.barista) for each in found[1:]]
    who = listing(others) if len(others) <= NAMED else count(len(others), "other")
    return f"{found[0].missing} Nor can {who} be followed." if others else found[0].missing


def verdict_of(found: Progress) -> str:
    """Return the trend, or why there is none, in one short line.

    Parameters
    ----------
    found : Progress
        Weeks and trend.

    Returns
    -------
    str
    """
    if found.missing:
        return found.missing.partition(":")[0]
    doubt = ""
    if not found.p_holm < CLEAR and not found.change_low <= 0 <= found.change_high:
        doubt = f", not clear among {count(found.n_tests, 'test')}"
    return f"{_percent(found.change)} a week (95 % interval {_span(found)}){doubt}"


def _spread(found: Progress) -> str:
    basis = (
        f"{count(found.n_repeats, 'repeat')} of like shots in "
        f"{count(found.n_sessions, 'session')}, week {found.weeks['week'].min()} to "
        f"{found.weeks['week'].max()}"
    )
    what = f"{person_words(found.barista)}’s SD in {column_label(found.of)}"
    if not found.p_holm < CLEAR:
        seen = _unclear(found.change_low, found.change_high, found.p_holm, found.n_tests)
        return (
            f"No change of {what} {seen}: {_percent(found.change)} a week (95 % interval "
            f"{_span(found)}; {basis})."
        )
    verb = "fell" if found.change < 0 else "rose"
    return (
        f"{what} {verb} by {number(100 * abs(found.change), figures=2)} % a week (95 % interval "
        f"{_span(found)}; {basis})."
    )


def _unclear(low: float, high: float, p_holm: float, n_tests: int) -> str:
    """Return that a change does not show, or not where all tests are counted."""
    if low <= 0 <= high:
        return "shows"
    return f"is clear among {count(n_tests, 'test')} ({p_words(p_holm)} by Holm)"


def _span(found: Progress) -> str:
    return f"{_percent(found.change_low)} to {_percent(found.change_high)}"


def _percent(change: float) -> str:
    """Return a share with its sign in whole percent, never a zero that is none."""
    value = 100 * change
    if abs(value) < 1:
        return f"{'+' if value > 0 else MINUS}{abs(value):.1g} %"
    return f"{'+' if value > 0 else MINUS}{abs(value):.0f} %"


def _miss(row: Mapping[Hashable, Any], n_tests: int) -> str:
    column, change, low, high = (row[name] for name in ("column", "change", "ci_low", "ci_high"))
    unit, noun = quantity(column).unit, column_noun(column)
    half = (high - low) / 2
    if not row["p_holm"] < CLEAR:
        seen = _unclear(low, high, row["p_holm"], n_tests)
        return (
            f"No change of the mean miss of the {noun} {seen}: {signed(change, half)} {unit} a "
            f"week (95 % interval {signed_span(low, high)} {unit})."
        )
    verb = "fell" if change < 0 else "rose"
    near, far = sorted((abs(low), abs(high)))
    return (
        f"The mean miss of the {noun} {verb} by {number(abs(change), half)} {unit} a week (95 % "
        f"interval {number(near, half)} to {number(far, half)} {unit})."
    )


def _no_miss(misses: pd.DataFrame) -> Iterator[str]:
    """Yield why some misses are not followed, those of one reason together."""
    untold = misses[misses["missing"] != ""]
    for why, rows in untold.groupby("missing", sort=False):
        nouns = listing([column_noun(column) for column in rows["column"]])
        yield f"No trend of the mean miss of the {nouns} is told: {why}."


def coffee_refusal(shots: pd.DataFrame) -> Caution:
    """Return the refusal where every bag was met at one time only.

    Parameters
    ----------
    shots : DataFrame
        Shots of one person, `set` and `week` among the columns.

    Returns
    -------
    Caution
    """
    bags = shots["set"].nunique()
    return Caution(
        "coffee-changed",
        "stop",
        f"The coffee changed with the weeks: each of {bags} bags or grinders was met on one day "
        "only, so practice cannot be told from coffee.",
        _CONTROL,
        ("barista", "bag"),
    )


def about_the_coffee(shots: pd.DataFrame) -> Iterator[Caution]:
    """Yield what else changed over the weeks of one person.

    Parameters
    ----------
    shots : DataFrame
        Shots of one person.

    Yields
    ------
    Caution
    """
    sets = len(shots["set"].unique())
    if sets > 1:
        yield Caution(
            "coffee-changed",
            "care",
            f"The coffee was of {sets} bags or grinders meanwhile: the trend is taken within "
            "each, and a coffee that is easier late would still look like practice.",
            _CONTROL,
            ("barista", "bag"),
        )
    aged = _aged(shots)
    if aged >= AGED_D:
        yield Caution(
            "coffee-aged",
            "care",
            f"The coffee aged by {aged:.0f} days over the same weeks, which alone may steady or "
            "unsettle a shot.",
            _CONTROL,
            ("barista", "roast_age_d"),
        )


def _aged(shots: pd.DataFrame) -> float:
    """Return the most days by which one bag aged among the shots; 0 where no age is known."""
    ages = shots.groupby("set")["age_d"].agg(["min", "max"])
    widest = float((ages["max"] - ages["min"]).max())
    return 0.0 if math.isnan(widest) else widest
