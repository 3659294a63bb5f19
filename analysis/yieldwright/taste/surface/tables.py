"""What was found out about a surface, and its tables: all that is told and drawn of it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.models.contrasts.contrasts import contrast, estimate_table
from yieldwright.models.intervals.intervals import t_quantile
from yieldwright.models.surface.anova import SurfaceTest, lack_of_fit, sequential_tests
from yieldwright.models.surface.region import StationaryRegion, stationary_region
from yieldwright.models.surface.shape import Shape, surface_shape
from yieldwright.models.surface.tried_region import TriedRegion, tried_region
from yieldwright.taste.surface.steps import HandStep, hand_base, hand_path

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldwright.models.contrasts.means import JointTest
    from yieldwright.models.surface.model import Surface

__all__ = ["Turn", "surface_tables", "turn_of"]

Array = npt.NDArray[np.float64]

#: Lines of the lattice a surface is drawn on, along each side.
LATTICE = 61


@dataclass(frozen=True, eq=False)
class Turn:
    """A surface with all that was found out about it.

    Attributes
    ----------
    surface : Surface
        The surface.
    shape : Shape
        Its canonical analysis.
    tried : TriedRegion
        What was tried.
    region : StationaryRegion
        Where it may turn.
    base : ndarray
        The middle of what was tried, in the units of the columns.
    level : JointTest
        Test of whether the surface is level there.
    steps : tuple of HandStep
        The way to better from there.
    climb : int
        +1 where more is better, −1 where less is.
    misfit : SurfaceTest or None
        Lack of fit, where a place was pulled twice.
    """

    surface: Surface
    shape: Shape
    tried: TriedRegion
    region: StationaryRegion
    base: Array
    level: JointTest
    steps: tuple[HandStep, ...]
    climb: int
    misfit: SurfaceTest | None

    @property
    def place(self) -> Array | None:
        """The turning point in the units of the columns, where it can be told."""
        if self.region.kind != "inside" or self.shape.kind == "unclear":
            return None
        if self.shape.stationary is None:
            return None
        return self.surface.natural(self.shape.stationary)

    @property
    def spans(self) -> Array:
        """Ends of the region in the units of the columns, one row per setting."""
        return self.surface.natural(self.region.spans.T).T


def turn_of(surface: Surface, *, climb: int) -> Turn:
    """Return what a surface turns at, where, and the way to better.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.
    climb : int
        +1 where more is better, −1 where less is.

    Returns
    -------
    Turn
    """
    shape, tried = surface_shape(surface), tried_region(surface.tried)
    base = hand_base(surface, tried)
    return Turn(
        surface=surface,
        shape=shape,
        tried=tried,
        region=stationary_region(surface, shape.stationary, tried),
        base=base,
        level=surface.slope_test(surface.coded(base)),
        steps=hand_path(surface, tried, base, climb=climb),
        climb=climb,
        misfit=lack_of_fit(surface),
    )


def surface_tables(turn: Turn, steps: Mapping[str, str]) -> dict[str, Any]:
    """Return the tables of a surface by the attribute that holds them.

    Parameters
    ----------
    turn : Turn
        From `turn_of`.
    steps : mapping of str to str
        One step of each setting in words.

    Returns
    -------
    dict of str to DataFrame or dict
        As described at `SurfaceFit`.
    """
    surface, columns = turn.surface, list(turn.surface.columns)
    inside = turn.place is not None
    outline = turn.region.outline if inside else np.empty((0, surface.width))
    grid, hull = _grid(turn)
    places = pd.DataFrame(surface.natural(turn.tried.places), columns=columns)
    tests = [asdict(each) for each in (*sequential_tests(surface), *filter(None, [turn.misfit]))]
    return {
        "estimates": _estimates(surface, steps),
        "tests": pd.DataFrame(tests),
        "axes": _axes(turn),
        "stationary": _named(columns, turn.place),
        "spans": dict(zip(columns, map(tuple, turn.spans.tolist()), strict=True))
        if inside
        else {},
        "outline": pd.DataFrame(surface.natural(outline), columns=columns),
        "path": _path(turn),
        "places": places.assign(n_shots=turn.tried.counts),
        "hull": hull,
        "grid": grid,
    }


def _named(columns: list[str], values: Array | None) -> dict[str, float]:
    return {} if values is None else dict(zip(columns, values.tolist(), strict=True))


def _estimates(surface: Surface, steps: Mapping[str, str]) -> pd.DataFrame:
    """Return slope and bend of each setting, and the products, per practical step."""
    sizes = np.array([term.step / term.reach for term in surface.terms])
    columns, pairs = surface.columns, list(combinations(range(surface.width), 2))
    scales = [*sizes, *sizes**2, *(sizes[first] * sizes[second] for first, second in pairs)]
    terms = [*columns, *(f"{each}²" for each in columns)]
    terms += [f"{columns[first]} × {columns[second]}" for first, second in pairs]
    words = [steps[each] for each in columns]
    told = [*words, *(f"{each}, squared" for each in words)]
    told += [f"{words[first]} × {words[second]}" for first, second in pairs]
    found = []
    for position, scale, term in zip(surface.positions, scales, terms, strict=True):
        weights = np.zeros(len(surface.fit.params))
        weights[position] = scale
        found.append(contrast(surface.fit, weights, term=term))
    return estimate_table(found).assign(step=told)


def _axes(turn: Turn) -> pd.DataFrame:
    rows = [
        {
            "eigenvalue": axis.eigenvalue,
            "std_error": axis.std_error,
            "ci_low": axis.ci_low,
            "ci_high": axis.ci_high,
            **_named(list(turn.surface.columns), axis.direction),
        }
        for axis in turn.shape.axes
    ]
    return pd.DataFrame(rows)


def _path(turn: Turn) -> pd.DataFrame:
    columns = list(turn.surface.columns)
    start = {**_named(columns, turn.base), "change": 0.0, "ci_low": 0.0, "ci_high": 0.0}
    rows = [{**start, "tried": True}]
    for step in turn.steps:
        told = step.change
        numbers = (told.estimate, told.ci_low, told.ci_high) if told else (np.nan,) * 3
        named = dict(zip(("change", "ci_low", "ci_high"), numbers, strict=True))
        rows.append({**_named(columns, step.settings), **named, "tried": step.tried})
    return pd.DataFrame(rows)


def _grid(turn: Turn) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the surface on a lattice of what was tried, and the outline of the lattice."""
    surface, columns = turn.surface, list(turn.surface.columns)
    lattice = turn.tried.lattice(surface.coded(turn.base), LATTICE)
    places = lattice.reshape(-1, surface.width)
    rows = surface.rows(places)
    fitted = rows @ surface.fit.params
    variances = np.einsum("ij,jk,ik->i", rows, surface.fit.cov, rows)
    reach = t_quantile(surface.fit.df_resid) * np.sqrt(np.maximum(variances, 0.0))
    table = pd.DataFrame(surface.natural(places), columns=columns).assign(
        fitted=fitted, ci_low=fitted - reach, ci_high=fitted + reach
    )
    corners = turn.tried.corners
    if surface.width > 2:
        corners = np.vstack([lattice[:, 0], lattice[::-1, -1]])
    return table, pd.DataFrame(surface.natural(corners), columns=columns)
