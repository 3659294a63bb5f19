"""Scales, refractometer, grinders: what the bench weighs, reads and grinds with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Grinder", "Refractometer", "Scale"]


@dataclass(frozen=True, slots=True)
class Scale:
    """One scale.

    The defaults are assumptions with no source; the page prints them as such.

    Attributes
    ----------
    resolution_g : float
        Smallest step of the display. [g]
    repeatability_g : float
        Standard deviation of repeated weighings of one thing. [g]
    """

    resolution_g: float = 0.1
    repeatability_g: float = 0.05


@dataclass(frozen=True, slots=True)
class Refractometer:
    """The instrument that reads strength.

    The defaults are assumptions with no source, chosen to make one reading good to
    0.05 % by mass; the page prints them as such.

    Attributes
    ----------
    resolution_pct : float
        Smallest step of the display. [% by mass]
    repeatability_pct : float
        Standard deviation of repeated readings of one sample. [% by mass]
    accuracy_pct : float
        Half-width of the maker's accuracy statement; common to all readings, so it
        cancels in a difference of two shots on one bench. [% by mass]
    tds_per_brix : float
        What a reading on a sugar scale is multiplied with: common practice, no source.
        [% by mass per °Bx]
    tds_per_brix_spread : float
        Half-width of that factor, as a share of it: fitted factors between 0.83 and
        0.91 are in circulation. [–]
    """

    resolution_pct: float = 0.01
    repeatability_pct: float = 0.03
    accuracy_pct: float = 0.07
    tds_per_brix: float = 0.85
    tds_per_brix_spread: float = 0.05


@dataclass(frozen=True, slots=True)
class Grinder:
    """One grinder and what its numbers mean.

    Attributes
    ----------
    name : str
        Code used in the log.
    step : float
        What one click, mark or turn adds to the number: the step effects are told in.
    coarser : {"up", "down"}
        Whether larger or smaller numbers grind coarser.
    retained_g : float or None
        Old grounds that stay inside, where known. [g]
    stated : bool
        Whether the bench says so, or the step and direction are assumed.
    """

    name: str = ""
    step: float = 1.0
    coarser: Literal["up", "down"] = "up"
    retained_g: float | None = None
    stated: bool = False

    @property
    def coarser_sign(self) -> int:
        """Plus one where larger numbers are coarser, else minus one."""
        return 1 if self.coarser == "up" else -1
