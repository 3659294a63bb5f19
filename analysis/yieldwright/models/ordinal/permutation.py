"""The chance of an association as strong if scores had fallen on shots at random."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.linalg import null_space

from yieldwright.errors import TooFewShotsError
from yieldwright.models.contrasts.contrasts import weights_in_order
from yieldwright.models.intervals.power import ALPHA
from yieldwright.models.ordinal._arrangements import SAME, Part, drawn_sums, listed_sums
from yieldwright.models.ordinal._links import link_named
from yieldwright.models.ordinal._posing import caught, marginal_cuts, require_rows, scored
from yieldwright.models.ordinal._separation import highest, row_space
from yieldwright.models.wording import quoted

if TYPE_CHECKING:
    from yieldwright.models.ordinal._posing import Scores
    from yieldwright.models.ordinal.units import UnitScores
    from yieldwright.models.terms.design import Design

__all__ = ["MOST_LISTED", "PermutationTest", "permutation_test", "unit_permutation"]

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]

#: Arrangements up to which all are gone through.
MOST_LISTED = 20_000

#: Arrangements drawn where there are more.
DRAWS = 9_999

#: Statistics closer than this share of the largest count as equal.
TIE = 1e-9


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
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaabbb"), "score": [1, 1, 2, 3, 3, 4]})
    >>> design = build_design(frame, [Factor("band")])
    >>> found = permutation_test(design, frame["score"], "band", rng=np.random.default_rng(0))
    >>> found.n_arrangements, found.p_value, found.can_tell
    (20, 0.1, False)
    """
    require_rows(response, design.index)
    require_rows(blocks, design.index)
    place = design.place(column)
    others = np.delete(design.matrix, place, axis=1)[:, 1:]
    labels = pd.factorize(blocks)[0] if blocks is not None else np.zeros(len(others), dtype=int)
    scores = _scores(scored(response, levels=levels), others, link)
    question = _Question(column, design.matrix[:, place], others, scores, labels)
    return question.answered(rng, draws)


def unit_permutation(
    posed: UnitScores,
    weights: Mapping[str, float] | Sequence[float] | Array,
    *,
    rng: np.random.Generator,
    term: str = "contrast",
    draws: int = DRAWS,
) -> PermutationTest:
    """Return the permutation test of a combination of slopes, all rows of a unit kept together.

    Parameters
    ----------
    posed : UnitScores
        From `pose_in_units`.
    weights : mapping of str to float, or sequence of float
        Weights by name of a column of the design, or one for each, that of the intercept 0.
    rng : Generator
        Draws arrangements where there are too many to list.
    term : str
        What to call it.
    draws : int
        Arrangements to draw where there are more than 20,000. [count]

    Returns
    -------
    PermutationTest

    Raises
    ------
    TooFewShotsError
        If the combination, or the levels, never change within a block.
    UnknownNameError, MisalignedError
        If the weights do not fit the design.

    Notes
    -----
    As `permutation_test`, with the sum of the scores of each unit in place of the score of
    a row. Raters are adjusted for, as are all other combinations of the slopes.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.ordinal.units import pose_in_units
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aaabbb"), "score": [1, 1, 2, 3, 3, 4]})
    >>> design = build_design(frame, [Factor("band")])
    >>> posed = pose_in_units(design, frame["score"], np.arange(6))
    >>> found = unit_permutation(posed, {"band = b": 1.0}, rng=np.random.default_rng(0))
    >>> found.n_arrangements, found.p_value
    (20, 0.1)
    """
    asked = weights_in_order(posed.design.columns, weights)[1:]
    own = posed.design.matrix[:, 1:]
    others = own @ null_space(asked[None, :])
    rated = np.eye(posed.raters.max() + 1)[posed.raters][:, 1:]
    by_row = _scores(posed.scores, np.hstack([others[posed.units], rated]), "logit")
    scores = np.bincount(posed.units, weights=by_row).astype(float)
    return _Question(term, own @ asked[:, None], others, scores, posed.blocks).answered(rng, draws)


