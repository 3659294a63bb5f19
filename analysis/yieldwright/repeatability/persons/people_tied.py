"""People who cannot be compared because a setting or a day goes along with the hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.formatting import clip, listing, visible
from yieldwright.models.spreads.common_fit import CommonFit
from yieldwright.taste.columns.covariates import readable
from yieldwright.taste.words.phrases import column_noun, level_phrase

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Refused", "common_design", "level_columns", "person_words", "refusals"]

Array = npt.NDArray[np.float64]
Words = npt.NDArray[np.object_]

_LONGEST_CODE = 24
_SESSION = "session"


@dataclass(frozen=True, slots=True)
class Refused:
    """Why two people are not compared, and what would let them be.

    Attributes
    ----------
    columns : tuple of str
        What cannot be told from the hand.
    sentence : str
        The reason, in plain words.
    remedy : str
        What to pull.
    """

    columns: tuple[str, ...]
    sentence: str
    remedy: str

    @property
    def holds_for_spread(self) -> bool:
        """Whether their spreads are not comparable either: another setting, not another day."""
        return any(column != _SESSION for column in self.columns)


def person_words(code: str) -> str:
    r"""Return the code of a person as a sentence shows it.

    Parameters
    ----------
    code : str
        From a log.

    Returns
    -------
    str

    Examples
    --------
    >>> person_words("p1\n")
    'p1 '
    """
    return clip(visible(code), _LONGEST_CODE)


def common_design(who: Words, people: Sequence[str], terms: Mapping[str, Array]) -> CommonFit:
    """Return one fit of all rows: a column a person, then what is allowed for.

    Parameters
    ----------
    who : ndarray
        Person of each row.
    people : sequence of str
        Codes, in the order of their columns.
    terms : mapping of str to ndarray
        Coded columns by name.

    Returns
    -------
    CommonFit

    Examples
    --------
    >>> common_design(np.array(["a", "b"], dtype=object), ["a", "b"], {}).design.tolist()
    [[1.0, 0.0], [0.0, 1.0]]
    """
    columns = [level_columns(who, people), *terms.values()]
    return CommonFit(np.column_stack(columns), tuple(who.tolist()))


def level_columns(values: Words, levels: Sequence[object]) -> Array:
    """Return one column of ones and zeros for each level.

    Parameters
    ----------
    values : ndarray
        One per row.
    levels : sequence of object
        At least one.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> level_columns(np.array(["a", "b"], dtype=object), ["b"]).tolist()
    [[0.0], [1.0]]
    """
    return np.column_stack([np.asarray(values == level, dtype=np.float64) for level in levels])


def refusals(
    shots: pd.DataFrame, people: Sequence[str], terms: Mapping[str, Array]
) -> dict[tuple[str, str], Refused]:
    """Return the pairs whose levels no fit of these rows can tell from something else.

    Parameters
    ----------
    shots : DataFrame
        One row per shot, `barista` among the columns.
    people : sequence of str
        Codes.
    terms : mapping of str to ndarray
        Coded columns by name.

    Returns
    -------
    dict of pairs of str to Refused

    Examples
    --------
    >>> import pandas as pd
    >>> shots = pd.DataFrame({"barista": ["a", "a", "b", "b"], "grind_setting": [9, 9, 10, 10]})
    >>> terms = {"grind_setting": shots[["grind_setting"]].to_numpy(dtype=float)}
    >>> refusals(shots, ["a", "b"], terms)["a", "b"].remedy
    'Let both pull 4 shots at setting 10.'
    """
    who = shots["barista"].to_numpy(dtype=object)
    fit = partial(common_design, who, people)
    whole = fit(terms)
    found: dict[tuple[str, str], Refused] = {}
    for first, second in combinations(range(len(people)), 2):
        if not whole.estimable(_apart(whole, first, second)):
            columns = _tied_to(fit, terms, first, second)
            found[people[first], people[second]] = _refused(
                shots, people[first], people[second], columns
            )
    return found


def _apart(fit: CommonFit, first: int, second: int) -> Array:
    weights = np.zeros(fit.design.shape[1])
    weights[[first, second]] = 1.0, -1.0
    return weights


def _tied_to(
    fit: Callable[[Mapping[str, Array]], CommonFit],
    terms: Mapping[str, Array],
    first: int,
    second: int,
) -> tuple[str, ...]:
    """Return the columns without which two people could be compared."""
    alone = []
    for column in terms:
        others = fit({name: block for name, block in terms.items() if name != column})
        if others.estimable(_apart(others, first, second)):
            alone.append(column)
    if alone:
        return tuple(alone[:1])
    single = [name for name in terms if not (each := fit({name: terms[name]})).estimable(
        _apart(each, first, second))]  # fmt: skip
    return tuple(single or terms)


def _refused(shots: pd.DataFrame, first: str, second: str, columns: tuple[str, ...]) -> Refused:
    one, two = person_words(first), person_words(second)
    if columns == (_SESSION,):
        return Refused(
            columns,
            f"{one} and {two} never pulled in one session, so the day cannot be told from the "
            "hand.",
            "Let both pull 4 shots in one session, taking turns.",
        )
    if len(columns) == 1:
        return _tied_by_level(shots, (first, second), columns[0])
    nouns = listing([column_noun(each) if each != _SESSION else "session" for each in columns])
    return Refused(
        columns,
        f"{one} and {two} differ in {nouns} throughout, which cannot be told from the hand.",
        "Let both pull 4 shots at one setting in one session.",
    )


def _tied_by_level(shots: pd.DataFrame, pair: tuple[str, str], column: str) -> Refused:
    """Return the refusal of two people one of whom pulled at a level of their own."""
    values = readable(shots, column)
    who = shots["barista"].to_numpy(dtype=object)
    levels = {person: list(dict.fromkeys(values[who == person].tolist())) for person in pair}
    tied, other = sorted(pair, key=lambda person: (len(levels[person]), -pair.index(person)))
    level = level_phrase(column, levels[tied][0])
    if len(levels[tied]) > 1:
        level = f"other values of {column_noun(column)} than {person_words(other)}"
    return Refused(
        (column,),
        f"{person_words(tied)} pulled only at {level} and {person_words(other)} never did, so "
        f"{column_noun(column)} cannot be told from the hand.",
        f"Let both pull 4 shots at "
        f"{level if len(levels[tied]) == 1 else level_phrase(column, levels[other][0])}.",
    )
