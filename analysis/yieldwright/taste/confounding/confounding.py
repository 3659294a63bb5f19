"""What a log cannot tell apart: variance inflation, its limits on small logs, and pairs."""

from __future__ import annotations

import math
from dataclasses import dataclass
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
    "entanglements",
    "inflation_limits",
    "lone_aliases",
    "separable",
    "sweep",
]

Array = npt.NDArray[np.float64]

#: Inflation that calls for care, and that forbids a verdict, where shots are plenty.
AMBER, RED = 2.5, 5.0

#: Share of clean randomised logs that may cross the amber limit with any of their terms.
FALSE_CROSSINGS = 0.05

#: Above this a term has no direction of its own: 1 − R² below a millionth.
ALIASED = 1e6


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
    swept = {each.column: _swept(_coded(frame, each), codes) for each in predictors}
    return SweptColumns(swept, len(frame) - len(np.unique(codes)))


def separable(
    swept: SweptColumns, columns: Sequence[str]
) -> tuple[tuple[str, ...], dict[str, tuple[str, ...]]]:
    """Return the terms that can stand in one fit, and for the others what they follow from.

    Parameters
    ----------
    swept : SweptColumns
        Columns of a stratum.
    columns : sequence of str
        Terms, those to keep first.

    Returns
    -------
    kept : tuple of str
        Terms with a direction of their own.
    aliased : dict of str to tuple of str
        For each other term, the kept ones it cannot be told apart from.
    """
    kept: list[str] = []
    aliased: dict[str, tuple[str, ...]] = {}
    for column in columns:
        if math.isfinite(swept.inflation(column, kept)):
            kept.append(column)
        else:
            needed = [name for name in kept if _frees(swept, column, kept, name)]
            aliased[column] = tuple(needed) or tuple(kept)
    return tuple(kept), aliased


def lone_aliases(swept: SweptColumns, columns: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Return the terms that follow from one other alone, where rows leave room for chance.

    Parameters
    ----------
    swept : SweptColumns
        Columns of a stratum too small for all its terms together.
    columns : sequence of str
        Terms, those to keep first.

    Returns
    -------
    dict of str to tuple of str
        For each such term, an earlier one it cannot be told apart from.
    """
    aliased: dict[str, tuple[str, ...]] = {}
    for position, column in enumerate(columns):
        for earlier in columns[:position]:
            roomy = swept.df > swept.width(column) + swept.width(earlier) - 1
            if roomy and math.isinf(swept.inflation(column, [earlier])):
                aliased.setdefault(column, (earlier,))
    return aliased


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
    return {column: _entanglement(swept, column, columns) for column in columns}


def _entanglement(swept: SweptColumns, column: str, columns: Sequence[str]) -> Entanglement:
    others = [name for name in columns if name != column]
    without = {
        name: swept.inflation(column, [each for each in others if each != name]) for name in others
    }
    limits = inflation_limits(
        width=swept.width(column),
        others=sum(swept.width(name) for name in others),
        df=swept.df,
        n_terms=len(columns),
    )
    partner = min(without, key=lambda name: without[name]) if without else ""
    return Entanglement(column, partner, swept.inflation(column, others), limits)


def _frees(swept: SweptColumns, column: str, kept: Sequence[str], name: str) -> bool:
    """Return whether a term regains a direction of its own once one other is gone."""
    return math.isfinite(swept.inflation(column, [each for each in kept if each != name]))


def _coded(frame: pd.DataFrame, predictor: Predictor) -> Array:
    values = frame[predictor.column]
    if not predictor.levels:
        return values.to_numpy(dtype=float)[:, None]
    shown = values.to_numpy(dtype=object)
    return np.column_stack([shown == level for level in predictor.levels[1:]]).astype(float)


def _swept(matrix: Array, codes: npt.NDArray[np.intp]) -> Array:
    """Return columns less their group means, made orthonormal."""
    basis: Array = np.linalg.qr(matrix - group_means(matrix, codes)[codes])[0]
    return basis
