"""The part each column can play: what one sets, what one gets, what one allows for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from yieldwright import glossary
from yieldwright.errors import RoleError
from yieldwright.formatting import listing

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "SCORE_PREFIX",
    "Role",
    "attribute_of",
    "require_predictors",
    "require_response",
    "role_of",
]

Role = Literal["setting", "adjuster", "group", "response", "identity", "record"]

#: Columns of mean scores are named by this prefix and the attribute.
SCORE_PREFIX = "score:"

_SETTINGS = """
    grind_setting temp_band temp_c hold_bar peak_bar end_bar taper_bar taper_start_s prewet_s
    preheat_min dose_target_g beverage_target_g beverage_g brew_ratio puck_screen paper
    distribution tamp
"""
_ADJUSTERS = """
    roast_age_d dose_g position gap_min frozen_d retained_g purged_g room_c humidity_pct
"""
_GROUPS = """
    session bag grinder machine basket water barista roast_level time_from temp_where taster
"""
_RESPONSES = "time_s first_drip_s tds_pct ey_pct fate score"

_ROLES: dict[Role, frozenset[str]] = {
    "setting": frozenset(_SETTINGS.split()),
    "adjuster": frozenset(_ADJUSTERS.split()),
    "group": frozenset(_GROUPS.split()),
    "response": frozenset(_RESPONSES.split()),
    "identity": frozenset(("shot", "blind_code")),
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
        raise RoleError(
            f"{listing(others)} can neither be set nor allowed for as a number; choose settings "
            "such as grind_setting or taper_bar"
        )


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
            f"{column} is not an outcome a line can explain; ask for ey_pct, time_s, tds_pct or "
            "score:overall"
        )
