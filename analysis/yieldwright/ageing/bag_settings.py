"""The setting that gave the wanted time with one bag, found backwards from its own trend."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.model import TrendModel, fit_trend
from yieldwright.ageing.rows import AGE, BESIDE, BagRows, bag_rows
from yieldwright.ageing.told_apart import goes_along
from yieldwright.errors import YieldwrightError
from yieldwright.models.intervals.fieller import FiellerSet, fieller_ratio

if TYPE_CHECKING:
    import numpy.typing as npt

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["BagSetting", "bag_model", "bag_setting"]

GRIND, TIME = "grind_setting", "time_s"


@dataclass(frozen=True, slots=True)
class BagSetting:
    """What one bag says of the setting that gives the wanted time.

    Attributes
    ----------
    bag : str
        Its code.
    span_d : tuple of float
        Youngest and oldest age it was pulled at. [d]
    tried : tuple of float
        Lowest and highest number on the grinder.
    setting : FiellerSet or None
        Number on the grinder that gives the time at the age asked for.
    setting_error : float
        Its standard error.
    coarser_per_day : float
        Settings coarser each day that hold the time there; below zero is finer. [settings/d]
    coarser_error : float
        Its standard error. [settings/d]
    n_shots, n_sessions : int
        On which it rests. [count]
    why : str
        What keeps the bag from saying anything, empty where nothing does: no grind change,
        few, other ages, entwined, weak, untried, backwards, or a message.
    """

    bag: str
    span_d: tuple[float, float] = (math.nan, math.nan)
    tried: tuple[float, float] = (math.nan, math.nan)
    setting: FiellerSet | None = None
    setting_error: float = math.nan
    coarser_per_day: float = math.nan
    coarser_error: float = math.nan
    n_shots: int = 0
    n_sessions: int = 0
    why: str = ""


def bag_model(comparable: ComparableSet, *, bench: Bench) -> tuple[BagSetting, TrendModel | None]:
    """Return the trend of shot time of one bag with the grind beside it, or why there is none.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder with age and time.
    bench : Bench
        Whose grinder step and bands to use.

    Returns
    -------
    setting : BagSetting
        What is known of the bag before an age is asked for.
    model : TrendModel or None

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"roast_age_d": [4.0, 9.0], "time_s": 36.0, "grind_setting": 11.0})
    >>> bag_model(ComparableSet("a", "", shots), bench=Bench())[0].why
    'no grind change'
    """
    rows = bag_rows(comparable, TIME, bench=bench, beside=BESIDE)
    known = _known(comparable, rows)
    if not rows.has_age:
        return replace(known, why="few"), None
    if rows.predictor(GRIND) is None:
        declined = any(name == GRIND for name, _ in rows.declined)
        return replace(known, why="few" if declined else "no grind change"), None
    if goes_along(rows, GRIND, with_columns=("service_stretch",)).inseparable:
        return replace(known, why="entwined"), None
    try:
        return known, fit_trend(rows)
    except YieldwrightError as refusal:
        return replace(known, why=str(refusal)), None


def bag_setting(
    known: BagSetting, model: TrendModel, *, time_s: float, age_d: float
) -> BagSetting:
    r"""Return the setting that gives a time at one age, found backwards from a bag's trend.

    Parameters
    ----------
    known : BagSetting
        From `bag_model`.
    model : TrendModel
        From `bag_model`.
    time_s : float
        Time wanted. [s]
    age_d : float
        Roast age. [d]

    Returns
    -------
    BagSetting
        Without a number where the age lies outside what the bag was pulled at, where the
        grind does not clearly change the time, or where the setting was not tried.

    Notes
    -----
    With the level m of the time at the usual setting x₀ and its change b per number on the
    grinder, the setting is x₀ + (T − m)/b. Limits are Fieller's, with degrees of freedom
    after Kenward and Roger of the mean at the setting itself; its standard error is that
    mean's over the absolute value of b, the first-order one.

    References
    ----------
    .. [1] Fieller (1954), J. R. Stat. Soc. B 16, 175.
    .. [2] Draper and Smith (1998), Applied Regression Analysis, 3rd ed., section 3.2.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aaabbbcccddd"), "grind_setting": [9, 10, 11.0] * 4})
    >>> shots["roast_age_d"] = np.repeat([4.0, 8.0, 12.0, 20.0], 3)
    >>> shots["time_s"] = 66 - 3 * shots["grind_setting"] - 0.3 * shots["roast_age_d"]
    >>> shots["time_s"] += [0.2, -0.1, -0.1, 0.1, 0.1, -0.2, -0.2, 0.1, 0.1, 0.0, 0.1, -0.1]
    >>> known, model = bag_model(ComparableSet("a", "", shots), bench=Bench())
    >>> found = bag_setting(known, model, time_s=33.0, age_d=10.0)
    >>> round(found.setting.estimate, 1), round(found.coarser_per_day, 2)
    (10.0, -0.1)
    """
    if not known.span_d[0] <= age_d <= known.span_d[1]:
        return replace(known, why="other ages")
    usual = float(model.rows.prepared.frame[GRIND].mean())
    slope = _per_number(model)
    found = _backwards(model, model.level_at(age_d, {GRIND: usual}), slope, time_s)
    setting = found.shifted(origin=usual, unit=1.0)
    if found.kind != "bounded":
        return replace(known, why="weak")
    if not known.tried[0] <= setting.estimate <= known.tried[1]:
        return replace(known, setting=setting, why="untried")
    grinds = model.rows.bench.grinder(model.rows.comparable.grinder)
    per_number = model.estimate(slope, "per number")
    if per_number.estimate * grinds.coarser_sign > 0:
        return replace(known, why="backwards")
    level = model.estimate(model.level_at(age_d, {GRIND: setting.estimate}), "level")
    per_day, per_day_error = _held(model, age_d, slope * grinds.step * grinds.coarser_sign)
    return replace(
        known,
        setting=setting,
        setting_error=level.std_error / abs(per_number.estimate),
        coarser_per_day=per_day,
        coarser_error=per_day_error,
    )


def _known(comparable: ComparableSet, rows: BagRows) -> BagSetting:
    shots = comparable.shots
    ages = shots[AGE].to_numpy(dtype=float) if AGE in shots else np.array([])
    grinds = shots[GRIND].dropna().to_numpy(dtype=float) if GRIND in shots else np.array([])
    return BagSetting(
        bag=comparable.bag,
        span_d=_ends(ages),
        tried=_ends(grinds),
        n_shots=rows.n_shots,
        n_sessions=rows.n_sessions,
    )


def _ends(values: npt.NDArray[np.float64]) -> tuple[float, float]:
    return (float(values.min()), float(values.max())) if len(values) else (math.nan, math.nan)


def _per_number(model: TrendModel) -> npt.NDArray[np.float64]:
    """Return the weights of the change of the time with one more on the grinder's scale."""
    return model.level_at(model.age.middle, {GRIND: 1.0}) - model.level_at(
        model.age.middle, {GRIND: 0.0}
    )


