"""Which terms of a stratum follow from others, so that no fit can hold both."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.taste.confounding.confounding import SweptColumns

__all__ = ["lone_aliases", "separable"]


def separable(
    swept: SweptColumns, columns: Sequence[str]
) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """Return the terms that can stand in one fit, and for the others what they follow from.

    Parameters
    ----------
    swept : SweptColumns
        Columns of a stratum.
    columns : sequence of str
        Terms, those to keep first.

    Returns
    -------
    kept : tuple of str
        Terms with a direction of their own.
    aliased : dict of str to tuple of str
        For each other term, the kept ones it cannot be told apart from.
    """
    kept: list[str] = []
    aliased: dict[str, tuple[str, ...]] = {}
    for column in columns:
        if math.isfinite(swept.inflation(column, kept)):
            kept.append(column)
        else:
            needed = [name for name in kept if _frees(swept, column, kept, name)]
            aliased[column] = tuple(needed) or tuple(kept)
    return tuple(kept), aliased


def lone_aliases(swept: SweptColumns, columns: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Return the terms that follow from one other alone, where rows leave room for chance.

    Parameters
    ----------
    swept : SweptColumns
        Columns of a stratum too small for all its terms together.
    columns : sequence of str
        Terms, those to keep first.

    Returns
    -------
    dict of str to tuple of str
        For each such term, an earlier one it cannot be told apart from.
    """
    aliased: dict[str, tuple[str, ...]] = {}
    for position, column in enumerate(columns):
        for earlier in columns[:position]:
            roomy = swept.df > swept.width(column) + swept.width(earlier) - 1
            if roomy and math.isinf(swept.inflation(column, [earlier])):
                aliased.setdefault(column, (earlier,))
    return aliased


def _frees(swept: SweptColumns, column: str, kept: Sequence[str], name: str) -> bool:
    """Return whether a term regains a direction of its own once one other is gone."""
    return math.isfinite(swept.inflation(column, [each for each in kept if each != name]))
