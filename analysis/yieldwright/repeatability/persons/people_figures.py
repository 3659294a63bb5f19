"""What is found of people: their levels and spreads, alone and in pairs, as values."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.models.intervals.intervals import LEVEL

if TYPE_CHECKING:
    from yieldwright.models.spreads.ratios import SdRatio

__all__ = ["Figures", "Level", "PairFigures", "PersonFigures", "Pooled", "SpreadPair"]

#: A difference counts where its p-value, after Holm's rule, is below this.
CLEAR = 1 - LEVEL


@dataclass(frozen=True, slots=True)
class Level:
    """A mean or a difference of means with its t interval; missing where it has none.

    Attributes
    ----------
    estimate, std_error, df : float
        Value, standard error and its degrees of freedom.
    ci_low, ci_high : float
        Limits of the t interval.
    p_value, p_holm : float
        Test against zero, by itself and corrected for all pairs.
    """

    estimate: float = math.nan
    std_error: float = math.nan
    df: float = math.nan
    ci_low: float = math.nan
    ci_high: float = math.nan
    p_value: float = math.nan
    p_holm: float = math.nan

    @property
    def is_clear(self) -> bool:
        """Whether zero is excluded, all pairs counted."""
        return self.p_holm < CLEAR


@dataclass(frozen=True, slots=True)
class PersonFigures:
    """What one person's shots come to.

    Attributes
    ----------
    person : str
        Code.
    n_shots : int
        Shots compared. [count]
    plain_mean : float
        Mean of those shots as they were pulled. [unit of the values]
    level : Level
        Mean with all that is allowed for at the average of the log.
    sd, df, sd_low, sd_high : float
        Standard deviation about the person's own fit, its degrees of freedom and its
        chi-square interval.
    robust_low, robust_high : float
        The interval that allows for long tails.
    """

    person: str
    n_shots: int
    plain_mean: float
    level: Level
    sd: float
    df: int
    sd_low: float
    sd_high: float
    robust_low: float
    robust_high: float


@dataclass(frozen=True, slots=True)
class SpreadPair:
    """Two spreads compared: first over second, and first less second.

    Attributes
    ----------
    ratio, robust : SdRatio
        With the F interval, and with one that allows for long tails.
    difference, difference_low, difference_high : float
        First less second. [unit of the values]
    p_holm, robust_p_holm : float
        Both p-values, corrected for all pairs.
    """

    ratio: SdRatio
    robust: SdRatio
    difference: float
    difference_low: float
    difference_high: float
    p_holm: float = math.nan
    robust_p_holm: float = math.nan

    @property
    def is_clear(self) -> bool:
        """Whether both intervals exclude equal spreads, all pairs counted."""
        return self.p_holm < CLEAR and self.robust_p_holm < CLEAR

    @property
    def by_one_test(self) -> bool:
        """Whether only the F interval excludes equal spreads, all pairs counted."""
        return self.p_holm < CLEAR and not self.is_clear


@dataclass(frozen=True, slots=True)
class PairFigures:
    """Two people compared.

    Attributes
    ----------
    first, second : str
        Codes.
    level : Level
        First less second.
    spread : SpreadPair or None
        None where it is refused or cannot be told.
    """

    first: str
    second: str
    level: Level
    spread: SpreadPair | None


@dataclass(frozen=True, slots=True)
class Pooled:
    """One spread for all people, and whether there is one.

    Attributes
    ----------
    sd, df, sd_low, sd_high : float
        Pooled standard deviation, its degrees of freedom and its chi-square interval.
    p_value : float
        That all share it: the larger of Bartlett's and Brown and Forsythe's.
    """

    sd: float
    df: float
    sd_low: float
    sd_high: float
    p_value: float


@dataclass(frozen=True, slots=True)
class Figures:
    """People and their pairs.

    Attributes
    ----------
    people : tuple of PersonFigures
        In the order of their codes.
    pairs : tuple of PairFigures
        Every pair.
    day_p_value : float
        Test of whether people differ alike in every session; missing where it cannot be
        asked.
    pooled : Pooled or None
        What spreads have in common; None where two cannot be compared.
    """

    people: tuple[PersonFigures, ...]
    pairs: tuple[PairFigures, ...]
    day_p_value: float
    pooled: Pooled | None