def _backwards(
    model: TrendModel,
    level: npt.NDArray[np.float64],
    slope: npt.NDArray[np.float64],
    time_s: float,
) -> FiellerSet:
    """Return how far from the usual setting the time is reached: (T − level) / slope."""
    expected, change = model.estimate(level, "level"), model.estimate(slope, "slope")
    distance = (time_s - expected.estimate) / change.estimate if change.estimate else 0.0
    # The covariance of T − level and the slope is minus that of level and slope.
    together = model.estimate(level + slope, "both").std_error ** 2
    covariance = -(together - expected.std_error**2 - change.std_error**2) / 2
    return fieller_ratio(
        time_s - expected.estimate,
        change.estimate,
        variances=(expected.std_error**2, change.std_error**2),
        covariance=covariance,
        df=model.estimate(level + distance * slope, "at the setting").df,
    )


def _held(model: TrendModel, age_d: float, step: npt.NDArray[np.float64]) -> tuple[float, float]:
    """Return settings coarser per day that hold the time, and the first-order error of that."""
    day = model.per_day(age_d)
    per_day, per_step = model.estimate(day, "per day"), model.estimate(step, "per step")
    coarser = -per_day.estimate / per_step.estimate
    # The combination that is zero in expectation: what is left after the grind made up for it.
    left = model.estimate(day + coarser * step, "left")
    return coarser, left.std_error / abs(per_step.estimate)
