"""What is expected at each age, and where one shot falls, by every form that counts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.ageing.best.best_day import lines_count
from yieldwright.ageing.trend.drift import beside_columns
from yieldwright.errors import YieldwrightError
from yieldwright.models.contrasts.predictions import spread_about_mean
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.models.trend.line_bands import LineBands, fit_line_bands

if TYPE_CHECKING:
    from yieldwright.ageing.trend.model import TrendModel
    from yieldwright.ageing.trend.rows import BagRows
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.trend.forms import Forms

__all__ = ["COLUMNS", "Levels", "levels_of"]

Array = npt.NDArray[np.float64]

#: What a table of levels holds.
COLUMNS = ("roast_age_d", "mean", "low", "high", "shot_low", "shot_high")


@dataclass(frozen=True, eq=False)
class Levels:
    """Levels of a response at each age, everything beside it as usual.

    Attributes
    ----------
    model : TrendModel
        Line or curve that the figures come from.
    lines : LineBands or None
        Two lines that meet, where they fit so well that they count too.
    unsure : bool
        Whether two lines count and cannot be fitted, so that no level has a limit.
    """

    model: TrendModel
    lines: LineBands | None
    unsure: bool

    @property
    def forms(self) -> tuple[str, ...]:
        """Names of the forms that count."""
        own = "curve" if self.model.curved else "line"
        return (own, "two lines") if self.lines is not None or self.unsure else (own,)

    @cached_property
    def spread(self) -> tuple[float, float]:
        """Standard deviation of a shot of one more session, and its degrees of freedom."""
        return spread_about_mean(self.model.fit)

    def mean(self, age_d: float) -> Estimate:
        """Return what the line or curve expects at one age.

        Parameters
        ----------
        age_d : float
            Roast age. [d]

        Returns
        -------
        Estimate
        """
        return self.model.estimate(self.model.level_at(age_d), "level")

    def limits(self, age_d: float) -> tuple[float, float]:
        """Return the lowest and the highest mean that no form rules out at one age.

        Parameters
        ----------
        age_d : float
            Roast age. [d]

        Returns
        -------
        low, high : float
            At 95 %. [unit of the response]
        """
        found = self.mean(age_d)
        return self._hull(age_d, found.ci_low, found.ci_high, shots=False)

    def shot_limits(self, age_d: float) -> tuple[float, float]:
        """Return between which limits one shot of one more session falls.

        Parameters
        ----------
        age_d : float
            Roast age. [d]

        Returns
        -------
        low, high : float
            At 95 %. [unit of the response]

        Notes
        -----
        Squares of half-widths add: that of the mean, and t times the spread of sessions and
        shots, each with degrees of freedom of its own. With least squares that is the exact
        limit; with few sessions it never comes out narrower than the mean, as one number of
        degrees of freedom for both can.
        """
        mean, (sd, df) = self.mean(age_d), self.spread
        half = math.hypot(mean.ci_high - mean.estimate, t_quantile(df) * sd)
        return self._hull(age_d, mean.estimate - half, mean.estimate + half, shots=True)

    def _hull(self, age_d: float, low: float, high: float, *, shots: bool) -> tuple[float, float]:
        if self.unsure:
            return -np.inf, np.inf
        if self.lines is None:
            return low, high
        lows, highs = self.lines.new_rows(age_d) if shots else self.lines.levels(age_d)
        return min(low, float(lows[0])), max(high, float(highs[0]))

    def table(self, ages_d: Array) -> pd.DataFrame:
        """Return levels at some ages.

        Parameters
        ----------
        ages_d : ndarray
            Roast ages. [d]

        Returns
        -------
        DataFrame
            One row per age: `roast_age_d`, `mean`, `low`, `high`, `shot_low`, `shot_high`.
        """
        rows = [
            (age, self.mean(age).estimate, *self.limits(age), *self.shot_limits(age))
            for age in map(float, ages_d)
        ]
        return pd.DataFrame(rows, columns=list(COLUMNS))


def levels_of(model: TrendModel, forms: Forms) -> Levels:
    """Return the levels of a response at each age, by every form that counts.

    Parameters
    ----------
    model : TrendModel
        Line or curve in roast age.
    forms : Forms
        Of the same rows: a curve and two lines beside each other.

    Returns
    -------
    Levels

    Notes
    -----
    Figures come from a curve wherever the rows can bear one, not from the form that the same
    rows chose. A bag need not follow a parabola: unless the curve fits far better than two
    lines that meet, limits hold what these may reach too, as for the best day.
    """
    if not lines_count(forms):
        return Levels(model, None, unsure=False)
    lines = _lines(model.rows, model)
    return Levels(model, lines, unsure=lines is None)


def _lines(rows: BagRows, model: TrendModel) -> LineBands | None:
    """Return two lines that meet, None where they cannot be told from something else."""
    beside = beside_columns(rows)
    if beside is not None:
        usual, design = model.usual(), model.design
        beside = beside - np.concatenate([usual[design.place(e.column)] for e in rows.beside])
    try:
        return fit_line_bands(
            rows.ages,
            rows.prepared.frame["response"].to_numpy(dtype=float),
            beside=beside,
            groups=rows.codes if rows.grouped else None,
        )
    except YieldwrightError:
        return None
