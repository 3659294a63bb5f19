"""The texts of one column to values: each different text is read once."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from yieldwright.formatting import listing
from yieldwright.shotlog.days import find_day_order, read_day, read_moment
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.numerals import MISSING_WORDS, Cell, read_number

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.dialect import Decimal

__all__ = ["read_cells"]

_YES = frozenset({"yes", "y", "true", "1", "✓", "✔"})
_NO = frozenset({"no", "n", "false", "0"})


def read_cells(
    texts: Iterable[str], entry: Quantity, *, decimal: Decimal = "point", offset: str = "+00:00"
) -> Mapping[str, Cell]:
    """Return what each different text of a column holds, by its kind in the glossary.

    Parameters
    ----------
    texts : iterable of str
        The cells of one column.
    entry : Quantity
        The column's entry in the glossary.
    decimal : {"point", "comma"}
        What stands before decimals in this file.
    offset : str
        Offset from UTC for times without one.

    Returns
    -------
    mapping of str to Cell

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> read_cells(["yes", "no", "yes"], quantity("filtered"))["no"].value
    False
    """
    different = dict.fromkeys(texts)
    read = _reader(different, entry, decimal, offset)
    return {text: read(text) for text in different}


def _reader(
    different: Iterable[str], entry: Quantity, decimal: Decimal, offset: str
) -> Callable[[str], Cell]:
    if entry.is_numeric:
        return lambda text: read_number(text, entry, decimal)
    if entry.kind in ("date", "moment"):
        order = find_day_order(different)
        if entry.kind == "date":
            return lambda text: read_day(text, order)
        return lambda text: read_moment(text, order, offset)
    if entry.kind == "choice":
        return lambda text: _read_choice(text, entry.choices)
    if entry.kind == "flag":
        return _read_flag
    return _read_note if entry.name == "notes" else _read_text


def _read_text(text: str) -> Cell:
    return Cell(text.strip() or None)


def _read_note(text: str) -> Cell:
    """Return a note as it was typed, outer blanks included."""
    return Cell(text if text.strip() else None)


def _read_flag(text: str) -> Cell:
    word = text.strip().casefold()
    if not word:
        return Cell()
    if word in MISSING_WORDS:
        return Cell(flag="taken as missing")
    if word in _YES | _NO:
        return Cell(word in _YES)
    return Cell(refusal=f"{quoted(text)} is neither yes nor no", suggestion="write yes or no")


def _read_choice(text: str, choices: tuple[str, ...]) -> Cell:
    word = "_".join(text.casefold().replace("-", " ").replace("_", " ").split())
    if word in choices:
        return Cell(word)
    if not text.strip() or text.strip().casefold() in MISSING_WORDS:
        return Cell(flag="taken as missing" if text.strip() else "")
    near = difflib.get_close_matches(word[:60], choices, n=1)
    return Cell(
        refusal=f"{quoted(text)} is none of {listing(choices, last='or')}",
        suggestion=f"{near[0]}?" if near else f"write {listing(choices, last='or')}",
    )
