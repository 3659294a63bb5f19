"""What can enter a fit: a line or curve in a number, a product of two, a factor, blocks."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import AliasedColumnsError, OutOfRangeError, UnknownNameError
from yieldwright.models.terms.columns import column_values, levels_present
from yieldwright.models.terms.numeric import Numeric, Product
from yieldwright.models.wording import nearest, quoted, quoted_list

__all__ = ["Blocks", "Factor", "Numeric", "Product", "Term"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Levels:
    """What factors and blocks share: levels fixed once, and one column a level less one."""

    column: str
    levels: tuple[Hashable, ...] = ()

    @property
    def _contrasted(self) -> tuple[Hashable, ...]:
        return self.levels[1:]

    @property
    def labels(self) -> tuple[str, ...]:
        """Names of its columns in the design."""
        return tuple(f"{self.column} = {level}" for level in self._contrasted)

    def coded(self, frame: pd.DataFrame) -> Array:
        """Return the columns of the design for some rows."""
        values = column_values(frame, self.column)
        _require_known_levels(values, self.levels)
        return np.array(
            [[value == level for level in self._contrasted] for value in values.tolist()],
            dtype=np.float64,
        ).reshape(len(values), len(self._contrasted))

    def at(self, value: object) -> Array:
        """Return the coded row of one level."""
        if value not in self.levels:
            raise UnknownNameError(
                f"{quoted(self.column)} has no level {value!r:.60}; "
                f"{nearest(str(value), self.levels)}"
            )
        return np.array([float(value == level) for level in self._contrasted])

    def balanced(self, block: Array) -> Array:
        """Return the coded row that weighs every level alike."""
        return np.full(block.shape[1], 1 / len(self.levels))


@dataclass(frozen=True, slots=True)
class Factor(_Levels):
    """Levels with a name, compared with one of them.

    Attributes
    ----------
    column : str
        Header of the column.
    levels : tuple of hashable
        Levels in their own order; empty for those the rows hold, sorted.
    reference : hashable or None
        Level the others are compared with; None for the first.
    """

    reference: Hashable | None = None

    def __post_init__(self) -> None:
        """Refuse levels named twice and a reference that is none of them."""
        if len(set(self.levels)) < len(self.levels):
            raise OutOfRangeError(f"levels of {quoted(self.column)} must differ from one another")
        if self.reference is not None and self.levels and self.reference not in self.levels:
            raise UnknownNameError(
                f"{quoted(self.column)} has no level {quoted(self.reference)} to refer to; "
                f"{nearest(str(self.reference), self.levels)}"
            )

    @property
    def _contrasted(self) -> tuple[Hashable, ...]:
        reference = self.levels[0] if self.reference is None else self.reference
        return tuple(level for level in self.levels if level != reference)

    def settled(self, frame: pd.DataFrame) -> Factor:
        """Return the term with its levels fixed, each of them present in the rows.

        Parameters
        ----------
        frame : DataFrame
            Rows to be fitted.

        Returns
        -------
        Factor
        """
        present = levels_present(frame, self.column, order=self.levels)
        absent = [level for level in self.levels if level not in present]
        if absent:
            raise AliasedColumnsError(
                f"no row has {quoted(self.column)} at {quoted_list(absent)}; "
                "give the term only levels that were tried",
                columns=(self.column,),
            )
        return replace(self, levels=self.levels or present)


@dataclass(frozen=True, slots=True)
class Blocks(_Levels):
    """Groups whose differences are removed and not reported, such as sessions.

    Attributes
    ----------
    column : str
        Header of the column.
    levels : tuple of hashable
        Groups; empty until a design is built.
    """

    def settled(self, frame: pd.DataFrame) -> Blocks:
        """Return the term with its groups fixed to those of the rows.

        Parameters
        ----------
        frame : DataFrame
            Rows to be fitted.

        Returns
        -------
        Blocks
        """
        return replace(self, levels=self.levels or levels_present(frame, self.column))


#: What a design is made of.
Term = Numeric | Product | Factor | Blocks


def _require_known_levels(values: pd.Series, levels: tuple[Hashable, ...]) -> None:
    different = set(values.tolist())
    if different.issubset(levels) and not any(pd.isna(level) for level in different):
        return
    missing = values.isna()
    if missing.any():
        raise OutOfRangeError(
            f"{quoted(values.name)} must be there in every row; {_rows(values, missing)} missing "
            "(drop such rows, and say how many)"
        )
    strange = values.map(lambda level: level not in levels)
    if strange.any():
        level = values[strange.to_numpy()].iloc[0]
        raise UnknownNameError(
            f"{quoted(values.name)} has a level that was not stated, {quoted(level)}: "
            f"{_rows(values, strange)} at such a level; {nearest(str(level), levels)}"
        )


def _rows(values: pd.Series, which: pd.Series[bool]) -> str:
    """Return how many rows are concerned, and the first of them."""
    first = values.index[int(which.to_numpy().argmax())]
    verb = "is" if which.sum() == 1 else "are"
    return f"{which.sum()} of {len(values)} rows (first at row {quoted(first)}) {verb}"
