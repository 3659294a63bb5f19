"""What must be known before people are compared."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing
from yieldwright.repeatability.persons.people_tied import person_words
from yieldwright.taste.words.phrases import column_noun

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.repeatability.persons.people_figures import Figures
    from yieldwright.repeatability.persons.people_footing import Footing

__all__ = ["cautions_of"]


def cautions_of(footing: Footing, figures: Figures, *, bench: Bench) -> Iterator[Caution]:
    """Yield what must be known before people are compared.

    Parameters
    ----------
    footing : Footing
        What is allowed for, and what is refused.
    figures : Figures
        Levels and spreads.
    bench : Bench
        Whose recipe is aimed at.

    Yields
    ------
    Caution
    """
    for refused in dict.fromkeys(footing.refused.values()):
        yield Caution("person-tied", "stop", refused.sentence, refused.remedy,
                      ("barista", *refused.columns))  # fmt: skip
    yield from _about_days(footing, figures)
    yield from _about_left_out(footing)
    for each in figures.people:
        if math.isnan(each.sd) and each.df < 2:
            yield Caution(
                "person-repeats", "care",
                f"{person_words(each.person)} has {count(each.df, 'repeat')} of like shots: too "
                "few for a spread.", "Let each pull 4 shots at one setting in one session.",
                ("barista",),
            )  # fmt: skip
        elif each.sd == 0:
            yield Caution(
                "person-constant", "care",
                f"All shots of {person_words(each.person)} read the same: their spread is below "
                "what the log can show.", "Log one more decimal.", ("barista",),
            )  # fmt: skip
    if "recipe" not in bench.stated and (
        "beverage_g" in footing.shots or "time_s" in footing.shots
    ):
        yield Caution(
            "recipe-assumed", "note", "The bench states no recipe: misses are of 36 g in 36 s.",
            "State the recipe in the bench file.", ("beverage_g", "time_s"),
        )  # fmt: skip


def _about_days(footing: Footing, figures: Figures) -> Iterator[Caution]:
    if figures.day_p_value < 0.05:
        yield Caution(
            "person-days", "care",
            "People differ from one another by another amount in some sessions or settings than "
            "in others: their levels are averages of that.",
            "Look at each session by itself.", ("barista", "session"),
        )  # fmt: skip
    if footing.days_alone and not footing.unequal_alone:
        yield Caution(
            "days-in-spread", "care",
            "Few pulled twice in one session, so the spreads hold what differs from day to day.",
            "Let each pull two shots or more in every session.", ("barista", "session"),
        )  # fmt: skip


def _about_left_out(footing: Footing) -> Iterator[Caution]:
    if footing.left_out:
        told = [f"{_noun(column)} ({why})" for column, why in footing.left_out]
        yield Caution(
            "people-not-equal", "care", f"Not held equal among people: {listing(told)}.",
            "Log it for every shot, or keep it the same.",
            tuple(column for column, _ in footing.left_out),
        )  # fmt: skip
    if footing.unequal_alone:
        nouns = listing([column_noun(column) for column in footing.unequal_alone])
        yield Caution(
            "settings-in-spread", "care",
            f"No SD of a person is told: it would hold what {nouns} did.",
            "Let each pull 4 shots at one setting.", footing.unequal_alone,
        )  # fmt: skip


def _noun(column: str) -> str:
    return "session" if column == "session" else column_noun(column)
