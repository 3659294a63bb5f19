"""Which columns of a design stand for one another, by name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import linalg

from yieldwright.errors import AliasedColumnsError
from yieldwright.models.linear.scaling import ScaledDesign, centred_and_scaled
from yieldwright.models.wording import quoted_list

if TYPE_CHECKING:
    from yieldwright.models.terms.design import Design

__all__ = ["WORST_CONDITION", "aliased_groups", "require_separable"]

#: Largest condition number, after centring and scaling, that still leaves 8 digits.
WORST_CONDITION = 1e8

#: A scaled column with less weight than this has no part in a dependence.
NEGLIGIBLE = 1e-6


def aliased_groups(design: Design) -> tuple[tuple[str, ...], ...]:
    """Return the groups of columns that a design cannot tell apart.

    Parameters
    ----------
    design : Design
        From `build_design`.

    Returns
    -------
    tuple of tuple of str
        Headers of the table's columns, one tuple per dependence; a single header means
        a curve with too few different values. Empty where all can be told apart.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.terms.terms import Numeric
    >>> frame = pd.DataFrame({"grind": [8.0, 9.0, 11.0], "age": [1.0, 2.0, 4.0]})
    >>> aliased_groups(build_design(frame, [Numeric("grind"), Numeric("age")]))
    (('grind', 'age'),)
    """
    scaled = centred_and_scaled(design.matrix)
    if scaled.condition_number <= WORST_CONDITION:
        return ()
    return _groups(scaled.matrix, design.sources)


def require_separable(scaled: ScaledDesign, sources: Sequence[str]) -> float:
    """Return the condition number of scaled columns that can be told apart.

    Parameters
    ----------
    scaled : ScaledDesign
        Scaled columns, the ones first.
    sources : sequence of str
        Name to report for each column.

    Returns
    -------
    float

    Raises
    ------
    AliasedColumnsError
        If the condition number exceeds 1e8; the attribute `columns` names the columns.

    Examples
    --------
    >>> require_separable(centred_and_scaled(np.array([[1.0, 2.0], [1.0, 4.0]])), ["", "x"])
    1.0
    """
    condition = scaled.condition_number
    if condition <= WORST_CONDITION:
        return condition
    groups = _groups(scaled.matrix, sources)
    reasons = "; ".join(_reason(group, len(scaled.matrix)) for group in groups)
    columns = dict.fromkeys(name for group in groups for name in group)
    raise AliasedColumnsError(reasons, columns=tuple(columns))


def _groups(
    matrix: npt.NDArray[np.float64], sources: Sequence[str]
) -> tuple[tuple[str, ...], ...]:
    """Return, for each column without a direction of its own, those that make it up."""
    upper, order = linalg.qr(matrix, mode="r", pivoting=True)
    sizes = np.abs(np.diag(upper))
    own = min(int(np.sum(sizes > sizes[0] / WORST_CONDITION)), len(order) - 1)
    weights = linalg.solve_triangular(upper[:own, :own], upper[:own, own:])
    groups = (
        (column, *order[:own][np.abs(weight) > NEGLIGIBLE])
        for column, weight in zip(order[own:], weights.T, strict=True)
    )
    named = (dict.fromkeys(sources[k] for k in sorted(group) if k > 0) for group in groups)
    return tuple(dict.fromkeys(tuple(names) for names in named))


def _reason(group: tuple[str, ...], n_rows: int) -> str:
    if len(group) == 1:
        return (
            f"{quoted_list(group)} has too few different values in these {n_rows} rows "
            "to be estimated so; leave it out, or use a line in place of a curve"
        )
    return (
        f"{quoted_list(group)} cannot be told apart in these {n_rows} rows: each follows from "
        "the rest; leave one out, or add rows where they part"
    )
