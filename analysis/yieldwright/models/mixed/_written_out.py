"""Effects of few groups that go their own ways: all crossproducts in one small matrix."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy.linalg import lapack

from yieldwright.models.mixed._bend import VANISHING, Bend

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.mixed._crossproducts import Crossproducts

__all__ = ["FEW", "WrittenOut", "written_out"]

Array = npt.NDArray[np.float64]

#: Effects up to which one matrix of all is quicker than working group by group.
FEW = 100


@dataclass(frozen=True, slots=True, eq=False)
class WrittenOut:
    """Crossproducts of all effects, columns of the design and response, in this order.

    Attributes
    ----------
    total : ndarray
        The crossproducts.
    members : ndarray
        Which effects have the spread of each parameter: parameters × effects, 1 or 0.
    n_rows, n_columns : int
        Rows, and columns of the design.
    """

    total: Array
    members: Array
    n_rows: int
    n_columns: int

    def bend(self, theta: Array, *, reml: bool, log_variance: float | None = None) -> Bend:
        """Return the deviance with its derivatives in θ and then the log row variance.

        Parameters
        ----------
        theta : ndarray
            Spreads of effects over that within groups. [1]
        reml : bool
            Whether the columns of the design are averaged out.
        log_variance : float, optional
            Log of the row variance; without, the one that fits best.

        Returns
        -------
        Bend
        """
        lower, taken = self._reduced(theta)
        count, df = self.members.shape[1], self.n_rows - (self.n_columns if reml else 0)
        left = self.total[:count] - taken[:, :count].T @ taken
        inner, pulls = left[:, :count], left[:, -1]
        traced = inner
        if not reml:
            early = taken[:count, :count]
            traced = self.total[:count, :count] - early.T @ early
        quadratic = float(lower[-1, -1]) ** 2
        variance = np.exp(log_variance) if log_variance is not None else None
        if variance is None:
            variance = max(quadratic, VANISHING) / df
        logs = np.log(lower.diagonal())
        volume = logs[:-1] if reml else logs[:count]
        value = df * np.log(2 * np.pi * variance) + quadratic / variance + 2 * volume.sum()
        squares = self.members @ pulls**2 / variance
        rise = self.members @ traced.diagonal() - squares
        second = self._by_parameter(
            inner * (pulls[:, np.newaxis] * pulls) * (2 / variance) - traced**2
        )
        return _bend(float(value), theta, (rise, squares, second), df, quadratic / variance)

    def moments(self) -> tuple[Array, list[float], Array]:
        """Return inner products of the spreads the design leaves, sizes before, and squares.

        Returns
        -------
        gram : ndarray
            Inner products, those of the rows' own spread last.
        before : list of float
            Squared size of each spread before the design takes its part.
        observed : ndarray
            Squared residuals, added up for each spread.
        """
        lower, taken = self._reduced(np.zeros(len(self.members)))
        count = self.members.shape[1]
        left = self.total[:count] - taken[:, :count].T @ taken
        traces = self.members @ left[:, :count].diagonal()
        gram = np.empty((len(traces) + 1, len(traces) + 1))
        gram[:-1, :-1] = self._by_parameter(left[:, :count] ** 2)
        gram[-1, :-1] = gram[:-1, -1] = traces
        gram[-1, -1] = self.n_rows - self.n_columns
        before = self._by_parameter(self.total[:count, :count] ** 2).diagonal()
        observed = np.append(self.members @ left[:, -1] ** 2, lower[-1, -1] ** 2)
        return gram, before.tolist(), observed

    def _reduced(self, theta: Array) -> tuple[Array, Array]:
        """Return the triangle of the mixed model equations, and what they take off in halves."""
        count = self.members.shape[1]
        scale = np.ones(len(self.total))
        scale[:count] = theta @ self.members
        system = self.total * scale * scale[:, np.newaxis]
        system.flat[: count * len(system) : len(system) + 1] += 1.0
        lower, failed = lapack.dpotrf(system, lower=1)
        if failed:
            raise np.linalg.LinAlgError("rounding leaves nothing of the response within groups")
        root, _ = lapack.dtrtri(lower, lower=1)
        return lower, (root[:-1, :-1] * scale[:-1]) @ self.total[:-1]

    def _by_parameter(self, pairs: Array) -> Array:
        sums: Array = self.members @ pairs @ self.members.T
        return sums


def written_out(sums: Crossproducts, basis: Sequence[Sequence[Array]]) -> WrittenOut | None:
    """Return all crossproducts in one matrix, where effects are few and go their own ways.

    Parameters
    ----------
    sums : Crossproducts
        Of groups, columns and response.
    basis : sequence of sequence of ndarray
        For each grouping, the matrices that its factor is a combination of.

    Returns
    -------
    WrittenOut or None
        None where a parameter stands for more than the spread of one effect.
    """
    shapes = list(zip(sums.widths, sums.counts, strict=True))
    if sum(wide * count for wide, count in shapes) > FEW or not _own_ways(basis):
        return None
    first, size = sums.widths[0] * sums.counts[0], len(sums.rest)
    total = np.zeros((first + size, first + size))
    for group, own in enumerate(sums.own):
        place = slice(group * sums.widths[0], (group + 1) * sums.widths[0])
        total[place, place] = own
    total[:first, first:] = sums.shared.reshape(first, size)
    total[first:, :first] = total[:first, first:].T
    total[first:, first:] = sums.rest
    members = np.zeros((sum(map(len, basis)), sum(wide * count for wide, count in shapes)))
    parameter, begin = 0, 0
    for own_basis, (wide, count) in zip(basis, shapes, strict=True):
        for matrix in own_basis:
            members[parameter, begin : begin + wide * count] = np.tile(matrix.diagonal(), count)
            parameter += 1
        begin += wide * count
    return WrittenOut(total, members, sums.n_rows, sums.n_columns)


def _own_ways(basis: Sequence[Sequence[Array]]) -> bool:
    """Return whether each parameter is the factor of one effect, without a tie to another."""
    return all(
        np.count_nonzero(matrix) == 1 and matrix.max() == np.trace(matrix) == 1.0
        for own in basis
        for matrix in own
    )


def _bend(
    value: float, theta: Array, parts: tuple[Array, Array, Array], df: int, share: float
) -> Bend:
    """Return derivatives in θ, whose squares are the relative variances, from those in these."""
    rise, squares, second = parts
    size, slopes = len(theta), 2 * theta
    gradient, hessian = np.empty(size + 1), np.empty((size + 1, size + 1))
    gradient[:size], gradient[size] = slopes * rise, df - share
    hessian[:size, :size] = second * (slopes[:, np.newaxis] * slopes)
    hessian.flat[: size * (size + 1) : size + 2] += 2 * rise
    hessian[size, :size] = hessian[:size, size] = slopes * squares
    hessian[size, size] = share
    return Bend(value, gradient, hessian)
