"""Before and after dated events at the bench, with the trend in age taken off."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd

from yieldwright.ageing.breaks.dated_events import DatedEvent, dated_events
from yieldwright.ageing.breaks.event_steps import STRETCH, EventStep, fit_steps
from yieldwright.ageing.breaks.event_words import event_names, step_cautions, step_sentences
from yieldwright.ageing.compared.grinder_shots import AGELESS, shots_of_grinder, with_ages
from yieldwright.ageing.trend.rows import AGE, BagRows
from yieldwright.cautions import gravest_first
from yieldwright.formatting import clip, count, number, p_value
from yieldwright.models.contrasts.contrasts import holm
from yieldwright.results import ESTIMATE_COLUMNS, Result
from yieldwright.shotlog import ShotLog
from yieldwright.taste.asking import named_response
from yieldwright.taste.words.wording import column_label, effect_interval, response_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.ageing.trend.model import TrendModel
    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["Breaks", "events"]

#: Refusals told in full; a bench cleaned every day has more than one wants to read.
MOST_REFUSALS = 3

#: Columns of a table of shots around events.
POINT_COLUMNS = ("day", "roast_age_d", "bag", "stretch", "value", "fitted")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Breaks(Result):
    """The step of a response at each dated event, with the trend in age taken off.

    Attributes
    ----------
    response : str
        Column explained.
    unit : str
        Its unit, for a scale.
    steps : tuple of EventStep
        In the order of time, told or not.
    p_holm : tuple of float
        One per step, corrected for all that were told; missing where it was not. [1]
    days : tuple of float
        When each happened, in days since the first shot; missing where it is not known.
    points : DataFrame
        One row per shot: `day` since the first, `roast_age_d`, `bag`, `stretch`, `value`
        brought to the usual grind and whatever else was allowed for, and `fitted`.
    by_day : bool
        Whether `day` counts days of the calendar; else it is the roast age.
    """

    drawing: ClassVar[str] = "before_after"

    response: str
    unit: str = ""
    steps: tuple[EventStep, ...] = ()
    p_holm: tuple[float, ...] = ()
    days: tuple[float, ...] = ()
    points: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(POINT_COLUMNS)))
    by_day: bool = True

    @property
    def title(self) -> str:
        """What is looked at."""
        return f"Before and after what was changed: {column_label(self.response)}"

    @property
    def told(self) -> tuple[EventStep, ...]:
        """The events whose step could be told."""
        return tuple(step for step in self.steps if step.step is not None)

    def to_frame(self) -> pd.DataFrame:
        """Return the steps at full precision.

        Returns
        -------
        DataFrame
            One row per event: what and when, the columns of all estimates, the plain
            difference with its limits, what ageing put into it, and `why` no step is told.
        """
        rows = [_row(step, p) for step, p in zip(self.steps, self.p_holm, strict=True)]
        plain = ["plain", "plain_low", "plain_high", "ageing", "older_d", "why"]
        return pd.DataFrame(rows, columns=[*ESTIMATE_COLUMNS, *plain])

    def display_frame(self) -> pd.DataFrame:
        """Return the steps as text.

        Returns
        -------
        DataFrame
            One row per event.
        """
        shown = [_shown(step, p) for step, p in zip(self.steps, self.p_holm, strict=True)]
        columns = ["Event", "Step", "95 % interval", "p (Holm)", "Two means"]
        return pd.DataFrame(shown, columns=columns)


def events(
    rows_or_log: ShotLog | ComparableSet | BagRows,
    of: str = "",
    *,
    bench: Bench,
    told_in: pd.DataFrame | None = None,
) -> Breaks | None:
    r"""Return the step of a response at each service and change of water, ageing taken off.

    Parameters
    ----------
    rows_or_log : ShotLog, ComparableSet or BagRows
        A whole log, for all bags of the grinder that ends it; or the shots of one bag.
    of : str
        An attribute that was scored, such as `overall`, or `ey_pct`, `time_s`, `tds_pct`;
        empty for the first attribute scored, or for what the rows are of.
    bench : Bench
        Whose grinder step, bands and scales to use.
    told_in : DataFrame or None
        One row per shot of the whole log, warm-ups and failures too: a service may be told
        at one of them. None for the shots to judge, or those of the log.

    Returns
    -------
    Breaks or None
        None where nothing dated happened between two of the shots.

    Raises
    ------
    UnknownNameError
        If the log has no such outcome.
    TooFewShotsError
        If the log holds no shots.

    Notes
    -----
    Two plain means mix the event with what the bag did meanwhile: they stand beside the
    step, with the share that ageing has in them. What happened before the first or after
    the last of the shots is no matter.

    References
    ----------
    .. [1] Wagner, Soumerai, Zhang and Ross-Degnan (2002), J. Clin. Pharm. Ther. 27, 299:
       a step beside a trend, and not before against after.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,time_s,serviced\n1,36,\n2,35,descaled\n", encoding="utf-8")
    ...     log = read_log(path)
    >>> events(log, "time_s", bench=log.bench).to_frame()["why"].tolist()
    ['unknown age']
    """
    comparable, whole = _shots(rows_or_log)
    whole = whole if told_in is None else told_in
    if isinstance(rows_or_log, BagRows) and not of:
        of = rows_or_log.response
    response = named_response(of, comparable, bench=bench)
    stretch, happened = dated_events(whole)
    comparable, happened = _between(comparable, whole, stretch, happened)
    if not happened:
        return None
    aged, dropped = with_ages(comparable, response, bench=bench)
    fitted = fit_steps(aged, happened, response, bench=bench)
    if aged.shots.empty and any(each.reason == AGELESS for each in dropped):
        unknown = tuple(replace(each, why="unknown age") for each in fitted.steps)
        fitted = replace(fitted, steps=unknown)
    tested = [np.nan if each.step is None else each.step.p_value for each in fitted.steps]
    corrected = tuple(float(p) for p in holm(tested))
    told = [
        step_sentences(step, p, fitted, response=response, bench=bench)
        for step, p in zip(fitted.steps, corrected, strict=True)
    ]
    points, by_day = _points(aged, fitted.model)
    return Breaks(
        response=response,
        unit=response_words(response, bench).unit,
        steps=fitted.steps,
        p_holm=corrected,
        days=tuple(_day(step, aged, by_day=by_day) for step in fitted.steps),
        points=points,
        by_day=by_day,
        n_shots=len(points) or len(aged.shots),
        dropped=(*comparable.excluded, *dropped),
        sentences=_sentences(fitted.steps, told),
        cautions=gravest_first(step_cautions(fitted, fitted.steps)),
    )


def _sentences(steps: Sequence[EventStep], told: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Return what was told of each event, and of those that could not be told only a few."""
    said = [words for step, words in zip(steps, told, strict=True) if step.step is not None]
    refused = [words for step, words in zip(steps, told, strict=True) if step.step is None]
    hidden = len(refused) - MOST_REFUSALS
    more = [f"Of {count(hidden, 'more event')} nothing can be told either."] if hidden > 0 else []
    every = [*said, *refused[:MOST_REFUSALS], more]
    return tuple(sentence for words in every for sentence in words if sentence)


