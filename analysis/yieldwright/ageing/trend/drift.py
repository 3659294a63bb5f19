"""How a response drifts as its bag ages, and which form of drift the log speaks for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.ageing.trend.carried_words import carried_cautions
from yieldwright.ageing.trend.drift_words import drift_sentences
from yieldwright.ageing.trend.rows import AGE, BagRows
from yieldwright.errors import OutOfRangeError, TooFewShotsError, YieldwrightError
from yieldwright.models.contrasts.contrasts import Estimate, estimate_table
from yieldwright.models.intervals.power import detectable_effect
from yieldwright.models.trend.forms import FORMS, Form, Forms, compare_forms
from yieldwright.models.trend.monotone import MonotoneTrend, monotone_trend
from yieldwright.models.trend.serial import SerialCheck, serial_correlation
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from yieldwright.ageing.trend.model import TrendModel

__all__ = ["Drift", "beside_columns", "drift_of"]

Array = npt.NDArray[np.float64]

#: Sessions from which on ranks say something: on 5, even a perfect order is 1 of 60.
LEAST_RANKED = 6

#: Ages at which the curve is reckoned for the figure.
AGES_SHOWN = 61


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Drift(Result):
    """What each day of age does to a response while everything else stays as it was.

    Attributes
    ----------
    model : TrendModel
        Line or curve that the figures come from.
    average : Estimate
        Change per day on average over the days pulled on. [unit of the response/d]
    ends : tuple of Estimate
        Change per day at the first and at the last age, where a curve was fitted.
        [unit of the response/d]
    forms : Forms
        Flat, a line, a curve and two lines beside each other.
    detectable : float
        Average drift that such a log would find in 80 % of cases. [unit of the response/d]
    freed : tuple of str
        Columns whose effect was taken off.
    as_brewed : bool
        Whether something that went along with age could not be taken off.
    ranks : MonotoneTrend or None
        Whether means of sessions rise or fall with age by their ranks alone; None on fewer
        than 6 sessions.
    carried : SerialCheck or None
        Whether what the trend leaves carries over to the next shot or session; None where
        the rows leave too little to ask.
    """

    model: TrendModel
    average: Estimate
    ends: tuple[Estimate, ...]
    forms: Forms
    detectable: float
    freed: tuple[str, ...]
    as_brewed: bool
    ranks: MonotoneTrend | None = None
    carried: SerialCheck | None = None

    @property
    def shots(self) -> pd.DataFrame:
        """The shots, with and without what stands beside the age.

        One row per shot: `shot`, `session`, `roast_age_d`, `value` as measured, and
        `freed`, the value with what stands beside the age as usual: numbers at their mean,
        services as since the last one, and the band of most shots.
        """
        return _shots(self.model)

    @cached_property
    def expected(self) -> pd.DataFrame:
        """What is expected at each age: `roast_age_d`, `value`, `low`, `high`."""
        return _expected(self.model)

    @property
    def title(self) -> str:
        """What drifts."""
        return f"How the {column_label(self.model.rows.response)} drifts with roast age"

    @property
    def clear(self) -> bool:
        """Whether the average drift has one sign all through its interval."""
        return self.average.ci_low * self.average.ci_high > 0

    def to_frame(self) -> pd.DataFrame:
        """Return changes per day at full precision, in the columns of estimates."""
        return estimate_table([self.average, *self.ends])

    def forms_frame(self) -> pd.DataFrame:
        """Return the forms beside each other.

        Returns
        -------
        DataFrame
            One row per form: `form`, `break_d`, `aicc`, `weight`, `possible`, `why_not`.
        """
        return pd.DataFrame(
            {
                "form": each.name,
                "break_d": each.turn,
                "aicc": each.aicc,
                "weight": each.weight,
                "possible": each.possible,
                "why_not": each.why_not,
            }
            for each in self.forms.forms
        )


def drift_of(model: TrendModel, *, as_brewed: bool = False) -> Drift:
    """Return how a response drifts with the age of its bag.

    Parameters
    ----------
    model : TrendModel
        Line or curve in roast age.
    as_brewed : bool
        Whether something went along with age that could not be taken off.

    Returns
    -------
    Drift

    Notes
    -----
    Figures come from a curve wherever the rows can bear one, not from the form that the same
    rows chose: intervals after such a choice are too narrow. The average is the slope of the
    straight line that fits best at the ages of the sessions, whatever the form. Forms are
    compared by the corrected criterion of Akaike with sessions counted, since age differs
    between sessions only; their weights say how sure that choice is, and nothing else rests
    on it. Sessions count as independent: where each is like the one before (correlation 0.5,
    2,000 simulated bags) intervals of 95 % cover about 88 %, and a caution says so where it shows.

    References
    ----------
    .. [1] Hurvich and Tsai (1989), Biometrika 76, 297.
    .. [2] Burnham and Anderson (2002), Model Selection and Multimodel Inference, 2.9.

    Examples
    --------
    >>> from yieldwright.ageing.trend.model import fit_trend
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> age = np.repeat(np.arange(4.0, 36.0, 4.0), 2)
    >>> shots = pd.DataFrame({"roast_age_d": age, "session": age.astype(str)})
    >>> shots["ey_pct"] = 21 - 0.05 * age + 0.2 * np.tile([1, -1, -1, 1], 4)
    >>> rows = bag_rows(ComparableSet("", "", shots), "ey_pct", bench=Bench())
    >>> round(drift_of(fit_trend(rows)).average.estimate, 2)
    -0.05
    """
    rows, age = model.rows, model.age
    average = model.estimate(model.average_per_day(), "change per day, on average")
    ends = ((age.low, "first"), (age.high, "last")) if model.curved else ()
    found = Drift(
        model=model,
        average=average,
        ends=tuple(
            model.estimate(model.per_day(day), f"change per day at the {name} age, {day:g} d")
            for day, name in ends
        ),
        forms=_forms(rows),
        detectable=detectable_effect(average.std_error, average.df),
        freed=tuple(each.column for each in rows.beside),
        as_brewed=as_brewed,
        ranks=_ranks(model),
        carried=_carried(model),
        n_shots=rows.n_shots,
        dropped=rows.prepared.dropped,
    )
    return replace(
        found, sentences=tuple(drift_sentences(found)), cautions=carried_cautions(found.carried)
    )


def beside_columns(rows: BagRows) -> Array | None:
    """Return the columns beside the age as numbers, None where there are none.

    Parameters
    ----------
    rows : BagRows
        Rows of a bag.

    Returns
    -------
    ndarray or None
        One row per row; each number on a scale from −1 to +1, levels as zeros and ones.
    """
    frame = rows.prepared.frame
    terms = [each.term().settled(frame) for each in rows.beside]
    return np.column_stack([term.coded(frame) for term in terms]) if terms else None


def _forms(rows: BagRows) -> Forms:
    """Return the forms beside each other, none of them possible where shots leave no spread."""
    try:
        return compare_forms(
            rows.ages,
            rows.prepared.frame["response"].to_numpy(dtype=float),
            beside=beside_columns(rows),
            groups=rows.codes if rows.grouped else None,
        )
    except (OutOfRangeError, TooFewShotsError) as problem:
        few = isinstance(problem, TooFewShotsError)
        why = "too few sessions" if few else "the shots leave no spread to judge by"
        lost = {"turn": np.nan, "log_likelihood": np.nan, "aicc": np.nan}
        none = tuple(Form(name, n_params=0, possible=False, why_not=why, **lost) for name in FORMS)
        return Forms(none, rows.n_sessions, "groups", rows.n_shots, len(np.unique(rows.ages)))


def _ranks(model: TrendModel) -> MonotoneTrend | None:
    """Return the trend of the ranks of session means, with what stands beside taken off."""
    shots = _shots(model)
    sessions = shots.groupby("session", sort=False)[["roast_age_d", "freed"]].mean()
    if len(sessions) < LEAST_RANKED:
        return None
    try:
        return monotone_trend(sessions["roast_age_d"], sessions["freed"])
    except YieldwrightError:
        return None


def _carried(model: TrendModel) -> SerialCheck | None:
    """Return whether what the trend leaves carries over, by the order of the rows."""
    rows = model.rows
    response = rows.prepared.frame["response"].to_numpy(dtype=float)
    try:
        return serial_correlation(
            response, model.design.matrix, groups=rows.codes if rows.grouped else None
        )
    except YieldwrightError:
        return None


def _shots(model: TrendModel) -> pd.DataFrame:
    """Return the shots as measured, and with what stands beside the age as usual."""
    frame, design = model.rows.prepared.frame, model.design
    beside = np.ones(len(model.fit.params), dtype=bool)
    beside[0] = False
    beside[design.place(AGE)] = False
    usual = model.usual()
    moved = (design.matrix - usual)[:, beside] @ model.fit.params[beside]
    value = frame["response"].to_numpy(dtype=float)
    return pd.DataFrame(
        {
            "shot": frame["shot"],
            "session": frame["session"],
            "roast_age_d": frame[AGE],
            "value": value,
            "freed": value - moved,
        }
    )


def _expected(model: TrendModel) -> pd.DataFrame:
    """Return what is expected at each age, everything beside it as usual."""
    days = np.linspace(model.age.low, model.age.high, AGES_SHOWN if model.curved else 21)
    rows = np.array([model.level_at(float(day)) for day in days])
    found = [model.estimate(row, "level") for row in rows]
    return pd.DataFrame(
        {
            "roast_age_d": days,
            "value": [each.estimate for each in found],
            "low": [each.ci_low for each in found],
            "high": [each.ci_high for each in found],
        }
    )