@dataclass(frozen=True, slots=True, eq=False)
class _Question:
    """Scores to be exchanged within blocks against some columns, others adjusted for."""

    term: str
    tested: Array
    others: Array
    scores: Array
    labels: Codes

    def answered(self, rng: np.random.Generator, draws: int) -> PermutationTest:
        """Return the test."""
        columns, explained = _apart(self.tested, self.others, self.labels)
        parts, base = _parts(columns, explained, self.scores, self.labels)
        if not parts:
            raise TooFewShotsError(_nothing_changes(self.term, len(np.unique(self.labels))))
        total = math.prod(part.n_arrangements for part in parts)
        listed = total <= MOST_LISTED
        width = columns.shape[1]
        seen = np.sum([part.both.T @ part.scores for part in parts], axis=0)
        sums = np.vstack([seen, listed_sums(parts) if listed else drawn_sums(parts, rng, draws)])
        spread = np.sum([part.spread for part in parts], axis=0)
        lengths = _lengths(sums[:, :width], spread) * _corrections(sums[:, width:], base)
        length = float(lengths[0])
        p_value, smallest = _shares(lengths, listed=listed)
        return PermutationTest(
            term=self.term,
            statistic=float(np.sign(seen[0])) * length**0.5 if width == 1 else length,
            p_value=p_value,
            smallest_p=smallest,
            n_arrangements=total,
            n_drawn=0 if listed else draws,
            n_adjusted=self.others.shape[1],
        )


def _scores(what: Scores, others: Array, link: str) -> Array:
    """Return the slope of each row's log-likelihood at the fit without the term."""
    distribution = link_named(link)
    start = np.append(marginal_cuts(what, distribution), np.zeros(others.shape[1]))
    whole = caught(what, distribution, others)
    basis = row_space(whole)
    likelihood = whole.turned(basis)
    found = highest(likelihood, basis.T @ start)
    left = likelihood.released(found.cone.low, found.cone.high)
    share, below, above = distribution.caught(*left.limits(found.params))
    return (below - above) / share


def _apart(columns: Array, others: Array, labels: Codes) -> tuple[Array, Array]:
    """Return columns less what blocks and others explain, and a basis of others less blocks."""
    inside = (labels[:, None] == np.unique(labels)).astype(float)
    within = others - inside @ np.linalg.lstsq(inside, others, rcond=SAME)[0]
    basis, sizes, _ = np.linalg.svd(within, full_matrices=False)
    basis = basis[:, sizes > SAME * sizes.max(initial=1.0)]
    known = np.hstack([inside, basis])
    left = columns - known @ np.linalg.lstsq(known, columns, rcond=SAME)[0]
    left[np.abs(left) < SAME * np.abs(columns).max(initial=1.0)] = 0.0
    return left, basis


def _parts(
    columns: Array, explained: Array, scores: Array, labels: Codes
) -> tuple[list[Part], tuple[Array, float]]:
    """Return the blocks in which column and score both change, and what the rest adds.

    That is their sum with what else explains scores, and the square of all scores.
    """
    means = np.bincount(labels, weights=scores) / np.bincount(labels)
    centred = scores - means[labels]
    blocks = [labels == label for label in np.unique(labels)]
    telling = [rows for rows in blocks if columns[rows].any() and np.ptp(centred[rows]) > SAME]
    still = ~np.any(telling, axis=0) if telling else np.ones(len(labels), dtype=bool)
    parts = [Part(columns[rows], explained[rows], centred[rows]) for rows in telling]
    return parts, (explained[still].T @ centred[still], float(centred @ centred))


def _nothing_changes(column: str, n_blocks: int) -> str:
    return (
        f"{quoted(column)} and the scores never both change within one of {n_blocks} blocks, "
        "beyond what other columns explain: exchanging scores shows nothing; bring rows in "
        "which the column changes within a block"
    )


def _lengths(sums: Array, spread: Array) -> Array:
    """Return the squared length of sums in units of their spread."""
    lengths: Array = np.einsum("ij,jk,ik->i", sums, np.linalg.pinv(spread, rcond=SAME), sums)
    return lengths


def _corrections(explained: Array, base: tuple[Array, float]) -> Array:
    """Return how much less spread each arrangement leaves once other columns are adjusted for.

    The scores seen are what other columns leave over; exchanged, they lean on those again.
    """
    still, square = base
    taken = np.sum((explained + still) ** 2, axis=1)
    corrections: Array = square / np.maximum(square - taken, SAME * square)
    return corrections


def _shares(lengths: Array, *, listed: bool) -> tuple[float, float]:
    """Return the share of arrangements as extreme as the one seen, and as the utmost one.

    The one seen comes first; among all arrangements it is listed once more.
    """
    pooled = lengths[1:] if listed else lengths
    slack = TIE * pooled.max()
    utmost = pooled.max() - slack
    return float(np.mean(pooled >= lengths[0] - slack)), float(np.mean(pooled >= utmost))
