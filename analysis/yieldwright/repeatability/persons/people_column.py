"""What a column must hold for people to be compared in it."""

from __future__ import annotations

import pandas as pd

from yieldwright.errors import RoleError, UnknownNameError
from yieldwright.models.wording import nearest, quoted
from yieldwright.repeatability.persons.people_few import LEAST_SHOTS
from yieldwright.taste.words.wording import column_label

__all__ = ["require_differences", "require_numbers"]

_SESSION = "session"


def require_numbers(shots: pd.DataFrame, of: str) -> None:
    """Raise where a column is not there or holds no numbers.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    of : str
        Column compared.

    Raises
    ------
    UnknownNameError
        If the shots have no such column.
    RoleError
        If it holds no numbers.

    Examples
    --------
    >>> require_numbers(pd.DataFrame({"time_s": [36.0]}), "time_s")
    """
    if of not in shots:
        raise UnknownNameError(
            f"the shots have no column {quoted(of)} to compare people by; "
            f"{nearest(of, [str(name) for name in shots])}"
        )
    if not pd.api.types.is_numeric_dtype(shots[of]) or pd.api.types.is_bool_dtype(shots[of]):
        raise RoleError(
            f"{of} holds no numbers, so nobody's level or spread can be told; ask for ey_pct, "
            "time_s, beverage_g or score:overall"
        )


def require_differences(shots: pd.DataFrame, of: str) -> None:
    """Raise where a column is one and the same in all shots of each session.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    of : str
        Column of numbers.

    Raises
    ------
    RoleError
        If it is, and a session holds three shots.

    Examples
    --------
    >>> shots = pd.DataFrame({"session": list("aaabbb"), "temp_c": [90.0, 90, 91, 93, 93, 93]})
    >>> require_differences(shots, "temp_c")
    >>> try:
    ...     require_differences(shots[3:], "temp_c")
    ... except RoleError as problem:
    ...     print(str(problem).partition(":")[0])
    the temperature is the same in all shots of a session
    """
    if _SESSION not in shots:
        return
    values = shots.dropna(subset=[of]).groupby(_SESSION)[of]
    alike = bool((values.max() == values.min()).all())
    if alike and bool((values.size() >= LEAST_SHOTS).any()):
        raise RoleError(
            f"the {column_label(of)} is the same in all shots of a session: it was set or read "
            "once a session, and tells no hand from another"
        )
