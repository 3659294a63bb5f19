"""The step of a response at dated events, with the trend in age and the bags beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from yieldwright.ageing.compared.several_bags import rows_of_bags
from yieldwright.ageing.compared.told_apart import GoesAlong, goes_along
from yieldwright.ageing.trend.model import TrendModel, fit_trend
from yieldwright.ageing.trend.rows import AGE, LEAST_BETWEEN, BagRows
from yieldwright.errors import YieldwrightError
from yieldwright.models.intervals.intervals import t_interval
from yieldwright.taste.columns.predictors import Predictor

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from yieldwright.ageing.breaks.dated_events import DatedEvent
    from yieldwright.bench import Bench
    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["EventStep", "StepFit", "fit_steps"]

#: Number of the stretch between two events that a shot lies in.
STRETCH = "stretch"

#: What an event needs on each side, of bags that were pulled on both.
LEAST_SHOTS, LEAST_SESSIONS = 4, 2

#: What stands beside age, bags and events, the weightiest first; without its service
#: column, which the events stand for.
BESIDE = ("grind_setting", "temp_band", "dose_g")

#: Session means left over beside a bend, as for bags that are compared: with 2 the interval of
#: a step covered all of 500 simulated logs of 6 sessions, too wide to use.
MEANS_LEFT = 4

#: What an event cannot be told apart from where it changed along with it.
CONFUSING = ("grind_setting", "temp_band")


@dataclass(frozen=True, slots=True)
class EventStep:
    """One event, or several without shots enough between them, and the step there.

    Attributes
    ----------
    events : tuple of DatedEvent
        What happened.
    step : Estimate or None
        Response after it less response before it, with the trend in age, the bag and the
        grind the same. [unit of the response]
    plain : tuple of float
        Difference of the two plain means, and its t limits. [unit of the response]
    ageing : float
        What the trend in age put into that difference. [unit of the response]
    older_d : float
        How much older the coffee was after it, on average. [d]
    sides : tuple of pairs of int
        Shots and sessions before and after it, of bags that were pulled on both sides; where
        those were too few, back to the event before and on to the next one.
    bags : tuple of str
        Bags pulled on both sides.
    begins : int
        Number of the stretch that begins with it.
    entwined : GoesAlong or None
        What changed along with it.
    why : str
        What keeps the step from being told: few, few of one bag, new bag, unknown age, entwined,
        sessions, no spread, or a message; empty where nothing does.
    """

    events: tuple[DatedEvent, ...]
    step: Estimate | None = None
    plain: tuple[float, float, float] = (math.nan, math.nan, math.nan)
    ageing: float = math.nan
    older_d: float = math.nan
    sides: tuple[tuple[int, int], tuple[int, int]] = ((0, 0), (0, 0))
    bags: tuple[str, ...] = ()
    begins: int = 0
    entwined: GoesAlong | None = None
    why: str = ""


@dataclass(frozen=True, eq=False)
class StepFit:
    """Steps at events, and the model they were taken from.

    Attributes
    ----------
    steps : tuple of EventStep
        In the order of time.
    model : TrendModel or None
        None where no step could be told.
    not_allowed : tuple of str
        Columns that differ and could not be allowed for.
    """

    steps: tuple[EventStep, ...]
    model: TrendModel | None = None
    not_allowed: tuple[str, ...] = ()


def fit_steps(
    comparable: ComparableSet,
    events: Sequence[DatedEvent],
    response: str,
    *,
    bench: Bench,
) -> StepFit:
    """Return the step of a response at each event, or what keeps it from being told.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder with age and response, and a column `stretch`: of how many of
        the events each shot comes after.
    events : sequence of DatedEvent
        In the order of time.
    response : str
        Column explained.
    bench : Bench
        Whose grinder step, bands and scales to use.

    Returns
    -------
    StepFit

    Notes
    -----
    All events stand in one model, each as a step beside a line in age, or a curve where
    sessions can bear it, one level per bag, and the grind; sessions shift their shots at
    random. A stretch with fewer than
    4 shots or 2 sessions is left out, and the events on both sides of it are told together.

    Examples
    --------
    >>> from yieldwright.ageing.breaks.dated_events import DatedEvent
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"stretch": [0, 1], "roast_age_d": [4.0, 9.0], "time_s": 36.0})
    >>> fit_steps(
    ...     ComparableSet("", "", shots), [DatedEvent("service", "", "2")], "time_s", bench=Bench()
    ... ).steps[0].why
    'few'
    """
    shots = comparable.shots
    if "shot" not in shots:
        shots = shots.assign(shot=[str(row) for row in shots.index])
    thick = _thick(shots)
    kept = shots[shots[STRETCH].isin(thick)].reset_index(drop=True)
    told = [
        _supported(kept, events[before:after], (before, after))
        for before, after in pairwise(thick)
    ]
    early, late = events[: thick[0]] if thick else events, events[thick[-1] :] if thick else ()
    lone = [
        EventStep((each,), sides=_sides(_near(shots, number), number), begins=number, why="few")
        for number, each in enumerate(events, 1)
        if each in (*early, *late)
    ]
    rows = rows_of_bags(replace(comparable, shots=kept), response, bench=bench, beside=BESIDE)
    fitted = _judged(rows, told)
    order = {event: place for place, event in enumerate(events)}
    every = sorted((*fitted.steps, *lone), key=lambda step: order[step.events[0]])
    return replace(fitted, steps=tuple(every))


def _near(shots: pd.DataFrame, number: int) -> pd.DataFrame:
    """Return the shots between the events before and after the one that begins a stretch."""
    return shots[shots[STRETCH].between(number - 1, number)]


def _thick(shots: pd.DataFrame) -> list[int]:
    """Return the stretches with shots and sessions enough to be a side of an event."""
    if shots.empty:
        return []
    found = shots.assign(session=_sessions(shots)).groupby(STRETCH)["session"]
    counts = found.agg(["size", "nunique"])
    enough = (counts["size"] >= LEAST_SHOTS) & (counts["nunique"] >= LEAST_SESSIONS)
    return [int(number) for number in counts.index[enough]]


def _sessions(shots: pd.DataFrame) -> pd.Series:
    return shots["session"].fillna("unnamed") if "session" in shots else pd.Series("", shots.index)


def _sides(shots: pd.DataFrame, number: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return shots and sessions before and after the event that begins a stretch."""
    sessions, after = _sessions(shots), shots[STRETCH] >= number
    return (
        (int((~after).sum()), int(sessions[~after].nunique())),
        (int(after.sum()), int(sessions[after].nunique())),
    )


