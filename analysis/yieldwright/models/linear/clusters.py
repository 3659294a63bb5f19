"""Standard errors where rows of one group may err together: cluster-robust, for few groups."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError
from yieldwright.models.contrasts.contrasts import (
    Estimate,
    contrast,
    two_sided_p,
    weights_in_order,
)
from yieldwright.models.intervals.intervals import LEVEL, t_interval
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

__all__ = ["cluster_contrast", "cluster_cov"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]
Kind = Literal["cr1", "cr2"]

#: A group that explains all but this share of a direction decides it alone.
ALONE = 1e-10

#: A quantity to which such a direction brings less than this share does not hang on it.
NO_SHARE = 1e-9


def cluster_cov(
    fit: LinearFit, groups: Labels, *, kind: Kind = "cr2", crossed: Labels | None = None
) -> Array:
    r"""Return the covariance of coefficients where rows of one group may err together.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.
    groups : sequence of hashable or Series
        Label of the group of each row: its session, its taster.
    kind : {"cr2", "cr1"}
        Residuals adjusted for what each group explains of itself, or residuals as they
        are times G/(G − 1) · (n − 1)/(n − k).
    crossed : sequence of hashable or Series, optional
        Labels of a second way of grouping; only with "cr1".

    Returns
    -------
    ndarray
        Not a number for coefficients that hang on a single group.

    Raises
    ------
    MisalignedError
        If there is not one label per row.
    OutOfRangeError
        If a label is missing, or two ways of grouping are asked for with "cr2".
    TooFewShotsError
        If there are fewer than two groups.
    RoleError
        If the fit was made from a plain matrix.

    Notes
    -----
    With g the groups, B = (X'X)⁻¹ and H the hat matrix, CR2 is

    .. math:: B \sum_g X_g' A_g e_g e_g' A_g X_g B, \qquad A_g = (I - H_{gg})^{-1/2}

    with the inverse on what is not 0 [1]_ [2]_. Two ways of grouping are added and their
    intersection taken off, each with its own factor [3]_. Of a fit whose columns had the
    mean of each group taken off, the same formula holds for the slopes [2]_.

    References
    ----------
    .. [1] Bell and McCaffrey (2002), Survey Methodology 28, 169.
    .. [2] Pustejovsky and Tipton (2018), J. Bus. Econ. Stat. 36, 672: theorem 2 for fits
       with group means taken off.
    .. [3] Cameron, Gelbach and Miller (2011), J. Bus. Econ. Stat. 29, 238.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_least_squares(build_design(frame, []), frame["y"])
    >>> round(float(cluster_cov(fit, frame["day"])[0, 0]), 3)
    4.111
    """
    ways = _ways(fit, groups, crossed, kind)
    basis = orthonormal(fit)
    spread = basis.columns @ basis.back.T
    parts = [
        sign * _covariance(fit, _adjusted(basis, spread, codes, kind), codes, kind)
        for sign, codes in ways
    ]
    return np.asarray(np.sum(parts, axis=0))


def cluster_contrast(
    fit: LinearFit,
    weights: Mapping[str, float] | Sequence[float] | Array,
    groups: Labels,
    *,
    kind: Kind = "cr2",
    crossed: Labels | None = None,
    term: str = "contrast",
    level: float = LEVEL,
) -> Estimate:
    """Return a weighted sum of coefficients, rows of one group allowed to err together.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.
    weights : mapping of str to float, or sequence of float
        Weights by name of coefficient, or one for each.
    groups : sequence of hashable or Series
        Label of the group of each row.
    kind : {"cr2", "cr1"}
        As in `cluster_cov`. The degrees of freedom are Bell and McCaffrey's for "cr2",
        and groups less 1 for "cr1", which is too sure of itself on few groups.
    crossed : sequence of hashable or Series, optional
        Labels of a second way of grouping; only with "cr1", on the fewer groups less 1.
    term : str
        What to call it.
    level : float
        Confidence level of the interval. [1]

    Returns
    -------
    Estimate
        Its robust twin is that of single rows, HC3.

    Raises
    ------
    MisalignedError, OutOfRangeError, TooFewShotsError, RoleError
        As in `cluster_cov`.
    UnknownNameError
        If a name is none of the fit's, or stands for several coefficients.

    Notes
    -----
    The degrees of freedom match mean and variance of the variance estimate, were the rows
    independent with one spread: with a vector p per group, its columns of I − H times
    A X B and the weights, they are the squared sum of all p'p over the sum of all squared
    inner products of two p. Below about 4 the interval is a rough one.

    References
    ----------
    .. [1] Bell and McCaffrey (2002), Survey Methodology 28, 169.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> frame = pd.DataFrame({"day": list("aabbcc"), "y": [1.0, 2.0, 4.0, 5.0, 9.0, 8.0]})
    >>> fit = fit_least_squares(build_design(frame, []), frame["y"])
    >>> mean = cluster_contrast(fit, [1.0], frame["day"], term="mean")
    >>> round(mean.estimate, 3), round(mean.std_error, 3), round(mean.df, 3)
    (4.833, 2.028, 2.0)
    """
    combined = weights_in_order(fit.names, weights)
    ways = _ways(fit, groups, crossed, kind)
    basis = orthonormal(fit)
    spread = basis.columns @ (basis.back.T @ combined)[:, np.newaxis]
    adjusted = [_adjusted(basis, spread, codes, kind) for _, codes in ways]
    variance = sum(
        sign * float(_covariance(fit, each, codes, kind)[0, 0])
        for (sign, codes), each in zip(ways, adjusted, strict=True)
    )
    std_error = float(np.sqrt(variance)) if variance >= 0 else np.nan
    df = _freedom(basis, adjusted[0][:, 0], ways, kind)
    plain = contrast(fit, combined, term=term, level=level)
    return _with_error(plain, std_error, df, level)


def _ways(
    fit: LinearFit, groups: Labels, crossed: Labels | None, kind: Kind
) -> list[tuple[int, Codes]]:
    """Return the ways of grouping, each to be added or taken off."""
    if kind not in ("cr1", "cr2"):
        raise OutOfRangeError(f"kind must be 'cr1' or 'cr2', not {kind!r:.60}")
    if crossed is not None and kind != "cr1":
        raise OutOfRangeError("two ways of grouping are added up for kind 'cr1' only")
    index = design_of(fit).index
    first = group_codes(groups, index)
    if crossed is None:
        return [(1, first)]
    second = group_codes(crossed, index)
    both = group_codes(first * (int(second.max()) + 1) + second, len(index))
    return [(1, first), (1, second), (-1, both)]


def _covariance(fit: LinearFit, adjusted: Array, codes: Codes, kind: Kind) -> Array:
    """Return the covariance of sums of responses, whose weights are the columns given."""
    moved = summed(adjusted * fit.residuals[:, np.newaxis], codes)
    if kind == "cr2":
        return np.asarray(moved.T @ moved)
    count = len(moved)
    factor = count / (count - 1) * (fit.n_rows - 1) / fit.df_resid
    return np.asarray(factor * (moved.T @ moved))


def _adjusted(basis: Orthonormal, spread: Array, codes: Codes, kind: Kind) -> Array:
    """Return weights of responses times (I − H)^(−½) of their group, by its singular values."""
    adjusted = spread.copy()
    if kind == "cr1":
        return adjusted
    size = np.sqrt((spread**2).sum(axis=0))
    for group in range(int(codes.max()) + 1):
        rows = np.flatnonzero(codes == group)
        own, sizes, _ = np.linalg.svd(basis.columns[rows], full_matrices=False)
        left = 1 - sizes**2
        alone = left < ALONE
        grown = np.where(alone, 0.0, 1 / np.sqrt(np.where(alone, 1.0, left))) - 1
        along = own.T @ spread[rows]
        adjusted[rows] += own @ (grown[:, np.newaxis] * along)
        adjusted[:, (np.abs(along[alone]) > NO_SHARE * size).any(axis=0)] = np.nan
    return adjusted


def _freedom(
    basis: Orthonormal, adjusted: Array, ways: list[tuple[int, Codes]], kind: Kind
) -> float:
    if kind == "cr1":
        return float(min(int(codes.max()) for sign, codes in ways if sign > 0))
    codes = ways[0][1]
    shared = summed(basis.columns * adjusted[:, np.newaxis], codes)
    products = np.diag(summed(adjusted**2, codes)) - shared @ shared.T
    square = float(np.sum(products**2))
    return float(np.trace(products) ** 2 / square) if square > 0 else np.nan


def _with_error(plain: Estimate, std_error: float, df: float, level: float) -> Estimate:
    known = std_error > 0 and df > 0
    low, high = t_interval(plain.estimate, std_error, df, level=level) if known else (np.nan,) * 2
    return replace(
        plain,
        std_error=std_error,
        df=df,
        ci_low=low,
        ci_high=high,
        statistic=plain.estimate / std_error if known else np.nan,
        p_value=two_sided_p(plain.estimate, std_error, df) if known else np.nan,
    )
