"""The shape of one entry of the glossary: a quantity and the three ranges it may lie in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

__all__ = ["Kind", "Quantity", "Span"]

Kind = Literal["number", "integer", "text", "choice", "flag", "date", "moment"]


@dataclass(frozen=True, slots=True)
class Span:
    """A range of numbers, its ends included unless the low end is said to be open.

    Attributes
    ----------
    low, high : float
        The ends, in the unit of the quantity that owns the span.
    open_low : bool
        Whether the low end itself is excluded, as for a mass one divides by.
    """

    low: float = -math.inf
    high: float = math.inf
    open_low: bool = False

    def holds(self, value: float) -> bool:
        """Return whether a number lies inside.

        Parameters
        ----------
        value : float
            In the unit of the quantity that owns the span.
        """
        above = value > self.low if self.open_low else value >= self.low
        return above and value <= self.high

    def covers(self, other: Span) -> bool:
        """Return whether every number of another span lies inside this one.

        Parameters
        ----------
        other : Span
            In the same unit.
        """
        return self.low <= other.low and self.high >= other.high

    def __str__(self) -> str:
        """Return the range as one would say it: `5–30`, `above 0`, `at least 0`."""
        if math.isinf(self.high) and math.isinf(self.low):
            return "any number"
        if math.isinf(self.high):
            return f"{'above' if self.open_low else 'at least'} {self.low:g}"
        if math.isinf(self.low):
            return f"at most {self.high:g}"
        return f"{self.low:g}–{self.high:g}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity of the bench: its name, unit, meaning, source and ranges.

    Attributes
    ----------
    name : str
        Canonical name; where there is a unit, the name ends in it.
    kind : Kind
        What a cell of this column holds.
    label : str
        Short words for an axis or a table head, without the unit.
    meaning : str
        One sentence for the data dictionary.
    unit : str
        Unit as printed, empty for text; "1" for a pure number.
    source : str
        Where the ranges come from.
    possible : Span
        Physics: formulas refuse a value outside.
    hard : Span
        Outside it a row is set aside.
    soft : Span
        Outside it a row is kept and flagged.
    choices : tuple of str
        The allowed words of a choice.
    example : str
        A cell as one might type it.
    computed : bool
        Whether we compute it; a typed value then serves as a cross-check only.
    """

    name: str
    kind: Kind
    label: str
    meaning: str
    unit: str = ""
    source: str = "common practice, no source"
    possible: Span = Span()
    hard: Span = Span()
    soft: Span = Span()
    choices: tuple[str, ...] = ()
    example: str = ""
    computed: bool = False

    @property
    def is_numeric(self) -> bool:
        """Whether cells of this quantity are numbers."""
        return self.kind in ("number", "integer")

    @property
    def axis_label(self) -> str:
        """The label with its unit in brackets, as an axis shows it."""
        return f"{self.label} [{self.unit}]" if self.unit not in ("", "1") else self.label
