"""Which cell of a row was mistyped by one key, and what was probably meant."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from yieldwright.shotlog.checks.keystrokes import Correction, core_number, corrections, decimals
from yieldwright.shotlog.checks.spread import SpreadColumn, groups_of_rows, spread_column
from yieldwright.shotlog.findings import shown
from yieldwright.shotlog.headers.entries import reading_columns

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.glossary import Span
    from yieldwright.shotlog.checks.relations import Relation
    from yieldwright.shotlog.findings import Texts

__all__ = ["ALL_KINDS", "PLAIN_KINDS", "Balance", "Slip", "likely_meant", "likely_slips"]

#: Kinds of slips with few corrections each, and all kinds.
PLAIN_KINDS = frozenset({"point", "swapped", "extra"})
ALL_KINDS = PLAIN_KINDS | {"left out", "replaced"}
#: Cells of the two relations: ratio = beverage / dose, yield = strength × beverage / dose.
_CELLS = ("dose_g", "beverage_g", "tds_pct", "typed_brew_ratio", "typed_ey_pct")
#: Settings of one coffee on one grinder are alike; others need not be.
_GROUPED_BY = ("bag", "grinder")
#: Costs are minus the logarithm of a likelihood, so a gap of 2 means seven times as likely.
_CLEAR_GAP = 2.0
#: A correction must bring a lone cell this close to the middle, in spreads.
_INSIDE = 2.5


class Slip(NamedTuple):
    """One way to explain a row by one wrong key.

    Attributes
    ----------
    column : str
        Name of the cell's column.
    typed : str
        As typed.
    meant : str
        As it may have been meant.
    cost : float
        Minus the logarithm of its likelihood, but for a constant.
    is_judged : bool
        Whether the column is long enough to say what is usual, or two relations agree.
    """

    column: str
    typed: str
    meant: str
    cost: float
    is_judged: bool = True

    @property
    def is_told_input(self) -> bool:
        """Whether others are computed from this cell, and its column helped to find it."""
        return self.is_judged and not self.column.startswith("typed_")

    @property
    def suggestion(self) -> str:
        """What was typed and what may have been meant, as a question."""
        return f"{shown(self.typed)} → {self.meant}?"


@dataclass(frozen=True)
class Balance:
    """The cells of all rows that two relations hold together.

    Attributes
    ----------
    cells : dict of str to SpreadColumn
        Those of the five that were typed.
    strength : ndarray of float or None
        Mean strength of each row, typed or not.
    ratio, extraction : Relation or None
        Typed ratio and typed yield beside the computed ones.
    """

    cells: dict[str, SpreadColumn]
    strength: np.ndarray | None
    ratio: Relation | None
    extraction: Relation | None

    @classmethod
    def of(
        cls, frame: pd.DataFrame, texts: Texts, bench: Bench, relations: dict[str, Relation]
    ) -> Balance:
        """Return the balance of a table.

        Parameters
        ----------
        frame : DataFrame
            One row per data row.
        texts : mapping of str to sequence of str
            The typed columns as typed.
        bench : Bench
            May widen ranges.
        relations : dict of str to Relation
            Of that table.

        Returns
        -------
        Balance
        """
        groups = groups_of_rows(frame, _GROUPED_BY)
        single = not reading_columns(frame)
        cells = {
            name: spread_column(frame, texts, name, groups, bench)
            for name in _CELLS
            if name in texts and name in frame and (name != "tds_pct" or single)
        }
        strength = frame["tds_pct"].to_numpy(dtype=float) if "tds_pct" in frame else None
        usable = {
            name: each if not each.is_another_way or each.factor != 1 else None
            for name, each in relations.items()
        }
        return cls(cells, strength, usable.get("brew_ratio"), usable.get("ey_pct"))

    def broken(self) -> np.ndarray:
        """Return the rows in which a relation does not hold, in order."""
        kept = [each.broken for each in (self.ratio, self.extraction) if each is not None]
        return np.flatnonzero(np.any(kept, axis=0)) if kept else np.empty(0, dtype=int)

    def explain(self, row: int) -> list[Slip]:
        """Return the slips that would mend all of a row, the likeliest of each cell first.

        Parameters
        ----------
        row : int
            Number of the data row.
        """
        as_typed = {name: self._cost_as_typed(name, row) for name in self.cells}
        total = sum(as_typed.values())
        found = []
        for name, column in self.cells.items():
            mending, costs = self._mending(name, row)
            if mending:
                best = int(np.argmin(costs))
                cost = total - as_typed[name] + float(costs[best])
                is_judged = self._is_contradicted_twice(row) or math.isfinite(column.middle[row])
                text = column.texts[row]
                found.append(Slip(name, text, mending[best].text, cost, is_judged))
        return sorted(found, key=lambda slip: slip.cost)

    def _is_contradicted_twice(self, row: int) -> bool:
        """Return whether both typed values contradict a row: that needs no long column."""
        both = (self.ratio, self.extraction)
        return all(each is not None and bool(each.broken[row]) for each in both)

    def _cost_as_typed(self, name: str, row: int) -> float:
        column = self.cells[name]
        places = decimals(column.texts[row])
        written = column.places if places < 0 else min(places, column.places + 2)
        value = np.nan_to_num(column.numbers[row], nan=column.middle[row])
        return float(column.costs(row, value, written))

    def _mending(self, name: str, row: int) -> tuple[list[Correction], np.ndarray]:
        """Return the corrections of one cell after which all of the row holds, and their costs."""
        column = self.cells[name]
        text, value = column.texts[row], column.numbers[row]
        if not abs(core_number(text) - value) <= 1e-9 * abs(value):
            return [], np.empty(0)
        made = corrections(text)
        mends = (made.numbers >= column.hard.low) & (made.numbers <= column.hard.high)
        mends &= self._holds(name, row, made.numbers)
        which = np.flatnonzero(mends)
        costs = column.costs(row, made.numbers[which], made.decimals[which])
        return [made.each[at] for at in which.tolist()], costs + made.surprises[which]

    def _holds(self, name: str, row: int, values: np.ndarray) -> np.ndarray:
        """Return which values of one cell let every relation of the row hold."""
        cell = {
            each: values if each == name else column.numbers[row]
            for each, column in self.cells.items()
        }
        holds = np.zeros(len(values), dtype=bool)
        if not {"dose_g", "beverage_g"} <= set(cell):
            return holds
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = cell["beverage_g"] / cell["dose_g"]
        misses = []
        if self.ratio is not None and "typed_brew_ratio" in cell:
            apart = np.abs(cell["typed_brew_ratio"] - ratio * self.ratio.factor)
            misses.append(apart - self.ratio.allowed[row])
        if self.extraction is not None and self.strength is not None and "typed_ey_pct" in cell:
            strength = cell.get("tds_pct", self.strength[row]) * self.extraction.factor
            apart = np.abs(cell["typed_ey_pct"] - ratio * strength)
            misses.append(apart - self.extraction.allowed[row])
        bound = [miss for miss in misses if np.isfinite(miss).all()]
        holds |= bool(bound)
        for miss in bound:
            holds &= miss <= 0
        return holds


def likely_meant(
    text: str,
    value: float,
    usual: Span,
    *,
    middle: float = math.nan,
    scale: float = math.nan,
    kinds: frozenset[str] = ALL_KINDS,
) -> str:
    """Return the number one key away that a cell may have meant, as a question.

    Parameters
    ----------
    text : str
        As typed.
    value : float
        The number it was read as.
    usual : Span
        Where values of this column usually lie.
    middle, scale : float
        Middle and spread of the column itself; missing where it is short.
    kinds : frozenset of str
        Kinds of slips to consider.

    Returns
    -------
    str
        The likeliest number inside the usual spread; empty where there is none, or no
        spread is known.

    Examples
    --------
    >>> from yieldwright.glossary import Span
    >>> likely_meant("81.0", 81.0, Span(14, 22), middle=18.0, scale=0.2)
    '81.0 → 18.0?'
    """
    if not math.isfinite(middle) or core_number(text) != value:
        return ""
    costs = {
        each.text: 0.5 * off**2 + each.surprise
        for each in corrections(text).each
        if each.kind in kinds
        and usual.holds(each.value)
        and (off := abs(each.value - middle) / scale) <= _INSIDE
    }
    return f"{shown(text)} → {min(costs, key=costs.__getitem__)}?" if costs else ""


def likely_slips(balance: Balance) -> dict[int, list[Slip]]:
    """Return, for each row in which a relation does not hold, the cells one key may mend.

    Parameters
    ----------
    balance : Balance
        Of a table.

    Returns
    -------
    dict of int to list of Slip
        One slip where the cell can be told; those within a factor of seven of the
        likeliest where it cannot; none where no single key explains the row.

    Notes
    -----
    A wrong dose or beverage breaks both relations, a wrong strength or typed yield only
    that of the yield, a wrong typed ratio only its own: a correction counts only where
    all relations hold with it. What remains open (dose or beverage, strength or yield) is
    decided by how far each cell, as it would then stand, lies from the middle of its bag
    and grinder, and by whether it is written as the rest of its column.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> from yieldwright.shotlog.checks.relations import relations_of
    >>> frame = pd.DataFrame({"dose_g": [18.1, 18.0], "beverage_g": [36.0, 36.2]})
    >>> frame["typed_brew_ratio"] = [1.99, 2.91]  # 36.2 / 18.0 is 2.011
    >>> texts = {name: frame[name].map("{:g}".format).tolist() for name in frame}
    >>> balance = Balance.of(frame, texts, Bench(), relations_of(frame, texts, Bench()))
    >>> [slip.suggestion for slip in likely_slips(balance)[1]]
    ['2.91 → 2.01?']
    """
    found = {}
    for row in balance.broken().tolist():
        slips = balance.explain(row)
        least = slips[0].cost if slips else 0.0
        found[row] = [slip for slip in slips if slip.cost < least + _CLEAR_GAP]
    return found
