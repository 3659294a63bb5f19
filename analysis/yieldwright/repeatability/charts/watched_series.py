"""Shots as one series: in order, of one kind, and free of what settings did to them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import RoleError
from yieldwright.formatting import count, listing
from yieldwright.models.terms.design import build_design
from yieldwright.models.wording import quoted
from yieldwright.repeatability.charts.watch_events import services
from yieldwright.results import Dropped
from yieldwright.taste.columns.one_start import shots_of_one_start
from yieldwright.taste.columns.predictors import Question, prepare
from yieldwright.taste.columns.roles import role_of
from yieldwright.taste.words.bag_words import bag_name
from yieldwright.taste.words.wording import column_label, level_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yieldwright.bench import Bench
    from yieldwright.repeatability.charts.watch_events import Service
    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.columns.predictors import Predictor, Prepared

__all__ = ["AGE", "LEAST", "WatchedSeries", "watched_series"]

Array = npt.NDArray[np.float64]

#: What is set before a shot, the weightiest first, and what the bag does meanwhile.
SETTINGS = (
    "grind_setting",
    "temp_band",
    "taper_bar",
    "dose_target_g",
    "beverage_target_g",
    "puck_screen",
    "paper",
    "prewet_s",
)
AGE = "roast_age_d"

#: Settings that make shots of one kind where most share them.
KINDS = ("bag", "grind_setting", "temp_band", "puck_screen", "paper")

#: Fewest values of a chart (common practice, no source: the handbook's example has 10).
LEAST = 10

#: A setting that so many of three shots share stands for the bench by itself.
DOMINANT_OF_THREE = 2

#: Values that each column taken out needs, as for adjusters of a fit.
ROWS_EACH = 5

#: Columns a series stands in order of, and what is said of it.
ORDERS = {
    ("pulled_at",): "",
    ("pulled_on", "position"): "",
    (): "Not every shot has a time, or a day and a position: they stand in the order of the file.",
}


@dataclass(frozen=True, slots=True, eq=False)
class WatchedSeries:
    """One value per shot in the order pulled, and what was taken out of it.

    Attributes
    ----------
    shots : DataFrame
        One row per shot charted, all columns of the log.
    observed : ndarray
        Values as logged. [unit of the column]
    matrix : ndarray
        Design to adjust by: ones, and a column per thing allowed for.
    allowed_for : tuple of str
        Columns taken out.
    not_allowed_for : tuple of str
        Columns that differ and could not be.
    dropped : tuple of Dropped
        Shots left out, with reasons.
    other_start : tuple of Dropped
        Those of them that have a value counted from another start of the clock.
    remarks : tuple of str
        What a reader must know of order and choice of shots.
    ordered : bool
        Whether times, or days and positions, give the order.
    served : mapping of int to Service
        What was cleaned or changed before which of them.
    """

    shots: pd.DataFrame
    observed: Array
    matrix: Array
    allowed_for: tuple[str, ...]
    not_allowed_for: tuple[str, ...]
    dropped: tuple[Dropped, ...]
    other_start: tuple[Dropped, ...]
    remarks: tuple[str, ...]
    ordered: bool
    served: Mapping[int, Service] = field(default_factory=dict)


def watched_series(
    comparable: ComparableSet,
    of: str,
    *,
    bench: Bench,
    baseline: int | None,
    told_in: pd.DataFrame | None = None,
) -> WatchedSeries:
    """Return the shots of a set as one series of a column.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder.
    of : str
        Column of numbers, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.
    baseline : int or None
        How many of the first shots estimates rest on; None for all. [count]
    told_in : DataFrame or None
        One row per shot of the whole log, warm-ups and failures too: a service may be told
        at one of them. None for the shots to chart.

    Returns
    -------
    WatchedSeries
        Empty where no shot has a value.

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    RoleError
        If the column holds words.

    Notes
    -----
    Where two shots of three share bag, grind, band, screen and paper, these stand for the
    bench: pulled alike, they need no model. Else all shots stay, and what settings and
    the age of the bag do is taken out along straight lines and by level, the weightiest
    columns first, for as long as each leaves five values.
    """
    _require_numbers(comparable.shots, of)
    timed, other_start = shots_of_one_start(comparable.shots, of)
    shots, remark = _in_order(timed)
    alike, kind = _of_one_kind(shots, of)
    lost = (Dropped(int((~alike).sum()), "pulled at another setting"),) if kind else ()
    # The row stands in for the name of a shot, so that rows are found again.
    numbered = replace(comparable, shots=shots.assign(shot=range(len(shots)))[alike])
    question = Question(of, bench, tuple(name for name in SETTINGS if name != of), (AGE,))
    chosen, others = _affordable(prepare(numbered, question), baseline)
    asked = replace(question, settings=tuple(each.column for each in chosen), adjusters=())
    prepared = prepare(numbered, asked)  # a gap in what is not allowed for costs no shot
    chosen, _ = _affordable(prepared, baseline)
    rows = prepared.frame["shot"].to_numpy(dtype=int)
    charted = shots.iloc[rows].reset_index(drop=True)
    return WatchedSeries(
        shots=charted,
        observed=shots[of].to_numpy(dtype=float)[rows] if len(rows) else np.empty(0),
        matrix=_matrix(prepared.frame, chosen),
        allowed_for=tuple(each.column for each in chosen),
        not_allowed_for=others,
        dropped=(*prepared.dropped, *other_start, *lost),
        other_start=other_start,
        remarks=tuple(filter(None, (remark, kind))),
        ordered=not remark,
        served=services(charted, None if told_in is None else _in_order(told_in)[0]),
    )


def _require_numbers(shots: pd.DataFrame, of: str) -> None:
    """Refuse names the glossary does not know, and columns of words."""
    role_of(of)
    if of in shots and not pd.api.types.is_numeric_dtype(shots[of]):
        raise RoleError(f"{quoted(of)} holds words; a control chart needs a column of numbers")


def _in_order(shots: pd.DataFrame) -> tuple[pd.DataFrame, str]:
    """Return shots in the order pulled as far as the log knows it, and what to say of that."""
    for keys, remark in ORDERS.items():
        if all(key in shots and shots[key].notna().all() for key in keys):
            ordered = shots.sort_values(list(keys), kind="stable") if keys else shots
            return ordered.reset_index(drop=True), remark
    return shots.reset_index(drop=True), ""


def _of_one_kind(shots: pd.DataFrame, of: str) -> tuple[pd.Series[bool], str]:
    """Return which shots to keep, and what kind they are of where one kind dominates."""
    every = pd.Series(True, index=shots.index)
    keys = [key for key in KINDS if key in shots and key != of and len(shots[key].unique()) > 1]
    if of not in shots or not keys:
        return every, ""
    kinds = shots[keys].astype("str").agg("\x1f".join, axis=1)
    answered = kinds[shots[of].notna()]
    usual = answered.mode()
    n_alike = int((answered == usual.iloc[0]).sum()) if len(usual) else 0
    if (
        n_alike < LEAST
        or 3 * n_alike < DOMINANT_OF_THREE * len(answered)
        or n_alike == len(answered)
    ):
        return every, ""
    first = shots.loc[(kinds == usual.iloc[0]).idxmax()]
    named = listing([_value_words(key, first[key]) for key in keys])
    remark = (
        f"{count(n_alike, 'shot')} of {len(answered)} had {named}: the chart is of these alone, "
        "because shots pulled alike need no allowing for."
    )
    return (kinds == usual.iloc[0]) | shots[of].isna(), remark


def _value_words(column: str, value: object) -> str:
    if pd.isna(value):  # type: ignore[call-overload]
        return f"no {column_label(column)} logged"
    return bag_name(str(value)) if column == "bag" else level_words(column, value)


def _affordable(
    prepared: Prepared, baseline: int | None
) -> tuple[tuple[Predictor, ...], tuple[str, ...]]:
    """Return what the rows can allow for, and what they cannot."""
    first = len(prepared.frame) if baseline is None else min(baseline, len(prepared.frame))
    chosen: list[Predictor] = []
    others: list[str] = []
    for each in sorted(prepared.predictors, key=lambda found: found.column != "bag"):
        taken = sum(one.width for one in (*chosen, each))
        if ROWS_EACH * taken > first - 1:
            others.append(each.column)
            continue
        rows = _matrix(prepared.frame, (*chosen, each))[:first]
        if np.linalg.matrix_rank(rows) == taken + 1:  # else it follows from what is there
            chosen.append(each)
    return tuple(chosen), tuple(others)


def _matrix(frame: pd.DataFrame, chosen: Sequence[Predictor]) -> Array:
    if frame.empty:
        return np.empty((0, 1))
    return build_design(frame, [each.term() for each in chosen]).matrix
