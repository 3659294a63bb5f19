"""What people who pull may be compared on: same settings and days, allowed for or refused."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import RoleError
from yieldwright.repeatability.persons.people_few import LEAST_SHOTS, few_people
from yieldwright.repeatability.persons.people_tied import common_design, level_columns, refusals
from yieldwright.results import Dropped
from yieldwright.taste.columns.covariates import absence, readable
from yieldwright.taste.columns.one_start import shots_of_one_start
from yieldwright.taste.words.phrases import column_noun

if TYPE_CHECKING:
    from yieldwright.models.spreads.common_fit import CommonFit
    from yieldwright.repeatability.persons.people_tied import Refused
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = ["SET_BEFORE", "Footing", "footing_of"]

Array = npt.NDArray[np.float64]
Words = npt.NDArray[np.object_]

#: What is set before a hand pulls, and so may differ between people without being theirs.
SET_BEFORE = (
    "grind_setting",
    "temp_band",
    "dose_target_g",
    "beverage_target_g",
    "puck_screen",
    "paper",
    "machine",
    "basket",
    "water",
)

#: Numbers with so few different values enter as levels, so that they may bend.
FEW_VALUES = 3

#: Share of the rows that must stay free of the common fit.
LEAST_FREE = 0.25

#: Repeats that two people must keep for something to enter their own fits.
LEAST_REPEATS = 3

_SESSION = "session"


@dataclass(frozen=True, eq=False)
class Footing:
    """Shots of several people with what is allowed for among them.

    Attributes
    ----------
    people : tuple of str
        Codes in alphabetical order.
    shots : DataFrame
        One row per shot that is compared.
    rows : mapping of str to ndarray
        Places of each person's shots.
    common : CommonFit
        People first, then what is allowed for in their levels.
    own : mapping of str to ndarray
        Design of each person's own shots: spreads are taken about it.
    allowed, allowed_alone : tuple of str
        Columns allowed for in levels, and in spreads.
    left_out : tuple of pairs of str
        Columns that are not, with reasons.
    refused : mapping of pairs of str to Refused
        Pairs whose levels cannot be compared.
    few : DataFrame
        People who are named and not compared, with their usable shots.
    other_start : tuple of Dropped
        Shots left out because they are timed from another start.
    dropped : tuple of Dropped
        All shots left out, with reasons.
    """

    people: tuple[str, ...]
    shots: pd.DataFrame
    rows: Mapping[str, npt.NDArray[np.intp]]
    common: CommonFit
    own: Mapping[str, Array]
    allowed: tuple[str, ...]
    allowed_alone: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]
    refused: Mapping[tuple[str, str], Refused]
    few: pd.DataFrame
    other_start: tuple[Dropped, ...]
    dropped: tuple[Dropped, ...]

    @property
    def alike(self) -> bool:
        """Whether spreads allow for all that levels allow for."""
        return set(self.allowed) <= set(self.allowed_alone)

    @property
    def unequal_alone(self) -> tuple[str, ...]:
        """Settings that differ and that people kept too few repeats to take out of spreads."""
        kept = {*self.allowed_alone, _SESSION, "roast_age_d"}
        return tuple(column for column in self.allowed if column not in kept)

    @property
    def days_alone(self) -> bool:
        """Whether spreads hold what differs from day to day."""
        several = _SESSION in self.shots and len(self.shots[_SESSION].unique()) > 1
        return several and _SESSION not in self.allowed_alone

    @property
    def held_equal(self) -> tuple[str, ...]:
        """Columns allowed for that do not go along with the hand in every pair."""
        tied = [set(self.refused[pair].columns) for pair in self.pairs if pair in self.refused]
        always = set.intersection(*tied) if len(tied) == len(self.pairs) else set()
        return tuple(column for column in self.allowed if column not in always)

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Every pair of people."""
        return tuple(combinations(self.people, 2))


