"""From rows to a second-order surface: its terms, and the part of a fit that is one."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from yieldwright.errors import MisalignedError, RoleError, TooFewShotsError
from yieldwright.models.surface.model import Surface
from yieldwright.models.terms.columns import column_numbers
from yieldwright.models.terms.design import design_of
from yieldwright.models.terms.terms import Numeric, Product, Term
from yieldwright.models.wording import quoted, quoted_list

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.linear.model import LinearFit

__all__ = ["LEAST_VALUES", "MOST_NUMBERS", "response_surface", "surface_terms"]

#: A bend needs so many different values of a number.
LEAST_VALUES = 3

#: Numbers a surface may have: with four, a log of sixty shots leaves the bends unknown.
MOST_NUMBERS = 3


def surface_terms(
    frame: pd.DataFrame, numbers: Sequence[Numeric], others: Sequence[Term] = ()
) -> tuple[Term, ...]:
    """Return the terms of a second-order surface, or say what the rows are short of.

    Parameters
    ----------
    frame : DataFrame
        Rows to be fitted.
    numbers : sequence of Numeric
        Two or three, whatever their power.
    others : sequence of Term
        What is allowed for beside them: blocks first, then adjusters.

    Returns
    -------
    tuple of Term
        Others first, then curves, then the products of all pairs.

    Raises
    ------
    RoleError
        If there are fewer than two or more than three numbers.
    TooFewShotsError
        If a number has fewer than three different values.

    Examples
    --------
    >>> import pandas as pd
    >>> frame = pd.DataFrame({"grind": [8, 9, 10], "taper": [1.0, 3.0, 2.0]})
    >>> terms = surface_terms(frame, [Numeric("grind"), Numeric("taper")])
    >>> [label for term in terms for label in term.labels]
    ['grind', 'grind²', 'taper', 'taper²', 'grind × taper']
    """
    if not 2 <= len(numbers) <= MOST_NUMBERS:
        raise RoleError(
            f"a surface stands on two or three numbers, not on {len(numbers)}; choose those "
            "that were varied most"
        )
    short = {
        each.column: values
        for each in numbers
        if (values := len(np.unique(column_numbers(frame, each.column)))) < LEAST_VALUES
    }
    if short:
        raise TooFewShotsError(
            f"a surface needs {LEAST_VALUES} different values of each number; "
            f"{quoted_list(short)} has {', '.join(map(str, short.values()))} "
            "(bring rows at a value between)"
        )
    curves = [Numeric(n.column, n.step, 2, n.centre, n.half_range) for n in numbers]
    products = [Product(first, second) for first, second in combinations(curves, 2)]
    return (*others, *curves, *products)


def response_surface(
    fit: LinearFit,
    frame: pd.DataFrame,
    columns: Sequence[str],
    *,
    groups: npt.NDArray[np.intp] | None = None,
) -> Surface:
    """Return the second-order surface that a fit holds.

    Parameters
    ----------
    fit : LinearFit
        Fit of a design made from `surface_terms`.
    frame : DataFrame
        The rows fitted.
    columns : sequence of str
        Headers of its numbers.
    groups : ndarray, optional
        Number of the group of each row, where the means of groups were taken off
        response and design before fitting.

    Returns
    -------
    Surface

    Raises
    ------
    RoleError
        If a number does not enter as a curve, or a product is not there.
    UnknownNameError
        If no term of the fit was made from a column.
    MisalignedError
        If the table has other rows than the fit.

    Notes
    -----
    y = β₀ + b′x + x′Bx with all numbers scaled; what else the fit holds is held at its
    mean. Session differences removed from rows and columns alike leave b and B as they
    are.

    References
    ----------
    .. [1] Box and Wilson (1951), J. R. Stat. Soc. B 13, 1.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> rows = [(x, z) for x in (-1.0, 0.0, 1.0) for z in (-1.0, 0.0, 1.0)]
    >>> frame = pd.DataFrame(rows, columns=["x", "z"])
    >>> y = 5 - frame["x"] ** 2 - 2 * frame["z"] ** 2 + frame["x"] + 0.1 * frame["x"] ** 3
    >>> terms = surface_terms(frame, [Numeric("x"), Numeric("z")])
    >>> fit = fit_least_squares(build_design(frame, terms), y)
    >>> surface = response_surface(fit, frame, ["x", "z"])
    >>> surface.linear.round(6).tolist(), surface.bends.round(6).diagonal().tolist()
    ([1.1, 0.0], [-1.0, -2.0])
    """
    design = design_of(fit)
    if len(frame) != fit.n_rows:
        raise MisalignedError(
            f"the table has {len(frame)} rows and the fit {fit.n_rows}; pass the rows fitted"
        )
    terms = tuple(_curve(design.term(column)) for column in columns)
    pairs = [Product(first, second).column for first, second in combinations(terms, 2)]
    held = {term.column for term in design.terms if isinstance(term, Product)}
    absent = [name for name in pairs if name not in held]
    if absent:
        raise RoleError(
            f"the fit holds no {quoted_list(absent)}, without which the surface cannot turn; "
            "make its terms with surface_terms"
        )
    starts = [design.place(column).start for column in columns]
    positions = [*starts, *(start + 1 for start in starts)]
    positions += [design.place(name).start for name in pairs]
    tried = np.column_stack([term.coded(frame)[:, 0] for term in terms])
    return Surface(fit, terms, np.array(positions), tried, groups)


def _curve(term: Term) -> Numeric:
    if not isinstance(term, Numeric) or term.power == 1:
        raise RoleError(
            f"{quoted(term.column)} does not enter as a curve; make its terms with surface_terms"
        )
    return term
