"""Which repeats would tell two entangled columns apart: searched for, not recited."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from itertools import combinations_with_replacement, product
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.formatting import listing, number
from yieldwright.taste.confounding.confounding import ALIASED, AMBER
from yieldwright.taste.words.wording import level_words

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Mapping, Sequence

    from yieldwright.taste.columns.comparable import ComparableSet
    from yieldwright.taste.columns.predictors import Predictor

__all__ = ["MOST_REPEATS", "SeparatingShot", "age_next", "repeats_that_separate"]

Array = npt.NDArray[np.float64]

#: Shots one would add to a session for one question (common practice, no source).
MOST_REPEATS = 6

#: Shots below which one mishap decides; one more where both ends are new.
LEAST_REPEATS = 3

#: Values of a number that are offered as they were tried; of more, the ends and the middle.
MOST_VALUES = 9

#: Share of the largest information added so that a design without any can be improved on.
RIDGE = 1e-8


@dataclass(frozen=True, slots=True)
class SeparatingShot:
    """The shots of one coming session that would best tell two columns apart.

    Attributes
    ----------
    first, second : str
        The columns.
    shots : tuple of mapping of str to hashable
        One per shot: the values to pull it at.
    vif_before, vif_after : float
        Variance inflation of the first column now, and with these shots added.
    sentence : str
        What to pull, in words.
    """

    first: str
    second: str
    shots: tuple[Mapping[str, Hashable], ...]
    vif_before: float
    vif_after: float
    sentence: str

    @property
    def repeats(self) -> int:
        """How many shots that is."""
        return len(self.shots)


@dataclass(frozen=True, eq=False)
class _Search:
    """Information on each coefficient as shots are added to a coming session."""

    known: Array
    offered: Array
    own: slice
    one_session: bool

    def information(self, chosen: Sequence[int]) -> Array:
        rows = self.offered[list(chosen)]
        if self.one_session and len(rows):
            rows = rows - rows.mean(axis=0)
        return np.asarray(self.known + rows.T @ rows)

    def variance(self, chosen: Sequence[int]) -> float:
        """Return the volume of what stays unknown of the first column."""
        block = np.linalg.inv(self.information(chosen))[self.own, self.own]
        return float(np.linalg.slogdet(block).logabsdet)

    def found(self, suffices: Callable[[tuple[int, ...]], bool]) -> tuple[int, ...]:
        least = LEAST_REPEATS + self.one_session
        chosen: tuple[int, ...] = ()
        while len(chosen) < least or (len(chosen) < MOST_REPEATS and not suffices(chosen)):
            chosen = self.grown(chosen)
        return chosen

    def grown(self, chosen: tuple[int, ...]) -> tuple[int, ...]:
        choices = range(len(self.offered))
        if self.one_session and not chosen:
            pairs = combinations_with_replacement(choices, 2)
            return min(pairs, key=self.variance)
        return min(((*chosen, each) for each in choices), key=self.variance)


def repeats_that_separate(
    frame: pd.DataFrame,
    predictors: Sequence[Predictor],
    pair: tuple[str, str],
    *,
    blocked: bool,
    fixed: Mapping[str, float] | None = None,
) -> SeparatingShot:
    """Return the repeats in one coming session that best tell a pair of columns apart.

    Parameters
    ----------
    frame : DataFrame
        One row per shot, with a `session`.
    predictors : sequence of Predictor
        Columns of the fit, the pair among them.
    pair : pair of str
        The column to learn about, a setting, and the one it went along with.
    blocked : bool
        Whether the column is judged inside sessions.
    fixed : mapping of str to float, optional
        Columns that a coming session does not let one choose, such as its roast age.

    Returns
    -------
    SeparatingShot

    Notes
    -----
    Candidates are the values tried so far of both columns. Shots are added one at a
    time, each the one that leaves the least variance of the first column's effect,
    until there are at least 3 and its inflation is below 2.5, or there are 6. Where the
    column is judged inside sessions the first two shots are chosen together, and there
    are at least 4.
    """
    by_column = {each.column: each for each in predictors}
    ordered = [by_column[pair[0]], by_column[pair[1]]]
    ordered += [each for each in predictors if each.column not in pair]
    choices = _choices(frame, ordered, fixed or {})
    candidates = [dict(zip(choices, values, strict=True)) for values in product(*choices.values())]
    offered = pd.DataFrame(candidates).assign(session="next")
    search = _search(frame, offered, ordered, blocked=blocked)
    chosen: tuple[int, ...] = ()
    if _after(search, (), frame) > AMBER:
        chosen = search.found(lambda chosen: _after(search, chosen, frame) <= AMBER)
    shots = tuple({name: candidates[i][name] for name in pair} for i in sorted(chosen))
    before, after = _after(search, (), frame), _after(search, chosen, frame)
    sentence = _sentence(frame, pair, shots, fixed or {}, after)
    return SeparatingShot(*pair, shots, before, after, sentence)


def age_next(comparable: ComparableSet) -> float:
    """Return the roast age of the bag on the day the log is judged.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag.

    Returns
    -------
    float
        Missing where no age was logged. [d]

    Examples
    --------
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> age_next(ComparableSet("", "", pd.DataFrame({"roast_age_d": [9.0, 12.0]})))
    12.0
    """
    shots = comparable.shots
    if "roast_age_d" not in shots or shots["roast_age_d"].isna().all():
        return math.nan
    newest = float(shots["roast_age_d"].max())
    if comparable.as_of is None or "pulled_on" not in shots:
        return newest
    last = shots["pulled_on"].max()
    since = 0 if pd.isna(last) else (pd.Timestamp(comparable.as_of) - last).days
    return newest + max(float(since), 0.0)


def _choices(
    frame: pd.DataFrame, ordered: Sequence[Predictor], fixed: Mapping[str, float]
) -> dict[str, list[Hashable]]:
    """Return the values each column may take in the coming session: the pair varies."""
    choices: dict[str, list[Hashable]] = {}
    for place, predictor in enumerate(ordered):
        column = predictor.column
        if column in fixed:
            choices[column] = [fixed[column]]
        elif place < 2:
            choices[column] = _tried(frame, predictor)
        else:
            usual: Hashable = (
                frame[column].mode()[0] if predictor.levels else float(frame[column].mean())
            )
            choices[column] = [usual]
    return choices


def _tried(frame: pd.DataFrame, predictor: Predictor) -> list[Hashable]:
    if predictor.levels:
        return list(predictor.levels)
    values = np.unique(frame[predictor.column])
    if predictor.column == "position":
        values = values[[0, -1]]
    if len(values) > MOST_VALUES:
        values = np.quantile(values, [0, 0.5, 1], method="nearest")
    return [float(value) for value in values]


def _search(
    frame: pd.DataFrame, offered: pd.DataFrame, ordered: Sequence[Predictor], *, blocked: bool
) -> _Search:
    """Return the information so far, each column on a scale from its own values."""
    coded, more = _coded(frame, ordered), _coded(offered, ordered)
    centre, scale = coded.mean(axis=0), np.ptp(coded, axis=0)
    coded, more = (coded - centre) / scale, (more - centre) / scale
    if blocked:
        coded = coded - pd.DataFrame(coded).groupby(frame["session"]).transform("mean").to_numpy()
        own = slice(0, ordered[0].width)
    else:
        coded, more = _with_ones(coded), _with_ones(more)
        own = slice(1, 1 + ordered[0].width)
    known = coded.T @ coded
    return _Search(known + RIDGE * np.diag(known).max() * np.eye(len(known)), more, own, blocked)


def _coded(frame: pd.DataFrame, ordered: Sequence[Predictor]) -> Array:
    columns = []
    for predictor in ordered:
        values = frame[predictor.column]
        if predictor.levels:
            columns += [(values == level).to_numpy(float) for level in predictor.levels[1:]]
        else:
            columns.append(values.to_numpy(float))
    return np.column_stack(columns)


def _with_ones(matrix: Array) -> Array:
    return np.column_stack([np.ones(len(matrix)), matrix])


def _after(search: _Search, chosen: Sequence[int], frame: pd.DataFrame) -> float:
    """Return the inflation of the first column once shots are added."""
    information = search.information(chosen)
    total = information
    if not search.one_session:
        mean = information[0] / (len(frame) + len(chosen))
        total = information - np.outer(mean, mean) * (len(frame) + len(chosen))
    own = search.own
    known = np.linalg.inv(information)[own, own]
    logs = np.linalg.slogdet(known).logabsdet + np.linalg.slogdet(total[own, own]).logabsdet
    inflation = float(np.exp(logs / (own.stop - own.start)))
    return inflation if inflation < ALIASED else math.inf


def _sentence(
    frame: pd.DataFrame,
    pair: tuple[str, str],
    shots: Sequence[Mapping[str, Hashable]],
    fixed: Mapping[str, float],
    after: float,
) -> str:
    reached = number(after, figures=2)
    if not shots:
        return f"The log tells them apart already (variance inflation {reached})."
    free = [name for name in pair if name not in fixed]
    counts = Counter(tuple(shot[name] for name in free) for shot in shots)
    early = float(frame["position"].min()) if "position" in free else 0.0
    phrases = [f"{_shot_words(free, shot, early)} {_times(n)}" for shot, n in counts.items()]
    when = f" at today's roast age ({fixed[pair[1]]:g} d)" if pair[1] in fixed else ""
    beside = _beside(frame, pair[0], [values[0] for values in counts]) if when else ""
    return (
        f"Pull {listing(phrases)}{when} in one session{beside}: variance inflation would fall to "
        f"{reached}."
    )


def _shot_words(columns: Sequence[str], values: Sequence[Hashable], early: float) -> str:
    """Return one shot in words; of the position only whether it comes early or late."""
    told = dict(zip(columns, values, strict=True))
    place = told.pop("position", None)
    words = " with ".join(level_words(name, value) for name, value in told.items())
    return words if place is None else f"{words} {'early' if place == early else 'late'}"


def _times(n: int) -> str:
    return ("once", "twice", "three times", "four times", "five times", "six times")[n - 1]


def _beside(frame: pd.DataFrame, column: str, chosen: Sequence[Hashable]) -> str:
    """Return the present value as company, where the repeats are all at other values."""
    present = frame[column].iloc[-1]
    return "" if present in chosen else f" with {level_words(column, present)}"
