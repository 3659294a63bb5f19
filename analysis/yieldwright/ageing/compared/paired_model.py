"""The difference of two bags inside sessions, how it changes, and the drift of each bag."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.ageing.compared.paired_rows import FIRST, PairedRows
from yieldwright.ageing.trend.rows import LEAST_BETWEEN, ROWS_EACH
from yieldwright.errors import AliasedColumnsError, OutOfRangeError, YieldwrightError
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.mixed.groups import grouping, repeats_suffice
from yieldwright.models.mixed.model import fit_mixed
from yieldwright.models.terms.columns import constant_columns
from yieldwright.models.trend.paired import PairedFit, fit_paired
from yieldwright.taste.columns.predictors import Predictor
from yieldwright.taste.confounding.confounding import RED, sweep

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.contrasts.contrasts import Estimate

__all__ = [
    "OwnDrift",
    "brought_together",
    "change_of",
    "difference_of",
    "expected_differences",
    "own_drift",
]

Array = npt.NDArray[np.float64]

#: Sessions, and different days among them, from which a change from day to day is told.
LEAST_LINE, LEAST_DAYS = 4, 3

DAY = "day"

#: Points of the line that is drawn.
DAYS_SHOWN = 31


@dataclass(frozen=True, slots=True)
class OwnDrift:
    """How one of both bags drifted by itself, palate, water and weather with it.

    Attributes
    ----------
    per_day : Estimate
        Change per calendar day. [unit of the response per d]
    with_it : tuple of str
        Columns that changed meanwhile and are not taken off.
    """

    per_day: Estimate
    with_it: tuple[str, ...] = ()


def difference_of(rows: PairedRows) -> tuple[PairedFit, PairedRows]:
    """Return the difference of both bags, and the rows as they could be held equal.

    Parameters
    ----------
    rows : PairedRows
        Of three sessions or more.

    Returns
    -------
    found : PairedFit
    rows : PairedRows
        With the columns among `together` that go along with the bag only jointly.

    Raises
    ------
    OutOfRangeError
        If the difference is the same in every session.
    TooFewShotsError
        If there are fewer than three sessions.
    """
    try:
        return _paired(rows, along=None), rows
    except AliasedColumnsError:
        bare = rows.together_with([each.column for each in rows.kept])
        return _paired(bare, along=None), bare


def change_of(rows: PairedRows) -> tuple[PairedFit | None, str]:
    """Return how the difference changes per calendar day, or why that is not told.

    Parameters
    ----------
    rows : PairedRows
        As `difference_of` gives them back.

    Returns
    -------
    found : PairedFit or None
        Along the days from the first session.
    why : str
        Empty where there is one.
    """
    why = _why_no_line(rows)
    if why:
        return None, why
    try:
        return _paired(rows, along=rows.days), ""
    except YieldwrightError as problem:
        return None, str(problem)


def brought_together(rows: PairedRows, found: PairedFit) -> Array:
    """Return the response of each row, brought to one value of what is held equal.

    Parameters
    ----------
    rows : PairedRows
        As `difference_of` gives them back.
    found : PairedFit
        The difference.

    Returns
    -------
    ndarray
        One value per row. [unit of the response]
    """
    values = rows.frame["response"].to_numpy(dtype=float)
    columns, names = _beside(rows.frame, rows.kept)
    for column, name in zip(columns.T, names, strict=True):
        values = values - found.coefficient(name) * (column - column.mean())
    return values


def expected_differences(
    rows: PairedRows, found: PairedFit, change: PairedFit | None
) -> pd.DataFrame:
    """Return the difference expected on each day, with its limits.

    Parameters
    ----------
    rows : PairedRows
        As `difference_of` gives them back.
    found, change : PairedFit
        The difference, and the same along the days; without that, one difference holds.

    Returns
    -------
    DataFrame
        One row per day shown: `day`, `value`, `low`, `high`.
    """
    days = rows.days
    ends = (np.nanmin(days), np.nanmax(days)) if not np.isnan(days).all() else (0.0, 0.0)
    shown = np.linspace(*ends, DAYS_SHOWN)
    told = [found.difference if change is None else change.at(float(day)) for day in shown]
    return pd.DataFrame(
        {
            "day": shown,
            "value": [each.estimate for each in told],
            "low": [each.ci_low for each in told],
            "high": [each.ci_high for each in told],
        }
    )


def own_drift(rows: PairedRows, *, first: bool) -> OwnDrift | None:
    """Return how one bag drifted by itself over the days of the shared sessions.

    Parameters
    ----------
    rows : PairedRows
        Of both bags.
    first : bool
        Whether the first is meant.

    Returns
    -------
    OwnDrift or None
        None where sessions are too few or the days not known.

    Notes
    -----
    A line over days with sessions that shift their shots, degrees of freedom after Kenward
    and Roger. Columns that differ are taken off where the shots can bear it and none of them
    went along with the day.
    """
    if _why_no_line(rows):
        return None
    mine = rows.frame[FIRST].to_numpy(dtype=bool) == first
    frame = rows.frame.assign(**{DAY: rows.days})[mine].reset_index(drop=True)
    constant = constant_columns(frame, [each.column for each in rows.predictors])
    varying = [each for each in rows.predictors if each.column not in constant]
    free = [each for each in varying if _is_free(frame, each, varying, rows.n_sessions)]
    rest = tuple(each.column for each in varying if each not in free)
    try:
        return OwnDrift(_drift(frame, free), rest)
    except YieldwrightError:
        return None


def _why_no_line(rows: PairedRows) -> str:
    """Return why nothing can be told along the days, empty where it can."""
    if np.isnan(rows.days).any():
        return "the day of a shot is not known"
    if rows.n_sessions < LEAST_LINE or len(np.unique(rows.days)) < LEAST_DAYS:
        return f"that takes {LEAST_LINE} sessions on {LEAST_DAYS} days or more"
    return ""


def _paired(rows: PairedRows, *, along: Array | None) -> PairedFit:
    columns, names = _beside(rows.frame, rows.kept)
    return fit_paired(
        rows.frame["response"].to_numpy(dtype=float),
        rows.frame[FIRST].to_numpy(dtype=bool),
        rows.codes,
        along=along,
        beside=columns,
        names=names,
    )


def _beside(frame: pd.DataFrame, kept: Sequence[Predictor]) -> tuple[Array, list[str]]:
    """Return the columns held equal as numbers, with a name for each."""
    blocks = [each.term().settled(frame).coded(frame) for each in kept]
    matrix = np.column_stack([np.empty((len(frame), 0)), *blocks])
    pairs = zip(kept, blocks, strict=True)
    names = [f"{each.column} {k}" for each, block in pairs for k in range(block.shape[1])]
    return matrix, names


def _is_free(
    frame: pd.DataFrame, predictor: Predictor, varying: Sequence[Predictor], n_sessions: int
) -> bool:
    """Return whether a column can be taken off a drift that it did not go along with."""
    levels = frame[predictor.column].nunique()
    if predictor.levels and levels < len(predictor.levels):
        return False
    together = sweep(frame, [Predictor(DAY, "adjuster"), predictor], np.zeros(len(frame), int))
    taken = sum(each.width for each in varying)
    constant = frame.groupby("session")[predictor.column].nunique().max() == 1
    room = n_sessions - 2 - taken >= LEAST_BETWEEN if constant else True
    bears = ROWS_EACH * taken <= len(frame) - n_sessions - 1
    return room and bears and together.inflation(DAY, [predictor.column]) < RED


def _drift(frame: pd.DataFrame, free: Sequence[Predictor]) -> Estimate:
    columns, names = _beside(frame, free)
    values = frame["response"].to_numpy(dtype=float)
    matrix = np.column_stack([np.ones(len(frame)), frame[DAY], columns])
    labels = ("(intercept)", DAY, *names)
    if repeats_suffice(len(frame), frame["session"].nunique()):
        try:
            fit = fit_mixed(matrix, values, [grouping(frame, "session")], names=labels)
            return estimated(fit, {DAY: 1.0}, term="per day", df="kenward_roger")
        except OutOfRangeError:  # all shots of each session came out alike
            pass
    means = pd.DataFrame(matrix).assign(value=values).groupby(frame["session"], sort=False).mean()
    bare = fit_least_squares(means.to_numpy()[:, :-1], means["value"].to_numpy(), names=labels)
    return estimated(bare, {DAY: 1.0}, term="per day")
