"""A mixed problem in scaled columns, and the way back to the units of the user."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import numpy.typing as npt
from scipy.linalg import lapack

from yieldwright.errors import OutOfRangeError
from yieldwright.models.linear.aliasing import WORST_CONDITION, require_separable
from yieldwright.models.linear.scaling import ScaledDesign
from yieldwright.models.mixed._crossproducts import crossproducts
from yieldwright.models.mixed._deviance import Surface
from yieldwright.models.mixed._search import LARGEST
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.linear.problem import Problem
    from yieldwright.models.mixed.groups import Grouping

__all__ = ["Posing", "posed_among_groups", "require_spread_within"]

Array = npt.NDArray[np.float64]
Each = TypeVar("Each")

#: Share of the response left by the design below which it is rounding.
NOTHING_LEFT = 1e-11


@dataclass(frozen=True, slots=True, eq=False)
class Posing:
    """A deviance in scaled columns, and what carries its figures back.

    Attributes
    ----------
    surface : Surface
        The deviance, for residuals of unit size in orthonormal columns.
    groupings : tuple of Grouping
        As given.
    order : tuple of int
        Position, among the groupings as given, of each one of the surface.
    root : ndarray
        Coefficients of the design = `root` @ coefficients of the surface.
    size : float
        What the residuals were divided by, in the unit of the response.
    params : ndarray
        Coefficients of plain least squares, to which those of the surface are added.
    shift : float
        Deviance in the units of the user, less that of the surface.
    condition_number : float
        Of the columns after centring and scaling.
    """

    surface: Surface
    groupings: tuple[Grouping, ...]
    order: tuple[int, ...]
    root: Array
    size: float
    params: Array
    shift: float
    condition_number: float

    def as_given(self, values: Sequence[Each]) -> list[Each]:
        """Return values of the surface's groupings in the order of those given.

        Parameters
        ----------
        values : sequence
            One per grouping of the surface.

        Returns
        -------
        list
        """
        return [values[self.order.index(k)] for k in range(len(self.order))]

    def name_of(self, parameter: int) -> str:
        """Return the name of the grouping that a parameter belongs to.

        Parameters
        ----------
        parameter : int
            Position among the parameters of the surface.

        Returns
        -------
        str
        """
        return self.groupings[self.order[self.surface.owners[parameter][0]]].name


def posed_among_groups(problem: Problem, groupings: Sequence[Grouping], *, reml: bool) -> Posing:
    """Return the deviance of a problem in orthonormal columns and residuals of unit size.

    Parameters
    ----------
    problem : Problem
        Checked columns and response.
    groupings : sequence of Grouping
        Checked groups.
    reml : bool
        Whether the restricted likelihood is meant.

    Returns
    -------
    Posing

    Raises
    ------
    OutOfRangeError
        If the design meets every row exactly.
    AliasedColumnsError
        If columns of the design cannot be told apart.
    """
    columns, upper = _orthonormal(problem.scaled.matrix)
    # The triangle has the condition of the columns at a fraction of the cost.
    condition = ScaledDesign(upper, problem.scaled.back).condition_number
    if condition > WORST_CONDITION:
        require_separable(problem.scaled, problem.sources)
    first = columns.T @ problem.observed
    residuals = problem.observed - columns @ first
    second = columns.T @ residuals
    residuals = residuals - columns @ second
    size = float(np.sqrt(residuals @ residuals / len(residuals)))
    if size <= NOTHING_LEFT * np.abs(problem.observed).max():
        raise OutOfRangeError(
            "the design meets every response exactly, so no spread remains to be divided "
            "between groups and rows (leave terms out)"
        )
    order = tuple(sorted(range(len(groupings)), key=lambda k: -_n_effects(groupings[k])))
    ordered = [groupings[k] for k in order]
    sums = crossproducts([each.columns for each in ordered], columns, residuals / size)
    surface = Surface(sums, tuple(each.basis for each in ordered), reml)
    root = problem.scaled.back @ _inverse(upper)
    volume = 2 * float(np.log(np.abs(np.diag(root))).sum()) if reml else 0.0
    shift = 2 * surface.df * float(np.log(size)) - volume
    params = root @ (first + second)
    return Posing(surface, tuple(groupings), order, root, size, params, shift, condition)


def require_spread_within(posing: Posing, theta: Array) -> None:
    """Refuse a fit that leaves no spread of rows about their groups.

    Parameters
    ----------
    posing : Posing
        The problem.
    theta : ndarray
        Relative covariance factors found.

    Raises
    ------
    OutOfRangeError
        If the rows of one group do not differ, or group effects are as many as rows.
    """
    largest = int(np.argmax(np.abs(theta)))
    if abs(theta[largest]) > LARGEST:
        raise OutOfRangeError(
            f"the groups by {quoted(posing.name_of(largest))} leave no spread of rows to judge "
            "by: rows of one group are alike, or group effects are about as many as rows; fit "
            "one row per group (their means), or leave groups out"
        )


def _orthonormal(matrix: Array) -> tuple[Array, Array]:
    """Return orthonormal columns and the triangle that makes the matrix of them."""
    packed, scales, _, _ = lapack.dgeqrf(matrix)
    columns, _, _ = lapack.dorgqr(packed, scales)
    upper = np.triu(packed[: matrix.shape[1]])
    return np.asarray(columns, dtype=np.float64), np.asarray(upper, dtype=np.float64)


def _inverse(upper: Array) -> Array:
    inverse, _ = lapack.dtrtri(upper)
    return np.asarray(inverse, dtype=np.float64)


def _n_effects(groups: Grouping) -> int:
    return len(groups.levels) * len(groups.terms)
