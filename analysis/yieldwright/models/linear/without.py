"""A fit as it would be without a row or a group of rows, in closed form."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import special

from yieldwright.models.contrasts.contrasts import weights_in_order
from yieldwright.models.intervals.intervals import LEVEL, t_quantile
from yieldwright.models.linear._orthonormal import (
    Labels,
    Orthonormal,
    group_codes,
    orthonormal,
    summed,
)
from yieldwright.models.terms.design import design_of

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit

__all__ = ["Without", "without_groups", "without_rows"]

Array = npt.NDArray[np.float64]

#: What rows leave of a direction below which it is known through them alone.
ALONE = 1e-10

#: A quantity to which such a direction brings less than this share does not hang on it.
NO_SHARE = 1e-8


@dataclass(frozen=True, eq=False)
class Without:
    """A fit as it would be without each of several groups of rows.

    Attributes
    ----------
    fit : LinearFit
        The fit of all rows.
    labels : tuple of hashable
        What each group is called, in order of appearance.
    n_left : ndarray of int
        Rows left without each group.
    df_resid : ndarray of int
        Those less the coefficients they still tell.
    sigma : ndarray
        Standard deviation of a row about the fit without each group; not a number where
        no degree of freedom is left. [unit of the response]
    codes : ndarray of int
        Group of each row.
    basis : Orthonormal
        Columns in which the fit was solved.
    changes : ndarray
        Change of the coefficients of these columns, one row per group.
    inverses : ndarray
        Their covariance over the variance of a row, one matrix per group.
    lost : ndarray
        Projection on what is told by the group alone, one matrix per group.
    """

    fit: LinearFit
    labels: tuple[Hashable, ...]
    n_left: npt.NDArray[np.intp]
    df_resid: npt.NDArray[np.intp]
    sigma: Array
    codes: npt.NDArray[np.intp]
    basis: Orthonormal
    changes: Array
    inverses: Array
    lost: Array

    @property
    def params(self) -> Array:
        """Coefficients without each group; not a number for those that hang on it."""
        shares = np.einsum("gab,cb->gca", self.lost, self.basis.back)
        sizes = np.linalg.norm(self.basis.back, axis=1)
        hanging = np.linalg.norm(shares, axis=2) > NO_SHARE * sizes
        moved = self.fit.params + self.changes @ self.basis.back.T
        return np.where(hanging, np.nan, moved)

    def estimates(
        self,
        weights: Mapping[str, float] | Sequence[float] | Array,
        *,
        level: float = LEVEL,
    ) -> pd.DataFrame:
        """Return a weighted sum of coefficients without each group, with its t interval.

        Parameters
        ----------
        weights : mapping of str to float, or sequence of float
            Weights by name of coefficient, or one for each; the same for every group.
        level : float
            Confidence level of the intervals. [1]

        Returns
        -------
        DataFrame
            One row per group: without, n_left, estimate, std_error, df, ci_low, ci_high,
            p_value; share of what is known of the sum that the group brings [1], all shares
            adding up to 1; p_apart of the test that the group says the same as all others.
            Figures are missing where the sum hangs on the group.

        Notes
        -----
        The variance of the sum is that of a row times the squared weights that the rows have
        in it; the share of a group is its part of these squares. The sum with and without a
        group have the covariance of the former, so that their difference over its error, by
        the spread without the group, follows t. Of a single row this is its studentised
        residual.
        """
        return pd.DataFrame({"without": list(self.labels), **self.figures(weights, level=level)})

    def figures(
        self,
        weights: Mapping[str, float] | Sequence[float] | Array,
        *,
        level: float = LEVEL,
    ) -> dict[str, Array]:
        """Return the same as `estimates`, as one array per column and without labels.

        Parameters
        ----------
        weights : mapping of str to float, or sequence of float
            Weights by name of coefficient, or one for each; the same for every group.
        level : float
            Confidence level of the intervals. [1]

        Returns
        -------
        dict of str to ndarray
        """
        combined = weights_in_order(self.fit.names, weights)
        along = self.basis.back.T @ combined
        hanging = np.linalg.norm(self.lost @ along, axis=1) > NO_SHARE * np.linalg.norm(along)
        change = np.where(hanging, np.nan, self.changes @ along)
        variance = np.maximum(np.einsum("a,gab,b->g", along, self.inverses, along), 0.0)
        error = np.where(hanging, np.nan, self.sigma * np.sqrt(variance))
        added = variance - along @ along
        df = np.where(self.df_resid > 0, self.df_resid, np.nan)
        reaches = {each: t_quantile(each, level=level) for each in set(df[df > 0].tolist())}
        reach = error * np.array([reaches.get(each, np.nan) for each in df.tolist()])
        estimate = combined @ self.fit.params + change
        apart = self.sigma * np.sqrt(np.where(added > NO_SHARE * variance, added, np.nan))
        return {
            "n_left": self.n_left,
            "estimate": estimate,
            "std_error": error,
            "df": df,
            "ci_low": estimate - reach,
            "ci_high": estimate + reach,
            "p_value": _two_sided(estimate, error, df),
            "share": _shares(self.basis.columns @ along, self.codes),
            "p_apart": _two_sided(change, apart, df),
        }


def without_rows(fit: LinearFit) -> Without:
    """Return a fit as it would be without each of its rows.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.

    Returns
    -------
    Without
        Its labels are those of the index.

    Raises
    ------
    RoleError
        If the fit was made from a plain matrix.

    Notes
    -----
    In closed form [1]_. The leverages are those of the fit, so that of one whose columns
    and response had group means taken off, and whose leverages count these, slopes and
    errors are right too.

    References
    ----------
    .. [1] Belsley, Kuh and Welsch (1980), Regression Diagnostics, equation 2.1.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 11], "y": [1.0, 3.0, 5.0, 8.0]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind")]), frame["y"])
    >>> without_rows(fit).params[3].tolist()
    [4.0, 3.0]
    """
    basis, index = orthonormal(fit), design_of(fit).index
    alone = fit.leverage > 1 - ALONE
    left = np.where(alone, 1.0, 1 - fit.leverage)
    residual = np.where(alone, 0.0, fit.residuals)
    outer = np.einsum("ia,ib->iab", basis.columns, basis.columns)
    sizes = (basis.columns**2).sum(axis=1)
    lost = np.where(alone, 1 / sizes, 0.0)[:, np.newaxis, np.newaxis] * outer
    grown = np.where(alone, 0.0, 1 / left)[:, np.newaxis, np.newaxis] * outer
    square = float(fit.residuals @ fit.residuals) - residual**2 / left
    df = fit.df_resid - 1 + alone
    return Without(
        fit=fit,
        labels=tuple(index),
        n_left=np.full(len(index), len(index) - 1),
        df_resid=df,
        sigma=_root_mean(square, df),
        codes=np.arange(len(index)),
        basis=basis,
        changes=-basis.columns * (residual / left)[:, np.newaxis],
        inverses=np.eye(basis.columns.shape[1]) + grown - lost,
        lost=lost,
    )


def without_groups(fit: LinearFit, groups: Labels, *, swept: bool = False) -> Without:
    """Return a fit as it would be without each group of its rows.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.
    groups : sequence of hashable or Series
        Label of the group of each row: its session, its taster.
    swept : bool
        Whether the mean of each group was taken off columns and response before the fit,
        which counts one coefficient a group.

    Returns
    -------
    Without

    Raises
    ------
    MisalignedError
        If there is not one label per row.
    OutOfRangeError
        If a label is missing.
    TooFewShotsError
        If there are fewer than two groups.
    RoleError
        If the fit was made from a plain matrix.

    Notes
    -----
    In closed form, without a fit per group: with Q the orthonormal columns and e the
    residuals, the coefficients change by −(I − Q'Q)⁻¹ Q'e over the rows of the group, and
    the residual sum by −e'e − e'Q (I − Q'Q)⁻¹ Q'e [1]_. Directions known through the group
    alone are left out, and quantities that hang on them are missing.

    References
    ----------
    .. [1] Cook and Weisberg (1982), Residuals and Influence in Regression, section 3.6.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8, 9, 10, 8, 9], "y": [1.0, 3.0, 5.0, 2.0, 3.0]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind")]), frame["y"])
    >>> left = without_groups(fit, list("aaabb"))
    >>> left.labels, left.params.round(6).tolist()
    (('a', 'b'), [[3.0, 1.0], [3.0, 2.0]])
    """
    basis, index = orthonormal(fit), design_of(fit).index
    codes = group_codes(groups, index)
    products = summed(np.einsum("ia,ib->iab", basis.columns, basis.columns), codes)
    values, axes = np.linalg.eigh(np.eye(basis.columns.shape[1]) - products)
    alone = values < ALONE
    inverted = np.where(alone, 0.0, 1 / np.where(alone, 1.0, values))
    inverses = np.einsum("gak,gk,gbk->gab", axes, inverted, axes)
    pulls = summed(basis.columns * fit.residuals[:, np.newaxis], codes)
    changes = -np.einsum("gab,gb->ga", inverses, pulls)
    square = float(fit.residuals @ fit.residuals) - summed(fit.residuals**2, codes)
    square += np.einsum("ga,ga->g", pulls, changes)
    counts = np.bincount(codes)
    df = fit.df_resid - counts + alone.sum(axis=1) + swept
    return Without(
        fit=fit,
        labels=tuple(dict.fromkeys(groups)),
        n_left=len(codes) - counts,
        df_resid=df,
        sigma=_root_mean(square, df),
        codes=codes,
        basis=basis,
        changes=changes,
        inverses=inverses,
        lost=np.einsum("gak,gk,gbk->gab", axes, alone.astype(float), axes),
    )


def _two_sided(value: Array, error: Array, df: Array) -> Array:
    """Return the probabilities of t as far from zero, missing where there is no error."""
    statistic = np.divide(value, error, out=np.full_like(error, np.nan), where=error > 0)
    return np.asarray(2 * special.stdtr(df, -np.abs(statistic)))


def _shares(weights: Array, codes: npt.NDArray[np.intp]) -> Array:
    """Return the part of each group in the sum of squared weights."""
    parts = np.bincount(codes, weights**2)
    whole = parts.sum()
    return np.asarray(parts / whole if whole > 0 else parts * np.nan)


def _root_mean(square: Array, df: npt.NDArray[np.intp]) -> Array:
    """Return the root of a sum of squares over its degrees of freedom, where there are any."""
    return np.sqrt(np.maximum(square, 0.0) / np.where(df > 0, df, np.nan))
