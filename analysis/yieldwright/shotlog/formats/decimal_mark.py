"""What stands before decimals, found out rather than asked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.formatting import count
from yieldwright.shotlog.formats.texts import Figure, TextColumn

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.shotlog.formats.source import Decimal

__all__ = ["find_decimal"]

_POINT = re.compile(r"[0-9]\.[0-9]")
_COMMA = re.compile(r"[0-9],[0-9]")


def find_decimal(columns: Iterable[Sequence[str]], bench: Bench) -> tuple[Decimal, str]:
    """Return what stands before decimals, and a remark where both marks are used.

    Parameters
    ----------
    columns : iterable of sequence of str
        The columns that should hold numbers.
    bench : Bench
        May force the decimal mark.

    Returns
    -------
    decimal : {"point", "comma"}
        The mark used more often; a point where there is none.
    remark : str
        Empty where all is clear.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> find_decimal([["18,1", "36"]], Bench())
    ('comma', '')
    """
    texts = list(columns)
    points = sum(_occurrences(_POINT, column) for column in texts)
    commas = sum(_occurrences(_COMMA, column) for column in texts)
    decimal: Decimal = bench.decimal or ("comma" if commas > points else "point")
    others = points if decimal == "comma" else commas
    if not others:
        return decimal, ""
    return decimal, (
        f"decimals are taken to be written with a {decimal}; {count(others, 'number')} with the "
        "other mark cannot be told from thousands, and the rows are set aside"
    )


def _occurrences(mark: re.Pattern[str], column: Sequence[str]) -> int:
    """Return how often a mark was written between figures, in all rows of a column."""
    if not isinstance(column, TextColumn):
        return len(mark.findall("\n".join(column)))
    if not mark.search("\n".join(column.texts)):
        return 0
    each = [0 if isinstance(text, Figure) else len(mark.findall(text)) for text in column.texts]
    return int(np.array(each, dtype=np.int64)[column.codes].sum())
