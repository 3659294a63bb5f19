"""Columns as a person names them, and as the log holds them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldwright.shotlog import ShotLog

__all__ = [
    "MEASURED",
    "column_named",
    "columns_named",
    "other_responses",
    "require_in_log",
    "response_named",
]

#: Outcomes that are measured and not scored, in the order a reader cares.
MEASURED = ("ey_pct", "time_s", "tds_pct")


def column_named(name: str, log: ShotLog) -> str:
    r"""Return the column of a log that a name or a header of its own means.

    Parameters
    ----------
    name : str
        A name of the glossary, a header of the log, or a word of the trade.
    log : ShotLog
        A log that was read.

    Returns
    -------
    str
        The name itself where it means no column we know: who asked gets a refusal that
        offers the nearest.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.shotlog import read_log
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "shots.csv")
    ...     _ = path.write_text("shot,dose\n1,18\n", encoding="utf-8")
    ...     log = read_log(path)
    >>> column_named("coffee in", log), column_named("moon", log)
    ('dose_g', 'moon')
    """
    from yieldwright.glossary import find_quantity
    from yieldwright.shotlog.headers.headers import Vocabulary

    if find_quantity(name) is not None:
        return name
    found = Vocabulary("shots", log.bench).header(name)
    return found.name if found.role == "quantity" else name


def columns_named(names: Iterable[str], log: ShotLog) -> tuple[str, ...]:
    """Return the columns that several names mean, each once.

    Parameters
    ----------
    names : iterable of str
        As in `column_named`.
    log : ShotLog
        A log that was read.

    Returns
    -------
    tuple of str
    """
    return tuple(dict.fromkeys(column_named(name, log) for name in names))


def require_in_log(columns: Iterable[str], log: ShotLog) -> None:
    """Return nothing where a log can serve columns somebody asked for by name.

    Parameters
    ----------
    columns : iterable of str
        Settings or what to allow for.
    log : ShotLog
        A log that was read.

    Raises
    ------
    RoleError
        If one is an outcome or a name, or not logged.
    UnknownNameError
        If the glossary has no such name.
    """
    from yieldwright.taste.columns.comparable import comparable_sets
    from yieldwright.taste.columns.roles import require_logged, require_predictors

    asked = tuple(columns)
    held = {
        str(name)
        for each in comparable_sets(log)
        for name in each.shots.columns[each.shots.notna().any()]
    }
    _require_known(asked, held)
    require_predictors(asked)
    if held:
        require_logged(asked, held)


def _require_known(columns: Iterable[str], held: Iterable[str]) -> None:
    """Refuse a name that means nothing at all, and offer what the log holds."""
    from yieldwright.errors import UnknownNameError
    from yieldwright.models.wording import nearest, quoted
    from yieldwright.taste.columns.roles import role_of
    from yieldwright.taste.fitting import SETTINGS

    for name in columns:
        try:
            role_of(name)
        except UnknownNameError:
            usable = sorted(each for each in held if _may_explain(each)) or SETTINGS
            raise UnknownNameError(
                f"there is no column {quoted(name)}; {nearest(name, usable)}"
            ) from None


def _may_explain(column: str) -> bool:
    from yieldwright.errors import UnknownNameError
    from yieldwright.taste.columns.roles import role_of

    try:
        return role_of(column) in ("setting", "adjuster")
    except UnknownNameError:
        return False


def response_named(name: str, log: ShotLog) -> str:
    """Return the response that a name means: a taste that was scored, else a column.

    Parameters
    ----------
    name : str
        As typed; empty for the first taste that was scored.
    log : ShotLog
        A log that was read.

    Returns
    -------
    str
        The name itself where nothing of that name is known.
    """
    scored = set(log.tastings["attribute"]) if "attribute" in log.tastings else set()
    return name if not name or name in scored else column_named(name, log)


def other_responses(response: str, log: ShotLog) -> tuple[str, ...]:
    """Return what else was scored or measured in a log beside one response.

    Parameters
    ----------
    response : str
        Column that is explained already.
    log : ShotLog
        A log that was read.

    Returns
    -------
    tuple of str
        As a person would name them: tastes first.
    """
    from yieldwright.taste.columns.roles import SCORE_PREFIX

    shots = log.shots
    measured = [name for name in MEASURED if name in shots and shots[name].notna().any()]
    scored = log.tastings["attribute"].dropna().unique() if len(log.tastings) else ()
    asked = response.removeprefix(SCORE_PREFIX)
    return tuple(name for name in (*map(str, scored), *measured) if name != asked)