def _supported(
    shots: pd.DataFrame, events: Sequence[DatedEvent], pair: tuple[int, int]
) -> EventStep:
    """Return an event with the bags that lie on both sides of it, or that there are none."""
    bag = shots["bag"].fillna("") if "bag" in shots else pd.Series("", index=shots.index)
    before, after = shots[STRETCH] <= pair[0], shots[STRETCH] >= pair[1]
    both = [code for code in bag.unique() if (before & (bag == code)).any()
            and (after & (bag == code)).any()]  # fmt: skip
    sides = _sides(shots[bag.isin(both)], pair[1])
    step = EventStep(
        tuple(events), sides=sides, bags=tuple(str(code) for code in both), begins=pair[1]
    )
    if not both:
        return replace(step, why="new bag")
    thin = any(n < LEAST_SHOTS or m < LEAST_SESSIONS for n, m in sides)
    return replace(step, why="few of one bag" if thin and len(bag.unique()) > 1 else "")


def _judged(rows: BagRows, told: Sequence[EventStep]) -> StepFit:
    """Return events with their steps from one model, those that cannot be told with a reason."""
    if not told or not rows.has_age:
        return _refused(told, "unknown age")
    if not np.ptp(rows.prepared.frame["response"].to_numpy(dtype=float)):
        return _refused(told, "no spread")
    marked, names = _marked(rows, len(told))
    if not names:
        return _refused(told, "few")
    steps = [_told_apart(marked, step, name) for step, name in zip(told, names, strict=True)]
    if all(step.why for step in steps):
        return StepFit(tuple(steps))
    fitted = [name for step, name in zip(steps, names, strict=True) if not _follows(step)]
    whole, dropped = _borne(marked, fitted)
    several = len(marked.comparable.bags) > 1
    if whole is None or (several and whole.predictor("bag") is None):
        return _refused(steps, "sessions")
    left = tuple(
        name for name in (*(each for each, _ in rows.declined), *dropped) if name != "bag"
    )
    return _fitted(whole, steps, names, not_allowed=left)


def _follows(step: EventStep) -> bool:
    """Return whether an event follows from the bags or the settings, which stand for it."""
    return step.why == "new bag" or (step.entwined is not None and step.entwined.inseparable)


