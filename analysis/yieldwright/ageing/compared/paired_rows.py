"""The shots of two bags in the sessions that both were pulled in, and what differs there."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.ageing.compared.grinder_shots import in_order
from yieldwright.ageing.trend.rows import BESIDE, LEAST_BETWEEN, ROWS_EACH
from yieldwright.results import Dropped
from yieldwright.taste.columns.comparable import CONDITIONS
from yieldwright.taste.columns.predictors import Predictor, Question, prepare, response_values
from yieldwright.taste.columns.roles import require_predictors, require_response
from yieldwright.taste.confounding.confounding import RED, inflation_limits, sweep
from yieldwright.taste.strata.strata import codes_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["FEW_SESSIONS", "FIRST", "LEAST_SESSIONS", "PairedRows", "paired_rows"]

#: Column that says whether a row is of the first bag, and the same as a number.
FIRST, HALF = "is_first", "half"

#: Sessions with both bags below which nothing is told, and those below which a few of them
#: carry the answer: half an interval of t/√n is 2.5 standard deviations of a difference with 3
#: sessions, and 1.2 with 5.
LEAST_SESSIONS, FEW_SESSIONS = 3, 5

_ALONE = "in a session without the other bag"


@dataclass(frozen=True, eq=False)
class PairedRows:
    """Shots of two bags in the sessions that both share.

    Attributes
    ----------
    comparable : ComparableSet
        These shots as the log has them, in the order they were pulled.
    question : Question
        What is compared, on whose bench.
    bags : pair of str
        Codes of the bags: the first less the second is told.
    frame : DataFrame
        One row per shot: `response`, `session`, `shot`, `is_first`, a column per predictor.
    predictors : tuple of Predictor
        Columns beside the bag that differ somewhere among these rows.
    kept : tuple of Predictor
        Those that differ inside sessions and are held equal.
    declined : tuple of pairs of str
        Those that do and cannot be, with reasons.
    together : tuple of str
        Columns that went along with the bag in every session: no sum parts them.
    wider : tuple of pairs of str and float
        Columns that nearly did, with how much each multiplies the variance.
    own_sessions : pair of int
        Sessions of each bag with a value, shared or not. [count]
    dropped : tuple of Dropped
        Shots left out, with reasons.
    """

    comparable: ComparableSet
    question: Question
    bags: tuple[str, str]
    frame: pd.DataFrame
    predictors: tuple[Predictor, ...] = ()
    kept: tuple[Predictor, ...] = ()
    declined: tuple[tuple[str, str], ...] = ()
    together: tuple[str, ...] = ()
    wider: tuple[tuple[str, float], ...] = ()
    own_sessions: tuple[int, int] = (0, 0)
    dropped: tuple[Dropped, ...] = ()

    @property
    def n_sessions(self) -> int:
        """Sessions that both bags share."""
        return int(self.frame["session"].nunique())

    @property
    def n_each(self) -> tuple[int, int]:
        """Shots of each bag in them."""
        first = int(self.frame[FIRST].sum())
        return first, len(self.frame) - first

    @cached_property
    def codes(self) -> npt.NDArray[np.intp]:
        """Number of the session of each row."""
        return codes_of(self.frame["session"])

    @property
    def logged(self) -> pd.DataFrame:
        """These rows as the log has them, by shot."""
        return self.comparable.shots.set_index("shot").loc[self.frame["shot"]]

    @cached_property
    def days(self) -> npt.NDArray[np.float64]:
        """Days from the first session to that of each row; missing where not known."""
        shots = self.logged
        if "pulled_on" not in shots or shots["pulled_on"].isna().all():
            return np.full(len(self.frame), np.nan)
        opened = pd.to_datetime(shots["pulled_on"]).groupby(self.codes).transform("min")
        days = (opened - opened.min()) / pd.Timedelta(days=1)
        return np.asarray(days, dtype=float)

    def together_with(self, columns: Sequence[str]) -> PairedRows:
        """Return the same rows with some columns no longer held equal, but told as the bag's.

        Parameters
        ----------
        columns : sequence of str
            Canonical names.

        Returns
        -------
        PairedRows
        """
        kept = tuple(each for each in self.kept if each.column not in columns)
        return replace(self, kept=kept, together=(*self.together, *columns))


def paired_rows(
    comparable: ComparableSet,
    response: str,
    bags: tuple[str, str],
    *,
    bench: Bench,
    beside: Sequence[str] = BESIDE,
) -> PairedRows:
    """Return the shots of two bags in the sessions that both share.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder, in the sessions of the log.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bags : pair of str
        Codes of two bags.
    bench : Bench
        Whose grinder step, bands and scales to use.
    beside : sequence of str
        Columns to hold equal, the weightiest first.

    Returns
    -------
    PairedRows

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    RoleError
        If the response is no outcome, or a column beside the bag is one.

    Notes
    -----
    What is the same all through each session cancels and is not looked at. A column enters
    where the rows can bear it; the layout of the log decides, never its outcomes.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("mmno"), "bag": list("abab"), "time_s": 36.0})
    >>> rows = paired_rows(ComparableSet("", "", shots), "time_s", ("a", "b"), bench=Bench())
    >>> rows.n_sessions, [str(each) for each in rows.dropped]
    (1, ['2 shots in a session without the other bag'])
    """
    require_response(response)
    require_predictors(beside)
    question = Question(response, bench, (), tuple(name for name in beside if name != "bag"))
    shots = in_order(comparable.shots)
    shots = shots[shots["bag"].fillna("").isin(bags)].reset_index(drop=True)
    if "shot" not in shots:
        shots = shots.assign(shot=[str(row) for row in shots.index])
    if "session" not in shots:
        shots = shots.assign(session="all")
    answered = response_values(shots, response, bench).notna()
    sessions = shots[answered].groupby("bag")["session"].nunique()
    shared, alone = _shared(shots[answered].reset_index(drop=True), bags)
    prepared = prepare(replace(comparable, shots=shared), question)
    first = prepared.frame["shot"].isin(shared.loc[shared["bag"] == bags[0], "shot"])
    frame, gaps = _shared(prepared.frame.assign(**{FIRST: first.astype(bool)}), None)
    losses = (
        (int((~answered).sum()), "without what is compared"),
        (alone + gaps, _ALONE),
    )
    rows = PairedRows(
        comparable=replace(comparable, shots=shared),
        question=question,
        bags=bags,
        frame=frame,
        predictors=tuple(each for each in prepared.predictors if each.column != "bag"),
        own_sessions=(int(sessions.get(bags[0], 0)), int(sessions.get(bags[1], 0))),
        dropped=(
            *comparable.excluded,
            *(Dropped(n, why) for n, why in losses if n),
            *prepared.dropped,
        ),
    )
    return _sorted_out(rows) if rows.n_sessions else rows


def _shared(shots: pd.DataFrame, bags: tuple[str, str] | None) -> tuple[pd.DataFrame, int]:
    """Return the rows of sessions that hold both bags, and how many others there are."""
    column = FIRST if bags is None else "bag"
    both = shots.groupby("session")[column].transform("nunique") > 1
    return shots[both].reset_index(drop=True), int((~both).sum())


def _sorted_out(rows: PairedRows) -> PairedRows:
    """Return rows that know which columns are held equal, and which went along with the bag."""
    kept: list[Predictor] = []
    declined: list[tuple[str, str]] = []
    together = list(_of_conditions(rows))
    wider: list[tuple[str, float]] = []
    for each in rows.predictors:
        if not _differs_inside(rows, each):
            continue
        inflation = _inflation(rows, each)
        if math.isinf(inflation):
            together.append(each.column)
            continue
        if inflation >= _limit(rows, each):
            wider.append((each.column, inflation))
        why = _objection(rows, kept, each)
        if why:
            declined.append((each.column, why))
        else:
            kept.append(each)
    return replace(
        rows,
        kept=tuple(kept),
        declined=tuple(declined),
        together=tuple(dict.fromkeys(together)),
        wider=tuple(wider),
    )


def _of_conditions(rows: PairedRows) -> list[str]:
    """Return conditions of the bench, never held equal, that went along with the bag."""
    shots = rows.logged
    asked = {each.column for each in rows.predictors}
    found = []
    for name in CONDITIONS:
        if name not in shots or name in asked:
            continue
        words = shots[name].astype("string").fillna("").astype(object).to_numpy()
        levels = tuple(dict.fromkeys(words))
        if len(levels) < 2:
            continue
        told = Predictor(name, "adjuster", levels=levels)
        named = replace(rows, frame=rows.frame.assign(**{name: words}))
        if _differs_inside(named, told) and math.isinf(_inflation(named, told)):
            found.append(name)
    return found


def _differs_inside(rows: PairedRows, predictor: Predictor) -> bool:
    values = pd.Series(rows.frame[predictor.column].factorize()[0])
    return bool((values.groupby(rows.codes).agg(np.ptp) > 0).any())


def _same_in_cells(rows: PairedRows, predictor: Predictor) -> bool:
    """Return whether a column holds one value all through the shots of a bag in a session."""
    values = rows.frame.groupby(["session", FIRST])[predictor.column]
    return bool(values.nunique().max() == 1)


def _inflation(rows: PairedRows, predictor: Predictor) -> float:
    """Return how much a column multiplies the variance of the difference inside sessions."""
    half = Predictor(HALF, "adjuster")
    frame = rows.frame.assign(**{HALF: rows.frame[FIRST].astype(float)})
    return sweep(frame, [half, predictor], rows.codes).inflation(HALF, [predictor.column])


def _limit(rows: PairedRows, predictor: Predictor) -> float:
    cells = _same_in_cells(rows, predictor)
    df = rows.n_sessions if cells else len(rows.frame) - rows.n_sessions
    limits = inflation_limits(width=1, others=predictor.width, df=df, n_terms=1)
    return max(RED, limits.red)


def _objection(rows: PairedRows, kept: Sequence[Predictor], predictor: Predictor) -> str:
    """Return why a column cannot be held equal, empty where it can."""
    every = [*kept, predictor]
    cells = sum(each.width for each in every if _same_in_cells(rows, each))
    if rows.n_sessions - 2 - cells < LEAST_BETWEEN and _same_in_cells(rows, predictor):
        return "too few sessions"
    taken = sum(each.width for each in every)
    return "" if ROWS_EACH * taken <= len(rows.frame) - rows.n_sessions - 1 else "too few shots"
