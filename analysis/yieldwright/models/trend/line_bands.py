"""How high two lines that meet may lie at a value of x, wherever they may meet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import TooFewShotsError
from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.contrasts.predictions import spread_about_mean
from yieldwright.models.intervals.intervals import LEVEL, t_quantile
from yieldwright.models.linear.model import LinearFit
from yieldwright.models.trend._breaks import breaks_of, likeliest_break, lowest_deviances
from yieldwright.models.trend.fitting import fit_rows
from yieldwright.models.trend.forms import lacking
from yieldwright.models.trend.rows import Beside, TrendRows, Values, trend_rows

if TYPE_CHECKING:
    from yieldwright.models.contrasts.estimating import LineFit
    from yieldwright.models.linear._orthonormal import Labels

__all__ = ["LineBands", "fit_line_bands"]

Array = npt.NDArray[np.float64]

#: Breaks looked at, evenly from one end to the other, beside the likeliest and those at values
#: of x, where the likelihood has corners. Against 4,001 this moves limits by 1 % of their width.
LOOKED_AT = 81

#: Coefficients of the form: level, slope, its change, and the break.
COEFFICIENTS = 4


@dataclass(frozen=True, slots=True, eq=False)
class LineBands:
    """Two lines that meet, at every break that the likelihood does not rule out.

    Attributes
    ----------
    places : ndarray
        Those breaks, the likeliest among them. [unit of x]
    params, covs : ndarray
        Level at the middle of x, slope and change of slope at each of them, and their
        covariances.
    allowed : ndarray
        Squared t up to which a level counts at each break: at the likeliest that of the
        level of confidence, elsewhere less.
    middle : float
        The x at which the level stands. [unit of x]
    row_variances, row_t : ndarray
        Variance of a new row of a new group about its mean, and the quantile of t that
        goes with it.
    """

    places: Array
    params: Array
    covs: Array
    allowed: Array
    middle: float
    row_variances: Array
    row_t: Array

    def levels(self, x: npt.ArrayLike) -> tuple[Array, Array]:
        """Return the lowest and the highest mean that is not ruled out.

        Parameters
        ----------
        x : array-like
            Where; inside what was fitted. [unit of x]

        Returns
        -------
        low, high : ndarray
            One of each per value of x. [unit of the response]
        """
        means, variances = self._means(x)
        half = np.sqrt(self.allowed[:, np.newaxis] * variances)
        return (means - half).min(axis=0), (means + half).max(axis=0)

    def new_rows(self, x: npt.ArrayLike) -> tuple[Array, Array]:
        """Return between which limits a new row of a new group falls.

        Parameters
        ----------
        x : array-like
            Where; inside what was fitted. [unit of x]

        Returns
        -------
        low, high : ndarray
            One of each per value of x. [unit of the response]
        """
        means, variances = self._means(x)
        own = self.row_t**2 * self.row_variances
        half = np.sqrt(self.allowed[:, np.newaxis] * variances + own[:, np.newaxis])
        return (means - half).min(axis=0), (means + half).max(axis=0)

    def _means(self, x: npt.ArrayLike) -> tuple[Array, Array]:
        """Return means and their variances, breaks × values of x."""
        along = np.atleast_1d(np.asarray(x, dtype=float))
        rows = _rows(along, self.middle, self.places)
        means = np.einsum("kxc,kc->kx", rows, self.params)
        variances = np.einsum("kxc,kcd,kxd->kx", rows, self.covs, rows)
        return means, np.maximum(variances, 0.0)


def fit_line_bands(
    x: Values,
    y: Values,
    *,
    beside: Beside | None = None,
    groups: Labels | None = None,
    level: float = LEVEL,
) -> LineBands:
    """Fit two lines that meet, and say how high they may lie wherever they may meet.

    Parameters
    ----------
    x, y : array-like
        Along what, and the response; one finite number per row. [any unit]
    beside : array-like or DataFrame, optional
        Columns of numbers to be allowed for, one row per row; levels are told where they
        are zero.
    groups : sequence of hashable, optional
        Label of the group of each row, whose shift of the response is random.
    level : float
        Confidence level. [1]

    Returns
    -------
    LineBands

    Raises
    ------
    MisalignedError, OutOfRangeError, AliasedColumnsError
        As in `compare_forms`.
    TooFewShotsError
        If there are fewer than five different x, too few rows or groups for two lines, or
        columns beside that go along with x.

    Notes
    -----
    A mean counts at some x if a break exists at which the deviance, with that mean held,
    exceeds the least one by no more than n log(1 + t²/ν), with n and ν as for the place of
    the break in `fit_two_lines`. At a given break the part of it that holding the mean adds
    is n log(1 + T²/(ν + 1)), T the t of that mean; so each break has a band of its own, the
    narrower the less likely the break, and what is told is the hull of these bands.
    Variances are of the restricted likelihood, with Kenward and Roger's error.

    References
    ----------
    .. [1] Seber and Wild (1989), Nonlinear Regression, section 5.4, on profiles of what is
       reckoned from parameters.

    Examples
    --------
    >>> x = np.arange(10.0)
    >>> found = fit_line_bands(x, np.abs(x - 4.5) + np.tile([0.1, -0.1], 5))
    >>> low, high = found.levels([0.0, 9.0])
    >>> bool((low < 4.5).all() and (high > 4.5).all())
    True
    """
    rows = trend_rows(x, y, beside, groups)
    reason = lacking(rows, "two lines")
    if reason:
        raise TooFewShotsError(f"two lines cannot be fitted: {reason}")
    breaks = breaks_of(rows)
    likeliest = likeliest_break(breaks)
    inside = (rows.places[1:-1] - rows.middle) / rows.reach
    even = np.linspace(breaks.low, breaks.high, LOOKED_AT)
    units = np.unique([*even, *inside, likeliest.place])
    excess = np.maximum(lowest_deviances(breaks, units) - likeliest.deviance, 0.0)
    excess[units == likeliest.place] = 0.0
    df, evidence = _freedom(rows, rows.middle + rows.reach * likeliest.place)
    spare = evidence * math.log1p(t_quantile(df, level=level) ** 2 / df) - excess
    counts = spare >= 0
    places = rows.middle + rows.reach * units[counts]
    fits = [_fitted(rows, float(place)) for place in places]
    spreads = [spread_about_mean(fit) for fit in fits]
    return LineBands(
        places=places,
        params=np.array([_own(fit.params) for fit in fits]),
        covs=np.array([_own(_own(_cov(fit)).T) for fit in fits]),
        allowed=(df + 1) * np.expm1(spare[counts] / evidence),
        middle=rows.middle,
        row_variances=np.array([sd**2 for sd, _ in spreads]),
        row_t=np.array([t_quantile(row_df, level=level) for _, row_df in spreads]),
    )


def _rows(x: Array, middle: float, places: Array) -> Array:
    """Return level, slope and change of slope as weights: breaks × values of x × 3."""
    beyond = np.maximum(x - places[:, np.newaxis], 0.0)
    flat = np.broadcast_to(np.ones_like(x), beyond.shape)
    return np.stack([flat, np.broadcast_to(x - middle, beyond.shape), beyond], axis=2)


def _fitted(rows: TrendRows, place: float) -> LineFit:
    own = _rows(rows.x, rows.middle, np.array([place]))[0]
    return fit_rows(rows, np.column_stack([own, rows.beside]))


def _own(values: Array) -> Array:
    """Return what belongs to level, slope and change of slope."""
    return np.asarray(values[: COEFFICIENTS - 1])


def _cov(fit: LineFit) -> Array:
    """Return the covariance of the coefficients, adjusted where that leaves variances."""
    if isinstance(fit, LinearFit):
        return fit.cov
    adjusted = np.asarray(fit.adjusted.cov)
    sound = np.linalg.eigvalsh(_own(_own(adjusted).T))[0] > 0
    return adjusted if sound else np.asarray(fit.cov)


def _freedom(rows: TrendRows, place: float) -> tuple[float, float]:
    """Return degrees of freedom, and how many rows or groups count as evidence."""
    taken = COEFFICIENTS + rows.n_beside_units
    if rows.between:
        df = float(rows.n_groups - taken)
        return df, df + taken
    fit = _fitted(rows, place)
    slope = estimated(fit, np.eye(len(fit.params))[1], term="slope", df="kenward_roger")
    df = max(slope.df - 1, 1.0)
    return df, df + taken
