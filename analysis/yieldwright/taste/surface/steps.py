"""The way to better on a surface, in steps a hand can make, never beyond what was tried."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.models.surface.path import steepest_path

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.models.contrasts.contrasts import Estimate
    from yieldwright.models.surface.model import Surface
    from yieldwright.models.surface.tried_region import TriedRegion

__all__ = ["HandStep", "hand_base", "hand_path"]

Array = npt.NDArray[np.float64]

#: A path is followed so many coded units: past any edge, seen from any place inside.
FAR = 4.0


@dataclass(frozen=True, eq=False)
class HandStep:
    """One place of the way that a hand can set.

    Attributes
    ----------
    settings : ndarray
        Values, in the units of the columns.
    change : Estimate or None
        Response there less that at the start; None beyond what was tried.
    """

    settings: Array
    change: Estimate | None

    @property
    def tried(self) -> bool:
        """Whether it lies within what was tried."""
        return self.change is not None


def hand_base(surface: Surface, region: TriedRegion) -> Array:
    """Return the middle of what was tried, as a hand can set it.

    Parameters
    ----------
    surface : Surface
        In steps of its terms.
    region : TriedRegion
        What was tried.

    Returns
    -------
    ndarray
        In the units of the columns. A grind setting lies whole steps from the finest
        tried, any other number at a half step; where that was not tried, the place
        tried that is nearest.
    """
    middle = surface.natural(region.middle)
    base = np.array(
        [_settable(term.column, term.low, abs(term.step), value)
         for term, value in zip(surface.terms, middle.tolist(), strict=True)]
    )  # fmt: skip
    coded = surface.coded(base)
    if region.holds(coded[np.newaxis])[0]:
        return base
    apart = np.linalg.norm(region.places - coded, axis=1)
    return surface.natural(region.places[apart.argmin()])


def hand_path(
    surface: Surface, region: TriedRegion, base: Array, *, climb: int
) -> tuple[HandStep, ...]:
    """Return the steps of the way from the base to better, the first beyond the edge last.

    Parameters
    ----------
    surface : Surface
        In steps of its terms.
    region : TriedRegion
        What was tried.
    base : ndarray
        Where it starts, in the units of the columns.
    climb : int
        +1 where more is better, −1 where less is.

    Returns
    -------
    tuple of HandStep
        Each better than the one before by the fitted surface; empty where the base is
        the best place within a step.
    """
    found: list[HandStep] = []
    best = 0.0
    for values in _settings_on(surface, base, climb):
        place = surface.coded(values)
        if not region.holds(place[np.newaxis])[0]:
            return (*found, HandStep(values, None))
        change = surface.change(surface.coded(base), place)
        if climb * change.estimate > best:
            best = climb * change.estimate
            found.append(HandStep(values, change))
    return tuple(found)


def _settings_on(surface: Surface, base: Array, climb: int) -> Iterator[Array]:
    """Yield the different settings nearest to the path, each whole steps from the base."""
    path = steepest_path(surface, surface.coded(base), distance=FAR, climb=climb)
    steps = np.array([abs(term.step) for term in surface.terms])
    seen = {(0.0,) * surface.width}
    for values in surface.natural(path.places):
        moved = np.round((values - base) / steps)
        if tuple(moved + 0.0) not in seen:
            seen.add(tuple(moved + 0.0))
            yield base + moved * steps


def _settable(column: str, low: float, step: float, value: float) -> float:
    """Return the value nearest to one that a hand can set."""
    if column == "grind_setting":
        return low + step * math.floor((value - low) / step + 0.5)
    return step / 2 * math.floor(2 * value / step + 0.5)