def _fitted(
    rows: BagRows,
    steps: Sequence[EventStep],
    names: Sequence[str],
    *,
    not_allowed: tuple[str, ...],
) -> StepFit:
    """Return the steps of one model, or the reason it refuses."""
    try:
        model = fit_trend(rows, form=_form(rows))
        found = [_estimated(model, step, name) for step, name in zip(steps, names, strict=True)]
    except YieldwrightError as refusal:
        return _refused(steps, str(refusal))
    return StepFit(tuple(found), model, not_allowed)


def _marked(rows: BagRows, n_events: int) -> tuple[BagRows, tuple[str, ...]]:
    """Return rows with a column per event that is 1 after it, none where a stretch got lost."""
    shots = rows.comparable.shots
    stretches = dict(zip(shots["shot"].astype(str), shots[STRETCH], strict=True))
    number = rows.prepared.frame["shot"].astype(str).map(stretches)
    starts = sorted(number.unique())[1:]
    if len(starts) != n_events:
        return rows, ()
    columns = {f"step_{place}": (number >= at).astype(float) for place, at in enumerate(starts)}
    frame = rows.prepared.frame.assign(**columns)
    return replace(rows, prepared=replace(rows.prepared, frame=frame)), tuple(columns)


def _form(rows: BagRows) -> Literal["line", "any"]:
    """Return whether a bend may be asked for beside the events: not where sessions are few."""
    between = sum(each.width for each in rows.beside if rows.same_in_sessions(each.column))
    return "any" if rows.n_sessions - 3 - between >= MEANS_LEFT else "line"


def _refused(steps: Sequence[EventStep], why: str) -> StepFit:
    return StepFit(tuple(replace(step, why=step.why or why) for step in steps))


def _told_apart(rows: BagRows, step: EventStep, name: str) -> EventStep:
    """Return an event with what changed along with it."""
    along = goes_along(rows, name, with_columns=CONFUSING, beside=(AGE, "bag"))
    if step.why or not along.partner:
        return step
    return replace(step, entwined=along, why="entwined")


def _borne(rows: BagRows, names: Sequence[str]) -> tuple[BagRows | None, tuple[str, ...]]:
    """Return rows with events among what is allowed for, and the columns that had to go."""
    steps = tuple(Predictor(name, "adjuster") for name in names)
    beside = list(rows.beside)
    dropped: list[str] = []
    while True:
        whole = replace(rows, beside=(*steps, *beside))
        taken = sum(each.width for each in whole.beside if whole.same_in_sessions(each.column))
        if whole.n_sessions - 2 - taken >= LEAST_BETWEEN:
            return whole, tuple(dropped)
        spare = [each for each in beside if each.column != "bag"
                 and whole.same_in_sessions(each.column)]  # fmt: skip
        if not spare:
            return None, tuple(dropped)
        beside.remove(spare[-1])
        dropped.append(spare[-1].column)


def _estimated(model: TrendModel, step: EventStep, name: str) -> EventStep:
    """Return an event with its step, and with what plain means make of it."""
    frame = model.rows.prepared.frame
    stretch = frame[[each for each in frame if str(each).startswith("step_")]].sum(axis=1)
    place = int(name.removeprefix("step_"))
    before, after = (stretch == place).to_numpy(), (stretch == place + 1).to_numpy()
    values = frame["response"].to_numpy(dtype=float)
    columns, matrix = model.design.place(AGE), model.design.matrix
    moved = matrix[after][:, columns].mean(axis=0) - matrix[before][:, columns].mean(axis=0)
    return replace(
        step,
        step=None if step.why else model.estimate(model.per_step(name), step.events[0].name),
        plain=_two_means(values[before], values[after]),
        ageing=float(moved @ model.fit.params[columns]),
        older_d=float(model.rows.ages[after].mean() - model.rows.ages[before].mean()),
    )


def _two_means(
    before: npt.NDArray[np.float64], after: npt.NDArray[np.float64]
) -> tuple[float, float, float]:
    """Return the difference of two plain means with its t limits, shots counted one by one."""
    sizes = np.array([len(before), len(after)])
    squares = ((before - before.mean()) ** 2).sum() + ((after - after.mean()) ** 2).sum()
    df = int(sizes.sum()) - 2
    found = float(after.mean() - before.mean())
    error = math.sqrt(float(squares) / df * float((1 / sizes).sum()))
    low, high = t_interval(found, error, df)
    return found, low, high
