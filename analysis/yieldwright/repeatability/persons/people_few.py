"""Whose shots are too few to be compared."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.repeatability.persons.people_tied import person_words

if TYPE_CHECKING:
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = [
    "FEW_COLUMNS",
    "LEAST_SHOTS",
    "NAMED",
    "few_people",
    "few_sentence",
    "pulls_of",
]

#: Columns of a table of people with too few shots.
FEW_COLUMNS = ("person", "n_shots", "n_other_start")

#: Shots a person needs to be compared at all: with fewer there is no spread to speak of.
LEAST_SHOTS = 3

#: People named one by one; more are told by the table.
NAMED = 6


def few_people(
    compared: pd.DataFrame,
    usable: Mapping[str, int],
    *named: pd.DataFrame | None,
    other_start: Mapping[str, int] = MappingProxyType({}),
) -> pd.DataFrame:
    """Return who pulled and is not compared, each with the shots that could be.

    Parameters
    ----------
    compared : DataFrame
        One row per shot that is compared, `barista` among the columns.
    usable : mapping of str to int
        Shots without a gap, by person. [count]
    named : DataFrame or None
        Tables of shots in whose column `barista` people are named.
    other_start : mapping of str to int
        Shots timed from another start than those compared, by person. [count]

    Returns
    -------
    DataFrame
        One row per person in the order of their codes: `person`, `n_shots`, `n_other_start`.

    Examples
    --------
    >>> shots = pd.DataFrame({"barista": ["p1", "p1", "p1", "p2", "p3"]})
    >>> few_people(shots[:3], {"p1": 3, "p2": 1}, shots)["person"].tolist()
    ['p2', 'p3']
    """
    everybody = {str(code) for table in named if table is not None and "barista" in table
                 for code in table["barista"].dropna()}  # fmt: skip
    others = sorted(everybody - set(compared["barista"]))
    rows = [(person, usable.get(person, 0), other_start.get(person, 0)) for person in others]
    return pd.DataFrame(rows, columns=list(FEW_COLUMNS))


def few_sentence(few: pd.DataFrame) -> str:
    """Return who is not compared for want of shots; empty where nobody is left out.

    Parameters
    ----------
    few : DataFrame
        From `few_people`.

    Returns
    -------
    str

    Examples
    --------
    >>> few_sentence(
    ...     pd.DataFrame({"person": ["c5", "c6"], "n_shots": [2, 0], "n_other_start": [0, 4]})
    ... )
    'Not compared, with fewer than 3 usable shots: c5 (2); timed from another start: c6 (4).'
    """
    if few.empty:
        return ""
    elsewhere = few["n_other_start"] >= LEAST_SHOTS
    parts = (
        (f"with fewer than {LEAST_SHOTS} usable shots", few[~elsewhere], "n_shots"),
        ("timed from another start", few[elsewhere], "n_other_start"),
    )
    told = [f"{why}: {_people_with(part, of)}" for why, part, of in parts if len(part)]
    return f"Not compared, {'; '.join(told)}."


def _people_with(few: pd.DataFrame, of: str) -> str:
    """Return people with a count of their shots, or how many people where they are many."""
    told = [f"{person_words(row['person'])} ({row[of]})" for row in few.to_dict("records")]
    return listing(told) if len(told) <= NAMED else count(len(told), "person", "people")


def pulls_of(pulls: pd.DataFrame | None, comparable: ComparableSet) -> pd.DataFrame | None:
    """Return the pulls of a bag and grinder that somebody is named for.

    Parameters
    ----------
    pulls : DataFrame or None
        Every shot of a log, failures included.
    comparable : ComparableSet
        Whose bag and grinder count.

    Returns
    -------
    DataFrame or None
        None where no pulls are at hand, or nobody is named.

    Examples
    --------
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> pulls = pd.DataFrame({"barista": ["p1", None, "p2"], "bag": ["a", "a", "b"]})
    >>> pulls_of(pulls, ComparableSet("a", "", pulls))["barista"].tolist()
    ['p1']
    """
    if pulls is None or "barista" not in pulls:
        return None
    here = pulls["barista"].notna()
    for column, code in (("bag", comparable.bag), ("grinder", comparable.grinder)):
        if column in pulls and code:
            here &= pulls[column].astype("string").fillna("") == code
    return pulls[here]
