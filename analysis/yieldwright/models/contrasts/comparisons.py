"""Means of several settings compared in pairs, with what many comparisons cost."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.errors import OutOfRangeError, RoleError, TooFewShotsError, UnknownNameError
from yieldwright.models.contrasts.contrasts import Estimate, holm
from yieldwright.models.contrasts.estimating import estimated, parameter_weights
from yieldwright.models.contrasts.studentized_range import range_quantile, range_tail
from yieldwright.models.intervals.intervals import LEVEL
from yieldwright.models.terms.design import design_of
from yieldwright.models.terms.terms import Blocks, Factor
from yieldwright.models.terms.tried_combinations import require_tried
from yieldwright.models.wording import nearest, quoted
from yieldwright.results import ESTIMATE_COLUMNS

if TYPE_CHECKING:
    from yieldwright.models.contrasts.estimating import AnyFit
    from yieldwright.models.mixed.contrasts import Approximation
    from yieldwright.models.terms.design import Design

__all__ = [
    "DIFFERENCE_COLUMNS",
    "Comparisons",
    "Difference",
    "compare_levels",
    "compare_means",
    "marginal_rows",
]

Array = npt.NDArray[np.float64]
Pairs = Literal["all", "neighbours", "reference"]
Averaging = Literal["alike", "as met"]

#: Columns of a table of differences.
DIFFERENCE_COLUMNS = (*ESTIMATE_COLUMNS, "p_tukey", "joint_low", "joint_high")


@dataclass(frozen=True, slots=True)
class Difference:
    """One mean less another.

    Attributes
    ----------
    first, second : hashable
        What is compared: the second less the first.
    estimate : Estimate
        The difference, with the interval and p-value it has when looked at alone.
    p_holm : float
        Its p-value, corrected for all differences told by Holm's rule.
    p_tukey : float
        Corrected by the studentised range, for all pairs of the means.
    joint_low, joint_high : float
        Limits that hold for all pairs at once.
    """

    first: Hashable
    second: Hashable
    estimate: Estimate
    p_holm: float
    p_tukey: float
    joint_low: float
    joint_high: float


@dataclass(frozen=True, slots=True)
class Comparisons:
    """Several means and their differences.

    Attributes
    ----------
    means : mapping of hashable to Estimate
        By level, in their order.
    differences : tuple of Difference
        The pairs asked for.
    """

    means: Mapping[Hashable, Estimate]
    differences: tuple[Difference, ...]

    def table(self) -> pd.DataFrame:
        """Return the differences as a table.

        Returns
        -------
        DataFrame
            One row per difference: the columns of all estimates, then p_tukey, joint_low
            and joint_high.
        """
        own = ("p_holm", "p_tukey", "joint_low", "joint_high")
        rows = [
            [getattr(each.estimate, name) for name in ESTIMATE_COLUMNS[:-1]]
            + [getattr(each, name) for name in own]
            for each in self.differences
        ]
        return pd.DataFrame(rows, columns=list(DIFFERENCE_COLUMNS))


def compare_levels(
    fit: AnyFit,
    column: str,
    *,
    at: Mapping[str, object] | None = None,
    averaging: Averaging = "alike",
    pairs: Pairs = "all",
    reference: Hashable | None = None,
    level: float = LEVEL,
    df: Approximation = "satterthwaite",
) -> Comparisons:
    """Return the mean response at each level of a factor, and how levels differ.

    Parameters
    ----------
    fit : LinearFit, MixedFit, OrdinalFit or OrdinalMixedFit
        Fit of a design made from columns.
    column : str
        Header of a factor.
    at : mapping of str to object, optional
        Where to compare: values of other columns.
    averaging : {"alike", "as met"}
        Whether factors and blocks not stated weigh all their levels alike, or each as
        often as the rows hold it.
    pairs : {"all", "neighbours", "reference"}
        Every pair, each level with the one before it, or each with one of them.
    reference : hashable, optional
        Level the others are compared with; by default the first.
    level : float
        Confidence level of the intervals, single and joint. [1]
    df : {"satterthwaite", "kenward_roger"}
        How a mixed model finds degrees of freedom.

    Returns
    -------
    Comparisons

    Raises
    ------
    RoleError
        If the column does not enter as a factor, or is stated in `at`.
    OutOfRangeError
        If a stated number lies outside the values tried.
    UnknownNameError
        If no term was made from a column, or a level does not exist.

    Notes
    -----
    See `compare_means`. Numbers not stated stand at their mean.

    References
    ----------
    .. [1] Searle, Speed and Milliken (1980), Am. Stat. 34, 216.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> frame = pd.DataFrame({"band": list("aabbcc"), "y": [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]})
    >>> fit = fit_least_squares(build_design(frame, [Factor("band")]), frame["y"])
    >>> found = compare_levels(fit, "band")
    >>> [(each.estimate.term, round(each.p_tukey, 3)) for each in found.differences]
    [('b − a', 0.129), ('c − a', 0.022), ('c − b', 0.129)]
    """
    rows = marginal_rows(design_of(fit), column, at=at, averaging=averaging)
    weights = {name: parameter_weights(fit, row) for name, row in rows.items()}
    return compare_means(
        weights,
        lambda sums, term: estimated(fit, sums, term=term, level=level, df=df),
        pairs=pairs,
        reference=reference,
        level=level,
    )


def compare_means(
    weights: Mapping[Hashable, Array],
    estimate: Callable[[Array, str], Estimate],
    *,
    pairs: Pairs = "all",
    reference: Hashable | None = None,
    level: float = LEVEL,
) -> Comparisons:
    """Return means given by their weights, and how they differ.

    Parameters
    ----------
    weights : mapping of hashable to ndarray
        Weights of the parameters of a fit that give each mean.
    estimate : callable
        From weights and a name to an estimate, such as `estimated` of one fit.
    pairs : {"all", "neighbours", "reference"}
        Every pair, each mean with the one before it, or each with one of them.
    reference : hashable, optional
        Mean the others are compared with; by default the first.
    level : float
        Confidence level of the joint intervals. [1]

    Returns
    -------
    Comparisons

    Raises
    ------
    TooFewShotsError
        If there are fewer than two means.
    UnknownNameError
        If the reference is none of them.

    Notes
    -----
    Tukey's p-values and joint limits are those of the studentised range over all pairs
    of the means: exact where the means are independent and equally well known, at most
    too wide where they are not (Tukey and Kramer) [1]_, and too wide where only some pairs
    are told. Where degrees of freedom differ from pair to pair, as in mixed models, each
    pair brings its own, which is an approximation. Holm's rule needs neither, and
    corrects for the pairs told alone.

    References
    ----------
    .. [1] Hayter (1984), Annals of Statistics 12, 61.

    Examples
    --------
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.contrasts.contrasts import contrast
    >>> matrix = np.column_stack([np.ones(4), [0.0, 0.0, 1.0, 1.0]])
    >>> fit = fit_least_squares(matrix, np.array([1.0, 2.0, 4.0, 5.0]))
    >>> means = {"low": np.array([1.0, 0.0]), "high": np.array([1.0, 1.0])}
    >>> found = compare_means(means, lambda sums, term: contrast(fit, sums, term=term))
    >>> found.means["high"].estimate, round(found.differences[0].estimate.estimate, 6)
    (4.5, 3.0)
    """
    told = _pairs(list(weights), pairs, reference)
    found = [
        estimate(weights[second] - weights[first], f"{second} − {first}") for first, second in told
    ]
    corrected = holm([each.p_value for each in found])
    return Comparisons(
        means={name: estimate(row, str(name)) for name, row in weights.items()},
        differences=tuple(
            Difference(*pair, each, float(p_holm), *_jointly(each, len(weights), level))
            for pair, each, p_holm in zip(told, found, corrected, strict=True)
        ),
    )


def marginal_rows(
    design: Design,
    column: str,
    *,
    at: Mapping[str, object] | None = None,
    averaging: Averaging = "alike",
) -> dict[Hashable, Array]:
    """Return the design rows of the means at each level of a factor.

    Parameters
    ----------
    design : Design
        What was fitted.
    column : str
        Header of a factor.
    at : mapping of str to object, optional
        Values of other columns.
    averaging : {"alike", "as met"}
        Whether factors and blocks not stated weigh all their levels alike, or each as
        often as the rows hold it.

    Returns
    -------
    dict of hashable to ndarray
        By level, in their order; numbers not stated stand at their mean.

    Raises
    ------
    RoleError
        If the column does not enter as a factor, or is stated in `at`.
    OutOfRangeError
        If a stated number lies outside the values tried, or the averaging is neither.
    UnknownNameError
        If no term was made from a column, or a level does not exist.

    Examples
    --------
    >>> from yieldwright.models.terms.design import build_design
    >>> frame = pd.DataFrame({"band": list("aabb"), "paper": ["no", "no", "no", "yes"]})
    >>> design = build_design(frame, [Factor("band"), Factor("paper")])
    >>> marginal_rows(design, "band", averaging="as met")["b"].tolist()
    [1.0, 1.0, 0.25]
    """
    stated = dict(at or {})
    term = design.term(column)
    if not isinstance(term, Factor):
        raise RoleError(f"{quoted(column)} does not enter as a factor: no levels to compare")
    if column in stated:
        raise RoleError(f"{quoted(column)} is what is compared; leave it out of `at`")
    if averaging not in ("alike", "as met"):
        raise OutOfRangeError(f"averaging must be 'alike' or 'as met', not {averaging!r:.60}")
    rows = {name: design.row({**stated, column: name}) for name in term.levels}
    for row in rows.values():
        require_tried(design, row, stated)
        if averaging == "as met":
            _weigh_as_met(design, row, {*stated, column})
    return rows


def _weigh_as_met(design: Design, row: Array, stated: Iterable[str]) -> None:
    """Give levels of what is not stated their shares of the rows, in place."""
    for term in design.terms:
        if isinstance(term, Factor | Blocks) and term.column not in set(stated):
            place = design.place(term.column)
            row[place] = design.matrix[:, place].mean(axis=0)


def _pairs(
    names: Sequence[Hashable], pairs: Pairs, reference: Hashable | None
) -> list[tuple[Hashable, Hashable]]:
    if len(names) < 2:
        raise TooFewShotsError(f"a comparison needs at least two means; got {len(names)}")
    if pairs == "all":
        return list(combinations(names, 2))
    if pairs == "neighbours":
        return list(pairwise(names))
    if pairs != "reference":
        raise OutOfRangeError(
            f"pairs must be 'all', 'neighbours' or 'reference', not {pairs!r:.60}"
        )
    against = names[0] if reference is None else reference
    if against not in names:
        raise UnknownNameError(
            f"{quoted(against)} is none of the means to refer to; {nearest(str(against), names)}"
        )
    return [(against, name) for name in names if name != against]


def _jointly(found: Estimate, n_means: int, level: float) -> tuple[float, float, float]:
    """Return p-value and limits of a difference by the studentised range."""
    p_value = range_tail(np.sqrt(2) * abs(found.statistic), n_means, found.df)
    if not np.isfinite(found.std_error):
        return p_value, np.nan, np.nan
    reach = range_quantile(level, n_means, found.df) / np.sqrt(2) * found.std_error
    return p_value, found.estimate - reach, found.estimate + reach
