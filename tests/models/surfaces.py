"""Surfaces for the tests of this room: published ones, and one of known truth."""

from __future__ import annotations

from itertools import combinations, product
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from tests.models.published import data, expected
from yieldwright.models.linear.model import fit_least_squares
from yieldwright.models.surface.fit import response_surface
from yieldwright.models.surface.model import Surface
from yieldwright.models.terms.design import build_design
from yieldwright.models.terms.terms import Blocks, Numeric, Product, Term


class Published(NamedTuple):
    """Example, entry of its expected values, response, coded variables, column of blocks."""

    example: str
    entry: str | None
    response: str
    names: tuple[str, ...]
    blocks: str | None = None

    @property
    def tested(self) -> bool:
        """Whether an analysis of variance is printed."""
        return self.example != "rsm_tire_multiresponse"

    def __str__(self) -> str:
        return f"{self.example}-{self.response}"


PLANE, SPACE = ("x1", "x2"), ("x1", "x2", "x3")
PUBLISHED = [
    Published("rsm_nist_5473", "uniformity", "uniformity", PLANE),
    Published("rsm_nist_5473", "stress", "stress", PLANE),
    Published("rsm_nist_5531", "second_order", "yield", PLANE),
    Published("rsm_heli_saddle", None, "ave", (*SPACE, "x4"), "block"),
    Published("rsm_tire_multiresponse", "y1", "y1", SPACE),
    Published("rsm_tire_multiresponse", "y2", "y2", SPACE),
    Published("rsm_tire_multiresponse", "y3", "y3", SPACE),
    Published("rsm_tire_multiresponse", "y4", "y4", SPACE),
]


def figures(reference: Path, case: Published) -> dict[str, Any]:
    """Return the expected values of an example."""
    whole = expected(reference, case.example)
    return whole if case.entry is None else whole[case.entry]


def published_surface(reference: Path, case: Published) -> Surface:
    """Return our fit of a published example, on its own coded scale."""
    frame = data(reference, case.example)
    numbers = [Numeric(name, 1.0, 2, 0.0, 1.0) for name in case.names]
    terms: list[Term] = [Blocks(case.blocks)] if case.blocks else []
    terms += [*numbers, *(Product(first, second) for first, second in combinations(numbers, 2))]
    fit = fit_least_squares(build_design(frame, terms), frame[case.response])
    return response_surface(fit, frame, case.names)


def quadratic_log(
    *,
    seed: int = 1,
    noise: float = 0.3,
    top: tuple[float, float] = (0.3, -0.2),
    squares: tuple[float, float] = (-2.0, -1.0),
    cross: float = 1.0,
    numbers: int = 2,
    levels: tuple[float, ...] = (-1.0, 0.0, 1.0),
    repeats: int = 2,
) -> pd.DataFrame:
    """Return every combination of levels, each repeated, with a surface of known truth."""
    rng = np.random.default_rng(seed)
    places = np.array([*product(levels, repeat=numbers)] * repeats)
    frame = pd.DataFrame(places, columns=list("xzw")[:numbers])
    across, up = frame["x"] - top[0], frame["z"] - top[1]
    mean = 3 + squares[0] * across**2 + squares[1] * up**2 + cross * across * up
    if numbers == 3:
        mean = mean - 0.5 * frame["w"] ** 2
    return frame.assign(y=mean + rng.normal(0, noise, len(frame)))
