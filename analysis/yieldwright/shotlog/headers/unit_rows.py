"""A row of units below the header: what is one, and what it says about the columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from yieldwright.errors import UnreadableLogError
from yieldwright.formatting import clip, visible
from yieldwright.glossary import quantity
from yieldwright.shotlog.cells.units import is_unit_word
from yieldwright.shotlog.headers.headers import without_rivals

if TYPE_CHECKING:
    from yieldwright.shotlog.formats.records import Record
    from yieldwright.shotlog.headers.vocabulary import Header, Vocabulary

__all__ = ["is_unit_row", "state_units"]


def is_unit_row(cells: Sequence[str], headers: Sequence[Header]) -> bool:
    """Return whether each number column holds a unit or nothing, and one holds a unit.

    Parameters
    ----------
    cells : sequence of str
        One row as typed.
    headers : sequence of Header
        The columns.

    Returns
    -------
    bool
    """
    typed = [
        cell.strip()
        for cell, header in zip(cells, headers, strict=True)
        if (header.is_numeric or header.doubt) and cell.strip()
    ]
    return bool(typed) and all(map(is_unit_word, typed))


def state_units(
    headers: Sequence[Header], rows: Iterable[Record], vocabulary: Vocabulary, file: str
) -> list[Header]:
    """Return the columns with the units that rows of units give them.

    A unit may also decide what an ambiguous header means.

    Parameters
    ----------
    headers : sequence of Header
        The columns.
    rows : iterable of Record
        The rows of units.
    vocabulary : Vocabulary
        What is known for this kind of table.
    file : str
        For the message.

    Returns
    -------
    list of Header

    Raises
    ------
    UnreadableLogError
        If a unit contradicts its header, or is none its quantity can have.
    """
    stated = list(headers)
    for row in rows:
        stated = [
            _with_unit(header, cell.strip(" ()[]"), vocabulary, f"{file}, line {row.first_line}")
            for header, cell in zip(stated, row.cells, strict=True)
        ]
    return without_rivals(stated)


def _with_unit(header: Header, unit: str, vocabulary: Vocabulary, where: str) -> Header:
    if not unit:
        return header
    found = vocabulary.with_unit(header, unit)
    if isinstance(found, str):
        name = clip(visible(header.name), 40)
        own = quantity(header.name).unit
        raise UnreadableLogError(
            f"{where}: the row of units says {clip(visible(unit), 20)} for {name}, {found}; "
            f"correct that row or the header, or convert the column to "
            f"{'plain numbers' if own == '1' else own}"
        )
    return found
