"""What a surface's parts explain: slopes, products and squares in turn, and lack of fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.models.linear.scaling import centred_and_scaled
from yieldwright.models.surface.tried_region import DECIMALS
from yieldwright.models.terms.design import design_of

if TYPE_CHECKING:
    from yieldwright.models.surface.model import Surface

__all__ = ["MOST_PLACES", "SurfaceTest", "lack_of_fit", "sequential_tests"]

Array = npt.NDArray[np.float64]

#: With more different places than this, replicates are not looked for.
MOST_PLACES = 500

#: Directions with less weight than this share of the largest hold nothing but rounding.
ROUNDING = 1e-10


@dataclass(frozen=True, slots=True)
class SurfaceTest:
    """One line of an analysis of variance.

    Attributes
    ----------
    term : str
        What is tested.
    sum_squares : float
        What it explains. [unit of the response, squared]
    df_term, df_error : int
        Degrees of freedom of the term and of the error it is held against.
    statistic, p_value : float
        F, and the probability of one as large where the term explains nothing.
    """

    term: str
    sum_squares: float
    df_term: int
    df_error: int
    statistic: float
    p_value: float


def sequential_tests(surface: Surface) -> tuple[SurfaceTest, ...]:
    """Return the tests of slopes, then products, then squares, after all else in the fit.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.

    Returns
    -------
    tuple of SurfaceTest
        `slopes`, `products`, `squares`; each held against the residuals of the full fit.

    References
    ----------
    .. [1] Lenth (2009), J. Stat. Softw. 32 (7), section 4.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.surface.fit import response_surface, surface_terms
    >>> from yieldwright.models.terms.terms import Numeric
    >>> rows = [(x, z) for x in (-1.0, 0.0, 1.0) for z in (-1.0, 0.0, 1.0)]
    >>> frame = pd.DataFrame(rows, columns=["x", "z"])
    >>> y = 5 - frame["x"] ** 2 - 2 * frame["z"] ** 2 + 0.1 * frame["x"] * frame["z"] ** 2
    >>> terms = surface_terms(frame, [Numeric("x"), Numeric("z")])
    >>> fit = fit_least_squares(build_design(frame, terms), y)
    >>> surface = response_surface(fit, frame, ["x", "z"])
    >>> [(each.term, each.df_term) for each in sequential_tests(surface)]
    [('slopes', 2), ('products', 1), ('squares', 2)]
    """
    fit, size = surface.fit, surface.width
    slopes, squares, products = np.split(surface.positions, [size, 2 * size])
    others = np.setdiff1d(np.arange(len(fit.params)), surface.positions)
    ordered = np.concatenate([others, slopes, products, squares])
    matrix = centred_and_scaled(design_of(fit).matrix).matrix
    explained = np.linalg.qr(matrix[:, ordered])[0].T @ (fit.fitted + fit.residuals)
    starts = (len(others) + np.cumsum([0, size, len(products), size])).tolist()
    return tuple(
        _tested(term, float(explained[low:high] @ explained[low:high]), high - low, fit.sigma**2,
                fit.df_resid)
        for term, low, high in zip(
            ("slopes", "products", "squares"), starts[:-1], starts[1:], strict=True
        )
    )  # fmt: skip


def lack_of_fit(surface: Surface) -> SurfaceTest | None:
    """Return the test of a surface against the scatter of rows at one place.

    Parameters
    ----------
    surface : Surface
        From `response_surface`.

    Returns
    -------
    SurfaceTest or None
        None where no place was tried twice, or too few places to miss anything.

    Notes
    -----
    Held against it is the fit with a mean of its own for every place, all else in the
    fit kept. Without adjusters, and with each place in one block, its residuals are the
    pure error of the textbooks.

    References
    ----------
    .. [1] Box and Draper (2007), Response Surfaces, Mixtures, and Ridge Analyses, ch. 3.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.surface.fit import response_surface, surface_terms
    >>> from yieldwright.models.terms.terms import Numeric
    >>> rows = [(x, z) for x in (-1.0, 0.0, 1.0) for z in (-1.0, 0.0, 1.0)]
    >>> frame = pd.DataFrame(rows, columns=["x", "z"])
    >>> y = 5 - frame["x"] ** 2 - 2 * frame["z"] ** 2 + 0.1 * frame["x"] * frame["z"] ** 2
    >>> terms = surface_terms(frame, [Numeric("x"), Numeric("z")])
    >>> fit = fit_least_squares(build_design(frame, terms), y)
    >>> surface = response_surface(fit, frame, ["x", "z"])
    >>> lack_of_fit(surface) is None
    True
    """
    fit = surface.fit
    _, place = np.unique(surface.tried.round(DECIMALS), axis=0, return_inverse=True)
    n_places = int(place.max()) + 1
    if n_places == len(place) or n_places > MOST_PLACES:
        return None
    others = np.setdiff1d(np.arange(len(fit.params)), surface.positions)
    own_means = (place.reshape(-1, 1) == np.arange(n_places)).astype(float)
    matrix = centred_and_scaled(design_of(fit).matrix).matrix[:, others]
    both = np.column_stack([matrix, _swept(own_means, surface.groups)])
    missed, rank = _explained(both, fit.residuals)
    df_missed = rank - len(fit.params)
    df_pure = fit.df_resid - df_missed
    if df_missed < 1 or df_pure < 1:
        return None
    left = fit.residuals - missed
    return _tested(
        "lack of fit", float(missed @ missed), df_missed, float(left @ left) / df_pure, df_pure
    )


def _tested(
    term: str, sum_squares: float, df_term: int, variance: float, df_error: int
) -> SurfaceTest:
    explained = sum_squares / df_term
    statistic = explained / variance if variance > 0 else np.inf if explained > 0 else np.nan
    p_value = float(special.fdtrc(df_term, df_error, statistic))
    return SurfaceTest(term, sum_squares, df_term, df_error, statistic, p_value)


def _swept(columns: Array, groups: npt.NDArray[np.intp] | None) -> Array:
    """Return columns less the means of their groups."""
    if groups is None:
        return columns
    sums = np.zeros((int(groups.max()) + 1, columns.shape[1]))
    np.add.at(sums, groups, columns)
    means = sums / np.bincount(groups)[:, np.newaxis]
    return np.asarray(columns - means[groups])


def _explained(columns: Array, values: Array) -> tuple[Array, int]:
    """Return what columns explain of some values, and in how many directions."""
    sizes, directions = np.linalg.eigh(columns.T @ columns)
    own = sizes > ROUNDING * sizes[-1]
    basis = columns @ directions[:, own] / np.sqrt(sizes[own])
    return np.asarray(basis @ (basis.T @ values)), int(own.sum())
