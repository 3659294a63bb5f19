"""Whether the spreads of groups can be told apart, and a first estimate of each."""

from __future__ import annotations

from itertools import combinations_with_replacement
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from yieldwright.errors import AliasedColumnsError
from yieldwright.models.mixed._equations import Projected, projected
from yieldwright.models.wording import quoted, quoted_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldwright.models.mixed._deviance import Surface
    from yieldwright.models.mixed._one_way import OneWay
    from yieldwright.models.mixed._posing import Posing

__all__ = ["first_estimate"]

Array = npt.NDArray[np.float64]

#: Smallest eigenvalue of the cosines between spreads that still tells them apart.
SEPARABLE = 1e-9

#: How the spread of the rows themselves is called where it is not told from another.
ROWS = "(single rows)"

#: A spread with less weight than this has no part in a dependence.
NEGLIGIBLE = 1e-3

#: Relative variances to begin with are kept within these.
LEAST, MOST = 0.02, 1e4


def first_estimate(posing: Posing) -> Array:
    """Return factors to begin with, or refuse spreads that no rows of this shape tell apart.

    Parameters
    ----------
    posing : Posing
        The problem.

    Returns
    -------
    ndarray
        Relative covariance factors by the method of moments.

    Raises
    ------
    AliasedColumnsError
        If a spread is explained by the design, or two or more stand for one another.

    Notes
    -----
    A variance component moves the covariance of the rows along a matrix of its own.
    What the design leaves of these matrices must be independent, that of the rows
    themselves included. Equating their inner products with the squared residuals to
    what is expected gives variances without iteration (MINQUE at 0) [1]_.

    References
    ----------
    .. [1] Searle, Casella and McCulloch (1992), Variance Components, section 11.3.
    """
    surface = posing.surface
    if surface.one_way is not None:
        return _first_one_way(posing, surface.one_way)
    moments = _moments(surface)
    _require_left(posing, np.diag(moments.gram), moments.before)
    _require_independent(posing, moments.gram)
    variances = np.linalg.solve(moments.gram, moments.observed)
    least = moments.observed[-1] / moments.gram[-1, -1] / MOST
    return _factors(surface, variances[:-1] / max(variances[-1], least))


def _first_one_way(posing: Posing, groups: OneWay) -> Array:
    """Return the same from derivatives at 0: tr PZZ', tr PZZ'PZZ' and y'PZZ'Py."""
    rows, columns, quadratic = groups.at_zero
    own, beside = -rows.second - columns.second, rows.first + columns.first
    df = posing.surface.sums.n_rows - posing.surface.sums.n_columns
    _require_left(posing, [own], [-rows.second])
    apart = own * df - beside**2
    if apart <= SEPARABLE * own * df:
        _require_independent(posing, np.array([[own, beside], [beside, df]]))
    between = (-quadratic.first * df - quadratic.value * beside) / apart
    within = (quadratic.value * own + quadratic.first * beside) / apart
    ratio = between / max(within, quadratic.value / df / MOST)
    return np.array([np.sqrt(min(max(ratio, LEAST), MOST))])


class _Moments(NamedTuple):
    """Inner products of the spreads the design leaves, sizes before, and squares observed."""

    gram: Array
    before: list[float]
    observed: Array


def _moments(surface: Surface) -> _Moments:
    if surface.written_out is not None:
        return _Moments(*surface.written_out.moments())
    at = surface.solved(np.zeros(len(surface.owners)))
    squares = [pull.T @ pull for pull in at.pulls]
    ways = zip(surface.owners, surface.ways, strict=True)
    observed = [*(float(np.vdot(way, squares[term])) for (term, _), way in ways), at.quadratic]
    before = _sizes(surface, projected(at, fixed=False))
    return _Moments(_gram(surface, projected(at, fixed=True)), before, np.array(observed))


def _require_left(posing: Posing, left: Sequence[float] | Array, before: list[float]) -> None:
    for position, size in enumerate(before):
        if left[position] <= SEPARABLE * size:
            name = posing.name_of(position)
            raise AliasedColumnsError(
                f"the design already tells all groups by {quoted(name)} apart, so nothing is "
                "left of their spread; leave out the groups, or the terms that stand for them",
                columns=(name,),
            )


def _require_independent(posing: Posing, gram: Array) -> None:
    sizes = np.sqrt(np.diag(gram))
    cosines = gram / sizes / sizes[:, np.newaxis]
    if np.linalg.eigvalsh(cosines)[0] > SEPARABLE:
        return
    vectors = np.linalg.eigh(cosines).eigenvectors
    names = [*map(posing.name_of, range(len(gram) - 1)), ROWS]
    parts = np.abs(vectors[:, 0]) > NEGLIGIBLE
    found = dict.fromkeys(name for name, part in zip(names, parts, strict=True) if part)
    raise AliasedColumnsError(
        f"the spreads by {quoted_list(found)} cannot be told apart in these "
        f"{posing.surface.sums.n_rows} rows; leave one out, or add rows where they part",
        columns=tuple(name for name in found if name != ROWS),
    )


def _sizes(surface: Surface, whole: Projected) -> list[float]:
    """Return the squared size of each spread before the design takes its part."""
    ways = zip(surface.owners, surface.ways, strict=True)
    return [
        float(np.einsum("ab,cd,abcd->", way, way, whole.paired(term, term)))
        for (term, _), way in ways
    ]


def _gram(surface: Surface, left: Projected) -> Array:
    """Return the inner products of the spreads that the design leaves, that of the rows last."""
    size, ways = len(surface.owners), surface.ways
    terms = [term for term, _ in surface.owners]
    counts = [left.groupwise(term).sum(axis=0) for term in range(len(surface.basis))]
    pairs = combinations_with_replacement(range(len(surface.basis)), 2)
    paired = {pair: left.paired(*pair) for pair in pairs}
    gram = np.empty((size + 1, size + 1))
    for j, k in combinations_with_replacement(range(size), 2):
        inner = np.einsum("ab,cd,abcd->", ways[j], ways[k], paired[terms[j], terms[k]])
        gram[j, k] = gram[k, j] = inner
    gram[size, :size] = gram[:size, size] = [
        np.vdot(way, counts[term]) for way, term in zip(ways, terms, strict=True)
    ]
    gram[size, size] = left.df
    return gram


def _factors(surface: Surface, relative: Array) -> Array:
    """Return the parameters of given relative covariances, forced to be covariances."""
    covariances = [np.zeros_like(own[0]) for own in surface.basis]
    for value, way, (term, _) in zip(relative, surface.ways, surface.owners, strict=True):
        covariances[term] = covariances[term] + value * way
    lowers = [_lower(covariance) for covariance in covariances]
    return np.array([np.vdot(lowers[term], matrix) for term, matrix in surface.owners])


def _lower(covariance: Array) -> Array:
    values, vectors = np.linalg.eigh(covariance)
    lower: Array = np.linalg.cholesky((vectors * np.clip(values, LEAST, MOST)) @ vectors.T)
    return lower
