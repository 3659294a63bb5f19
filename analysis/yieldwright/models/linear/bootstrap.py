"""Intervals by resampling: thousands of least-squares refits in one pass, for any function."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt

from yieldwright.errors import OutOfRangeError, TooFewShotsError
from yieldwright.models.linear._orthonormal import (
    Labels,
    Orthonormal,
    group_codes,
    orthonormal,
    summed,
)
from yieldwright.models.linear.resampled import Resampled, in_portions
from yieldwright.models.linear.without import Without, without_groups, without_rows
from yieldwright.models.terms.design import design_of

if TYPE_CHECKING:
    from yieldwright.models.linear.model import LinearFit

__all__ = ["DRAWS", "Scheme", "bootstrap"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]
Scheme = Literal["residual", "case", "wild"]

#: Refits where none are asked for: a limit then errs by about a twentieth of the spread.
DRAWS = 2_000

#: Share of resamples without an answer from which the others no longer stand for all.
UNSOLVED = 0.05

#: A determinant smaller than this share of what it could be tells no solution.
SINGULAR = 1e-12

#: Six values of mean 0 and variance 1 (Webb 2023), of which few groups give many signs.
SIX_POINTS = np.array([sign * math.sqrt(square) for sign in (-1, 1) for square in (0.5, 1, 1.5)])

#: What a row keeps of its residual below which the fit passes through it.
ALONE = 1e-10


def bootstrap(
    fit: LinearFit,
    *,
    rng: np.random.Generator,
    scheme: Scheme = "residual",
    groups: Labels | None = None,
    times: int = DRAWS,
) -> Resampled:
    """Return a fit refitted to resampled rows, thousands of times in one pass.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from columns.
    rng : Generator
        Source of chance; the same seed gives the same draws.
    scheme : {"residual", "case", "wild"}
        Residuals drawn anew, where all rows spread alike; whole rows drawn anew, where
        settings came as they came; or residuals of the same rows with random weights,
        where the spread may differ from row to row.
    groups : sequence of hashable or Series, optional
        Labels of groups that are drawn, or weighted, as a whole; not for "residual".
    times : int
        How many refits. [count]

    Returns
    -------
    Resampled

    Raises
    ------
    TooFewShotsError
        If rows or groups are so few that they give fewer different resamples than refits
        are asked for, or if more than 5 % of the resamples cannot be fitted.
    OutOfRangeError
        If the scheme is none of the three, goes without groups, or no refit is asked for.
    MisalignedError
        If there is not one label per row.
    RoleError
        If the fit was made from a plain matrix.

    Notes
    -----
    Residuals are divided by √(1 − leverage) and centred before drawing; those to be
    weighted by 1 − leverage, in groups by I − H of the group, and the weights take Webb's
    six values. Resampled rows are refitted from counts: all normal equations, in
    orthonormal columns, are one product of matrices.

    References
    ----------
    .. [1] Davison and Hinkley (1997), Bootstrap Methods and their Application, chapter 6.
    .. [2] Webb (2023), Can. J. Economics 56, 839.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": np.arange(9.0), "y": [0, 1, 3, 3, 4, 6, 6, 7, 8.0]})
    >>> fit = fit_least_squares(build_design(frame, [Numeric("grind")]), frame["y"])
    >>> drawn = bootstrap(fit, rng=np.random.default_rng(1))
    >>> found = drawn.interval(lambda rows: rows[:, 1] / 4)
    >>> round(found.estimate, 3), found.low < 1 < found.high
    (1.0, True)
    """
    _require_scheme(scheme, groups, times)
    basis = orthonormal(fit)
    codes = None if groups is None else group_codes(groups, design_of(fit).index)
    units = fit.n_rows if codes is None else int(codes.max()) + 1
    _require_enough(scheme, units, times, grouped=codes is not None)
    left = without_rows(fit) if groups is None else without_groups(fit, groups)
    if scheme == "case":
        draws = _cases(fit, basis, codes, rng, times)
    elif scheme == "residual":
        draws = _residuals(fit, basis, rng, times)
    else:
        draws = _wild(fit, basis, _pulls(fit, basis, codes, left), rng, times)
    solved = np.isfinite(draws).all(axis=1)
    n_unsolved = int(times - solved.sum())
    if n_unsolved > UNSOLVED * times:
        raise TooFewShotsError(
            f"{n_unsolved} of {times} resamples lost a level or a setting and cannot be fitted; "
            "resample by 'residual' or 'wild', or bring more rows"
        )
    return Resampled(fit.names, fit.params, draws[solved], scheme, n_unsolved, left.params)


def _residuals(fit: LinearFit, basis: Orthonormal, rng: np.random.Generator, times: int) -> Array:
    """Return refits to residuals drawn anew."""
    free = fit.leverage < 1 - ALONE
    pool = fit.residuals[free] / np.sqrt(1 - fit.leverage[free])
    pool = pool - pool.mean()
    parts = [
        basis.params(pool[rng.integers(0, len(pool), (count, fit.n_rows))])
        for count in in_portions(times, fit.n_rows)
    ]
    return fit.params + np.concatenate(parts)


def _wild(
    fit: LinearFit, basis: Orthonormal, pulls: Array, rng: np.random.Generator, times: int
) -> Array:
    """Return refits to residuals with a random weight a row, or a group."""
    parts = [
        SIX_POINTS[rng.integers(0, len(SIX_POINTS), (count, len(pulls)))] @ pulls
        for count in in_portions(times, len(pulls))
    ]
    return fit.params + np.concatenate(parts) @ basis.back.T


def _pulls(fit: LinearFit, basis: Orthonormal, codes: Codes | None, left: Without) -> Array:
    """Return what each row, or group, adds to the coefficients, freed of its own leverage."""
    if codes is not None:
        grown = fit.residuals - np.einsum("ia,ia->i", basis.columns, left.changes[codes])
        return summed(basis.columns * grown[:, np.newaxis], codes)
    alone = fit.leverage > 1 - ALONE
    grown = np.where(alone, 0.0, fit.residuals / np.where(alone, 1.0, 1 - fit.leverage))
    return np.asarray(basis.columns * grown[:, np.newaxis])


def _cases(
    fit: LinearFit,
    basis: Orthonormal,
    codes: Codes | None,
    rng: np.random.Generator,
    times: int,
) -> Array:
    """Return refits to rows, or whole groups, drawn anew; not numbers where there is none."""
    size = basis.columns.shape[1]
    products = np.einsum("ia,ib->iab", basis.columns, basis.columns).reshape(-1, size**2)
    rows = np.column_stack([products, basis.columns * fit.residuals[:, np.newaxis]])
    units = rows if codes is None else summed(rows, codes)
    parts = []
    for count in in_portions(times, len(units)):
        sums = _counts(len(units), count, rng) @ units
        parts.append(_solved(sums[:, : size**2].reshape(-1, size, size), sums[:, size**2 :]))
    return fit.params + np.concatenate(parts) @ basis.back.T


def _counts(units: int, times: int, rng: np.random.Generator) -> Array:
    """Return how often each unit is drawn, one row per resample of as many units."""
    places = rng.integers(0, units, (times, units)) + units * np.arange(times)[:, np.newaxis]
    counts = np.bincount(places.ravel(), minlength=units * times)
    return counts.reshape(times, units).astype(float)


def _solved(grams: Array, sides: Array) -> Array:
    """Return the solutions of many small equations, not numbers where there is none."""
    most = np.prod(np.diagonal(grams, axis1=1, axis2=2), axis=1)
    singular = ~(np.linalg.det(grams) > SINGULAR * most)
    grams[singular] = np.eye(grams.shape[1])
    solved = np.linalg.solve(grams, sides[:, :, np.newaxis])[:, :, 0]
    solved[singular] = np.nan
    return np.asarray(solved)


def _require_scheme(scheme: Scheme, groups: Labels | None, times: int) -> None:
    if scheme not in ("residual", "case", "wild"):
        raise OutOfRangeError(f"scheme must be 'residual', 'case' or 'wild', not {scheme!r:.60}")
    if scheme == "residual" and groups is not None:
        raise OutOfRangeError("residuals are drawn one by one; for groups take 'case' or 'wild'")
    if times < 1:
        raise OutOfRangeError(f"at least one refit must be asked for, not {times}")


def _require_enough(scheme: Scheme, units: int, times: int, *, grouped: bool) -> None:
    """Refuse units that give fewer different resamples than there are refits."""
    different = len(SIX_POINTS) ** units if scheme == "wild" else math.comb(2 * units - 1, units)
    if different < times:
        noun = "groups" if grouped else "rows"
        raise TooFewShotsError(
            f"{units} {noun} give only {different:,} different resamples, fewer than the "
            f"{times:,} refits; bring more {noun}, or read the t interval"
        )
