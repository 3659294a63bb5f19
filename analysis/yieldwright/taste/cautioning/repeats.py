"""Whether settings were repeated, and changed together as well as one at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from yieldwright.cautions import Caution
from yieldwright.formatting import count, listing
from yieldwright.taste.columns.by_hand import set_by_hand
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.taste.cautioning.fitted import FittedShots

__all__ = ["about_repeats"]

#: Shots below which nothing is expected to be repeated, and a plan is not yet to be seen.
LEAST_SHOTS = 6

#: Combinations beyond which nobody changes one setting at a time.
MOST_CELLS = 60


def about_repeats(fitted: FittedShots) -> Iterator[Caution]:
    """Yield cautions on plans without repeats, and on one setting changed at a time.

    Parameters
    ----------
    fitted : FittedShots
        Shots of a fit.

    Yields
    ------
    Caution
    """
    n_shots = len(fitted.frame)
    if n_shots < LEAST_SHOTS or not fitted.settings:
        return
    columns = tuple(each.column for each in fitted.settings)
    by_hand = set_by_hand(fitted.frame, fitted.settings)
    chosen = np.column_stack([_codes(fitted, each.column) for each in by_hand or fitted.settings])
    if len(np.unique(chosen, axis=0)) == n_shots:
        yield Caution(
            "no-repeats",
            "care",
            f"No combination of {listing([column_label(column) for column in columns])} was "
            f"pulled twice in {count(n_shots, 'shot')}: the spread from shot to shot rests on "
            "the lines being right.",
            "Repeat two settings, twice each.",
            columns,
        )
    elif chosen.shape[1] > 1 and _one_at_a_time(chosen):
        yield Caution(
            "one-at-a-time",
            "care",
            "Settings were changed one at a time from one recipe: how they act together was "
            "never tried, and each effect rests on few shots.",
            "Change two settings together in some shots.",
            columns,
        )


def _codes(fitted: FittedShots, column: str) -> np.ndarray:
    codes: np.ndarray = fitted.frame[column].factorize()[0]
    return codes


def _one_at_a_time(chosen: np.ndarray) -> bool:
    """Return whether all shots differ from one recipe in a single setting, several in all."""
    cells = np.unique(chosen, axis=0)
    if len(cells) > MOST_CELLS or (np.ptp(cells, axis=0) > 0).sum() < 2:
        return False
    changed = cells[:, None, :] != cells[None, :, :]
    return bool((changed.sum(axis=2).max(axis=1) == 1).any())