def footing_of(
    comparable: ComparableSet, of: str, *, pulls: pd.DataFrame | None = None
) -> Footing | None:
    """Return the shots of a set by people, with what may be allowed for among them.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    of : str
        Column compared.
    pulls : DataFrame or None
        Every pull of the set, where people are to be named who have no shot to compare.

    Returns
    -------
    Footing or None
        None where fewer than two people pulled 3 shots or more.

    Raises
    ------
    RoleError
        If fewer than two people are left because the others' times have another start.

    Notes
    -----
    Levels: one fit with people, sessions and settings. Where no session holds two shots, a
    line of roast age stands in for sessions. Spreads: a fit of each person's shots alone
    with the same columns, as far as two people keep enough repeats. Residuals of the
    common fit would carry the noise of one person into the spread of another, through the
    sessions they share. Three settings or fewer enter as levels, more as a line.
    Nothing here depends on the values compared.

    Examples
    --------
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"barista": ["p2", "p1"] * 3, "time_s": [30.0, 31, 33, 32, 31, 30]})
    >>> footing_of(ComparableSet("", "", shots), "time_s").people
    ('p1', 'p2')
    """
    named, dropped = _named(comparable.shots, of)
    shots, other_start = shots_of_one_start(named, of)
    elsewhere = Counter(named.drop(index=shots.index)["barista"].tolist())
    columns, left_out = _columns(shots, of)
    whole = np.ones(len(shots), dtype=bool)
    for values in columns.values():
        whole &= ~pd.isna(values)
    gaps = int((~whole).sum())
    usable = Counter(shots.loc[whole, "barista"].tolist())
    shots, lone = _several(shots[whole])
    if shots["barista"].nunique() < 2:
        if other_start and len(set(_several(named)[0]["barista"])) > 1:
            raise RoleError(
                f"nobody can be compared in {_noun(of)}, with {other_start[0]}; start the clock "
                "at the same moment for all, and log it as time_from"
            )
        return None
    reasons = (
        (gaps, "with a gap in what is allowed for"),
        (lone, f"by people with fewer than {LEAST_SHOTS}"),
    )
    people = tuple(sorted(shots["barista"].unique()))
    blocks = {name: readable(shots, name) for name in columns}
    terms, unaffordable = _terms(shots, people, blocks)
    return _footing(
        shots.reset_index(drop=True),
        people,
        terms,
        few=few_people(shots, usable, comparable.shots, pulls, other_start=elsewhere),
        left_out=(*left_out, *((name, "too few shots") for name in unaffordable)),
        other_start=other_start,
        dropped=(*dropped, *other_start, *(Dropped(n, why) for n, why in reasons if n)),
    )


def _footing(
    shots: pd.DataFrame,
    people: tuple[str, ...],
    terms: Mapping[str, Array],
    *,
    few: pd.DataFrame,
    left_out: tuple[tuple[str, str], ...],
    other_start: tuple[Dropped, ...],
    dropped: tuple[Dropped, ...],
) -> Footing:
    who = shots["barista"].to_numpy(dtype=object)
    rows = {person: np.flatnonzero(who == person) for person in people}
    alone = _terms_alone(rows, _with_age(shots, terms))
    return Footing(
        people=people,
        shots=shots,
        rows=rows,
        common=common_design(who, people, terms),
        own={person: _design(alone, rows[person]) for person in people},
        allowed=tuple(terms),
        allowed_alone=tuple(alone),
        left_out=left_out,
        refused=refusals(shots, people, terms),
        few=few,
        other_start=other_start,
        dropped=dropped,
    )


def _named(shots: pd.DataFrame, of: str) -> tuple[pd.DataFrame, tuple[Dropped, ...]]:
    """Return the shots with a person and a finite value, and how many have none."""
    if "barista" not in shots:
        return shots.iloc[:0].assign(barista=[], **{of: shots[of].iloc[:0]}), ()
    values = pd.to_numeric(shots[of], errors="coerce").to_numpy(dtype=float, na_value=np.nan)
    valued, named = np.isfinite(values), shots["barista"].notna().to_numpy()
    kept = shots[valued & named]
    losses = ((int((~valued).sum()), f"without {_noun(of)}"),
              (int((valued & ~named).sum()), "without a barista"))  # fmt: skip
    return (
        kept.assign(barista=kept["barista"].astype(str)),
        tuple(Dropped(n, why) for n, why in losses if n),
    )


def _noun(column: str) -> str:
    return f"{column.removeprefix('score:')} score" if ":" in column else column_noun(column)


