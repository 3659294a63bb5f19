"""What the bench aims at: recipe, temperature bands, chart window, taste scales."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Attribute", "Band", "Recipe", "Window"]


@dataclass(frozen=True, slots=True)
class Band:
    """One temperature band of the preheat.

    Attributes
    ----------
    name : str
        Word used in the log, such as low, medium or high.
    low_c, high_c : float
        Range of the band; a temperature on a shared edge belongs to the lower band. [°C]
    """

    name: str
    low_c: float
    high_c: float


@dataclass(frozen=True, slots=True)
class Recipe:
    """The shot one aims at, with the misses one forgives.

    A None is a part the bench does not aim at.

    Attributes
    ----------
    dose_g, dose_tolerance_g : float or None, float
        Dose and the miss forgiven. [g]
    beverage_g, beverage_tolerance_g : float or None, float
        Beverage mass and the miss forgiven. [g]
    time_s, time_tolerance_s : float or None, float
        Shot time and the miss forgiven. [s]
    hold_low_bar, hold_high_bar : float or None
        Where the held pressure should lie. [bar]
    end_least_bar : float or None
        Pressure the taper should stay above. [bar]
    """

    dose_g: float | None = 18.0
    dose_tolerance_g: float = 0.3
    beverage_g: float | None = 36.0
    beverage_tolerance_g: float = 1.0
    time_s: float | None = 36.0
    time_tolerance_s: float = 5.0
    hold_low_bar: float | None = 8.0
    hold_high_bar: float | None = 9.0
    end_least_bar: float | None = 5.0


@dataclass(frozen=True, slots=True)
class Window:
    """The target of the strength/extraction chart.

    Extraction 18–22 % is carried over from brewed coffee (Lockhart 1957, restated in
    Batali et al. 2020, Sci Rep 10, 16450); strength 8–12 % is common practice with no
    source. A convention and not a law.

    Attributes
    ----------
    strength_low_pct, strength_high_pct : float
        Strength. [% by mass]
    yield_low_pct, yield_high_pct : float
        Extraction yield. [% by mass]
    stated : bool
        Whether the bench says so, or the convention stands in.
    """

    strength_low_pct: float = 8.0
    strength_high_pct: float = 12.0
    yield_low_pct: float = 18.0
    yield_high_pct: float = 22.0
    stated: bool = False


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing tasters score.

    Attributes
    ----------
    name : str
        Word used in the log, such as overall, bitter or sour.
    low, high : float
        Ends of the scale.
    step : float
        Smallest step a taster may use.
    better : {"more", "middle", "less"}
        Which way is good: the top, the middle or the bottom of the scale.
    stated : bool
        Whether the bench says so, or the scale is assumed.
    """

    name: str
    low: float = 0.0
    high: float = 10.0
    step: float = 0.5
    better: Literal["more", "middle", "less"] = "more"
    stated: bool = False

    @property
    def middle(self) -> float:
        """Middle of the scale."""
        return (self.low + self.high) / 2
