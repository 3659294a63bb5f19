"""Tables that came from an export, read back as they were.

A table with a column `guarded` gets its cells back as they were before they were made
safe to open; rows that an export wrote are told from those that a person added.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.shotlog.formats.guarding import ESCAPED, GUARDED, restore, split_names
from yieldwright.shotlog.formats.texts import TextColumn
from yieldwright.shotlog.headers.exported_headers import TASTING_NUMBER, USABLE, computed_names

if TYPE_CHECKING:
    from yieldwright.shotlog.findings import Finding
    from yieldwright.shotlog.headers.headers import Header

__all__ = ["by_people", "echoed_names", "exported_rows", "restored_columns"]

_AMONG_NEIGHBOURS = ("position", "gap_min")


def by_people(findings: Iterable[Finding], exported: np.ndarray) -> list[Finding]:
    """Return findings without those on what an export had found among the neighbours of a shot.

    Parameters
    ----------
    findings : iterable of Finding
        On any columns.
    exported : ndarray of bool
        Which rows an export wrote: their place in the session may be ours, and lie
        beyond what a person would type.

    Returns
    -------
    list of Finding
    """
    return [
        each for each in findings if each.column not in _AMONG_NEIGHBOURS or not exported[each.row]
    ]


def echoed_names(headers: Iterable[Header]) -> frozenset[str]:
    """Return the columns of an export that were computed and that nobody had typed.

    Parameters
    ----------
    headers : iterable of Header
        Of one file.

    Returns
    -------
    frozenset of str
        Empty where the file is no export.
    """
    known = list(headers)
    if not _is_whole(known):
        return frozenset()
    return computed_names() & {each.text for each in known if each.role == "quantity"}


def exported_rows(
    headers: Sequence[Header], columns: Sequence[TextColumn], n_rows: int
) -> np.ndarray:
    """Return which rows of a file an export of ours wrote.

    Parameters
    ----------
    headers : sequence of Header
        Of the file.
    columns : sequence of TextColumn
        The cells under them.
    n_rows : int
        How many rows there are.

    Returns
    -------
    ndarray of bool, shape (n_rows,)
        A row that a person added to an export says nothing in our columns.
    """
    for header, column in zip(headers, columns, strict=True):
        if header.role == "ours" and header.name in (USABLE, TASTING_NUMBER):
            return ~column.is_blank()
    return np.zeros(n_rows, dtype=bool)


def restored_columns(
    headers: Sequence[str], columns: Sequence[TextColumn]
) -> Sequence[TextColumn]:
    """Return columns with the cells that were made safe to open put back.

    Parameters
    ----------
    headers : sequence of str
        As they stand in the file.
    columns : sequence of TextColumn
        The cells under them.

    Returns
    -------
    sequence of TextColumn
        The same where no column says which cells were treated.

    Examples
    --------
    >>> cells = [TextColumn.of(["'=1+1", "'mine"]), TextColumn.of(["bag", ""])]
    >>> list(restored_columns(["bag", "guarded"], cells)[0])
    ['=1+1', "'mine"]
    """
    place = {header.strip(): at for at, header in enumerate(headers)}
    if GUARDED not in place:
        return columns
    guarded = _rows_named(columns[place[GUARDED]])
    escaped = _rows_named(columns[place[ESCAPED]]) if ESCAPED in place else {}
    restored = list(columns)
    for name in guarded.keys() | escaped.keys():
        if name in place:
            at = place[name]
            restored[at] = _restored(columns[at], guarded.get(name, []), escaped.get(name, []))
    return restored


def _is_whole(headers: Iterable[Header]) -> bool:
    return any(each.role == "ours" and each.name in (USABLE, TASTING_NUMBER) for each in headers)


def _rows_named(column: TextColumn) -> dict[str, list[int]]:
    """Return the rows in which a column of headers names each."""
    rows: dict[str, list[int]] = {}
    named = [split_names(text) for text in column.texts]
    telling = np.array([bool(names) for names in named], dtype=bool)
    for row in np.flatnonzero(telling[column.codes]).tolist() if telling.any() else ():
        for name in named[column.codes[row]]:
            rows.setdefault(name, []).append(row)
    return rows


def _restored(column: TextColumn, guarded: Sequence[int], escaped: Sequence[int]) -> TextColumn:
    codes, texts = column.codes.copy(), list(column.texts)
    is_guarded, is_escaped = set(guarded), set(escaped)
    number: dict[str, int] = {}
    for row in sorted(is_guarded | is_escaped):
        text = restore(column[row], guarded=row in is_guarded, escaped=row in is_escaped)
        if text not in number:
            number[text] = len(texts)
            texts.append(text)
        codes[row] = number[text]
    return TextColumn(codes, texts)
