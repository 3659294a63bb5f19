"""What a bench knows of a bag of coffee that its log need not repeat on every row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["BagFacts", "Freeze"]


@dataclass(frozen=True, slots=True)
class Freeze:
    """One stay in the freezer.

    Attributes
    ----------
    frozen_on : date
        Day the coffee went in.
    thawed_on : date or None
        Day it came out; None while it is still inside.
    """

    frozen_on: date
    thawed_on: date | None = None


@dataclass(frozen=True, slots=True)
class BagFacts:
    """One bag of coffee: when it was roasted, opened and frozen.

    What a row of the log states itself wins; a row that says nothing takes it from here.

    Attributes
    ----------
    name : str
        Code used in the log's column `bag`.
    roast_level : str
        One of the glossary's roast levels; empty where not stated.
    roasted_on, opened_on : date or None
        Days of the roast and of the opening; None where not stated.
    frozen : tuple of Freeze
        Stays in the freezer, earliest first; none of them overlap.
    """

    name: str
    roast_level: str = ""
    roasted_on: date | None = None
    opened_on: date | None = None
    frozen: tuple[Freeze, ...] = ()
