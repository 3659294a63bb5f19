"""The rows of one bag that a trend in roast age can be told from, and what goes along with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.models.mixed.groups import repeats_suffice
from yieldwright.taste.columns.adjusting import LEAST_SHOTS_A_SIDE
from yieldwright.taste.columns.predictors import Predictor, Prepared, Question, prepare
from yieldwright.taste.columns.roles import require_predictors, require_response
from yieldwright.taste.strata.strata import codes_of, laid_out

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["AGE", "BESIDE", "BagRows", "bag_rows"]

AGE = "roast_age_d"

#: What a trend in age is freed of where it was logged and differs, the weightiest first.
BESIDE = ("grind_setting", "temp_band", "service_stretch", "dose_g")

#: Rows beyond one a session that each column beside the age needs, as for adjusters of taste.
ROWS_EACH = 5

#: Session means left over after a line in age and what else differs between sessions only.
LEAST_BETWEEN = 2


@dataclass(frozen=True, eq=False)
class BagRows:
    """Shots of one bag and grinder with age, response and the columns beside them.

    Attributes
    ----------
    comparable : ComparableSet
        Shots they were taken from.
    question : Question
        What is followed, on whose bench.
    prepared : Prepared
        Complete rows in the order of the log: `response`, `session`, `shot`, the age and
        one column per predictor beside it.
    beside : tuple of Predictor
        Columns allowed for.
    declined : tuple of pairs of str
        Columns not allowed for, with reasons.
    """

    comparable: ComparableSet
    question: Question
    prepared: Prepared
    beside: tuple[Predictor, ...] = ()
    declined: tuple[tuple[str, str], ...] = ()

    @property
    def response(self) -> str:
        """Column that is followed."""
        return self.question.response

    @property
    def bench(self) -> Bench:
        """The bench the shots were pulled on."""
        return self.question.bench

    @property
    def has_age(self) -> bool:
        """Whether roast age is known and differs."""
        return any(each.column == AGE for each in self.prepared.predictors)

    @property
    def ages(self) -> npt.NDArray[np.float64]:
        """Roast age of each row, in days; missing where no age could enter."""
        frame = self.prepared.frame
        if AGE not in frame:
            return np.full(len(frame), np.nan)
        return frame[AGE].to_numpy(dtype=float)

    @property
    def codes(self) -> npt.NDArray[np.intp]:
        """Number of the session of each row, in order of appearance."""
        return codes_of(self.prepared.frame["session"])

    @property
    def n_shots(self) -> int:
        """Number of rows."""
        return len(self.prepared.frame)

    @property
    def n_sessions(self) -> int:
        """Number of sessions among them."""
        return self.prepared.n_sessions

    @property
    def grouped(self) -> bool:
        """Whether sessions hold several shots, so that a session can shift them together."""
        return repeats_suffice(self.n_shots, self.n_sessions)

    def predictor(self, column: str) -> Predictor | None:
        """Return a column that is allowed for, None where it is not.

        Parameters
        ----------
        column : str
            Canonical name.

        Returns
        -------
        Predictor or None
        """
        return next((each for each in self.beside if each.column == column), None)

    def same_in_sessions(self, column: str) -> bool:
        """Return whether a column holds one value all through each session.

        Parameters
        ----------
        column : str
            Header of the prepared rows.

        Returns
        -------
        bool
        """
        values = self.prepared.frame[column].factorize()[0]
        first = np.full(self.n_sessions, -1)
        first[self.codes[::-1]] = values[::-1]
        return bool((values == first[self.codes]).all())

    def of_sessions(self) -> BagRows:
        """Return one row per session: means of numbers, and the first of everything else.

        Returns
        -------
        BagRows
            With the columns beside the age that still differ and can be borne.
        """
        frame = self.prepared.frame
        numbers = [name for name in frame if pd.api.types.is_numeric_dtype(frame[name])]
        how = {name: "mean" if name in numbers else "first" for name in frame}
        means = frame.groupby(self.codes).agg(how).reset_index(drop=True)
        room = max((len(means) - 2) // ROWS_EACH, 0)
        kept = [each for each in self.beside if len(means[each.column].unique()) > 1]
        return replace(
            self, prepared=replace(self.prepared, frame=means), beside=tuple(kept[:room])
        )

    def without(self, column: str) -> BagRows:
        """Return the same rows with one column no longer allowed for.

        Parameters
        ----------
        column : str
            Canonical name.

        Returns
        -------
        BagRows
        """
        return replace(self, beside=tuple(each for each in self.beside if each.column != column))


def bag_rows(
    comparable: ComparableSet,
    response: str,
    *,
    bench: Bench,
    beside: Sequence[str] = BESIDE,
) -> BagRows:
    """Return the rows of a bag that a trend in age can be told from.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one grinder, and of one bag or several that are compared.
    response : str
        `ey_pct`, `time_s`, `tds_pct`, or `score:` and an attribute.
    bench : Bench
        Whose grinder step, bands and scales to use.
    beside : sequence of str
        Columns to allow for, the weightiest first.

    Returns
    -------
    BagRows

    Raises
    ------
    UnknownNameError
        If the glossary has no such column.
    RoleError
        If the response is no outcome, or a column beside the age is one.

    Notes
    -----
    A column beside the age enters where it was logged, differs, and can be borne: five rows
    beyond one a session for each of its columns, and, where it is the same all through every
    session, two session means beyond a line in age and whatever else is. A service enters
    where four shots lie on either side. The layout of the log decides, never its outcomes.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"session": list("aaabbbccc"), "time_s": 36.0})
    >>> shots["roast_age_d"] = [5.0] * 3 + [8.0] * 3 + [12.0] * 3
    >>> shots["grind_setting"] = [10.0, 11.0, 12.0] * 3
    >>> found = bag_rows(ComparableSet("", "", shots), "time_s", bench=Bench())
    >>> [each.column for each in found.beside], found.grouped
    (['grind_setting'], True)
    """
    require_response(response)
    require_predictors(beside)
    question = Question(response, bench, (), (AGE, *(name for name in beside if name != AGE)))
    prepared = prepare(comparable, question)
    kept: list[Predictor] = []
    declined: list[tuple[str, str]] = []
    constant = {each.column for each in laid_out(prepared).between} if len(prepared.frame) else ()
    for name in question.adjusters[1:]:
        predictor = next((each for each in prepared.predictors if each.column == name), None)
        if predictor is None:
            continue
        why = _objection(prepared, kept, predictor, between=name in constant, fixed=constant)
        if why:
            declined.append((name, why))
        else:
            kept.append(predictor)
    return BagRows(comparable, question, prepared, tuple(kept), tuple(declined))


def _objection(
    prepared: Prepared,
    kept: Sequence[Predictor],
    predictor: Predictor,
    *,
    between: bool,
    fixed: set[str] | tuple[()],
) -> str:
    """Return why a column cannot be allowed for, empty where it can."""
    n_sessions, n_shots = prepared.n_sessions, len(prepared.frame)
    if predictor.column == "service_stretch":
        least = int(prepared.frame[predictor.column].value_counts().min())
        if least < LEAST_SHOTS_A_SIDE:
            return f"fewer than {LEAST_SHOTS_A_SIDE} shots on one side of it"
    if between:
        taken = sum(each.width for each in kept if each.column in fixed) + predictor.width
        if n_sessions - 2 - taken < LEAST_BETWEEN:
            return "too few sessions"
    groups = n_sessions if n_shots > n_sessions else 1
    taken = sum(each.width for each in kept) + predictor.width
    return "" if ROWS_EACH * taken <= n_shots - groups - 1 else "too few shots"
