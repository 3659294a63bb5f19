"""The setting that gave the wanted time with one bag, found backwards from its own trend."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.ageing.breaks.stretch_names import service_in_force
from yieldwright.ageing.compared.told_apart import goes_along
from yieldwright.ageing.trend.model import TrendModel, fit_trend
from yieldwright.ageing.trend.rows import AGE, BESIDE, BagRows, bag_rows
from yieldwright.ageing.trend.state import SERVICE
from yieldwright.errors import AliasedColumnsError, YieldwrightError

if TYPE_CHECKING:
    import numpy.typing as npt
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.models.intervals.fieller import FiellerSet
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
    per_day : FiellerSet or None
        Settings coarser each day that hold the time there; below zero is finer. [settings/d]
    per_day_error : float
        Its standard error. [settings/d]
    n_shots, n_sessions : int
        On which it rests. [count]
    since : str
        Last service that was taken off, in words: the setting is that since then. Empty where
        none was.
    why : str
        What keeps the bag from saying anything, empty where nothing does: no grind change,
        few, no age, other ages, entwined, weak, untried, backwards, or a message.
    """

    bag: str
    span_d: tuple[float, float] = (math.nan, math.nan)
    tried: tuple[float, float] = (math.nan, math.nan)
    setting: FiellerSet | None = None
    setting_error: float = math.nan
    per_day: FiellerSet | None = None
    per_day_error: float = math.nan
    n_shots: int = 0
    n_sessions: int = 0
    since: str = ""
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
        return replace(known, why="no age"), None
    if rows.predictor(GRIND) is None:
        declined = any(name == GRIND for name, _ in rows.declined)
        return replace(known, why="few" if declined else "no grind change"), None
    if goes_along(rows, GRIND, with_columns=(SERVICE,)).inseparable:
        return replace(known, why="entwined"), None
    try:
        return known, fit_trend(rows)
    except AliasedColumnsError:
        return replace(known, why="entwined"), None
    except YieldwrightError as refusal:
        return replace(known, why=str(refusal)), None


def bag_setting(
    known: BagSetting,
    model: TrendModel,
    *,
    time_s: float,
    age_d: float,
    told_in: pd.DataFrame | None = None,
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
    told_in : DataFrame or None
        One row per shot of the whole log, in which services are told in words. None for the
        day alone.

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
    mean's over the absolute value of b, the first-order one. The level is that of the bench
    as it was when the bag ended: since the last service that is taken off, in the band most
    shots were pulled in.

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
    >>> round(found.setting.estimate, 1), round(found.per_day.estimate, 2)
    (10.0, -0.1)
    """
    if not known.span_d[0] <= age_d <= known.span_d[1]:
        return replace(known, why="other ages")
    usual = float(model.rows.prepared.frame[GRIND].mean())
    slope = _per_number(model)
    level = model.level_at(age_d, {GRIND: usual})
    setting = model.ratio(-level, slope, constant=time_s).shifted(origin=usual, unit=1.0)
    if setting.kind != "bounded":
        return replace(known, why="weak")
    found = replace(known, setting=setting, since=service_in_force(model.rows, told_in))
    if not known.tried[0] <= setting.estimate <= known.tried[1]:
        return replace(found, why="untried")
    grinder = model.rows.bench.grinder(model.rows.comparable.grinder)
    per_number = model.estimate(slope, "per number").estimate
    if per_number * grinder.coarser_sign > 0:
        return replace(found, why="backwards")
    day, step = model.per_day(age_d), slope * grinder.step * grinder.coarser_sign
    held = model.ratio(-day, step)
    at_setting = level + (setting.estimate - usual) * slope
    return replace(
        found,
        setting_error=model.estimate(at_setting, "level").std_error / abs(per_number),
        per_day=held,
        per_day_error=model.estimate(day + held.estimate * step, "left").std_error
        / abs(per_number * grinder.step),
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