def _several(shots: pd.DataFrame) -> tuple[pd.DataFrame, int]:
    """Return the shots of people with enough of them, and how many others there are."""
    enough = shots.groupby("barista")["barista"].transform("size") >= LEAST_SHOTS
    return shots[enough], int((~enough).sum())


def _columns(shots: pd.DataFrame, of: str) -> tuple[dict[str, Words], list[tuple[str, str]]]:
    """Return what was set before the pull and is logged, and why something is not usable."""
    found: dict[str, Words] = {}
    left_out: list[tuple[str, str]] = []
    for column in SET_BEFORE:
        if column == of or column not in shots:
            continue
        values = readable(shots, column)
        why = absence(values, column, is_setting=True)
        if not why:
            found[column] = values
        elif why != "not logged":
            left_out.append((column, why))
    return found, left_out


def _terms(
    shots: pd.DataFrame,
    people: Sequence[str],
    columns: Mapping[str, Words],
) -> tuple[dict[str, Array], list[str]]:
    """Return the coded columns that the rows can afford, in order, and the names of the rest."""
    offered = {**_sessions(shots), **columns}
    if _SESSION not in offered and "roast_age_d" in shots:
        offered["roast_age_d"] = readable(shots, "roast_age_d")
    rows = len(shots)
    terms: dict[str, Array] = {}
    beyond: list[str] = []
    who = level_columns(shots["barista"].to_numpy(dtype=object), people)
    for column, values in offered.items():
        if pd.isna(values).any() or len(set(values.tolist())) < 2:
            continue
        wider = np.column_stack([who, *terms.values(), block := _coded(values)])
        if rows - np.linalg.matrix_rank(wider) >= max(LEAST_FREE * rows, 1):
            terms[column] = block
        else:
            beyond.append(column)
    return terms, beyond


def _sessions(shots: pd.DataFrame) -> dict[str, Words]:
    """Return the sessions where at least one holds two shots."""
    if _SESSION not in shots or not shots[_SESSION].duplicated().any():
        return {}
    return {_SESSION: shots[_SESSION].astype(object).fillna("").astype(str).to_numpy(dtype=object)}


def _with_age(shots: pd.DataFrame, terms: Mapping[str, Array]) -> dict[str, Array]:
    """Return what spreads may allow for: age stands in where sessions cannot be afforded."""
    if "roast_age_d" in terms or "roast_age_d" not in shots:
        return dict(terms)
    age = readable(shots, "roast_age_d")
    usable = not pd.isna(age).any() and len(set(age.tolist())) > 1
    return {**terms, "roast_age_d": _coded(age)} if usable else dict(terms)


def _terms_alone(
    rows: Mapping[str, npt.NDArray[np.intp]], terms: Mapping[str, Array]
) -> dict[str, Array]:
    """Return what each person's own fit allows for: all keep it, or nobody has it."""
    kept: dict[str, Array] = {}
    # Settings first: with another setting in it a spread is not on equal footing, while
    # another day is the same chance for all.
    late = (_SESSION, "roast_age_d")
    ordered = [*(name for name in terms if name not in late), *(n for n in late if n in terms)]
    for column in ordered:
        block = terms[column]
        if column == "roast_age_d" and _SESSION in kept:
            continue
        wider = {**kept, column: block}
        free = [len(at) - np.linalg.matrix_rank(_design(wider, at)) for at in rows.values()]
        if sum(each >= LEAST_REPEATS for each in free) >= 2 or min(free) >= 2:
            kept = wider
    return kept


def _design(terms: Mapping[str, Array], at: npt.NDArray[np.intp]) -> Array:
    return np.column_stack([np.ones(len(at)), *(block[at] for block in terms.values())])


def _coded(values: Words) -> Array:
    """Return numbers as a line, words and few different numbers as a column a level less one."""
    levels = sorted(set(values.tolist()), key=lambda each: (isinstance(each, str), each))
    if len(levels) > FEW_VALUES and not any(isinstance(each, str) for each in levels):
        numbers = values.astype(np.float64)
        return np.asarray(
            ((numbers - numbers.mean()) / np.ptp(numbers))[:, None], dtype=np.float64
        )
    return level_columns(values, levels[1:])
