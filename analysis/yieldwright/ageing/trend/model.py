"""A trend in roast age as a model: sessions shift their shots, other columns stand beside."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.ageing.trend.rows import AGE, BagRows
from yieldwright.ageing.trend.state import state_at
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.intervals.fieller import FiellerSet, fieller_ratio
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.models.terms.design import Design, build_design
from yieldwright.models.terms.terms import Numeric

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.linear.model import LinearFit

__all__ = ["TrendModel", "bears_a_curve", "fit_trend"]

Array = npt.NDArray[np.float64]

#: Different ages that a curve needs, and session means beyond its coefficients.
AGES_OF_A_CURVE, MEANS_BEYOND = 4, 2


@dataclass(frozen=True, eq=False)
class TrendModel:
    """A line or a curve in roast age, fitted beside what else differs.

    Attributes
    ----------
    rows : BagRows
        What it was fitted to.
    fit : LinearFit or MixedFit
        Least squares where sessions hold one shot each, else a mixed model in which the
        session shifts its shots.
    """

    rows: BagRows
    fit: LinearFit | MixedFit

    @property
    def design(self) -> Design:
        """The columns fitted."""
        design = self.fit.design
        assert design is not None  # noqa: S101 (fit_trend made it from columns)
        return design

    @property
    def age(self) -> Numeric:
        """The term of roast age."""
        term = self.design.term(AGE)
        assert isinstance(term, Numeric)  # noqa: S101 (fit_trend put it in)
        return term

    @property
    def curved(self) -> bool:
        """Whether age enters as a curve."""
        return self.age.power == 2

    @cached_property
    def session_sd(self) -> float:
        """Standard deviation between sessions, missing where it cannot be told."""
        if not isinstance(self.fit, MixedFit):
            return float("nan")
        return float(np.sqrt(self.fit.covariances["session"][0, 0]))

    def estimate(self, weights: Array, term: str) -> Estimate:
        """Return a weighted sum of coefficients with its t interval.

        Parameters
        ----------
        weights : ndarray
            One per column of the design.
        term : str
            What to call it.

        Returns
        -------
        Estimate
            Of a mixed model with Kenward and Roger's error and degrees of freedom.
        """
        return estimated(self.fit, weights, term=term, df="kenward_roger")

    def ratio(self, above: Array, below: Array, *, constant: float = 0.0) -> FiellerSet:
        """Return the set of the ratio of two weighted sums of coefficients.

        Parameters
        ----------
        above, below : ndarray
            Weights, one per column of the design.
        constant : float
            What is added to the sum above. [unit of that sum]

        Returns
        -------
        FiellerSet
            Of (constant + above) / below; degrees of freedom are those of the sum that is
            zero at the estimate.
        """
        top, bottom = self.estimate(above, "above"), self.estimate(below, "below")
        together = self.estimate(above + below, "both").std_error ** 2
        numerator = constant + top.estimate
        quotient = numerator / bottom.estimate if bottom.estimate else 0.0
        return fieller_ratio(
            numerator,
            bottom.estimate,
            variances=(top.std_error**2, bottom.std_error**2),
            covariance=(together - top.std_error**2 - bottom.std_error**2) / 2,
            df=self.estimate(above - quotient * below, "null").df,
        )

    def per_day(self, age_d: float) -> Array:
        """Return the weights of the change per day at one age.

        Parameters
        ----------
        age_d : float
            Roast age. [d]

        Returns
        -------
        ndarray
        """
        unit = (age_d - self.age.middle) / self.age.reach
        weights = np.zeros(len(self.fit.params))
        derivatives = np.array([1.0, 2 * unit])[: self.age.power]
        weights[self.design.place(AGE)] = derivatives / self.age.reach
        return weights

    def average_per_day(self) -> Array:
        """Return the weights of the change per day on average over the days pulled on.

        Returns
        -------
        ndarray
            Of a curve the slope of the straight line that fits it best at the ages of the
            sessions: where these lie evenly, its slope in the middle.

        Notes
        -----
        Such a line is what shots speak of whatever form ageing has, bent or broken; a slope
        between two ends would rest on the form.
        """
        return self.per_day(self.age.middle + self.age.reach * self._lean / 2)

    @cached_property
    def _lean(self) -> float:
        """Slope of the squares of the sessions' scaled ages along these ages."""
        ages = self.rows.prepared.frame.groupby(self.rows.codes)[AGE].mean().to_numpy(dtype=float)
        unit = (ages - self.age.middle) / self.age.reach
        centred = unit - unit.mean()
        return float(centred @ unit**2 / (centred @ centred))

    def bend(self) -> Array:
        """Return the weights of the change of the slope from one day to the next.

        Returns
        -------
        ndarray
        """
        weights = np.zeros(len(self.fit.params))
        if self.curved:
            weights[self.design.place(AGE).start + 1] = 2 / self.age.reach**2
        return weights

    def per_step(self, column: str) -> Array:
        """Return the weights of one practical step of a number beside the age.

        Parameters
        ----------
        column : str
            Canonical name.

        Returns
        -------
        ndarray
        """
        term = self.design.term(column)
        weights = np.zeros(len(self.fit.params))
        if isinstance(term, Numeric):
            weights[self.design.place(column).start] = term.step / term.reach
        return weights

    def level_at(self, age_d: float, at: Mapping[str, object] | None = None) -> Array:
        """Return the weights of what is expected at one age, everything else as usual.

        Parameters
        ----------
        age_d : float
            Roast age. [d]
        at : mapping of str to object, optional
            Values of other columns; numbers not stated stand at their mean, levels as in
            `state_at`: services since the last one, and the band of most shots.

        Returns
        -------
        ndarray
        """
        return self.design.row({**self._state, AGE: age_d, **(at or {})})

    @cached_property
    def _state(self) -> dict[str, Hashable]:
        """Levels of factors for which a level is told unless others are stated."""
        return state_at(self.rows)

    def usual(self) -> Array:
        """Return the weights of an average shot of the bench as it was when the bag ended.

        Returns
        -------
        ndarray
        """
        return self.level_at(self.age.middle)


