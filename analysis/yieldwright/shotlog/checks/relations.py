"""Typed values that the rest of their row gives too, and how far apart both may honestly lie."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.shotlog.checks.keystrokes import core_number
from yieldwright.shotlog.checks.spread import FEWEST
from yieldwright.shotlog.checks.written import Written
from yieldwright.shotlog.headers.entries import half_width_column, reading_columns

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.shotlog.findings import Texts

__all__ = ["Relation", "relations_of"]

#: Half-widths no writing exceeds: a recipe called 1:2 is no ratio between 1.5 and 2.5, and
#: a taper of 3 bar was read off a gauge (common practice, no source).
_COARSEST = {
    "brew_ratio": 0.1,
    "taper_bar": 0.5,
    "ey_pct": 0.5,
    "roast_age_d": 0.5,
    "frozen_d": 0.5,
    "open_d": 0.5,
    "tds_pct": 0.5,
}
#: Counted from one day to another: the first may be counted or not, and a night's roast too.
_COUNTED = frozenset({"roast_age_d", "frozen_d", "open_d"})
_COUNTING_LEEWAY_D = 0.5
#: Rows beyond rounding alone that still let the others prove from what a value was computed.
_EXCEPTIONS = 0.1
#: Beyond this share of rows apart, values were computed in another way and nobody slipped.
_ANOTHER_WAY = 1 / 3
_SLACK = 1e-9


@dataclass(frozen=True)
class Relation:
    """One typed column beside what the rows give for it.

    Attributes
    ----------
    name : str
        Name of the quantity in the glossary.
    typed, computed : ndarray of float
        One per row, missing where it is.
    allowed : ndarray of float
        How far apart the two may lie.
    factor : float
        What the computed value was multiplied with, where nearly all rows differ by one
        factor, as yields on a dry basis do; else 1.
    n_apart : int
        Rows apart before that factor.
    """

    name: str
    typed: np.ndarray
    computed: np.ndarray
    allowed: np.ndarray
    factor: float = 1.0
    n_apart: int = 0

    @cached_property
    def n_rows(self) -> int:
        """How many rows can be compared."""
        return int(np.isfinite(self.typed - self.computed).sum())

    @property
    def is_another_way(self) -> bool:
        """Whether too many rows are apart for slips to be the reason."""
        return self.n_rows >= FEWEST and self.n_apart > _ANOTHER_WAY * self.n_rows

    @cached_property
    def broken(self) -> np.ndarray:
        """Which rows are further apart than rounding explains."""
        apart: np.ndarray = np.abs(self.typed - self.computed) > self.allowed
        return apart


def relations_of(frame: pd.DataFrame, texts: Texts, bench: Bench) -> dict[str, Relation]:
    """Return each typed column that its row gives too, under the name of the quantity.

    Parameters
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The typed columns as typed.
    bench : Bench
        What its instruments show.

    Returns
    -------
    dict of str to Relation

    Notes
    -----
    A number is rounded by half a step of its last digit at most. A typed value computed
    from what stands in the row may be off by its own rounding alone; one computed before
    the row was rounded, by that and what the rounding of each cell makes of it, added up,
    since rounding errors have sharp bounds. Which of the two a person did shows in the log:
    where nine rows of ten (all but one of a small log) keep to the first, the first is
    asked of all. In a log too short to show how it is written, a whole number is taken as
    read to the display.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> row = {"dose_g": [18.0], "beverage_g": [36.0], "typed_brew_ratio": [2.1]}
    >>> texts = {"dose_g": ["18.0"], "beverage_g": ["36.0"], "typed_brew_ratio": ["2.1"]}
    >>> relations_of(pd.DataFrame(row), texts, Bench())["brew_ratio"].broken.tolist()
    [True]
    """
    found = {}
    for name, inputs in _inputs_of(frame).items():
        typed_name = f"typed_{name}"
        if typed_name not in frame:
            continue
        cells = {each: frame[each].to_numpy(dtype=float) for each in inputs}
        computed = _computed(name, frame, cells)
        if computed is None:
            continue
        typed = frame[typed_name].to_numpy(dtype=float)
        own = _rounding(typed, _texts_of(typed_name, texts), display=0.0)
        own = np.minimum(own, _COARSEST[name]) + _SLACK
        halves = {each: _half_width(each, frame, texts, bench) for each in inputs}
        carried = _carried(name, computed, cells, halves)
        found[name] = _relation(name, typed, computed, own, carried)
    return found


def _inputs_of(frame: pd.DataFrame) -> dict[str, Sequence[str]]:
    """Return the columns that each checked quantity is computed from."""
    singles = reading_columns(frame)
    inputs: dict[str, Sequence[str]] = {
        "brew_ratio": ["beverage_g", "dose_g"],
        "ey_pct": ["beverage_g", "dose_g", "tds_pct"],
        "taper_bar": ["hold_bar", "end_bar"],
        **{counted: [] for counted in sorted(_COUNTED)},
        "tds_pct": singles,
    }
    if not singles:
        del inputs["tds_pct"]
    known = set(frame.columns)
    return {name: columns for name, columns in inputs.items() if set(columns) <= known}


def _computed(name: str, frame: pd.DataFrame, cells: dict[str, np.ndarray]) -> np.ndarray | None:
    """Return what the rows give; what stands for it where a typed value fills gaps."""
    given: np.ndarray
    if name in ("brew_ratio", "ey_pct"):
        with np.errstate(divide="ignore", invalid="ignore"):
            given = cells["beverage_g"] / cells["dose_g"]
        return given if name == "brew_ratio" else given * cells["tds_pct"]
    if name == "taper_bar":
        given = cells["hold_bar"] - cells["end_bar"]
        return given
    return frame[name].to_numpy(dtype=float) if name in frame else None


def _carried(
    name: str, computed: np.ndarray, cells: dict[str, np.ndarray], halves: dict[str, np.ndarray]
) -> np.ndarray:
    """Return what the half-widths of the inputs may do to the computed value."""
    if name in _COUNTED:
        return np.full(len(computed), _COUNTING_LEEWAY_D)
    if name in ("brew_ratio", "ey_pct"):
        with np.errstate(divide="ignore", invalid="ignore"):
            shares = [halves[each] / np.abs(values) for each, values in cells.items()]
            carried: np.ndarray = np.abs(computed) * np.sum(shares, axis=0)
        return carried
    total: np.ndarray = np.sum(list(halves.values()), axis=0)
    return total / len(halves) if name == "tds_pct" else total


def _half_width(name: str, frame: pd.DataFrame, texts: Texts, bench: Bench) -> np.ndarray:
    """Return how far each cell of an input may be off: by rounding, and as far as it says."""
    values = frame[name].to_numpy(dtype=float)
    rounding = _rounding(values, _texts_of(name, texts), display=_display(name, bench))
    stated = half_width_column(name)
    if stated in frame:
        rounding = rounding + np.nan_to_num(frame[stated].to_numpy(dtype=float))
    return rounding


def _display(name: str, bench: Bench) -> float:
    if name == "dose_g":
        return bench.dose_scale.resolution_g
    if name == "beverage_g":
        return bench.beverage_scale.resolution_g
    return bench.refractometer.resolution_pct if name.startswith("tds_") else 0.0


def _texts_of(name: str, texts: Texts) -> Sequence[str]:
    bare = name.removeprefix("typed_")
    return texts.get(name) or texts.get(bare) or texts.get(f"typed_{bare}") or ()


def _rounding(values: np.ndarray, texts: Sequence[str], *, display: float) -> np.ndarray:
    """Return half a step of the last digit of each cell, in the unit of the column."""
    if len(texts) != len(values):
        return np.full(len(values), display / 2)
    written = Written.of(texts)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.abs(written.values(values) / written.measured(core_number))
    is_own = ~(np.abs(factor - 1) > _SLACK)
    places = np.where(is_own, np.fmax(written.places, written.usual), written.places)
    half = 0.5 * 10.0**-places
    if display and len(texts) < FEWEST:
        half = np.where(is_own & (places == 0), np.minimum(half, display / 2), half)
    by_row: np.ndarray = np.where(is_own, half, half * factor)[written.codes]
    return by_row


def _relation(
    name: str, typed: np.ndarray, computed: np.ndarray, own: np.ndarray, carried: np.ndarray
) -> Relation:
    """Return the relation with the tolerance, and the factor, that the log itself shows."""
    first = _learned(name, typed, computed, own, carried)
    n_apart = int(first.broken.sum())
    first = replace(first, n_apart=n_apart)
    if not first.is_another_way or name in _COUNTED:
        return first
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = float(np.nanmedian(typed / computed))
    again = _learned(name, typed, factor * computed, own, carried * abs(factor))
    if again.broken.sum() > _EXCEPTIONS * again.n_rows:
        return first
    return replace(again, factor=factor, n_apart=n_apart)


def _learned(
    name: str, typed: np.ndarray, computed: np.ndarray, own: np.ndarray, carried: np.ndarray
) -> Relation:
    apart = np.abs(typed - computed)
    n_rows = int(np.isfinite(apart).sum())
    exceptions = int((apart > own).sum())
    is_exact = n_rows >= FEWEST and exceptions <= max(1, _EXCEPTIONS * n_rows)
    return Relation(name, typed, computed, own if is_exact else own + carried)
