"""What checking finds about single rows, before anyone decides what becomes of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from yieldwright.formatting import clip, visible

if TYPE_CHECKING:
    import numpy as np

    from yieldwright.glossary import Span

__all__ = [
    "NO_ROW",
    "Finding",
    "Texts",
    "findings_of",
    "gather_by_row",
    "quoted",
    "rescaled",
    "shown",
]

#: The columns of a table as they were typed.
Texts = Mapping[str, Sequence[str]]


#: Row of a finding that concerns the whole log.
NO_ROW = -1


class Finding(NamedTuple):
    """One thing to say about one row.

    Attributes
    ----------
    row : int
        Number of the data row, counted from 0; `NO_ROW` where it concerns the log.
    column : str
        Name of the column.
    text : str
        As typed; empty where the value was computed.
    reason : str
        What is wrong or doubtful.
    suggestion : str
        What may have been meant, or what to do.
    """

    row: int
    column: str
    text: str
    reason: str
    suggestion: str = ""


def findings_of(
    rows: np.ndarray,
    column: str,
    texts: Texts,
    reason: str | Callable[[int], str],
    suggestion: str = "",
) -> Iterator[Finding]:
    """Yield a finding for each row that a check picked out.

    Parameters
    ----------
    rows : ndarray of bool
        Which rows.
    column : str
        Name of the column.
    texts : mapping of str to sequence of str
        The typed columns as typed; the finding quotes the cell where it was typed.
    reason : str or callable
        What is doubtful; the same for all rows, or made for each.
    suggestion : str
        What to do.

    Yields
    ------
    Finding

    Examples
    --------
    >>> import numpy as np
    >>> next(findings_of(np.array([False, True]), "dose_g", {"dose_g": ["1", "2"]}, "odd")).text
    '2'
    """
    typed = texts.get(column) or texts.get(f"typed_{column}")
    for row in rows.nonzero()[0].tolist():
        said = reason if isinstance(reason, str) else reason(row)
        yield Finding(row, column, typed[row] if typed else "", said, suggestion)


def gather_by_row(findings: Iterable[Finding]) -> dict[int, list[Finding]]:
    """Return findings under the rows they concern, in the order of the rows.

    Parameters
    ----------
    findings : iterable of Finding
        In any order.

    Returns
    -------
    dict of int to list of Finding

    Examples
    --------
    >>> list(gather_by_row([Finding(3, "dose_g", "x", "a"), Finding(1, "dose_g", "y", "b")]))
    [1, 3]
    """
    by_row: defaultdict[int, list[Finding]] = defaultdict(list)
    for finding in findings:
        by_row[finding.row].append(finding)
    return dict(sorted(by_row.items()))


def rescaled(text: str, value: float, usual: Span) -> str:
    """Return the power of ten that makes a value a usual one, as a question.

    Parameters
    ----------
    text : str
        As typed.
    value : float
        The number it was read as.
    usual : Span
        Where values of this column usually lie.

    Returns
    -------
    str
        Empty where no shift of the point helps.

    Examples
    --------
    >>> from yieldwright.glossary import Span
    >>> rescaled("180", 180.0, Span(14, 22))
    '180 → 18.0?'
    """
    for power in (-1, 1, -2, 2, -3, 3):
        shifted = value * 10.0**power
        if usual.holds(shifted):
            digits = f"{shifted:.12g}"
            meant = digits if "." in digits else f"{digits}.0"
            return f"{shown(text)} → {meant}?"
    return ""


def quoted(text: str) -> str:
    """Return a text from a log in quotes, short and on one line.

    Parameters
    ----------
    text : str
        From a log.

    Returns
    -------
    str

    Examples
    --------
    >>> quoted("  18 g ")
    '“18 g”'
    """
    return f"“{shown(text)}”"


def shown(text: str) -> str:
    """Return a text from a log short and on one line.

    Parameters
    ----------
    text : str
        From a log.

    Returns
    -------
    str

    Examples
    --------
    >>> shown("  18 g ")
    '18 g'
    """
    return clip(visible(text.strip()), 40)
