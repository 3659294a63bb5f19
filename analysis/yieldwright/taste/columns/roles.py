"""The part each column can play: what one sets, what one gets, what one allows for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from yieldwright import glossary
from yieldwright.errors import RoleError
from yieldwright.formatting import listing

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

__all__ = [
    "SCORE_PREFIX",
    "Role",
    "attribute_of",
    "require_logged",
    "require_predictors",
    "require_response",
    "role_of",
]

Role = Literal["setting", "adjuster", "group", "response", "identity", "record"]

#: Columns of mean scores are named by this prefix and the attribute.
SCORE_PREFIX = "score:"

_SETTINGS = """
    grind_setting temp_band temp_c hold_bar peak_bar end_bar taper_bar taper_start_s prewet_s
    preheat_min soak_min dose_target_g beverage_target_g beverage_g brew_ratio puck_screen paper
    distribution tamp
"""
_ADJUSTERS = """
    roast_age_d dose_g position gap_min service_stretch barista basket machine water frozen_d
    retained_g purged_g room_c humidity_pct
"""
_GROUPS = "session bag grinder roast_level time_from temp_where taster"
_RESPONSES = "time_s first_drip_s tds_pct ey_pct fate score"

_ROLES: dict[Role, frozenset[str]] = {
    "setting": frozenset(_SETTINGS.split()),
    "adjuster": frozenset(_ADJUSTERS.split()),
    "group": frozenset(_GROUPS.split()),
    "response": frozenset(_RESPONSES.split()),
    "identity": frozenset(("shot", "blind_code")),
}

#: What serves where a column that was asked for cannot.
_INSTEAD = {
    "serviced": "service_stretch allows for what was cleaned or changed",
    "session": "differences between sessions are allowed for without being asked",
    "bag": "settings are compared within each bag without being asked",
    "taster": "differences between tasters are allowed for without being asked",
    "grinder": "settings of two grinders are never put on one line",
}


def role_of(column: str) -> Role:
    """Return the part a column can play in a fit.

    Parameters
    ----------
    column : str
        Canonical name, or `score:` and an attribute.

    Returns
    -------
    {"setting", "adjuster", "group", "response", "identity", "record"}
        What one sets; what one allows for; what shots are gathered by; what a shot
        turns out as; what names a shot; what is only kept.

    Raises
    ------
    UnknownNameError
        If the glossary has no such name.

    Examples
    --------
    >>> role_of("grind_setting"), role_of("time_s"), role_of("score:overall")
    ('setting', 'response', 'response')
    """
    if column.startswith(SCORE_PREFIX):
        return "response"
    for role, names in _ROLES.items():
        if column in names:
            return role
    entry = glossary.quantity(column)
    single_reading = entry.name.startswith("tds_")
    return "response" if single_reading else "record"


def attribute_of(column: str) -> str | None:
    """Return the attribute whose mean scores a column holds, None for other columns.

    Parameters
    ----------
    column : str
        Any column name.

    Returns
    -------
    str or None

    Examples
    --------
    >>> attribute_of("score:overall"), attribute_of("ey_pct")
    ('overall', None)
    """
    return column.removeprefix(SCORE_PREFIX) if column.startswith(SCORE_PREFIX) else None


def require_predictors(columns: Iterable[str]) -> None:
    """Return nothing where every column may explain the outcome of a shot.

    Parameters
    ----------
    columns : iterable of str
        Columns to explain with.

    Raises
    ------
    RoleError
        If one is an outcome itself, or a name or record.
    UnknownNameError
        If the glossary has no such name.

    Notes
    -----
    Time, flow, strength and yield come about by what was set. A fit that holds one of
    them still takes away the very part of a setting's effect that went through it, and
    can turn its sign.

    Examples
    --------
    >>> require_predictors(["grind_setting", "roast_age_d"])
    >>> from yieldwright.errors import RoleError
    >>> try:
    ...     require_predictors(["time_s"])
    ... except RoleError as refusal:
    ...     print(str(refusal).partition(":")[0])
    time_s is an outcome of a shot and cannot explain another outcome
    """
    roles = {column: role_of(column) for column in columns}
    outcomes = [column for column, role in roles.items() if role == "response"]
    if outcomes:
        verb = "is an outcome" if len(outcomes) == 1 else "are outcomes"
        raise RoleError(
            f"{listing(outcomes)} {verb} of a shot and cannot explain another outcome: holding it "
            "still hides what the settings did through it; fit it as a response of its own"
        )
    others = [column for column, role in roles.items() if role not in ("setting", "adjuster")]
    if others:
        hints = [f"; {_INSTEAD[column]}" for column in others if column in _INSTEAD]
        raise RoleError(
            f"{listing(others)} can neither be set nor allowed for; choose settings such as "
            f"grind_setting or taper_bar{''.join(hints)}"
        )


def require_logged(columns: Iterable[str], logged: Collection[str]) -> None:
    """Return nothing where a log holds every column that somebody asked for by name.

    Parameters
    ----------
    columns : iterable of str
        Columns to explain with, of a part that `require_predictors` grants.
    logged : collection of str
        Columns of the log that hold at least one value.

    Raises
    ------
    RoleError
        If one is not logged; the text says what could be asked instead.

    Examples
    --------
    >>> require_logged(["grind_setting"], ["shot", "grind_setting"])
    >>> from yieldwright.errors import RoleError
    >>> try:
    ...     require_logged(["temp_c"], ["shot", "grind_setting"])
    ... except RoleError as refusal:
    ...     print(refusal)
    temp_c is not in this log, which holds grind_setting: log it, or ask for one of those
    """
    missing = [column for column in columns if column not in logged]
    if not missing:
        return
    usable = [name for name in logged if _part_of(name) in ("setting", "adjuster")]
    verb = "is" if len(missing) == 1 else "are"
    held = f", which holds {listing(sorted(usable))}" if usable else ""
    choice = "log it, or ask for one of those" if usable else "log it with the next shots"
    choice = choice if len(missing) == 1 else choice.replace("it", "them", 1)
    how = "; a stretch begins where serviced says so" if "service_stretch" in missing else ""
    raise RoleError(f"{listing(missing)} {verb} not in this log{held}: {choice}{how}")


def require_response(column: str) -> None:
    """Return nothing where a column can be explained by a fit of numbers.

    Parameters
    ----------
    column : str
        Canonical name, or `score:` and an attribute.

    Raises
    ------
    RoleError
        If the column is no outcome, or no number.
    UnknownNameError
        If the glossary has no such name.

    Examples
    --------
    >>> require_response("ey_pct")
    """
    if role_of(column) != "response" or column in ("fate", "score"):
        raise RoleError(
            f"{column} is not an outcome a line can explain; ask for ey_pct, time_s, tds_pct or a "
            "taste that was scored, such as overall"
        )


def _part_of(column: str) -> str:
    """Return the part of a column of a log, empty for one of its own that we do not know."""
    known = column.startswith(SCORE_PREFIX) or glossary.find_quantity(column) is not None
    return role_of(column) if known else ""