def fit_trend(rows: BagRows, *, form: Literal["line", "curve", "any"] = "any") -> TrendModel:
    """Fit a line or a curve in roast age, or the richer of both that the rows can bear.

    Parameters
    ----------
    rows : BagRows
        Rows with an age that differs.
    form : {"line", "curve", "any"}
        What to fit; `any` for a curve where the rows can bear one.

    Returns
    -------
    TrendModel

    Raises
    ------
    UnknownNameError
        If the rows have no age.
    AliasedColumnsError
        If age cannot be told apart from what stands beside it.
    TooFewShotsError
        If there are not more rows than coefficients.
    OutOfRangeError
        If the response leaves no spread.

    Notes
    -----
    A curve is borne by 4 different ages and by 2 sessions more than it and whatever else
    is the same all through a session has coefficients. Numbers beside the age enter as lines.
    Where all shots of each session came out alike, as coarse scores do, means of sessions are
    fitted: more shots of a session told nothing more.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aabbccdd"), "ey_pct": [19.0, 19.4] * 4})
    >>> shots["roast_age_d"] = [4.0, 4.0, 8.0, 8.0, 12.0, 12.0, 20.0, 20.0]
    >>> shots["ey_pct"] += 0.1 * shots["roast_age_d"]
    >>> trend = fit_trend(bag_rows(ComparableSet("", "", shots), "ey_pct", bench=Bench()))
    >>> found = trend.estimate(trend.average_per_day(), "per day")
    >>> round(found.estimate, 6), trend.curved
    (0.1, False)
    """
    curved = form == "curve" or (form == "any" and bears_a_curve(rows))
    terms = [Numeric(AGE, power=2 if curved else 1), *(each.term() for each in rows.beside)]
    design = build_design(rows.prepared.frame, terms)
    response = rows.prepared.frame["response"].to_numpy(dtype=float)
    if not rows.grouped:
        return TrendModel(rows, fit_least_squares(design, response))
    if not _spread_inside(rows):
        return fit_trend(rows.of_sessions(), form=form)
    sessions = [grouping(rows.prepared.frame, "session")]
    return TrendModel(rows, fit_mixed(design, response, sessions))


def _spread_inside(rows: BagRows) -> bool:
    """Return whether shots of one session ever came out differently."""
    response = rows.prepared.frame["response"]
    return bool((response.groupby(rows.codes).transform("max") > response).any())


def bears_a_curve(rows: BagRows) -> bool:
    """Return whether there are ages and sessions enough for a curve.

    Parameters
    ----------
    rows : BagRows
        Rows with an age that differs.

    Returns
    -------
    bool
    """
    between = sum(each.width for each in rows.beside if rows.same_in_sessions(each.column))
    different = len(np.unique(rows.ages))
    return different >= AGES_OF_A_CURVE and rows.n_sessions - 3 - between >= MEANS_BEYOND
