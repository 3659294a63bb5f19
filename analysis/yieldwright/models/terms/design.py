"""From columns of a table to a design matrix, without a word of formula text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
import numpy.typing as npt

from yieldwright.errors import (
    AliasedColumnsError,
    RoleError,
    TooFewShotsError,
    UnknownNameError,
)
from yieldwright.models.terms.columns import constant_columns
from yieldwright.models.terms.terms import Numeric, Product
from yieldwright.models.wording import nearest, quoted, quoted_list

if TYPE_CHECKING:
    import pandas as pd

    from yieldwright.models.terms.terms import Term

__all__ = ["INTERCEPT", "Design", "Fitted", "build_design", "design_of"]

Array = npt.NDArray[np.float64]

#: Name of the first column of every design.
INTERCEPT = "(intercept)"


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """A design matrix that remembers which column came from what.

    Attributes
    ----------
    matrix : ndarray
        One row per row of the table, one column per coefficient, intercept first.
    columns : tuple of str
        Names of the columns, for display; they need not be unique.
    terms : tuple of Term
        With levels, centres and half-ranges as fixed by the rows.
    index : Index
        Index of the rows.
    """

    matrix: Array
    columns: tuple[str, ...]
    terms: tuple[Term, ...]
    index: pd.Index

    @property
    def sources(self) -> tuple[str, ...]:
        """Header of the table's column behind each column of the matrix."""
        return (INTERCEPT, *(term.column for term in self.terms for _ in term.labels))

    def term(self, column: str) -> Term:
        """Return the term made from a column.

        Parameters
        ----------
        column : str
            Header of the column.

        Returns
        -------
        Term

        Raises
        ------
        UnknownNameError
            If no term was made from it.
        """
        return self.terms[self._position(column)]

    def place(self, column: str) -> slice:
        """Return where the columns of a term stand in the matrix.

        Parameters
        ----------
        column : str
            Header of the column.

        Returns
        -------
        slice

        Raises
        ------
        UnknownNameError
            If no term was made from it.
        """
        position = self._position(column)
        widths = [len(term.labels) for term in self.terms]
        start = 1 + sum(widths[:position])
        return slice(start, start + widths[position])

    def row(self, at: Mapping[str, object] | None = None) -> Array:
        """Return the design row of an average shot, or of one at stated values.

        Numbers not stated stand at their mean, factors and blocks weigh all their
        levels alike. The difference of two such rows is the contrast of two settings.

        Parameters
        ----------
        at : mapping of str to object, optional
            Values by column header.

        Returns
        -------
        ndarray
            One value per column of the matrix.

        Raises
        ------
        UnknownNameError
            If a column or level is not in the design.
        OutOfRangeError
            If a numeric column is given anything but a finite number.
        """
        row = np.concatenate([[1.0], *(self._balanced(term) for term in self.terms)])
        for column, value in (at or {}).items():
            row[self.place(column)] = self.term(column).at(value)
        for term in self.terms:
            if isinstance(term, Product):
                first, second = self.place(term.first.column), self.place(term.second.column)
                row[self.place(term.column)] = row[first.start] * row[second.start]
        return row

    def _balanced(self, term: Term) -> Array:
        return term.balanced(self.matrix[:, self.place(term.column)])

    def _position(self, column: str) -> int:
        headers = [term.column for term in self.terms]
        if column not in headers:
            remedy = nearest(column, headers)
            raise UnknownNameError(f"no term was made from {quoted(column)}; {remedy}")
        return headers.index(column)


class Fitted(Protocol):
    """Anything that was fitted, and may remember to which columns."""

    @property
    def design(self) -> Design | None:
        """What was fitted, None where it was a plain matrix."""


