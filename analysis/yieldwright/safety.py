"""The usual cautions of work with pressure, heat, electricity and caffeine.

They stand on every page and sheet we make. They do not replace the maker's
instructions, local electrical and food-safety rules, or licensed practice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

__all__ = ["DEFERENCE", "NOTICES", "Notice", "Topic", "notices"]

Topic = Literal["pressure", "heat", "electricity", "cleaning", "caffeine"]


@dataclass(frozen=True, slots=True)
class Notice:
    """One safety notice.

    Attributes
    ----------
    topic : Topic
        What can hurt.
    sentence : str
        What to do about it.
    source : str
        Published source, or "common practice, no source".
    """

    topic: Topic
    sentence: str
    source: str = "common practice, no source"


NOTICES: tuple[Notice, ...] = (
    Notice(
        "pressure",
        "Never open the group or let go of the lever while there is pressure; "
        "push gently when purging, because a channel in the puck can spray.",
    ),
    Notice(
        "heat",
        "Metal, water and steam scald, and so does a drink at 71–85 °C on brief contact.",
        "Brown and Diller 2008, Burns 34:648",
    ),
    Notice("electricity", "Unplug a heated group and let it cool before taking it apart."),
    Notice("cleaning", "Use only cleaners made for espresso equipment, and rinse well."),
    Notice(
        "caffeine",
        "Taste by sip and spit: single doses up to 200 mg and 400 mg a day raise no concern "
        "for healthy adults, 200 mg a day in pregnancy, and one shot may hold 170–205 mg.",
        "EFSA 2015, doi 10.2903/j.efsa.2015.4102; per shot from 18 g at 1.2 % caffeine, "
        "quoted from memory, of which 80–95 % reach the cup",
    ),
)

DEFERENCE = (
    "Follow the maker's instructions and the local electrical and food-safety rules; "
    "work that needs a licence belongs to people who hold it."
)


def notices(topics: Iterable[Topic] | None = None) -> tuple[Notice, ...]:
    """Return the notices on some topics, or all of them.

    Parameters
    ----------
    topics : iterable of Topic or None
        What the work at hand touches.

    Returns
    -------
    tuple of Notice

    Examples
    --------
    >>> [notice.topic for notice in notices(["caffeine", "heat"])]
    ['heat', 'caffeine']
    """
    wanted = None if topics is None else set(topics)
    return tuple(notice for notice in NOTICES if wanted is None or notice.topic in wanted)