def _shots(rows_or_log: ShotLog | ComparableSet | BagRows) -> tuple[ComparableSet, pd.DataFrame]:
    """Return the shots to judge, and those whose entries tell what happened."""
    if isinstance(rows_or_log, ShotLog):
        return shots_of_grinder(rows_or_log), rows_or_log.shots
    comparable = rows_or_log.comparable if isinstance(rows_or_log, BagRows) else rows_or_log
    return comparable, comparable.shots


def _between(
    comparable: ComparableSet,
    whole: pd.DataFrame,
    stretch: pd.Series[int],
    happened: Sequence[DatedEvent],
) -> tuple[ComparableSet, tuple[DatedEvent, ...]]:
    """Return shots with the stretch they lie in, and the events that lie between them."""
    shots = comparable.shots
    if "shot" in whole and "shot" in shots:
        numbers = shots["shot"].map(dict(zip(whole["shot"], stretch, strict=True)))
    else:
        numbers = stretch.reindex(shots.index)
    if not happened or shots.empty:
        return comparable, ()
    first, last = int(numbers.min()), int(numbers.max())
    marked = shots.assign(**{STRETCH: numbers - first})
    return replace(comparable, shots=marked), tuple(happened[first:last])


def _points(aged: ComparableSet, model: TrendModel | None) -> tuple[pd.DataFrame, bool]:
    """Return values freed of what was allowed for beside age, bag and events, and the trend."""
    if model is None:
        return pd.DataFrame(columns=list(POINT_COLUMNS)), True
    frame, design = model.rows.prepared.frame, model.design
    shots = aged.shots.set_index(aged.shots["shot"].astype(str))
    names = frame["shot"].astype(str)
    kept = [
        place
        for place, source in enumerate(design.sources)
        if source in ("(intercept)", AGE, "bag") or source.startswith("step_")
    ]
    usual = design.matrix.mean(axis=0)
    shown = np.tile(usual, (len(frame), 1))
    shown[:, kept] = design.matrix[:, kept]
    params = model.fit.params
    pulled = names.map(shots["pulled_on"]) if "pulled_on" in shots else None
    dated = pulled is not None and bool(pulled.notna().all())
    days = (pulled - pulled.min()).dt.days if dated and pulled is not None else frame[AGE]
    points = pd.DataFrame(
        {
            "day": days.to_numpy(dtype=float),
            "roast_age_d": frame[AGE].to_numpy(dtype=float),
            "bag": frame["bag"].astype(str) if "bag" in frame else "",
            "stretch": names.map(shots[STRETCH]).to_numpy(dtype=int),
            "value": frame["response"].to_numpy(dtype=float) - (design.matrix - shown) @ params,
            "fitted": shown @ params,
        }
    )
    return points, dated


def _day(step: EventStep, aged: ComparableSet, *, by_day: bool) -> float:
    """Return when an event happened: half-way between the shots on its two sides."""
    shots = aged.shots
    key = "pulled_on" if by_day else AGE
    if key not in shots or shots[key].isna().any():
        return float("nan")
    after = shots[STRETCH] >= step.begins
    if after.all() or not after.any():
        return float("nan")
    ends = [shots.loc[~after, key].max(), shots.loc[after, key].min()]
    if not by_day:
        return float(np.mean(ends))
    return float(np.mean([(end - shots[key].min()).days for end in ends]))


def _row(step: EventStep, p_holm: float) -> list[object]:
    """Return one event as a row at full precision."""
    found = step.step
    values = [np.nan if found is None else getattr(found, name) for name in ESTIMATE_COLUMNS[1:-1]]
    return [event_names(step), *values, p_holm, *step.plain, step.ageing, step.older_d, step.why]


def _shown(step: EventStep, p_holm: float) -> list[str]:
    """Return one event as text."""
    found = step.step
    what = clip(" + ".join(event.label for event in step.events), 30)
    if found is None:
        return [what, "not told", "–", "–", "–"]
    half = (found.ci_high - found.ci_low) / 2
    return [
        what,
        number(found.estimate, half),
        effect_interval(found.ci_low, found.ci_high),
        p_value(p_holm),
        number(step.plain[0], half),
    ]
