"""Whether a shot hit the recipe, within the misses its bench forgives."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import number, signed

if TYPE_CHECKING:
    from yieldwright.bench import Recipe

__all__ = ["recipe_misses", "recipe_verdicts"]

#: Sums of tenths are not exact in binary: a miss of exactly the tolerance is forgiven.
_ROUNDING = 1e-9


def recipe_misses(shots: pd.DataFrame, recipe: Recipe) -> pd.DataFrame:
    """Return how far each shot lies outside what the recipe forgives.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    recipe : Recipe
        The shot aimed at; a target logged with the shot wins over it.

    Returns
    -------
    DataFrame
        One row per shot, one column per part of the recipe that the log can judge:
        zero inside the tolerance, else the signed distance from the aim (dose,
        beverage, time) or from the nearest edge (pressures), missing where not logged.

    Examples
    --------
    >>> from yieldwright.bench import Recipe
    >>> shot = pd.DataFrame({"dose_g": [18.1], "time_s": [45.0]})
    >>> recipe_misses(shot, Recipe()).to_dict("records")
    [{'dose_g': 0.0, 'time_s': 9.0}]
    """
    parts = {
        "dose_g": _from_aim(shots, "dose_g", recipe.dose_g, recipe.dose_tolerance_g),
        "beverage_g": _from_aim(
            shots, "beverage_g", recipe.beverage_g, recipe.beverage_tolerance_g
        ),
        "time_s": _from_aim(shots, "time_s", recipe.time_s, recipe.time_tolerance_s),
        "hold_bar": _from_range(shots, "hold_bar", recipe.hold_low_bar, recipe.hold_high_bar),
        "end_bar": _from_range(shots, "end_bar", recipe.end_least_bar, None),
    }
    judged = {name: part for name, part in parts.items() if part is not None}
    return pd.DataFrame(judged, index=shots.index, dtype=float)


def recipe_verdicts(shots: pd.DataFrame, recipe: Recipe) -> pd.Series[str]:
    """Return each shot's verdict in words: hit, what was missed, or not judged.

    Parameters
    ----------
    shots : DataFrame
        One row per shot.
    recipe : Recipe
        The shot aimed at.

    Returns
    -------
    Series of str
        One value per shot.

    Examples
    --------
    >>> from yieldwright.bench import Recipe
    >>> shot = pd.DataFrame({"dose_g": [18.1], "time_s": [45.0]})
    >>> recipe_verdicts(shot, Recipe()).tolist()
    ['missed: time +9 s']
    """
    misses = recipe_misses(shots, recipe)
    rows = zip(misses.to_dict("records"), shots.to_dict("records"), strict=True)
    texts = [_verdict(missed, shot) for missed, shot in rows]
    return pd.Series(texts, index=shots.index, dtype="str", name="recipe")


def _from_aim(
    shots: pd.DataFrame, name: str, aim: float | None, tolerance: float
) -> pd.Series[float] | None:
    """Return the signed miss of an aim, None where neither log nor bench can judge."""
    target = f"{name.removesuffix('_g')}_target_g"
    if name not in shots or (aim is None and target not in shots):
        return None
    aims = pd.Series(np.nan if aim is None else aim, index=shots.index)
    if target in shots:
        aims = shots[target].fillna(aims)
    miss = shots[name] - aims
    return miss.mask(miss.abs() <= tolerance + _ROUNDING, 0.0)


def _from_range(
    shots: pd.DataFrame, name: str, low: float | None, high: float | None
) -> pd.Series[float] | None:
    """Return the signed distance from the nearest edge, None where nothing can be judged."""
    if name not in shots or (low is None and high is None):
        return None
    values = shots[name]
    inside = values.clip(lower=low, upper=high)
    miss = values - inside
    return miss.mask(miss.abs() <= _ROUNDING, 0.0)


def _verdict(missed: Mapping[Hashable, float], shot: Mapping[Hashable, object]) -> str:
    judged = {name: miss for name, miss in missed.items() if not math.isnan(miss)}
    if not judged:
        return "not judged"
    parts = [_part(str(name), miss, shot) for name, miss in judged.items() if miss]
    return f"missed: {', '.join(parts)}" if parts else "hit"


def _part(name: str, miss: float, shot: Mapping[Hashable, object]) -> str:
    """Return one miss in words: pressures as they were, the rest against the aim."""
    word, _, unit = name.rpartition("_")
    if unit == "bar":
        return f"{word} {number(float(str(shot[name])), 0.5)} bar"
    return f"{word} {signed(miss, 0.5 if unit == 'g' else 5.0)} {unit}"
