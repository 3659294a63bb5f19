"""What a cell outside its range may have meant: offered, never put in its place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from yieldwright.shotlog.checks.relations import relations_of
from yieldwright.shotlog.checks.slips import PLAIN_KINDS, Balance, likely_meant
from yieldwright.shotlog.checks.spread import SpreadColumn, groups_of_rows, spread_column
from yieldwright.shotlog.checks.unit_jumps import meant_by_unit
from yieldwright.shotlog.findings import Texts, rescaled
from yieldwright.shotlog.headers.entries import entry_of

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity

__all__ = ["Offers", "meant_by_key_or_unit"]

#: Spreads from the middle of its column beyond which an unusual value may be a mistake.
_FAR = 5.0


def meant_by_key_or_unit(
    text: str, value: float, entry: Quantity, *, middle: float = math.nan, scale: float = math.nan
) -> str:
    """Return what a cell outside its range may have meant: by one key, or by its unit.

    Parameters
    ----------
    text : str
        As typed.
    value : float
        The number it was read as.
    entry : Quantity
        The column's entry.
    middle, scale : float
        Middle and spread of the column itself; missing where it is short.

    Returns
    -------
    str
        A point, swapped keys or a key too many come first, then another unit, then a
        digit left out or replaced, of which there are many; empty where nothing helps.

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> meant_by_key_or_unit("130", 130.0, quantity("peak_bar"), middle=9.0, scale=0.3)
    '130 → 8.96 bar if psi?'
    >>> meant_by_key_or_unit("180", 180.0, quantity("dose_g"))
    '180 → 18.0?'
    """
    usual = entry.soft
    by_unit = meant_by_unit(text, value, entry, middle=middle, scale=scale)
    if not math.isfinite(middle):
        by_point = rescaled(text, value, usual)
        return by_unit if by_unit and not _is_one_place(by_point, value) else by_point
    return (
        likely_meant(text, value, usual, middle=middle, scale=scale, kinds=PLAIN_KINDS)
        or by_unit
        or likely_meant(text, value, usual, middle=middle, scale=scale)
        or rescaled(text, value, usual)
    )


@dataclass(frozen=True)
class Offers:
    """What cells may have meant, by their column and by the rest of their rows.

    Attributes
    ----------
    frame : DataFrame
        One row per data row.
    texts : mapping of str to sequence of str
        The same columns as typed.
    bench : Bench
        Ranges and instruments.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.bench import Bench
    >>> doses = [18.0, 18.1, 17.9, 18.0, 18.2, 18.0, 18.1, 17.9, 81.0]
    >>> texts = {"dose_g": [f"{dose:.1f}" for dose in doses]}
    >>> Offers(pd.DataFrame({"dose_g": doses}), texts, Bench()).of_cells("dose_g", [8])
    ['81.0 → 18.0?']
    """

    frame: pd.DataFrame
    texts: Texts
    bench: Bench

    def of_cells(self, name: str, rows: Sequence[int], *, only_far: bool = False) -> list[str]:
        """Return an offer for some cells of a column, empty where there is none.

        Parameters
        ----------
        name : str
            The column.
        rows : sequence of int
            Numbers of the data rows.
        only_far : bool
            Whether to leave cells alone that lie near the rest of their column.

        Returns
        -------
        list of str
        """
        if not rows or name not in self.texts:
            return [""] * len(rows)
        column = self._column(name)
        return [
            "" if only_far and not self._is_far(column, row) else self._offer(name, column, row)
            for row in rows
        ]

    def _offer(self, name: str, column: SpreadColumn, row: int) -> str:
        text, value = column.texts[row], float(column.numbers[row])
        for slip in self._balance.explain(row) if name in self._balance.cells else ():
            if slip.column == name:
                return slip.suggestion
        at = {"middle": float(column.middle[row]), "scale": float(column.scale[row])}
        return meant_by_key_or_unit(text, value, entry_of(name, self.bench), **at)

    def _is_far(self, column: SpreadColumn, row: int) -> bool:
        return bool(abs(column.numbers[row] - column.middle[row]) > _FAR * column.scale[row])

    def _column(self, name: str) -> SpreadColumn:
        return spread_column(self.frame, self.texts, name, self._groups, self.bench)

    @cached_property
    def _groups(self) -> np.ndarray:
        return groups_of_rows(self.frame, ("bag", "grinder"))

    @cached_property
    def _balance(self) -> Balance:
        relations = relations_of(self.frame, self.texts, self.bench)
        return Balance.of(self.frame, self.texts, self.bench, relations)


def _is_one_place(offer: str, value: float) -> bool:
    """Return whether an offered number is the typed one with its point one place off."""
    meant = float(offer.rpartition("→ ")[2].rstrip("?")) if offer else 0.0
    return any(math.isclose(meant, value * power) for power in (0.1, 10.0))
