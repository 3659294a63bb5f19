"""Settings never pulled together though each was tried: nothing is known of them there."""

from __future__ import annotations

from itertools import combinations, product
from typing import TYPE_CHECKING

import numpy as np
from scipy import special

from yieldwright.cautions import Caution
from yieldwright.errors import AliasedColumnsError
from yieldwright.formatting import count, listing, number
from yieldwright.models.surface.tried_region import tried_region
from yieldwright.models.terms.reach import leverage_at
from yieldwright.taste.cautioning.fitted import MOST_LEVELS, FittedShots, Parts
from yieldwright.taste.words.wording import level_words

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["about_combinations"]

#: Chance of missing so many combinations of two settings drawn by lot: of settings with a
#: few values each, which a plan can hold in every combination, and of measured ones.
ALPHA_LEVELS, ALPHA = 0.05, 0.01

#: Where a corner of two numbers is looked for: inside the ends of each, so that ends alone
#: make none.
CORNERS = (0.07, 0.93)

#: How far beyond the highest leverage of any shot a corner lies that was never neared: two
#: numbers drawn evenly by lot have one in fewer than 1 log in 20.
FAR_OUT = 1.5

#: Combinations that are named.
SHOWN = 2


def about_combinations(fitted: FittedShots) -> Iterator[Caution]:
    """Yield a caution where settings were never pulled together, though each was tried.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    found = tuple(_missing(fitted))
    if not found:
        return
    names = [name for _, each in found for name in each]
    shown = [*names[:SHOWN]]
    more = len(names) - SHOWN
    if more > 0:
        shown.append(count(more, "more combination"))
    yield Caution(
        "untried-combinations",
        "care",
        f"Never pulled together: {listing(shown)}. What the settings do there is carried over "
        "from elsewhere.",
        f"Pull {names[0]} before reading anything into it.",
        tuple(dict.fromkeys(column for columns, _ in found for column in columns)),
    )


def _missing(fitted: FittedShots) -> Iterator[tuple[tuple[str, str], list[str]]]:
    for first, second in combinations(fitted.parts, 2):
        columns = (first.column, second.column)
        if fitted.is_told(*columns):
            continue
        if first.are_levels or second.are_levels:
            both = first.are_levels and second.are_levels
            names = _empty_cells(first, second, ALPHA_LEVELS if both else ALPHA)
        else:
            lower, upper = fitted.ends(first.column), fitted.ends(second.column)
            names = _empty_cells(lower, upper, ALPHA, corners_only=True)
            names = names or _outer_corners(fitted, *columns)
        if names:
            yield columns, names


def _empty_cells(
    first: Parts, second: Parts, alpha: float, *, corners_only: bool = False
) -> list[str]:
    """Return the cells of two settings without a shot, where chance would leave fewer."""
    table = np.zeros((len(first.names), len(second.names)))
    np.add.at(table, (first.codes, second.codes), 1.0)
    rows, columns = table.sum(axis=1)[:, None], table.sum(axis=0)[None, :]
    tried = (rows > 0) & (columns > 0)
    if corners_only:
        tried[1:-1] = tried[:, 1:-1] = False
    empty = (table == 0) & tried
    free = table.sum() - rows
    if not empty.any():
        return []
    room = np.where(free >= columns, free - columns, 0.0)
    log_chance = (special.gammaln(free + 1) - special.gammaln(room + 1)) - (
        special.gammaln(table.sum() + 1) - special.gammaln(table.sum() - columns + 1)
    )
    chances = np.where(tried & (free >= columns), np.exp(log_chance), 0.0)
    if special.gammainc(int(empty.sum()), max(float(chances.sum()), 1e-12)) >= alpha:
        return []
    by_chance = sorted(map(tuple, np.argwhere(empty).tolist()), key=lambda cell: chances[cell])
    return [f"{first.names[row]} with {second.names[column]}" for row, column in by_chance]


def _outer_corners(fitted: FittedShots, first: str, second: str) -> list[str]:
    """Return the corners of two numbers outside the hull that lie farther out than any shot."""
    points = fitted.frame[[first, second]].to_numpy(dtype=float)
    if min(len(np.unique(points[:, column])) for column in (0, 1)) <= MOST_LEVELS:
        return []
    low, scale = points.min(axis=0), np.ptp(points, axis=0)
    ends = np.quantile(points, CORNERS, axis=0)
    corners = np.array(list(product(ends[:, 0], ends[:, 1])))
    try:
        tried = tried_region(2 * (points - low) / scale - 1)
    except AliasedColumnsError:
        return []  # told as a pair that cannot be told apart
    out = ~tried.holds(2 * (corners - low) / scale - 1)
    out &= leverage_at(points, corners) > FAR_OUT * leverage_at(points, points).max()
    rounding = (ends[1] - ends[0]) / 10
    return [
        " with ".join(
            level_words(name, float(number(value, u).replace("−", "-")))
            for name, value, u in zip((first, second), corner, rounding, strict=True)
        )
        for corner in corners[out]
    ]
