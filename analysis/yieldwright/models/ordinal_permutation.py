"""The chance of an association as strong if scores had fallen on shots at random."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import TooFewShotsError
from yieldwright.models._ordinal_links import link_named
from yieldwright.models._ordinal_posing import caught, marginal_cuts, require_rows, scored
from yieldwright.models._ordinal_separation import highest, row_space
from yieldwright.models.power import ALPHA
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    from yieldwright.models.design import Design

__all__ = ["MOST_LISTED", "PermutationTest", "permutation_test"]

Array = npt.NDArray[np.float64]

#: Arrangements up to which all are gone through.
MOST_LISTED = 20_000

#: Arrangements drawn where there are more.
DRAWS = 9_999

#: Statistics closer than this share of the largest count as equal.
TIE = 1e-9

#: Scores of rows closer than this are the same score.
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class PermutationTest:
    """How often chance alone gives an association as strong as the one seen.

    Attributes
    ----------
    term : str
        Header of the column tested.
    statistic : float
        Score statistic over its spread under permutation: signed for one coefficient,
        the squared length for several.
    p_value : float
        Share of arrangements at least as extreme, two-sided. [1]
    smallest_p : float
        Smallest p-value that any arrangement of these rows could give. [1]
    n_arrangements : int
        Different arrangements within blocks, those of equal scores or equal rows counted once.
    n_drawn : int
        Arrangements drawn at random; 0 where all were gone through.
    n_adjusted : int
        Coefficients of other columns adjusted for. With none the test is exact whatever
        the rows; with some it takes scores less what those explain as exchangeable.
    """

    term: str
    statistic: float
    p_value: float
    smallest_p: float
    n_arrangements: int
    n_drawn: int
    n_adjusted: int

    @property
    def can_tell(self) -> bool:
        """Whether any arrangement of these rows could be called unusual."""
        return self.smallest_p <= ALPHA


def permutation_test(
    design: Design,
    response: pd.Series,
    column: str,
    *,
    rng: np.random.Generator,
    blocks: pd.Series | None = None,
    levels: Sequence[Hashable] = (),
    link: Literal["logit", "probit"] = "logit",
    draws: int = DRAWS,
) -> PermutationTest:
    """Return the permutation test of one term of a cumulative-link model.

    Parameters
    ----------
    design : Design
        What explains: the term tested, and others to adjust for.
    response : Series
        Ordered levels, one per row of the design.
    column : str
        Header of the column tested.
    rng : Generator
        Draws arrangements where there are too many to list.
    blocks : Series, optional
        Rows are exchanged only within a block, such as a session.
    levels : sequence of hashable, optional
        Levels from lowest to highest, as in `fit_ordinal`.
    link : {"logit", "probit"}
        Distribution behind the levels.
    draws : int
        Arrangements to draw where there are more than 20,000. [count]

    Returns
    -------
    PermutationTest

    Raises
    ------
    TooFewShotsError
        If the column, or the response, never changes within a block.
    MisalignedError
        If design, response and blocks describe different rows.
    OutOfRangeError
        If a level is missing or there is one only.
    UnknownNameError
        If no term was made from the column, or a level was not stated.

    Notes
    -----
    Each row's score is the slope of its log-likelihood in the linear predictor, at the
    fit without the term: for the logit and no other columns, a linear function of its
    mid-rank. They are permuted within blocks against the columns of the term, those less
    what blocks and other columns explain. Drawn arrangements give (1 + k)/(1 + N) [1]_.

    References
    ----------
    .. [1] Phipson and Smyth (2010), Stat. Appl. Genet. Mol. Biol. 9, 39.

    Examples
    --------
    >>> from yieldwright.models.design import build_design
    >>> from yieldwright.models.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaabbb"), "score": [1, 1, 2, 3, 3, 4]})
    >>> design = build_design(frame, [Factor("band")])
    >>> found = permutation_test(design, frame["score"], "band", rng=np.random.default_rng(0))
    >>> found.n_arrangements, found.p_value, found.can_tell
    (20, 0.1, False)
    """
    require_rows(response, design.index)
    require_rows(blocks, design.index)
    place = design.place(column)
    others = np.delete(design.matrix, place, axis=1)
    labels = pd.factorize(blocks)[0] if blocks is not None else np.zeros(len(others), dtype=int)
    scores = _scores(response, others[:, 1:], levels, link)
    columns = _apart(design.matrix[:, place], others[:, 1:], labels)
    parts = _parts(columns, scores, labels, column)
    total = math.prod(part.n_arrangements for part in parts)
    listed = total <= MOST_LISTED
    sums = _listed(parts) if listed else _drawn(parts, rng, draws)
    seen = np.sum([part.columns.T @ part.scores for part in parts], axis=0)
    spread = np.sum([part.spread for part in parts], axis=0)
    length = float(_lengths(seen[None, :], spread)[0])
    p_value, smallest = _shares(length, _lengths(sums, spread), listed=listed)
    return PermutationTest(
        term=column,
        statistic=float(np.sign(seen[0])) * length**0.5 if len(seen) == 1 else length,
        p_value=p_value,
        smallest_p=smallest,
        n_arrangements=total,
        n_drawn=0 if listed else draws,
        n_adjusted=others.shape[1] - 1,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """One block: its columns about their means, and its scores about theirs."""

    columns: Array
    scores: Array

    @property
    def counts(self) -> tuple[list[int], list[int]]:
        """How often each different score, and each different row of columns, occurs."""
        codes = (_coded(self.scores[:, None]), _coded(self.columns))
        scores, columns = ([int(count) for count in np.bincount(each)] for each in codes)
        return scores, columns

    @property
    def n_arrangements(self) -> int:
        """Different arrangements: exchanging scores, or rows of columns, comes to the same."""
        return min(_n_arrangements(counts) for counts in self.counts)

    @property
    def sums(self) -> Array:
        """Sum of each different arrangement."""
        by_score, by_column = self.counts
        if _n_arrangements(by_score) <= _n_arrangements(by_column):
            return _exchanged(self.scores[:, None], by_score)[:, :, 0] @ self.columns
        return self.scores @ _exchanged(self.columns, by_column)

    @property
    def spread(self) -> Array:
        """Covariance of its sum over all arrangements."""
        square = self.scores @ self.scores / (len(self.scores) - 1)
        return square * (self.columns.T @ self.columns)


def _scores(response: pd.Series, others: Array, levels: Sequence[Hashable], link: str) -> Array:
    """Return the slope of each row's log-likelihood at the fit without the term."""
    distribution = link_named(link)
    what = scored(response, levels=levels)
    start = np.append(marginal_cuts(what, distribution), np.zeros(others.shape[1]))
    whole = caught(what, distribution, others)
    basis = row_space(whole)
    likelihood = whole.turned(basis)
    found = highest(likelihood, basis.T @ start)
    left = likelihood.released(found.cone.low, found.cone.high)
    share, below, above = distribution.caught(*left.limits(found.params))
    return (below - above) / share


