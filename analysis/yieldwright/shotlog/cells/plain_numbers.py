"""Long columns of plain numbers, read all at once; what is no plain number is left to others."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.source import Decimal

__all__ = ["read_plain_numbers"]

_LINE_END = 10


def read_plain_numbers(texts: Sequence[str], decimal: Decimal) -> tuple[np.ndarray, np.ndarray]:
    """Return the numbers of those texts that are nothing but a number.

    A plain number is made of a sign, digits and a decimal mark, without an exponent,
    blanks or a unit. On these, :func:`read_number` gives the same value and neither flag
    nor refusal, in columns of kind "number" whose unit needs no conversion.

    Parameters
    ----------
    texts : sequence of str
        Cells as typed.
    decimal : {"point", "comma"}
        What stands before decimals in this column.

    Returns
    -------
    values : ndarray of float
        One value a text; NaN where it is no plain number.
    is_plain : ndarray of bool
        Which texts are plain numbers; the others are left to :func:`read_number`.

    Examples
    --------
    >>> values, is_plain = read_plain_numbers(["18.2", "0:36", "-5"], "point")
    >>> values.tolist(), is_plain.tolist()
    ([18.2, nan, -5.0], [True, False, True])
    """
    joined = "\n".join(texts)
    if joined.count("\n") != max(len(texts) - 1, 0):
        joined = "\n".join([text.replace("\n", "?") for text in texts])
    pieces = joined.replace(",", ".").split("\n") if decimal == "comma" else list(texts)
    for row in _rows_with_other_signs(joined, decimal):
        pieces[row] = "nan"
    values = _floats(pieces[: len(texts)])
    is_plain = np.isfinite(values)
    values[~is_plain] = np.nan
    return values, is_plain


def _rows_with_other_signs(joined: str, decimal: Decimal) -> list[int]:
    """Return the lines that hold a character no plain number has."""
    is_usual = np.zeros(256, dtype=bool)
    is_usual[list(b"0123456789+-\n" + (b"," if decimal == "comma" else b"."))] = True
    signs = np.frombuffer(joined.encode("ascii", "replace"), dtype=np.uint8)
    odd = np.flatnonzero(~is_usual[signs])
    line_ends = np.flatnonzero(signs == _LINE_END)
    rows: list[int] = np.unique(np.searchsorted(line_ends, odd)).tolist()
    return rows


def _floats(pieces: Sequence[str]) -> np.ndarray:
    try:
        return np.fromiter(map(float, pieces), float, len(pieces))
    except ValueError:
        return np.fromiter(map(_float_or_nan, pieces), float, len(pieces))


def _float_or_nan(piece: str) -> float:
    try:
        return float(piece)
    except ValueError:
        return math.nan
