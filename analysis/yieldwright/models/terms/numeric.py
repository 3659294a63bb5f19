"""Numbers in a design: a line, a curve, and the product of two."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NoReturn, SupportsFloat

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, RoleError, TooFewShotsError
from yieldwright.models.terms.columns import column_numbers
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Numeric", "Product"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Numeric:
    """A number, entered as a line or as a curve.

    Inside the design it runs from −1 at the lowest value tried to +1 at the highest,
    so that its square is not nearly the same column; effects are told per `step`.

    Attributes
    ----------
    column : str
        Header of the column.
    step : float
        Change that effects are told for, in the unit of the column; may be negative.
    power : {1, 2}
        Highest power: 1 is a line, 2 a curve.
    centre, half_range : float or None
        Middle and half-width of the values tried; None until a design is built.
    """

    column: str
    step: float = 1.0
    power: int = 1
    centre: float | None = None
    half_range: float | None = None

    def __post_init__(self) -> None:
        """Refuse a step or a power that no effect could be told in."""
        if self.power not in (1, 2):
            raise OutOfRangeError(
                f"power of {quoted(self.column)} must be 1 or 2, not {self.power}"
            )
        if not math.isfinite(self.step) or self.step == 0:
            raise OutOfRangeError(
                f"step of {quoted(self.column)} must be finite and not 0, not {self.step}"
            )

    @property
    def middle(self) -> float:
        """Middle of the values tried, in the unit of the column."""
        return _known(self.centre, self.column)

    @property
    def reach(self) -> float:
        """Half-width of the values tried, in the unit of the column."""
        return _known(self.half_range, self.column)

    @property
    def low(self) -> float:
        """Lowest value tried, in the unit of the column."""
        return self.middle - self.reach

    @property
    def high(self) -> float:
        """Highest value tried, in the unit of the column."""
        return self.middle + self.reach

    @property
    def labels(self) -> tuple[str, ...]:
        """Names of its columns in the design."""
        return (self.column, f"{self.column}²")[: self.power]

    def settled(self, frame: pd.DataFrame) -> Numeric:
        """Return the term with centre and half-range taken from the rows to be fitted.

        Parameters
        ----------
        frame : DataFrame
            Rows to be fitted.

        Returns
        -------
        Numeric
        """
        if self.centre is not None:
            return self
        values = column_numbers(frame, self.column)
        low, high = float(values.min()), float(values.max())
        return replace(self, centre=(low + high) / 2, half_range=(high - low) / 2)

    def coded(self, frame: pd.DataFrame) -> Array:
        """Return the columns of the design for some rows.

        Parameters
        ----------
        frame : DataFrame
            Rows to code.

        Returns
        -------
        ndarray
            One row per row of `frame`, one column per power.
        """
        unit = (column_numbers(frame, self.column) - self.middle) / self.reach
        return np.column_stack([unit**power for power in range(1, self.power + 1)])

    def at(self, value: object) -> Array:
        """Return the coded row of one value.

        Parameters
        ----------
        value : object
            A finite number, in the unit of the column.

        Returns
        -------
        ndarray
            One value per power.
        """
        if not isinstance(value, SupportsFloat) or not math.isfinite(float(value)):
            raise OutOfRangeError(
                f"{quoted(self.column)} must be a finite number, not {value!r:.60}"
            )
        unit = (float(value) - self.middle) / self.reach
        return np.array([unit**power for power in range(1, self.power + 1)])

    def balanced(self, block: Array) -> Array:
        """Return the coded row at the mean of the rows fitted.

        Parameters
        ----------
        block : ndarray
            Columns of this term in the design.

        Returns
        -------
        ndarray
            One value per power.
        """
        mean = float(block[:, 0].mean())
        return np.array([mean**power for power in range(1, self.power + 1)])


@dataclass(frozen=True, slots=True)
class Product:
    """The product of two numbers that enter by themselves as well.

    It says how the effect of one changes with the other. With it in a design, the slope
    of either number holds where the other stands in the middle of what was tried.

    Attributes
    ----------
    first, second : Numeric
        The two, scaled as they are scaled by themselves.
    """

    first: Numeric
    second: Numeric

    def __post_init__(self) -> None:
        """Refuse the product of a number with itself."""
        if self.first.column == self.second.column:
            raise OutOfRangeError(
                f"the product of {quoted(self.first.column)} with itself is its square; "
                "give it power=2"
            )

    @property
    def column(self) -> str:
        """What the term is called, made of both headers."""
        return f"{self.first.column} × {self.second.column}"

    @property
    def labels(self) -> tuple[str, ...]:
        """Names of its columns in the design."""
        return (self.column,)

    def settled(self, frame: pd.DataFrame) -> Product:
        """Return the term with the scales of both numbers taken from the rows to be fitted.

        Parameters
        ----------
        frame : DataFrame
            Rows to be fitted.

        Returns
        -------
        Product
        """
        return Product(self.first.settled(frame), self.second.settled(frame))

    def coded(self, frame: pd.DataFrame) -> Array:
        """Return the column of the design for some rows.

        Parameters
        ----------
        frame : DataFrame
            Rows to code.

        Returns
        -------
        ndarray
            One row per row of `frame`.
        """
        return self.first.coded(frame)[:, :1] * self.second.coded(frame)[:, :1]

    def at(self, value: object) -> NoReturn:
        """Refuse a value: a product follows from its two numbers.

        Parameters
        ----------
        value : object
            Whatever was asked for.

        Raises
        ------
        RoleError
            Always.
        """
        first, second = quoted(self.first.column), quoted(self.second.column)
        raise RoleError(
            f"{quoted(self.column)} cannot be set to {value!r:.60}: it follows from {first} and "
            f"{second}; state those"
        )

    def balanced(self, block: Array) -> Array:
        """Return the coded row at the mean of the rows fitted.

        Parameters
        ----------
        block : ndarray
            Its column in the design.

        Returns
        -------
        ndarray
            One value; a design replaces it by the product of both numbers.
        """
        return np.array([float(block[:, 0].mean())])


def _known(value: float | None, column: str) -> float:
    """Return a number that only a built design knows."""
    if value is None:
        raise TooFewShotsError(
            f"{quoted(column)} has no range yet; take the term from a design (`Design.term`)"
        )
    return value
