"""What happened to a bag and its bench, placed on the age of the bag."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["dates_of"]


def dates_of(shots: pd.DataFrame) -> pd.DataFrame:
    """Return the ages at which a bag was opened, frozen, or its bench serviced.

    Parameters
    ----------
    shots : DataFrame
        One row per shot of one bag, glossary columns.

    Returns
    -------
    DataFrame
        One row per event inside the ages of the shots: `roast_age_d` and `what`, by age.

    Notes
    -----
    Days in the freezer add nothing to the age, so a freeze is one place and not a stretch.

    Examples
    --------
    >>> shots = pd.DataFrame({"roast_age_d": [5.0, 9.0], "serviced": [None, "burrs cleaned"]})
    >>> dates_of(shots).to_dict("records")
    [{'roast_age_d': 9.0, 'what': 'burrs cleaned'}]
    """
    known = shots[shots["roast_age_d"].notna()] if "roast_age_d" in shots else shots.iloc[:0]
    rows = [*_opened(known), *_frozen(known), *_serviced(known)]
    inside = [(age, what) for age, what in rows if age >= known["roast_age_d"].min()]
    table = pd.DataFrame(inside, columns=["roast_age_d", "what"]).drop_duplicates()
    return table.sort_values("roast_age_d", ignore_index=True)


def _opened(shots: pd.DataFrame) -> Iterator[tuple[float, str]]:
    """Yield the age at opening, from the shot that was pulled first after it."""
    if "open_d" in shots and shots["open_d"].notna().any():
        first = shots.sort_values("open_d").iloc[0]
        yield float(first["roast_age_d"] - first["open_d"]), "opened"


def _frozen(shots: pd.DataFrame) -> Iterator[tuple[float, str]]:
    """Yield the age at each freeze, from the first shot after it."""
    if not {"frozen_on", "roasted_on"} <= set(shots):
        return
    for _, same in shots.dropna(subset=["frozen_on", "roasted_on"]).groupby("frozen_on"):
        first = same.sort_values("roast_age_d").iloc[0]
        age = (first["frozen_on"] - first["roasted_on"]).days
        yield float(min(age, first["roast_age_d"])), "frozen"


def _serviced(shots: pd.DataFrame) -> Iterator[tuple[float, str]]:
    if "serviced" not in shots:
        return
    for row in shots.dropna(subset=["serviced"]).to_dict("records"):
        yield float(row["roast_age_d"]), str(row["serviced"])
