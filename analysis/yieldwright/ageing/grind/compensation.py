"""How the grind must follow a bag: settings per day that hold the time, seconds per day if not."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.ageing.breaks.stretch_names import service_in_force
from yieldwright.ageing.grind.compensation_words import (
    compensation_cautions,
    compensation_sentences,
    seconds,
)
from yieldwright.ageing.grind.reacting_grind import reacting_cautions
from yieldwright.ageing.trend.rows import AGE, BagRows
from yieldwright.ageing.trend.state import SERVICE, state_at
from yieldwright.formatting import number
from yieldwright.results import Result
from yieldwright.taste.words.wording import effect_interval

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from typing import Any

    from yieldwright.ageing.trend.model import TrendModel
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.intervals.fieller import FiellerSet

__all__ = ["Compensation", "compensate", "ratio_set"]

Array = npt.NDArray[np.float64]

GRIND = "grind_setting"

#: Columns of the settings needed.
NEEDED = ("roast_age_d", "setting", "low", "high", "tried", "service_stretch")

#: Ages at which the needed setting is reckoned for the figure.
AGES_SHOWN = 41


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Compensation(Result):
    """What the grind must do to hold the time of a bag as it ages.

    Attributes
    ----------
    model : TrendModel
        Shot time against age and grind.
    seconds_per_day : Estimate
        Change of the time at a fixed setting, on average over the days pulled on. [s/d]
    seconds_per_setting : Estimate or None
        Change of the time with one setting coarser; None where the grind never changed. [s]
    finer_per_day : FiellerSet or None
        Settings finer each day that hold the time, on average over the ages tried; below
        zero means coarser. None where the grind never changed. [settings/d]
    finer_now : FiellerSet or None
        The same at the last age tried; None where only a line could be fitted.
        [settings/d]
    target_s : float
        Time to be held. [s]
    target_stated : bool
        Whether the bench states it; else it is the median of these shots.
    now : DataFrame
        The setting that gives the target at the last age, in the columns of `needed`;
        empty where the grind never changed.
    since : str
        Service since which the bench is as it is at the last age, in words; empty where
        none is taken off.
    """

    drawing: ClassVar[str] = "needed_settings"

    model: TrendModel
    seconds_per_day: Estimate
    seconds_per_setting: Estimate | None
    finer_per_day: FiellerSet | None
    finer_now: FiellerSet | None
    target_s: float
    target_stated: bool
    now: pd.DataFrame = field(default_factory=pd.DataFrame)
    since: str = ""

    @cached_property
    def needed(self) -> pd.DataFrame:
        """The setting that gives the target at each age.

        One row per age: `roast_age_d`, `setting`, `low`, `high`, whether the `setting` was
        `tried`, and `service_stretch`, the service in force at that age, empty where none is
        taken off; no row where the grind never changed.
        """
        return self.needed_at(np.linspace(self.model.age.low, self.model.age.high, AGES_SHOWN))

    def needed_at(self, ages: npt.ArrayLike) -> pd.DataFrame:
        """Return the setting that gives the target at some ages.

        Parameters
        ----------
        ages : array-like
            Roast ages inside those tried. [d]

        Returns
        -------
        DataFrame
            One row per age, in the columns of `needed`; none where the grind never changed.
        """
        if self.finer_per_day is None:
            return self.now
        return _needed(self.model, self.target_s, np.asarray(ages, dtype=float))

    @property
    def used(self) -> pd.DataFrame:
        """One row per shot: `roast_age_d`, `setting`, `time_s`."""
        return _used(self.model.rows)

    @property
    def tried(self) -> tuple[float, float]:
        """Lowest and highest setting tried."""
        settings = self.used["setting"]
        return float(settings.min()), float(settings.max())

    @property
    def coarser_up(self) -> bool:
        """Whether larger numbers grind coarser."""
        step = self.model.rows.predictor(GRIND)
        return step is None or step.step > 0

    @property
    def title(self) -> str:
        """What is reckoned."""
        return f"How the grind must follow the bag to hold {seconds(self.target_s)}"

    def to_frame(self) -> pd.DataFrame:
        """Return settings and seconds per day with limits at full precision.

        Returns
        -------
        DataFrame
            One row per quantity: `quantity`, `unit`, `estimate`, `ci_low`, `ci_high`, and
            `kind` of the limits: bounded, complement or everything.
        """
        rows = [_row("seconds per day at one setting", "s/d", self.seconds_per_day)]
        if self.seconds_per_setting is not None:
            rows.append(_row("seconds per setting coarser", "s", self.seconds_per_setting))
        sets = (("on average", self.finer_per_day), ("at the last age", self.finer_now))
        rows += [
            (f"settings finer per day, {when}", "settings/d", *_limits(found))
            for when, found in sets
            if found is not None
        ]
        return pd.DataFrame(
            rows, columns=["quantity", "unit", "estimate", "ci_low", "ci_high", "kind"]
        )

    def display_frame(self) -> pd.DataFrame:
        """Return the same as text.

        Returns
        -------
        DataFrame
            One row per quantity.
        """
        return pd.DataFrame(
            {
                "Quantity": f"{row['quantity']}",
                "Estimate": _shown(row),
                "95 % limits": _limits_words(row),
            }
            for row in self.to_frame().to_dict("records")
        )


def compensate(model: TrendModel, *, told_in: pd.DataFrame | None = None) -> Compensation:
    """Return how the grind must follow a bag, from a trend of its shot time.

    Parameters
    ----------
    model : TrendModel
        Shot time against roast age, with the grind setting beside it where it changed.
    told_in : DataFrame or None
        One row per shot of the whole log, in which services are told in words. None for the
        day alone.

    Returns
    -------
    Compensation

    Notes
    -----
    Time changes with age by a seconds a day and with one setting coarser by b: settings that
    hold it move by −a/b a day. Limits are Fieller's, exact for normal errors, with degrees of
    freedom after Kenward and Roger of the combination that is zero at the estimate. Where the
    effect of the grind is not clear the set is unbounded, and no interval is told.

    The setting for a day is that for the bench as it was on that day, since the last service
    before it, in the band most shots were pulled in: see `state_at`.

    References
    ----------
    .. [1] Fieller (1954), J. R. Stat. Soc. B 16, 175.

    Examples
    --------
    >>> from yieldwright.ageing.trend.model import fit_trend
    >>> from yieldwright.ageing.trend.rows import bag_rows
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aaabbbcccddd"), "grind_setting": [9, 10, 11.0] * 4})
    >>> shots["roast_age_d"] = np.repeat([4.0, 8.0, 12.0, 20.0], 3)
    >>> shots["time_s"] = 60 - 3 * shots["grind_setting"] - 0.3 * shots["roast_age_d"]
    >>> shots["time_s"] += [0.2, -0.1, -0.1, 0.1, 0.1, -0.2, -0.2, 0.1, 0.1, 0.0, 0.1, -0.1]
    >>> rows = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> round(compensate(fit_trend(rows)).finer_per_day.estimate, 2)
    0.1
    """
    rows = model.rows
    per_day = model.estimate(model.average_per_day(), "per day")
    target, stated = _target(rows)
    found = Compensation(
        model=model,
        seconds_per_day=per_day,
        seconds_per_setting=None,
        finer_per_day=None,
        finer_now=None,
        target_s=target,
        target_stated=stated,
        n_shots=rows.n_shots,
    )
    if rows.predictor(GRIND) is not None:
        found = replace(
            found,
            seconds_per_setting=model.estimate(model.per_step(GRIND), "per setting"),
            finer_per_day=ratio_set(model, model.average_per_day()),
            finer_now=ratio_set(model, model.per_day(model.age.high)) if model.curved else None,
            now=_needed(model, target, np.array([model.age.high])),
            since=service_in_force(rows, told_in),
        )
    told = tuple(compensation_sentences(found))
    reacted = reacting_cautions(model) if found.finer_per_day is not None else ()
    return replace(found, sentences=told, cautions=(*reacted, *compensation_cautions(found)))


def ratio_set(model: TrendModel, per_day: Array) -> FiellerSet:
    """Return the settings finer per day that undo a change per day, as Fieller's set.

    Parameters
    ----------
    model : TrendModel
        Shot time against age and grind.
    per_day : ndarray
        Weights of the change per day.

    Returns
    -------
    FiellerSet
        Of change per day over change per setting coarser: positive where the time falls
        with age and with coarser settings alike, so that the grind must go finer.
    """
    return model.ratio(per_day, model.per_step(GRIND))


def _target(rows: BagRows) -> tuple[float, bool]:
    """Return the time to be held: as the bench states it, else the median of the shots."""
    recipe = rows.bench.recipe
    if recipe.time_s is not None:
        return float(recipe.time_s), True
    return float(np.median(rows.prepared.frame["response"])), False


def _used(rows: BagRows) -> pd.DataFrame:
    frame = rows.prepared.frame
    setting = frame.get(GRIND, np.nan)
    return pd.DataFrame(
        {"roast_age_d": frame[AGE], "setting": setting, "time_s": frame["response"]}
    )


def _needed(model: TrendModel, target_s: float, ages: Array) -> pd.DataFrame:
    """Return the setting that gives the target at some ages, the bench as it was at each."""
    tried = model.rows.prepared.frame[GRIND]
    usual = float(tried.mean())
    step = model.rows.predictor(GRIND)
    size = 1.0 if step is None else step.step
    entries = []
    for age in ages:
        state = state_at(model.rows, float(age))
        level = model.level_at(float(age), {GRIND: usual, **state})
        found = model.ratio(-level, model.per_step(GRIND), constant=target_s)
        at, low, high = (usual + size * value for value in (found.estimate, found.low, found.high))
        bounded = found.kind == "bounded"
        limits = sorted((low, high)) if bounded else (math.nan, math.nan)
        inside = bool(tried.min() <= at <= tried.max())
        entries.append((float(age), at, *limits, inside, str(state.get(SERVICE, ""))))
    return pd.DataFrame(entries, columns=list(NEEDED))


def _row(name: str, unit: str, found: Estimate) -> tuple[object, ...]:
    return (name, unit, found.estimate, found.ci_low, found.ci_high, "bounded")


def _limits(found: FiellerSet) -> tuple[object, ...]:
    return (found.estimate, found.low, found.high, found.kind)


def _shown(row: Mapping[Hashable, Any]) -> str:
    """Return an estimate rounded to its limits, and none where it has no limits."""
    if row["kind"] != "bounded":
        return "–"
    return f"{number(row['estimate'], (row['ci_high'] - row['ci_low']) / 2)} {row['unit']}"


def _limits_words(row: Mapping[Hashable, Any]) -> str:
    if row["kind"] != "bounded":
        return "none"
    return effect_interval(row["ci_low"], row["ci_high"])