def design_of(fit: Fitted) -> Design:
    """Return the design a fit was made from.

    Parameters
    ----------
    fit : LinearFit, MixedFit, OrdinalFit, OrdinalMixedFit
        Or whatever else remembers its design.

    Returns
    -------
    Design

    Raises
    ------
    RoleError
        If the fit was made from a plain matrix.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.design import build_design
    >>> from yieldwright.models.linear.model import fit_least_squares
    >>> from yieldwright.models.terms.terms import Factor
    >>> frame = pd.DataFrame({"band": list("aabbcc"), "y": [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]})
    >>> fit = fit_least_squares(build_design(frame, [Factor("band")]), frame["y"])
    >>> design_of(fit).columns
    ('(intercept)', 'band = b', 'band = c')
    """
    if fit.design is None:
        raise RoleError(
            "this fit was made from a plain matrix, which has no columns of a table; "
            "fit a design from build_design, or state weights to estimated()"
        )
    return fit.design


def build_design(frame: pd.DataFrame, terms: Sequence[Term]) -> Design:
    """Return the design matrix of a table for a list of terms, intercept first.

    Parameters
    ----------
    frame : DataFrame
        Rows to be fitted, complete in every column used (see `complete_rows`).
    terms : sequence of Numeric, Product, Factor or Blocks
        What enters; none at all leaves the intercept alone. Both numbers of a product
        stand among the terms, scaled alike.

    Returns
    -------
    Design

    Raises
    ------
    TooFewShotsError
        If there is no row.
    OutOfRangeError
        If a value is missing or infinite, or a numeric column holds text.
    AliasedColumnsError
        If a column is used twice, does not vary, or a level has no row.
    UnknownNameError
        If the table has no such column, or a row has a level that was not stated.
    RoleError
        If a product enters without its numbers, or they are scaled otherwise by themselves.

    Examples
    --------
    >>> import pandas as pd
    >>> from yieldwright.models.terms.terms import Factor, Numeric
    >>> frame = pd.DataFrame({"grind": [8, 10, 12], "band": ["low", "high", "low"]})
    >>> design = build_design(frame, [Numeric("grind"), Factor("band", ("low", "high"))])
    >>> design.columns
    ('(intercept)', 'grind', 'band = high')
    >>> design.matrix[:, 1].tolist()
    [-1.0, 0.0, 1.0]
    """
    _require_once([term.column for term in terms])
    _require_usable(frame, [each.column for each in terms if not isinstance(each, Product)])
    settled = tuple(term.settled(frame) for term in terms)
    _require_both_numbers(settled)
    blocks = [term.coded(frame) for term in settled]
    matrix = np.column_stack([np.ones(len(frame)), *blocks])
    matrix.setflags(write=False)
    labels = (INTERCEPT, *(label for term in settled for label in term.labels))
    return Design(matrix, labels, settled, frame.index)


def _require_once(names: list[str]) -> None:
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise AliasedColumnsError(
            f"{quoted_list(sorted(twice))} enters twice; once is enough",
            columns=tuple(sorted(twice)),
        )


def _require_usable(frame: pd.DataFrame, headers: list[str]) -> None:
    if len(frame) == 0:
        raise TooFewShotsError("the table has no rows; a design needs at least one")
    constant = constant_columns(frame, headers)
    if constant:
        raise AliasedColumnsError(
            f"{quoted_list(constant)} holds a single value in all {len(frame)} rows, so it has "
            "no effect to estimate; leave it out (constant_columns lists such columns)",
            columns=constant,
        )


def _require_both_numbers(settled: tuple[Term, ...]) -> None:
    """Refuse a product whose numbers do not enter by themselves, on the same scale."""
    scales = {
        each.column: (each.middle, each.reach) for each in settled if isinstance(each, Numeric)
    }
    for term in settled:
        for number in (term.first, term.second) if isinstance(term, Product) else ():
            if scales.get(number.column) != (number.middle, number.reach):
                raise RoleError(
                    f"{quoted(term.column)} enters without {quoted(number.column)} by itself on "
                    "the same scale; add it as a Numeric, or the product stands for its effect too"
                )
