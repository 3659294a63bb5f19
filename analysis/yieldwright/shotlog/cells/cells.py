"""The texts of one column to values: each different text is read once, plain ones in bulk."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import compress
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pandas as pd

from yieldwright.formatting import count, listing
from yieldwright.shotlog.cells.days import (
    DayOrder,
    find_day_order,
    order_sentence,
    read_day,
    read_moment,
)
from yieldwright.shotlog.cells.numerals import MISSING_WORDS, Cell, Writing, read_number
from yieldwright.shotlog.cells.plain_days import read_days, read_moments
from yieldwright.shotlog.cells.plain_numbers import read_plain_numbers
from yieldwright.shotlog.findings import quoted
from yieldwright.shotlog.formats.texts import Figure

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.formats.texts import TextColumn

__all__ = ["Cells", "Dating", "read_cells"]

_YES = frozenset({"yes", "y", "true", "1", "✓", "✔"})
_NO = frozenset({"no", "n", "false", "0"})
_DAY = r"2[0-9]{3}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])"
_PLAIN_DAY = re.compile(_DAY)
_PLAIN_MOMENT = re.compile(
    _DAY + r"[T ](?:[01][0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9])?(?:Z|[+-][01][0-9]:[0-5][0-9])?"
)
_AT_ONCE = 4096


@dataclass(frozen=True)
class Dating:
    """How days and moments are written.

    Attributes
    ----------
    offset : str
        Offset from UTC of times that carry none.
    order : {"day first", "month first"} or None
        Order of day and month the bench states.
    at_bench : bool
        Whether the offset is the bench's own, so that days are those of its clock.
    """

    offset: str = "+00:00"
    order: DayOrder | None = None
    at_bench: bool = False


@dataclass(frozen=True)
class Cells:
    """What the different texts of one column hold.

    Attributes
    ----------
    held : array, one per text
        By the kind of the column: float, datetime64, boolean or str; missing where the
        text gives no value.
    days : array of datetime64[s] or None
        The day of each moment, for a column of moments.
    odd : dict of int to Cell
        For each text that gives reason to say something, what it holds.
    remark : str
        How dates that have two readings are read, and which moments are of another day at
        the bench; empty where there are none.
    """

    held: Any
    days: np.ndarray | None = None
    odd: Mapping[int, Cell] = field(default_factory=dict)
    remark: str = ""


def read_cells(
    column: TextColumn,
    entry: Quantity,
    writing: Writing | None = None,
    dating: Dating | None = None,
) -> Cells:
    """Return what each different text of a column holds, by its kind in the glossary.

    Parameters
    ----------
    column : TextColumn
        The cells as typed.
    entry : Quantity
        The column's entry in the glossary.
    writing : Writing or None
        How its numbers are written.
    dating : Dating or None
        How its days are written.

    Returns
    -------
    Cells

    Examples
    --------
    >>> from yieldwright.glossary import quantity
    >>> from yieldwright.shotlog.formats.texts import TextColumn
    >>> read_cells(TextColumn.of(["yes", "no", "yes"]), quantity("filtered")).held.tolist()
    [True, False]
    """
    texts, dating = column.texts, dating or Dating()
    if entry.is_numeric:
        return _numbers(texts, entry, writing or Writing())
    if entry.kind == "date":
        return _dates(texts, entry.name, dating)
    if entry.kind == "moment":
        return _moments(texts, entry.name, dating)
    if entry.kind == "choice":
        return _words([_read_choice(text, entry.choices) for text in texts], "str")
    if entry.kind == "flag":
        return _words([_read_flag(text) for text in texts], "boolean")
    return _texts(texts, keep_blanks=entry.name == "notes")


def _numbers(texts: Sequence[str], entry: Quantity, writing: Writing) -> Cells:
    values, is_plain = read_plain_numbers(texts, writing.decimal)
    if entry.kind == "integer":
        is_plain &= values == np.floor(values)
    if writing.unit:  # each number has to be converted
        is_plain[:] = False
    if writing.decimal == "comma":  # the plain reading took a point for thousands
        is_plain[[isinstance(text, Figure) for text in texts]] = False
    as_stored = replace(writing, decimal="point")
    odd: dict[int, Cell] = {}
    for at in np.flatnonzero(~is_plain).tolist():
        text = texts[at]
        cell = read_number(text, entry, as_stored if isinstance(text, Figure) else writing)
        values[at] = np.nan if cell.value is None else cell.value
        if cell != Cell(cell.value):
            odd[at] = cell
    return Cells(values, odd=odd)


def _dates(texts: Sequence[str], name: str, dating: Dating) -> Cells:
    all_plain = read_days(texts)
    if all_plain is not None:
        return Cells(all_plain)
    unusual = [text for text in texts if not _PLAIN_DAY.fullmatch(text)]
    order = find_day_order(unusual, dating.order)
    days = np.full(len(texts), np.datetime64("NaT"), dtype="datetime64[s]")
    odd: dict[int, Cell] = {}
    for rows, some in _plain_first(texts, _PLAIN_DAY):
        plain = read_days(some) if len(some) else None
        if plain is not None:
            days[rows] = plain
            continue
        for at, text in zip(rows.tolist(), some, strict=True):
            cell = read_day(text, order)
            days[at] = np.datetime64(cell.value, "s") if cell.value else np.datetime64("NaT")  # type: ignore[call-overload]
            _keep_odd(odd, at, cell)
    return Cells(days, odd=odd, remark=order_sentence(name, unusual, dating.order))


def _moments(texts: Sequence[str], name: str, dating: Dating) -> Cells:
    all_plain = read_moments(texts, dating.offset, at_bench=dating.at_bench)
    if all_plain is not None:
        moved = _moved_sentence(name, texts, all_plain.days, dating)
        return Cells(all_plain.moments, all_plain.days, remark=moved)
    unusual = [text for text in texts if not _PLAIN_MOMENT.fullmatch(text)]
    order = find_day_order(unusual, dating.order)
    days = np.full(len(texts), np.datetime64("NaT"), dtype="datetime64[s]")
    moments = days.astype("datetime64[us]")
    odd: dict[int, Cell] = {}
    for rows, some in _plain_first(texts, _PLAIN_MOMENT):
        plain = read_moments(some, dating.offset, at_bench=dating.at_bench) if len(some) else None
        if plain is not None:
            days[rows], moments[rows] = plain
            continue
        for at, text in zip(rows.tolist(), some, strict=True):
            cell = read_moment(text, order, dating.offset, at_bench=dating.at_bench)
            pull: Any = cell.value
            if pull is not None:
                days[at] = np.datetime64(pull.day, "s")
            if pull is not None and pull.moment is not None:
                moments[at] = np.datetime64(pull.moment.replace(tzinfo=None), "us")
            _keep_odd(odd, at, cell)
    said = (
        order_sentence(name, unusual, dating.order),
        _moved_sentence(name, texts, days, dating),
    )
    return Cells(moments, days, odd, " ".join(filter(None, said)))


def _moved_sentence(name: str, texts: Sequence[str], days: np.ndarray, dating: Dating) -> str:
    """Return which moments are of another day at the bench than the one written first."""
    if not dating.at_bench:
        return ""
    told = zip(texts, days.astype("datetime64[D]").astype(str).tolist(), strict=True)
    moved = [
        (text, day) for text, day in told if text[:10] != day and _PLAIN_MOMENT.fullmatch(text)
    ]
    if not moved:
        return ""
    return (
        f"{name}: {count(len(moved), 'moment')} written by another clock than the bench's "
        f"({dating.offset}) and of another day there, such as {quoted(moved[0][0])}, a pull of "
        f"{moved[0][1]}; the day at the bench is used."
    )


def _plain_first(
    texts: Sequence[str], pattern: re.Pattern[str]
) -> list[tuple[np.ndarray, list[str]]]:
    """Return the plainly written texts, in blocks that may be read at once, and the rest."""
    is_plain = np.array([pattern.fullmatch(text) is not None for text in texts], dtype=bool)
    rest = np.flatnonzero(~is_plain)
    plain = np.flatnonzero(is_plain)
    some = list(compress(texts, is_plain.tolist()))
    cuts = [slice(at, at + _AT_ONCE) for at in range(0, len(some), _AT_ONCE)]
    blocks = [(plain[cut], some[cut]) for cut in cuts]
    others = [(rest[[index]], [texts[at]]) for index, at in enumerate(rest.tolist())]
    return [*blocks, *others]


def _keep_odd(odd: dict[int, Cell], at: int, cell: Cell) -> None:
    if cell.flag or cell.refusal:
        odd[at] = cell


def _words(cells: Sequence[Cell], dtype: Literal["str", "boolean"]) -> Cells:
    odd = {at: cell for at, cell in enumerate(cells) if cell.flag or cell.refusal}
    held: list[Any] = [cell.value for cell in cells]
    return Cells(pd.array(held, dtype=dtype), odd=odd)


def _texts(texts: Sequence[str], *, keep_blanks: bool) -> Cells:
    """Return texts without outer blanks; a note as it was typed, outer blanks included."""
    stripped = [text.strip() or None for text in texts]
    if keep_blanks:
        stripped = [text if bare else None for text, bare in zip(texts, stripped, strict=True)]
    return Cells(pd.array(stripped, dtype="str"))


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
