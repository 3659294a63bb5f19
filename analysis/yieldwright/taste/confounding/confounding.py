"""What a log cannot tell apart: variance inflation, its limits on small logs, and pairs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import special

from yieldwright.taste.strata.strata import group_means

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    import pandas as pd

    from yieldwright.taste.columns.predictors import Predictor

__all__ = [
    "AMBER",
    "RED",
    "Entanglement",
    "InflationLimits",
    "SweptColumns",
    "coded",
    "entanglements",
    "inflation_limits",
    "sweep",
]

Array = npt.NDArray[np.float64]

#: Inflation that calls for care, and that forbids a verdict, where shots are plenty.
AMBER, RED = 2.5, 5.0

#: Share of clean randomised logs that may cross the amber limit with any of their terms.
FALSE_CROSSINGS = 0.05

#: Above this a term has no direction of its own: 1 − R² below a millionth.
ALIASED = 1e6

#: Inflation below which half the digits are enough to find it.
CLOSE = 1e4


@dataclass(frozen=True, slots=True)
class InflationLimits:
    """Variance inflation from which a term calls for care, and forbids a verdict.

    Attributes
    ----------
    amber, red : float
        Limits on the inflation of one term, to the power 1/df of the term.
    """

    amber: float
    red: float


@dataclass(frozen=True, eq=False)
class SweptColumns:
    """Columns of a stratum with its blocks removed, and the degrees of freedom left.

    Attributes
    ----------
    columns : mapping of str to ndarray
        One orthonormal set per predictor.
    df : int
        Rows less blocks.
    """

    columns: Mapping[str, Array]
    df: int

    def inflation(self, column: str, others: Collection[str]) -> float:
        """Return how much the variance of a term grows because others stand beside it.

        Parameters
        ----------
        column : str
            The term.
        others : collection of str
            Terms beside it.

        Returns
        -------
        float
            Generalised variance inflation to the power 1/df; infinite where the term
            follows from the others.
        """
        own = self.columns[column]
        beside = [self.columns[name] for name in others if name != column]
        if not beside:
            return 1.0
        basis, _ = np.linalg.qr(np.column_stack(beside))
        left = np.linalg.svd(own - basis @ (basis.T @ own), compute_uv=False)
        if len(left) < own.shape[1] or left[-1] ** 2 < 1 / ALIASED:
            return math.inf
        return max(float(np.prod(left ** (-2 / own.shape[1]))), 1.0)  # rounding aside

    def inflations(self, columns: Sequence[str]) -> dict[str, float]:
        """Return how much the variance of each term grows because the others stand beside it.

        Parameters
        ----------
        columns : sequence of str
            Terms that stand together.

        Returns
        -------
        dict of str to float
            As `inflation` of each beside the others.

        Notes
        -----
        The inverse of the terms' inner products holds all of them: of orthonormal sets,
        the volume of a term's own block of it. Where that comes near a dependence, one
        term after another is worked out without squaring the condition number.
        """
        stacked = np.column_stack([self.columns[name] for name in columns])
        inner = stacked.T @ stacked
        try:
            inverse = np.asarray(np.linalg.inv(inner), dtype=float)
        except np.linalg.LinAlgError:
            inverse = np.full_like(inner, math.inf)
        if not (np.abs(inverse.diagonal()) < CLOSE).all():
            return {name: self.inflation(name, columns) for name in columns}
        stops = np.cumsum([self.width(name) for name in columns]).tolist()
        places = (slice(start, stop) for start, stop in pairwise([0, *stops]))
        return {
            name: _grown(inverse[place, place])
            for name, place in zip(columns, places, strict=True)
        }

    def width(self, column: str) -> int:
        """Return how many coefficients a term has.

        Parameters
        ----------
        column : str
            The term.
        """
        return int(self.columns[column].shape[1])


@dataclass(frozen=True, slots=True)
class Entanglement:
    """One term, how much others inflate its variance, and which of them most.

    Attributes
    ----------
    column : str
        The term.
    partner : str
        The other term whose absence would help most; empty where there is none.
    vif : float
        Generalised variance inflation to the power 1/df; infinite where undecidable.
    limits : InflationLimits
        What it is held against.
    """

    column: str
    partner: str
    vif: float
    limits: InflationLimits

    @property
    def colour(self) -> str:
        """Return green, amber or red."""
        if self.vif < self.limits.amber:
            return "green"
        return "amber" if self.vif < self.limits.red else "red"


def inflation_limits(*, width: int, others: int, df: int, n_terms: int) -> InflationLimits:
    r"""Return the limits of variance inflation that suit the size of a log.

    Parameters
    ----------
    width : int
        Coefficients of the term. [count]
    others : int
        Coefficients of the other terms. [count]
    df : int
        Rows less blocks, or less one for the intercept. [count]
    n_terms : int
        Terms looked at together. [count]

    Returns
    -------
    InflationLimits

    Notes
    -----
    Where settings are drawn at random, the inflation of a single column is
    1 + k/ν · F(k, ν) with k other columns and ν = df − k degrees of freedom: it grows
    with terms over residual degrees of freedom, and on a small log it is large without
    any fault of the plan. Amber is the larger of 2.5 and the value that 5 % of such logs
    cross with any of their terms (each term gets an equal share of the 5 %); red is the
    larger of 5 and amber. A term of several columns uses Rao's F for Wilks' Λ, exact for
    one and for two columns. From about 24 shots on, with the usual terms, the limits are
    the constants 2.5 and 5.

    References
    ----------
    .. [1] Rao (1951), Bull. Int. Stat. Inst. 33, 177: F approximation to Wilks' Λ.
    .. [2] Fox and Monette (1992), J. Am. Stat. Assoc. 87, 178: generalised inflation.

    Examples
    --------
    >>> inflation_limits(width=1, others=5, df=30, n_terms=5)
    InflationLimits(amber=2.5, red=5.0)
    >>> round(inflation_limits(width=1, others=4, df=9, n_terms=4).amber, 1)
    9.2
    """
    if others == 0:
        return InflationLimits(AMBER, RED)
    chance = FALSE_CROSSINGS / max(n_terms, 1)
    size = width**2 + others**2 - 5
    root = math.sqrt((width**2 * others**2 - 4) / size) if size > 0 else 1.0
    first = width * others
    second = (df - (width + others + 1) / 2) * root - (first - 2) / 2
    if second <= 0:
        return InflationLimits(math.inf, math.inf)
    crossed = float(special.fdtri(first, second, 1 - chance))
    by_chance = (1 + first / second * crossed) ** (root / width)
    amber = max(AMBER, by_chance)
    return InflationLimits(amber, max(RED, amber))


def coded(frame: pd.DataFrame, predictor: Predictor) -> Array:
    """Return the numbers of a column, or a column of zeros and ones per level but the first.

    Parameters
    ----------
    frame : DataFrame
        Rows that hold the column.
    predictor : Predictor
        Which column, and its levels where it has any.

    Returns
    -------
    ndarray
        One row per row.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.taste.columns.predictors import Predictor
    >>> coded(pd.DataFrame({"dose_g": [18.0, 19.0]}), Predictor("dose_g", "adjuster")).tolist()
    [[18.0], [19.0]]
    """
    values = frame[predictor.column]
    if not predictor.levels:
        return values.to_numpy(dtype=float)[:, None]
    shown = values.to_numpy(dtype=object)
    return np.column_stack([shown == level for level in predictor.levels[1:]]).astype(float)


def sweep(
    frame: pd.DataFrame, predictors: Sequence[Predictor], codes: npt.NDArray[np.intp]
) -> SweptColumns:
    """Return the columns of predictors with the means of groups removed.

    Parameters
    ----------
    frame : DataFrame
        Rows of a stratum.
    predictors : sequence of Predictor
        Columns to sweep, as lines: a curve is no entanglement.
    codes : ndarray
        Number of the group of each row; zeros to remove only the mean.

    Returns
    -------
    SweptColumns
    """
    swept = {each.column: _swept(coded(frame, each), codes) for each in predictors}
    return SweptColumns(swept, len(frame) - len(np.unique(codes)))


def entanglements(swept: SweptColumns, columns: Sequence[str]) -> dict[str, Entanglement]:
    """Return the inflation of each term of a fit and the partner that causes most of it.

    Parameters
    ----------
    swept : SweptColumns
        Columns of a stratum.
    columns : sequence of str
        Terms of the fit.

    Returns
    -------
    dict of str to Entanglement
    """
    together = swept.inflations(columns) if columns else {}
    parted = {
        name: swept.inflations([each for each in columns if each != name])
        for name in (columns if len(columns) > 1 else ())
    }
    found = {}
    for column in columns:
        without = {name: parted[name][column] for name in columns if name != column}
        partner = min(without, key=lambda name: without[name]) if without else ""
        limits = _limits_of(swept, column, columns)
        found[column] = Entanglement(column, partner, together[column], limits)
    return found


def _limits_of(swept: SweptColumns, column: str, columns: Sequence[str]) -> InflationLimits:
    others = [name for name in columns if name != column]
    return inflation_limits(
        width=swept.width(column),
        others=sum(swept.width(name) for name in others),
        df=swept.df,
        n_terms=len(columns),
    )


def _grown(block: Array) -> float:
    """Return the generalised inflation of a term by its block of the inverse, to 1/df."""
    volume = float(block[0, 0]) if len(block) == 1 else float(np.linalg.det(block))
    return float(max(volume ** (1 / len(block)), 1.0))  # rounding aside


def _swept(matrix: Array, codes: npt.NDArray[np.intp]) -> Array:
    """Return columns less their group means, made orthonormal."""
    basis: Array = np.linalg.qr(matrix - group_means(matrix, codes)[codes])[0]
    return basis