def _apart(columns: Array, others: Array, labels: npt.NDArray[np.intp]) -> Array:
    """Return columns less what blocks and other columns explain of them."""
    inside = (labels[:, None] == np.unique(labels)).astype(float)
    known = np.hstack([inside, others])
    explained: Array = known @ np.linalg.lstsq(known, columns, rcond=SAME)[0]
    left = columns - explained
    left[np.abs(left) < SAME * np.abs(columns).max(initial=1.0)] = 0.0
    return left


def _parts(columns: Array, scores: Array, labels: npt.NDArray[np.intp], name: str) -> list[_Part]:
    """Return the blocks in which both column and score change, at least one."""
    blocks = (labels == label for label in np.unique(labels))
    parts = [_Part(columns[rows], scores[rows] - scores[rows].mean()) for rows in blocks]
    telling = [part for part in parts if part.columns.any() and np.ptp(part.scores) > SAME]
    if not telling:
        raise TooFewShotsError(
            f"{quoted(name)} and the scores never both change within one of {len(parts)} blocks, "
            "beyond what other columns explain: exchanging scores shows nothing; bring rows in "
            "which the column changes within a block"
        )
    return telling


def _coded(rows: Array) -> npt.NDArray[np.intp]:
    """Return a code for each different row, told apart beyond rounding."""
    codes: npt.NDArray[np.intp] = np.unique(np.round(rows / SAME), axis=0, return_inverse=True)[
        1
    ].ravel()
    return codes


def _n_arrangements(counts: list[int]) -> int:
    repeated = math.prod(math.factorial(count) for count in counts)
    return math.factorial(sum(counts)) // repeated


def _exchanged(rows: Array, counts: list[int]) -> Array:
    """Return every different arrangement of rows: arrangements × places × columns."""
    codes = _coded(rows)
    values = np.array([rows[codes == code].mean(axis=0) for code in range(len(counts))])
    exchanged: Array = values[_arrangements(counts)]
    return exchanged


def _listed(parts: list[_Part]) -> Array:
    """Return the sum of every arrangement, those of blocks combined with one another."""
    width = parts[0].columns.shape[1]
    sums = np.zeros((1, width))
    for part in parts:
        sums = (sums[:, None, :] + part.sums[None, :, :]).reshape(-1, width)
    return sums


def _arrangements(counts: list[int]) -> npt.NDArray[np.intp]:
    """Return all different rows that hold code k `counts[k]` times."""
    rows = np.zeros((1, sum(counts)), dtype=np.intp)
    free = np.arange(sum(counts))[None, :]
    for code, count in enumerate(counts):
        width = free.shape[1]
        picks = np.array(list(combinations(range(width), count)), dtype=np.intp)
        rest = np.array([np.delete(np.arange(width), pick) for pick in picks], dtype=np.intp)
        rows = np.repeat(rows, len(picks), axis=0)
        np.put_along_axis(rows, free[:, picks].reshape(-1, count), code, axis=1)
        free = free[:, rest].reshape(len(rows), width - count)
    return rows


def _drawn(parts: list[_Part], rng: np.random.Generator, draws: int) -> Array:
    """Return the sums of arrangements drawn at random."""
    sums = np.zeros((draws, parts[0].columns.shape[1]))
    for part in parts:
        tiled = np.tile(part.scores, (draws, 1))
        sums += rng.permuted(tiled, axis=1) @ part.columns
    return sums


def _lengths(sums: Array, spread: Array) -> Array:
    """Return the squared length of sums in units of their spread."""
    lengths: Array = np.einsum("ij,jk,ik->i", sums, np.linalg.pinv(spread, rcond=SAME), sums)
    return lengths


def _shares(seen: float, lengths: Array, *, listed: bool) -> tuple[float, float]:
    """Return the share of arrangements as extreme as the one seen, and as the utmost one."""
    pooled = lengths if listed else np.append(lengths, seen)
    slack = TIE * pooled.max()
    utmost = pooled.max() - slack
    return float(np.mean(pooled >= seen - slack)), float(np.mean(pooled >= utmost))
