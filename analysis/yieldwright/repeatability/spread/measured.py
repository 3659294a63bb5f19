"""What can be steady or not: measured quantities, and which differences in them matter."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from yieldwright.errors import RoleError
from yieldwright.glossary import find_quantity
from yieldwright.models.wording import quoted
from yieldwright.taste.asking import named_response
from yieldwright.taste.columns.roles import SCORE_PREFIX, attribute_of, role_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.bench import Bench
    from yieldwright.taste.columns.comparable import ComparableSet

__all__ = [
    "MEASURED",
    "has_true_zero",
    "measured_columns",
    "measured_unit",
    "miss_forgiven",
    "sizes_that_matter",
]

#: What is looked at where nobody asks for anything, before the scores.
MEASURED = ("ey_pct", "time_s", "beverage_g", "tds_pct")

#: Numbers that are set, counted or dated and not measured: they cannot be steady.
_NOT_MEASURED = frozenset(
    (
        *("grind_setting", "position", "roast_age_d", "frozen_d", "open_d", "gap_min"),
        *("dose_target_g", "beverage_target_g"),
    )
)

#: Differences worth knowing of, in the unit of the quantity (common practice, no source).
_WORTH_KNOWING = {"ey_pct": (0.5, 1.0), "time_s": (2.0, 4.0), "beverage_g": (1.0, 2.0)}
_WORTH_KNOWING |= {"tds_pct": (0.25, 0.5), "dose_g": (0.2, 0.5), "first_drip_s": (1.0, 2.0)}
_OF_SCORES = (0.5, 1.0)


def measured_columns(
    comparable: ComparableSet, of: Sequence[str] = (), *, bench: Bench
) -> tuple[str, ...]:
    """Return the columns whose steadiness is asked about.

    Parameters
    ----------
    comparable : ComparableSet
        Shots of one bag and grinder.
    of : sequence of str
        Columns and attributes by name; none for yield, time, beverage, strength and
        whatever was scored, as far as it is logged.
    bench : Bench
        Whose attributes come first.

    Returns
    -------
    tuple of str
        Canonical names, scores with their prefix, each once.

    Raises
    ------
    UnknownNameError
        If there is no such column or attribute.
    RoleError
        If a column is set, counted or written, and not measured.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.taste.columns.comparable import ComparableSet
    >>> shots = pd.DataFrame({"time_s": [30.0, 32.0], "score:overall": [6.0, 7.0]})
    >>> measured_columns(ComparableSet("", "", shots), bench=Bench())
    ('time_s', 'score:overall')
    """
    if of:
        named = [named_response(name, comparable, bench=bench) for name in of]
        for name in named:
            _require_measured(name)
        return tuple(dict.fromkeys(named))
    shots = comparable.shots
    scored = [str(name) for name in shots if str(name).startswith(SCORE_PREFIX)]
    return tuple(
        name for name in (*MEASURED, *scored) if name in shots and shots[name].notna().any()
    )


def measured_unit(column: str) -> str:
    """Return the unit of a difference in a measured quantity, as a sentence says it.

    Parameters
    ----------
    column : str
        Canonical name.

    Returns
    -------
    str

    Examples
    --------
    >>> measured_unit("time_s"), measured_unit("ey_pct"), measured_unit("score:overall")
    ('s', 'points', 'points')
    """
    entry = find_quantity(column)
    if entry is None or entry.unit.startswith("%"):
        return "points"
    return "" if entry.unit == "1" else entry.unit


def has_true_zero(column: str) -> bool:
    """Return whether a percentage of a quantity means something.

    Parameters
    ----------
    column : str
        Canonical name.

    Returns
    -------
    bool
        False for scores and temperatures: their zero is a convention.

    Examples
    --------
    >>> has_true_zero("time_s"), has_true_zero("score:overall"), has_true_zero("temp_c")
    (True, False, False)
    """
    entry = find_quantity(column)
    return attribute_of(column) is None and entry is not None and entry.unit != "°C"


def miss_forgiven(column: str, bench: Bench) -> float:
    """Return how far from its target a shot may land, by the recipe of the bench.

    Parameters
    ----------
    column : str
        Canonical name.
    bench : Bench
        Whose recipe counts.

    Returns
    -------
    float
        Half-width, in the unit of the column; missing where the recipe does not aim at it.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> miss_forgiven("time_s", Bench()), miss_forgiven("ey_pct", Bench())
    (5.0, nan)
    """
    recipe = bench.recipe
    aimed = {
        "time_s": (recipe.time_s, recipe.time_tolerance_s),
        "beverage_g": (recipe.beverage_g, recipe.beverage_tolerance_g),
        "dose_g": (recipe.dose_g, recipe.dose_tolerance_g),
    }
    target, miss = aimed.get(column, (None, math.nan))
    return math.nan if target is None or not miss > 0 else miss


def sizes_that_matter(column: str) -> tuple[float, ...]:
    """Return differences between two settings that are worth knowing of.

    Parameters
    ----------
    column : str
        Canonical name.

    Returns
    -------
    tuple of float
        In the unit of the column; empty where nothing is agreed on.

    Examples
    --------
    >>> sizes_that_matter("ey_pct"), sizes_that_matter("hold_bar")
    ((0.5, 1.0), ())
    """
    return _OF_SCORES if attribute_of(column) else _WORTH_KNOWING.get(column, ())


def _require_measured(column: str) -> None:
    if attribute_of(column) is not None:
        return
    entry = find_quantity(column)
    role = role_of(column)
    if entry is None or entry.kind != "number" or column in _NOT_MEASURED or role == "group":
        raise RoleError(
            f"{quoted(column)} is set, counted or written and not measured, so it "
            "cannot be steady; ask of ey_pct, time_s, beverage_g, tds_pct or a taste"
        )
